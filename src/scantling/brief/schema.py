"""The brief as a JSON Schema (draft 2020-12), so that an editor can help while it is written."""

from collections.abc import Mapping, Sequence
from enum import Enum
from re import escape
from typing import Any

from scantling.brief.loading import ID, OFFICE, SLUG, Default
from scantling.brief.sections import Mapped, Section, ask_of, group, is_mapping, reader
from scantling.brief.wording import sample
from scantling.figures.quantities import NUMBER, PLURALS, Limits, spellings, symbol_of
from scantling.figures.spelled import LONGEST_WORD, PATTERNS
from scantling.figures.units import CURRENCY, Unit

DIALECT = "https://json-schema.org/draft/2020-12/schema"
Words = Mapping[str, Sequence[str]]


def json_schema(
    sections: Sequence[type[Section]], defaults: Mapping[str, Default], words: Words | None = None
) -> dict[str, Any]:
    """The schema of a whole brief; `words` are the names that fields declared `among` a kind may take."""
    properties = {section.key: _section(section, defaults, words or {}) for section in sections}
    return {
        "$schema": DIALECT,
        "title": "Brief of an office",
        "type": "object",
        "properties": properties,
        "required": [OFFICE],
        "additionalProperties": False,
    }


def _section(section: type[Section], defaults: Mapping[str, Default], words: Words) -> dict[str, Any]:
    if issubclass(section, Mapped):
        named = _named(section.model_fields["items"], defaults, words, SLUG if section.slugs else ID)
        return {"description": _told(section), **named}
    fields = section.model_fields
    return {
        "description": _told(section),
        "type": "object",
        "properties": {
            name: _field(field, section.field_limits.get(name), defaults, words) for name, field in fields.items()
        },
        "required": [name for name, field in fields.items() if field.is_required() and not ask_of(field).assumed],
        "additionalProperties": False,
    }


def _named(field: Any, defaults: Mapping[str, Default], words: Words, form: str) -> dict[str, Any]:
    within = group(field)
    one = reader(field)
    inside = _section(within, defaults, words) if within is not None else _value(one.unit, None) if one else {}
    return {"type": "object", "propertyNames": {"pattern": f"^{form}$"}, "additionalProperties": inside}


def _field(field: Any, limits: Limits | None, defaults: Mapping[str, Default], words: Words) -> dict[str, Any]:
    ask = ask_of(field)
    if is_mapping(field):
        least = {"minProperties": 1} if field.is_required() else {}
        return {"description": ask.question, **_named(field, defaults, words, SLUG), **least}
    if (within := group(field)) is not None:
        return {**_section(within, defaults, words), "description": ask.question}
    one = reader(field)
    assert one is not None, "every field of a section is a figure or a group"
    made = {"description": ask.question, **_value(one.unit, limits)}
    if ask.form:
        made["pattern"] = f"^({ask.form})$"
    if ask.among in words:
        made["enum"] = list(words[ask.among])
    if like := sample(one.unit, ask.like).strip('"'):
        made["examples"] = [like]
    if ask.assumed in defaults:
        default = defaults[ask.assumed]
        made |= {"default": default.text, "description": f"{ask.question} If left out: {default.text}, assumed, ask"}
    return made


def _value(unit: Unit[Any], limits: Limits | None) -> dict[str, Any]:
    """What a scalar looks like; a bare number may also stand as a number, as most readers of YAML have it."""
    if unit.numeric:
        return _amount(unit, limits)
    if issubclass(unit.kind, Enum):
        return {"enum": [str(member.value) for member in unit.kind]}
    longest = {"maxLength": LONGEST_WORD} if unit.kind is str else {}
    return {"type": "string", "pattern": PATTERNS[unit.kind], **longest}


def _amount(unit: Unit[Any], limits: Limits | None) -> dict[str, Any]:
    digits = r"\d{1,15}(\.0+)?" if unit.kind is int else NUMBER.replace("?:", "")
    if CURRENCY in unit.symbol:
        return {"type": "string", "pattern": f"^{digits} ?{symbol_of(unit, '[A-Z]{3}')}$"}
    symbols = spellings(unit)
    plurals = [word for word, one in PLURALS.items() if one.symbol in symbols]
    tail = "|".join(escape(symbol) for symbol in (*symbols, *plurals))
    if unit.symbol or unit.dimension:
        return {"type": "string", "pattern": f"^-?{digits} ?({tail})$"}
    made = {"type": ["string", "integer" if unit.kind is int else "number"]}
    bare = {"pattern": f"^{digits}( ?({tail}))?$" if tail else f"^{digits}$"}
    range_ = {"minimum": float(limits.least.exact), "maximum": float(limits.most.exact)} if limits else {}
    return {**made, **bare, **range_}


def _told(section: type[Section]) -> str:
    return (section.__doc__ or "").strip().splitlines()[0]
