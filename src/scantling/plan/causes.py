"""Why figures of two plans differ: the lines, rows and rules that moved, and which of them each figure rests on."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from scantling.figures import PRICE, Figure, Origin
from scantling.figures.numbers import CANONICAL, in_currency, number, plain, text
from scantling.plan.make import Plan
from scantling.plan.telling import everything

BRIEF, STANDING, PINNED = "brief", "standing", "pin"
PINS = "brief.pins."
"""The lines of pins, which are told as pins."""
FROM_OUTSIDE = (PINNED, BRIEF, STANDING, "catalogue", "house rule", "standard")
"""The kinds of leaves in the order in which a client would ask for them; a pin is one more."""
BOUGHT = "purchase."


@dataclass(frozen=True, slots=True)
class Cause:
    """A leaf that moved: what kind it is, its old and new value in words; one of them is empty where it came or went.

    A whole group of answers that came or went is one cause; `leaves` are their ids.
    """

    kind: str
    id: str
    old: str
    new: str
    leaves: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.id} {self.old or 'not there'} -> {self.new or 'gone'}"


@dataclass(frozen=True)
class Side:
    """One of the two plans: its figures by their address, unnamed ones as parent/argument."""

    plan: Plan
    nodes: Mapping[str, Figure[Any]]
    below: Mapping[str, tuple[str, ...]]
    """The addresses of what each figure rests on."""


def side(plan: Plan, said: Mapping[str, Figure[Any]]) -> Side:
    """A plan's figures by address; `said` are answers of the brief that no figure may rest on."""
    nodes: dict[str, Figure[Any]] = dict(said)
    below: dict[str, tuple[str, ...]] = {}
    waiting = [*everything(plan).items(), *plan.figures.items()]
    while waiting:
        address, figure = waiting.pop()
        if address in below:
            continue
        nodes[address] = figure
        parents = [(parent.id or f"{address}/{argument}", parent) for argument, parent in figure.addressed()]
        below[address] = tuple(one for one, _ in parents)
        waiting.extend(parents)
    return Side(plan, nodes, below)


def differs(old: Figure[Any], new: Figure[Any]) -> bool:
    """Whether two figures say different things, in canonical digits."""
    return (plain(old.value), old.unit.symbol) != (plain(new.value), new.unit.symbol)


def words(old: Figure[Any], new: Figure[Any], plans: tuple[Plan, Plan]) -> tuple[str, str]:
    """Both values as people read them, with as many digits as tell them apart; of a table only the lines that moved."""
    if isinstance(old.value, Mapping) and isinstance(new.value, Mapping):
        return _lines(old.value, new.value), _lines(new.value, old.value)
    told = (in_currency(text(old), plans[0].currency), in_currency(text(new), plans[1].currency))
    if told[0] != told[1]:
        return told
    exact = tuple(
        in_currency(f"{number(one.value, CANONICAL)} {one.unit.symbol}".rstrip(), plan.currency)
        for one, plan in zip((old, new), plans, strict=True)
    )
    return exact[0], exact[1] if exact[0] != exact[1] else f"{exact[1]} (its course differs)"


def _lines(mine: Mapping[Any, Any], theirs: Mapping[Any, Any]) -> str:
    moved = {key: value for key, value in mine.items() if key not in theirs or plain(theirs[key]) != plain(value)}
    return "; ".join(f"{key} {number(value)}" for key, value in moved.items()) or "none"


def causes(old: Side, new: Side) -> tuple[Cause, ...]:
    """The leaves that moved, came or went. Rows and rules that only one of the plans rests on are no causes."""
    found = {cause.id: cause for cause in (*_leaves(old, new), *_prices(old, new), *_pins(old, new))}
    return tuple(sorted(found.values(), key=lambda cause: (FROM_OUTSIDE.index(cause.kind), cause.id)))


def _leaves(old: Side, new: Side) -> Iterator[Cause]:
    ids = [id_ for id_ in sorted({*old.nodes, *new.nodes}) if not id_.startswith(PINS)]
    for id_ in ids:
        was, now = _leaf(old, id_), _leaf(new, id_)
        if was is not None and now is not None and differs(was, now):
            yield Cause(_kind(now), id_, *words(was, now, (old.plan, new.plan)), (id_,))
    yield from (Cause(kind, id_, words_, "", ids_) for kind, id_, words_, ids_ in _lone(old, new))
    yield from (Cause(kind, id_, "", words_, ids_) for kind, id_, words_, ids_ in _lone(new, old))


def _lone(mine: Side, theirs: Side) -> Iterator[tuple[str, str, str, tuple[str, ...]]]:
    """Answers that only one side has, those of one thing together: kind, id, in words, the ids of all."""
    groups: dict[str, dict[str, Figure[Any]]] = {}
    known = {id_[:dot] for id_ in theirs.nodes for dot in _dots(id_)}
    for id_ in sorted(mine.nodes):
        figure = _leaf(mine, id_)
        if figure is None or id_ in theirs.nodes or id_.startswith(PINS) or _kind(figure) not in (BRIEF, STANDING):
            continue
        head = next((id_[:dot] for dot in _dots(id_)[1:] if id_[:dot] not in known), id_)
        groups.setdefault(head, {})[id_] = figure
    for head, figures in groups.items():
        told = figures.get(f"{head}.name", figures.get(head))
        said = _worded(told, mine.plan) if told is not None else f"{len(figures)} answers"
        yield _kind(next(iter(figures.values()))), head, said, tuple(figures)


def _dots(id_: str) -> list[int]:
    """Where the words of an id end, the whole included."""
    return [*(place for place, letter in enumerate(id_) if letter == "."), len(id_)]


def _leaf(one: Side, id_: str) -> Figure[Any] | None:
    """A leaf that has an id; an assumed answer counts as the brief's own."""
    figure = one.nodes.get(id_)
    return figure if figure is not None and figure.id and isinstance(figure.how, Origin) else None


def _kind(figure: Figure[Any]) -> str:
    assert isinstance(figure.how, Origin)
    head = figure.id.partition(".")[0]
    return head if head in (BRIEF, STANDING) else figure.how.kind


def _worded(figure: Figure[Any], plan: Plan) -> str:
    return in_currency(text(figure), plan.currency)


def _prices(old: Side, new: Side) -> Iterator[Cause]:
    """Prices of rows that both offered: those of what either chose one by one, all others together.

    A choice may have moved because another part became cheaper.
    """
    were, are = _price_list(old.plan), _price_list(new.plan)
    moved = [slug for slug in sorted(set(were) & set(are)) if differs(were[slug], are[slug])]
    chosen = {slug for one in (old, new) for slug in _chosen(one.plan)}
    for slug in [slug for slug in moved if slug in chosen]:
        told = words(were[slug], are[slug], (old.plan, new.plan))
        yield Cause("catalogue", are[slug].id, *told, (are[slug].id,))
    if others := [slug for slug in moved if slug not in chosen]:
        changes = sorted((are[slug].value / were[slug].value - 1) * 100 for slug in others if were[slug].value)
        low, high = (f"{number(float(one))} %" for one in (changes[0], changes[-1])) if changes else ("0 %", "0 %")
        span = f"{low} on each" if low == high else f"from {low} to {high}"
        leaves = tuple(are[slug].id for slug in others)
        yield Cause("catalogue", "catalogue.…price", f"{len(others)} prices of what neither chose", span, leaves)


def _chosen(plan: Plan) -> set[str]:
    """Slugs of the articles that a plan chose."""
    return {row.slug for option in plan.purchase.chosen.options.values() for row, _ in option.parts}


def _price_list(plan: Plan) -> dict[str, Figure[Any]]:
    rows = {row.slug: row for slot in plan.purchase.slots for option in slot.options for row, _ in option.parts}
    return {slug: row.figure(PRICE) for slug, row in rows.items() if row.get(PRICE) is not None}


def _pins(old: Side, new: Side) -> Iterator[Cause]:
    were, are = old.plan.pins, new.plan.pins
    for id_ in sorted({*were, *are}):
        was, now = (f"{pin.text} ({pin.because})" if (pin := pins.get(id_)) else "" for pins in (were, are))
        if was != now:
            yield Cause(PINNED, f"pins.{id_}", was, now, (f"pins.{id_}",))


class Reasons:
    """Which causes a figure of either plan rests on, through figures that moved too."""

    def __init__(self, old: Side, new: Side, found: tuple[Cause, ...]) -> None:
        self.old, self.new = old, new
        self.causes = {leaf: cause for cause in found for leaf in cause.leaves}
        self._known: dict[str, frozenset[str]] = {}

    def of(self, id_: str) -> tuple[Cause, ...]:
        """The causes of one figure, in their order; where only one thing moved, it is the cause of all.

        Empty where several moved and none can be traced: a plan may turn on words that no figure rests on.
        """
        ids = self._of(id_)
        traced = tuple(dict.fromkeys(cause for leaf, cause in self.causes.items() if leaf in ids))
        every = tuple(dict.fromkeys(self.causes.values()))
        return traced or (every if len(every) == 1 else ())

    def _of(self, id_: str) -> frozenset[str]:
        if id_ in self.causes:
            return frozenset({id_})
        if id_ in self._known:
            return self._known[id_]
        self._known[id_] = frozenset()  # a figure never rests on itself
        below = {*self.old.below.get(id_, ()), *self.new.below.get(id_, ())}
        found = frozenset[str]().union(*(self._of(one) for one in sorted(below) if self._moved(one)))
        if f"pins.{id_}" in self.causes:
            found |= {f"pins.{id_}"}
        if id_.startswith(BOUGHT):
            found |= self._dearer(id_.removeprefix(BOUGHT))
        self._known[id_] = found
        return found

    def _moved(self, id_: str) -> bool:
        was, now = self.old.nodes.get(id_), self.new.nodes.get(id_)
        return was is None or now is None or differs(was, now)

    def _dearer(self, slot: str) -> frozenset[str]:
        """Prices that moved, of what either plan chose there."""
        options = [one.plan.purchase.chosen.options.get(slot) for one in (self.old, self.new)]
        rows = [row for option in options if option is not None for row, _ in option.parts]
        prices = {row.figure(PRICE).id for row in rows if row.get(PRICE) is not None}
        return frozenset(prices & set(self.causes))
