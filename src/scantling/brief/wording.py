"""Says in a person's words, and at the right place, what a section's reader found wrong."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeGuard

from scantling.brief.sections import Assumed, Mapped, Section, ask_of, group, is_mapping, reader
from scantling.figures.placed import Node, Text
from scantling.figures.quantities import example
from scantling.figures.spelled import EXAMPLES, nearest, shown
from scantling.figures.units import Unit

Sections = Mapping[str, type[Section]]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a mistake stands: words from the top, line and column, what was found, what declares the last word."""

    path: tuple[str, ...]
    at: tuple[int, int]
    word_at: tuple[int, int]
    """Where the last word itself stands, left of the colon."""
    found: Any
    section: type[Section] | None
    """The section whose field the last word is; None at the top and among named things."""
    field: Any
    """The field of the last word, None where it is not known."""


@dataclass(frozen=True, slots=True)
class Known:
    """The words that may stand at a place, and the one nearest to what stands there."""

    words: tuple[str, ...]
    near: str


def place_of(steps: Sequence[Any], tree: Node, by_key: Sections) -> Place:
    """Follow the steps of a finding through the tree to the deepest part that exists."""
    place = Place((), tree.at, tree.at, tree, None, None)
    for step in map(str, steps):
        if place.path and step == "items" and place.section is None and _is_mapped(place.field):
            continue  # the mapping itself, which a person does not write
        place = _step(place, step, by_key)
    return place


def is_section(field: Any) -> TypeGuard[type[Section]]:
    """Whether a word opens a section's group rather than one answer."""
    return isinstance(field, type) and issubclass(field, Section)


def _is_mapped(field: Any) -> bool:
    return isinstance(field, type) and issubclass(field, Mapped)


def _step(place: Place, step: str, by_key: Sections) -> Place:
    """One word further; `field` is a section class where the word opens a group, else the field that declares it."""
    section, field = _declared(place, step, by_key)
    at, found = place.word_at, None
    word_at = at
    if isinstance(place.found, Node) and step in place.found:
        at, found = place.found.keys_at[step], place.found[step]
        word_at = at
        if isinstance(found, Text) and not isinstance(found, Assumed):
            at = found.line, found.column
    return Place((*place.path, step), at, word_at, found, section, field)


def _declared(place: Place, step: str, by_key: Sections) -> tuple[type[Section] | None, Any]:
    if not place.path:
        return None, by_key.get(step)
    if is_section(place.field):  # inside a section
        if _is_mapped(place.field):
            return None, group(place.field.model_fields["items"])
        declared = place.field.model_fields.get(step)
        whole = None if declared is None or is_mapping(declared) else group(declared)
        return place.field, whole or declared
    if place.field is not None and is_mapping(place.field):  # a name among named things
        return None, group(place.field)
    return None, None


def known_words(place: Place, by_key: Sections) -> Known:
    """What may stand instead of the place's last word."""
    last = place.path[-1]
    words = tuple(by_key) if len(place.path) == 1 else tuple(place.section.model_fields) if place.section else ()
    return Known(words, nearest(last, words, 0.55))


def says(error: Any, place: Place, by_key: Sections) -> str:
    """One sentence: what is wrong and what would be taken."""
    kind, found = error["type"], place.found
    if kind == "extra_forbidden":
        return _unknown(place, by_key)
    if kind == "missing":
        return _missing(place)
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        if isinstance(found, Text) and not found:
            return "nothing is written under this word; write its answers, or leave the word out"
        return "a group of answers is wanted here, each with its word and a colon"
    told = str(error["msg"]).removeprefix("Value error, ")
    return f"the house rule {found.key} does not fit here: {told}" if isinstance(found, Assumed) else told


def _unknown(place: Place, by_key: Sections) -> str:
    last, known = place.path[-1], known_words(place, by_key)
    if known.near:
        return f"this word is not known here; did you mean {known.near}?"
    if place.found == "" and len(place.path) > 1:
        return (
            "this word is not known here; if it goes on with the answer before it, quote the whole: a comma ends one"
        )
    homes = [
        key for key, section in by_key.items() if last in section.model_fields and not issubclass(section, Mapped)
    ]
    if homes and len(place.path) == 1:
        return f"this word is not known here; it stands under {' or '.join(homes)}"
    return f"this word is not known here; known here: {', '.join(known.words)}"


def _missing(place: Place) -> str:
    if is_section(place.field):
        return f"this section is missing; it holds {', '.join(place.field.model_fields)}"
    ask = ask_of(place.field)
    one = reader(place.field)
    like = sample(one.unit, ask.like) if one is not None and not is_mapping(place.field) else ""
    return f"this answer is missing: {shown(ask.question, 200)}" + (f" Write it like {like}" if like else "")


def sample(unit: Unit[Any], like: str = "", currency: str = "") -> str:
    """One answer as a person writes it; empty where any words will do."""
    if like:
        return like
    if unit.numeric:
        return example(unit, currency)
    if unit.kind in EXAMPLES:
        return EXAMPLES[unit.kind]
    words: Any = unit.kind
    return str(next(iter(words)).value)
