"""A firm's house rules laid over ours key by key, each held to its range and telling what ours was."""

from collections.abc import Sequence
from typing import Any

from scantling.catalogue import House, Practice, RuleLine
from scantling.catalogue.ranges import ends
from scantling.catalogue.reading import FIELDS
from scantling.catalogue.shelf import CURRENCY, near
from scantling.figures.placed import Mistake, Node, Text
from scantling.figures.quantities import parse
from scantling.figures.spelled import shown
from scantling.figures.units import Unit, convert

OWN = ("value", "reason")
"""What a firm's rule must say itself; range and source may stay ours."""


class FirmRuleLine(RuleLine):
    """A firm's house rule over ours; its place tells what ours was."""

    __slots__ = ()

    @property
    def laid_at(self) -> str:
        """Where the firm wrote it, and what ours was."""
        return self.place


def lay_rules(
    house: House, trees: Sequence[Node], practices: Sequence[Practice[Any]], mistakes: list[Mistake]
) -> House:
    """Our house rules with a firm's over them; adds every mistake to the list."""
    units = {practice.key: practice.unit for practice in practices}
    lines, values = dict(house.lines), dict(house.values)
    seen: dict[str, str] = {}
    for tree in trees:
        for key, node in tree.items():
            at, before = tree.keys_at[key], len(mistakes)
            if key not in house.lines:
                mistakes.append(Mistake(tree.file, *at, shown(key), near(key, house.lines, "there is no such rule")))
                continue
            if key in seen:
                mistakes.append(Mistake(tree.file, *at, key, f"this house rule stands in {seen[key]} too"))
            seen.setdefault(key, f"{tree.file}:{at[0]}")
            line = _line(tree, key, node, house.lines[key], mistakes)
            if line is None or len(mistakes) > before:
                continue
            lines[key] = line
            if key in units:
                typed = _typed(key, node, line, units[key], mistakes)
                values |= {key: typed} if key in house.values else {}
    return House(lines, values)


def _line(tree: Node, key: str, node: Any, ours: RuleLine, mistakes: list[Mistake]) -> RuleLine | None:
    """A firm's rule as written, with our range and source where it names none; None where it is not whole."""
    at, before = tree.keys_at[key], len(mistakes)
    if not isinstance(node, Node):
        says = f"a firm's house rule is a mapping with {' and '.join(OWN)}; range and source may stay ours"
        mistakes.append(Mistake(tree.file, *at, key, says))
        return None
    missing = "this is missing; a firm's rule says its own value and reason"
    mistakes += [Mistake(tree.file, *at, f"{key}.{name}", missing) for name in OWN if name not in node]
    for name, written in node.items():
        if name not in FIELDS:
            says = near(name, FIELDS, "a house rule has no such field")
            mistakes.append(Mistake(tree.file, *node.keys_at[name], shown(f"{key}.{name}", 100), says))
        elif says := _unreadable(name, written, ours):
            mistakes.append(Mistake(tree.file, *node.keys_at[name], f"{key}.{name}", says))
    if len(mistakes) > before:
        return None
    texts = tuple(map(str, node["value"])) if isinstance(node["value"], list) else (str(node["value"]),)
    place = f"{tree.file}:{at[0]} (ours: {', '.join(ours.texts)})"
    said = {name: str(node.get(name, getattr(ours, name))) for name in ("range", "reason", "source")}
    return FirmRuleLine(texts, said["range"], said["reason"], said["source"], place)


def _unreadable(name: str, written: Any, ours: RuleLine) -> str:
    """Why a field can't be what it should; empty where it can."""
    listed = isinstance(written, list)
    if listed and (name != "value" or len(ours.texts) == 1):
        return "one text is wanted here, not a list"
    many = written if listed else [written]
    return "" if many and all(isinstance(one, Text) and one.strip() for one in many) else "a text is wanted here"


def _typed(
    key: str, node: Node, line: RuleLine, unit: Unit[Any], mistakes: list[Mistake]
) -> tuple[tuple[Any, Unit[Any]], ...]:
    """The rule's values with the units they are written in, each inside the range."""
    written = node["value"] if isinstance(node["value"], list) else [node["value"]]
    found = []
    for text in written:
        try:
            value, its = parse(str(text), unit, CURRENCY)
        except ValueError as wrong:
            mistakes.append(Mistake(text.file, text.line, text.column, f"{key}.value", str(wrong)))
            continue
        found.append((value, its))
        if says := _outside(convert(value, its, unit), line, unit, "range" in node):
            mistakes.append(Mistake(text.file, text.line, text.column, f"{key}.value", says))
    return tuple(found)


def _outside(value: Any, line: RuleLine, unit: Unit[Any], own: bool) -> str:  # noqa: FBT001 - whose range it is
    """What to say of a value outside its range; empty where it lies inside, or where the range is words."""
    both = ends(line.range, unit, CURRENCY)
    if both is None or both[0] <= value <= both[1]:
        return ""
    if own:
        return f"this lies outside the firm's own range, {line.range}"
    return f"this lies outside our range, {line.range}; if the firm means it, give a range of its own beside it"
