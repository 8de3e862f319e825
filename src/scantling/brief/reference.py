"""The page from which a newcomer writes a brief: an example, then every section, question, default and range."""

from collections.abc import Iterator, Mapping, Sequence
from enum import Enum
from typing import Any

from scantling.brief.example import EXAMPLE
from scantling.brief.loading import Default
from scantling.brief.schema import Words
from scantling.brief.sections import Mapped, Section, ask_of, group, is_mapping, reader
from scantling.brief.wording import sample
from scantling.figures.calendar import CLOCK, SPAN
from scantling.figures.quantities import Limits
from scantling.figures.spelled import KINDS
from scantling.figures.units import Unit

HOW = f"""\
# Writing a brief

A brief is one text file, `brief.yaml`, with what the client told you. Start from this one, which is whole as it
stands (the office is invented):

```yaml
{EXAMPLE.strip()}
```

## How answers are written

- A word, a colon, a space, the answer. What belongs to a word stands below it, two spaces further in; or on one line
  in curly brackets, with commas: `stairs: {{rating: 16 A, already: 400 W}}`.
- A line that begins with `#` is a remark.
- Numbers have a point, never a comma: `1.5 TB`. No sign, exponent or gap: `1000`, not `1,000`, `1 000` or `1e3`.
- A number that measures something has its unit behind it; the space between may be left out: `12 TB`, `12TB`.
  Sizes are `kB MB GB TB PB` (thousands) or `KiB MiB GiB TiB` (powers of two), which are told apart; speeds are
  `kbit/s Mbit/s Gbit/s MB/s`; times `s min h day week month year`; lengths `mm cm m U`; shares `%`; growth `%/year`
  or `%/day`. Any unit that measures the same thing will do.
- Money is written in the office's own currency, with at most two places: `1200 EUR`, `69.50 EUR`.
- Yes and no are `yes` and `no`. Dates are `2026-11-25`. Times of day stand in quotes: `"19:30"`, `"09:30-18:00"`
  (past midnight is understood: `"23:45-08:00"`). Days are `mon-fri`, or `tue thu sat`.
- Words stand as they are; put them in quotes when they hold a colon, a `#`, a comma inside curly brackets, or begin
  with a character other than a letter or a digit.
- Names that you choose yourself, shown as *name* below, are small letters, digits and hyphens, at most 40; the full
  name can stand beside them as `name:`.
- What is left out is assumed where a default is given below. The plan lists all that it assumed, for you to ask.
- Anchors (`&`), references (`*`), tags (`!`), doubled words and words not listed here are refused. All mistakes are
  told at once, each with its line and column.
"""
HEAD = "| word | question | written like | if left out | accepted |\n|---|---|---|---|---|"


def page(
    sections: Sequence[type[Section]], defaults: Mapping[str, Default], words: Words | None = None, how: str = HOW
) -> str:
    """The whole page as Markdown; `words` are the names that fields declared `among` a kind may take, `how` its head."""
    parts = [how, "## Sections\n"]
    parts += [f"- [`{section.key}`](#{section.key}): {_told(section)}" for section in sections]
    parts += ["\n".join(_section(section, defaults, words or {})) for section in sections]
    return "\n".join(parts).rstrip() + "\n"


def _section(section: type[Section], defaults: Mapping[str, Default], words: Words) -> Iterator[str]:
    yield f"\n## {section.key}\n"
    must = "Must be there." if section.key == "office" else "May be left out."
    yield f"{_told(section)} {must}\n"
    yield HEAD
    yield from _rows(section, "", defaults, words)


def _rows(section: type[Section], path: str, defaults: Mapping[str, Default], words: Words) -> Iterator[str]:
    """One row a field, those of groups and named things below their own word."""
    if issubclass(section, Mapped):
        yield from _within(section.model_fields["items"], f"{path}*name*.", defaults, words)
        return
    for name, field in section.model_fields.items():
        if reader(field) is not None and not is_mapping(field):
            yield _row(f"{path}{name}", field, section.field_limits.get(name), defaults, words)
            continue
        left_out = "must be answered" if field.is_required() else "left open"
        what = "one or more, each under a name of your own" if is_mapping(field) else "a group of answers"
        yield _cells(
            f"{path}{name}",
            ask_of(field).question,
            what,
            left_out,
            "at least one" if is_mapping(field) and field.is_required() else "",
        )
        step = f"{path}{name}.*name*" if is_mapping(field) else f"{path}{name}"
        yield from _within(field, f"{step}.", defaults, words)


def _within(field: Any, path: str, defaults: Mapping[str, Default], words: Words) -> Iterator[str]:
    within, one = group(field), reader(field)
    if within is not None:
        yield from _rows(within, path, defaults, words)
    elif one is not None:
        yield _cells(path.rstrip("."), "", f"`{sample(one.unit)}`", "", _accepted(one.unit, None, ()))


def _row(path: str, field: Any, limits: Limits | None, defaults: Mapping[str, Default], words: Words) -> str:
    ask, one = ask_of(field), reader(field)
    assert one is not None, "only answers have a row of their own"
    among = words.get(ask.among, ())
    default = defaults.get(ask.assumed)
    like = sample(one.unit, ask.like or (default.text if default else "") or (among[0] if among else ""), "EUR")
    like = f'"{like}"' if one.unit in (SPAN, CLOCK) and not like.startswith('"') else like
    if ask.assumed:
        left_out = f"`{default.text}`, assumed, ask ({default.why})" if default else "must be answered"
    else:
        left_out = "must be answered" if field.is_required() else "left open"
    return _cells(path, ask.question, f"`{like}`" if like else "words", left_out, _accepted(one.unit, limits, among))


def _accepted(unit: Unit[Any], limits: Limits | None, among: Sequence[str]) -> str:
    """The range, the closed words, or the kind of answer."""
    if among:
        return ", ".join(f"`{word}`" for word in among)
    if not unit.numeric:
        closed = issubclass(unit.kind, Enum)
        return ", ".join(f"`{member.value}`" for member in unit.kind) if closed else KINDS[unit.kind]
    return limits.says("EUR") if limits else ""


def _cells(path: str, *cells: str) -> str:
    """A row of the table; a bar inside a cell would end it."""
    step = "".join(part if part == "*name*" else f"`{part}`" if part else "" for part in _parted(path))
    return "| " + " | ".join(cell.replace("|", "\\|").replace("\n", " ") for cell in (step, *cells)) + " |"


def _parted(path: str) -> list[str]:
    """`roles.*name*.heads` as literal parts and names."""
    before, star, after = path.partition("*name*")
    return [before, star, *_parted(after)] if star else [before]


def _told(section: type[Section]) -> str:
    return (section.__doc__ or "").strip().splitlines()[0]
