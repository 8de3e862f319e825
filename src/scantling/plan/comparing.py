"""Two plans side by side: what moved, why, and what it means for purchase, findings and records."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any

from scantling.figures import Figure, Option, Page
from scantling.figures.numbers import in_currency, number, text
from scantling.plan.causes import Cause, Reasons, Side, causes, differs, side, words
from scantling.plan.make import Plan, Told
from scantling.plan.telling import LEFT_OUT, Line, plain_field, why

WHOLE_PRICE = "money.total"
NOUGHT = Decimal(0)


@dataclass(frozen=True, slots=True)
class Moved:
    """A figure of both plans whose value differs: both values, how each came about, and the leaves behind it."""

    id: str
    label: str
    old: str
    new: str
    was: Line
    now: Line
    because: tuple[Cause, ...]


@dataclass(frozen=True, slots=True)
class Lone:
    """A figure that only one of the plans has."""

    id: str
    label: str
    value: str


@dataclass(frozen=True, slots=True)
class Bought:
    """One slot of the purchase that differs: articles with counts, and the price of what is to buy."""

    slot: str
    name: str
    old: str
    new: str
    old_price: Decimal
    new_price: Decimal

    @property
    def difference(self) -> Decimal:
        """How much dearer the new plan is here."""
        return self.new_price - self.old_price


@dataclass(frozen=True, slots=True)
class Advice:
    """A finding that came, went, reads differently or was declined; `old` is empty for one that came."""

    weight: str
    code: str
    about: str
    old: str
    new: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Entry:
    """A record that came, went or changed; `fields` are those that changed with both values in words."""

    kind: str
    trade: str
    slug: str
    fields: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True)
class Comparison:
    """All that differs between two plans."""

    client: str
    currencies: tuple[str, str]
    causes: tuple[Cause, ...]
    moved: tuple[Moved, ...]
    gone: tuple[Lone, ...]
    come: tuple[Lone, ...]
    bought: tuple[Bought, ...]
    totals: tuple[Decimal, Decimal]
    """What is to buy costs together, before and after."""
    whole: tuple[Decimal | None, Decimal | None]
    """The whole price, work and tax included, before and after; None where a plan has none."""
    new_findings: tuple[Advice, ...]
    cured: tuple[Advice, ...]
    reworded: tuple[Advice, ...]
    declined: tuple[Advice, ...]
    added: tuple[Entry, ...]
    removed: tuple[Entry, ...]
    changed: tuple[Entry, ...]

    @property
    def nothing(self) -> bool:
        """Whether nothing moved at all."""
        return not any(
            (self.causes, self.moved, self.gone, self.come, self.bought, self.new_findings, self.cured,
             self.reworded, self.declined, self.added, self.removed, self.changed)
        )  # fmt: skip

    @property
    def stops(self) -> tuple[Advice, ...]:
        """Stop findings that the new plan has and the old one had not."""
        return tuple(advice for advice in self.new_findings if advice.weight == "stop")


Answers = Mapping[str, Figure[Any]]


def compared(old: Plan, new: Plan, said: tuple[Answers, Answers] = ({}, {})) -> Comparison:
    """What differs between two plans. `said` are all answers of both briefs by id, those too that no figure rests on."""
    sides = side(old, said[0]), side(new, said[1])
    found = causes(*sides)
    findings = _findings(old, new)
    records = _records(old, new)
    return Comparison(
        client=text(new.office.name),
        currencies=(old.currency, new.currency),
        causes=found,
        moved=tuple(_moved(*sides, Reasons(*sides, found))),
        gone=tuple(_lone(old, new)),
        come=tuple(_lone(new, old)),
        bought=tuple(_bought(old, new)),
        totals=(_total(old), _total(new)),
        whole=(_whole(old), _whole(new)),
        **findings,
        **records,
    )


def _moved(old: Side, new: Side, reasons: Reasons) -> Iterator[Moved]:
    for id_, now in new.plan.figures.items():
        was = old.plan.figures.get(id_)
        if was is None or not differs(was, now):
            continue
        lines = next(why(old.plan, was)), next(why(new.plan, now))
        yield Moved(id_, now.label, *words(was, now, (old.plan, new.plan)), *lines, reasons.of(id_))


def _lone(one: Plan, other: Plan) -> Iterator[Lone]:
    for id_, figure in one.figures.items():
        if id_ not in other.figures:
            yield Lone(id_, figure.label, in_currency(text(figure), one.currency))


def _bought(old: Plan, new: Plan) -> Iterator[Bought]:
    were, are = old.purchase.chosen.options, new.purchase.chosen.options
    names = {slot.id: slot.name or slot.id for slot in (*old.purchase.slots, *new.purchase.slots)}
    for slot in [*are, *(slot for slot in were if slot not in are)]:
        was, now = were.get(slot), are.get(slot)
        prices = was.price if was else NOUGHT, now.price if now else NOUGHT
        told = _parts(was), _parts(now)
        if told[0] != told[1] or prices[0] != prices[1]:
            yield Bought(slot, names.get(slot, slot), *told, *prices)


def _parts(option: Option | None) -> str:
    """Articles with their counts; what stands already says so."""
    if option is None:
        return ""
    standing = {row.slug: count for row, count in option.stands}
    parts = [
        f"{count} × {row.slug}"
        + (f" ({min(count, standing[row.slug])} there already)" if row.slug in standing else "")
        for row, count in option.parts
    ]
    return ", ".join(parts) or "none"


def _total(plan: Plan) -> Decimal:
    return sum((option.price for option in plan.purchase.chosen.options.values()), NOUGHT)


def _whole(plan: Plan) -> Decimal | None:
    figure = plan.figures.get(WHOLE_PRICE)
    return figure.value if figure is not None else None


def _findings(old: Plan, new: Plan) -> dict[str, Any]:
    """Findings matched by code and what they are about; among several of one kind first those that say the same."""
    were, are = _by_kind(old), _by_kind(new)
    come, gone, other, declined = [], [], [], []
    for key in sorted({*were, *are}):
        pairs, left, right = _paired(were[key], are[key])
        gone += [_advice(None, told, cured=True) for told in left]
        come += [_advice(None, told) for told in right]
        for was, now in pairs:
            if (was.says, was.weight) != (now.says, now.weight):
                other.append(_advice(was, now))
            if now.declined != was.declined:
                declined.append(Advice(now.weight, *key, was.declined, now.declined, now.finding.remedy))
    heavy = ("stop", "mend", "note").index
    come.sort(key=lambda advice: (heavy(advice.weight), advice.code))
    return {"new_findings": tuple(come), "cured": tuple(gone), "reworded": tuple(other), "declined": tuple(declined)}


def _by_kind(plan: Plan) -> defaultdict[tuple[str, str], list[Told]]:
    kinds: defaultdict[tuple[str, str], list[Told]] = defaultdict(list)
    for told in plan.findings:
        kinds[told.finding.code, told.finding.about].append(told)
    return kinds


def _paired(were: Sequence[Told], are: Sequence[Told]) -> tuple[list[tuple[Told, Told]], list[Told], list[Told]]:
    """Those of both, then what is left of either."""
    left, right, pairs = list(were), list(are), []
    for was in were:
        if (same := next((now for now in right if now.says == was.says), None)) is not None:
            pairs.append((was, same))
            left.remove(was)
            right.remove(same)
    both = min(len(left), len(right))
    return [*pairs, *zip(left[:both], right[:both], strict=True)], left[both:], right[both:]


def _advice(was: Told | None, now: Told, *, cured: bool = False) -> Advice:
    old = now.says if cured else was.says if was is not None else ""
    return Advice(now.weight, now.finding.code, now.finding.about, old, "" if cured else now.says, now.finding.remedy)


Known = dict[tuple[str, str, str], Any]


def _records(old: Plan, new: Plan) -> dict[str, Any]:
    """Records by kind, trade and slug."""
    were, are = _entries(old), _entries(new)
    changed = [
        Entry(*key, told)
        for key in are
        if key in were and (told := tuple(_changed(were[key], are[key], (old, new))))
    ]  # fmt: skip
    return {
        "added": tuple(Entry(*key) for key in are if key not in were),
        "removed": tuple(Entry(*key) for key in were if key not in are),
        "changed": tuple(changed),
    }


def _entries(plan: Plan) -> Known:
    return {
        (kind.__name__, trade, record.slug): record
        for kind, entries in sorted(plan.entries.items(), key=lambda item: item[0].__name__)
        if kind.__name__ not in LEFT_OUT and kind is not Page
        for trade, record in entries
    }


def _changed(was: Any, now: Any, plans: tuple[Plan, Plan]) -> Iterator[tuple[str, str, str]]:
    for field in fields(now):
        mine, theirs = getattr(was, field.name), getattr(now, field.name)
        if isinstance(mine, Figure) and isinstance(theirs, Figure):
            if differs(mine, theirs):
                yield (field.name, *words(mine, theirs, plans))
        elif plain_field(mine, plans[0].currency) != plain_field(theirs, plans[1].currency):
            yield field.name, _said(mine, plans[0]), _said(theirs, plans[1])


def _said(value: Any, plan: Plan) -> str:
    """A field of a record in words."""
    if isinstance(value, Figure):
        return in_currency(text(value), plan.currency)
    if isinstance(value, (tuple, list)):
        return ", ".join(_said(one, plan) for one in value) or "none"
    return "none" if value is None else number(value)
