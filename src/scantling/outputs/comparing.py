"""A comparison of two plans as tables for a terminal, as canonical JSON and as one page."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby
from typing import Any

from scantling.figures.numbers import plain, with_unit
from scantling.outputs.documents.html import framed
from scantling.outputs.summary import Sheet
from scantling.plan.causes import Cause
from scantling.plan.comparing import Advice, Comparison, Moved

NOTHING_MOVED = "nothing moved"
CAUSES, FIGURES = "What was changed", "Figures that moved"
AFTER = COME, GONE, RECORDS = "Figures that came", "Figures that went", "Records"
NOT_TRACED = "not traced"
MOST_CAUSES, MOST_NUMBERS = 3, 6
LONGEST = 160


def headline(told: Comparison) -> tuple[str, ...]:
    """What it comes to, in a few sentences."""
    if told.nothing:
        return (f"{NOTHING_MOVED.capitalize()}: both plans say the same.",)
    figures = [_counted(len(told.moved), "figure") + " moved"]
    figures += [f"{len(told.come)} new"] if told.come else []
    figures += [f"{len(told.gone)} gone"] if told.gone else []
    return (", ".join(figures) + ".", *_price(told), *_advice(told), *_entries(told))


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def _price(told: Comparison) -> Iterator[str]:
    yield _dearer("What is to buy", *told.totals, told.currencies)
    was, now = told.whole
    if was is not None and now is not None:
        yield _dearer("The whole price, work and tax included,", was, now, told.currencies)


def _dearer(what: str, old: Decimal, new: Decimal, currencies: Sequence[str]) -> str:
    if currencies[0] != currencies[1]:
        return f"{what} came to {with_unit(old, currencies[0])} and comes to {with_unit(new, currencies[1])}."
    if old == new:
        return f"{what} costs as before: {with_unit(new, currencies[1])}."
    way = "dearer" if new > old else "cheaper"
    amounts = f"{with_unit(old, currencies[1])} before, {with_unit(new, currencies[1])} now"
    return f"{what} is {with_unit(abs(new - old), currencies[1])} {way}: {amounts}."


def _advice(told: Comparison) -> Iterator[str]:
    stops = f" ({_counted(len(told.stops), 'stop')})" if told.stops else ""
    parts = [
        (len(told.new_findings), f"{_counted(len(told.new_findings), 'new finding')}{stops}"),
        (len(told.cured), f"{len(told.cured)} cured"),
        (len(told.reworded), f"{len(told.reworded)} reworded"),
        (len(told.declined), f"{len(told.declined)} declined or taken up again"),
    ]
    if words := ", ".join(word for count, word in parts if count):
        yield f"Findings: {words}."


def _entries(told: Comparison) -> Iterator[str]:
    many = (("added", told.added), ("removed", told.removed), ("changed", told.changed))
    if words := ", ".join(f"{len(entries)} {word}" for word, entries in many if entries):
        yield f"Records: {words}."


def tables(told: Comparison) -> Iterator[Sheet]:
    """Every table that has a row: causes, purchase, findings, figures, records."""
    for sheet in _tables(told):
        if sheet.rows:
            yield sheet


def _tables(told: Comparison) -> Iterator[Sheet]:
    numbers = {cause: str(number) for number, cause in enumerate(told.causes, 1)}
    yield Sheet(
        CAUSES,
        ("", "kind", "which", "before", "after"),
        [(numbers[c], c.kind, c.id, c.old or "not there", c.new or "gone") for c in told.causes],
    )
    yield _purchase(told)
    yield from _findings(told)
    yield Sheet(
        FIGURES,
        ("figure", "before", "after", "because of"),
        [(m.id, _cut(m.old), _cut(m.new), _numbers(m.because, numbers)) for m in told.moved],
        frozenset({1, 2}),
        frozenset({0}),
    )
    yield Sheet(COME, ("figure", "what", "value"), [(f.id, f.label, _cut(f.value)) for f in told.come])
    yield Sheet(GONE, ("figure", "what", "value"), [(f.id, f.label, _cut(f.value)) for f in told.gone])
    yield _records(told)


def _numbers(because: Sequence[Cause], numbers: Mapping[Cause, str]) -> str:
    """The numbers of the causes, as the first table has them."""
    if not because:
        return NOT_TRACED
    more = f" and {len(because) - MOST_NUMBERS} more" if len(because) > MOST_NUMBERS else ""
    return ", ".join(numbers[cause] for cause in because[:MOST_NUMBERS]) + more


def _purchase(told: Comparison) -> Sheet:
    rows = [
        (b.name, b.old or "–", b.new or "–", *_amounts(b.old_price, b.new_price, told.currencies))
        for b in told.bought
    ]
    if rows:
        rows.append(("all that is to buy", "", "", *_amounts(*told.totals, told.currencies)))
    heads = ("for", "before", "after", "price before", "price after", "difference")
    return Sheet("Purchase", heads, rows, frozenset({3, 4, 5}))


def _amounts(old: Decimal, new: Decimal, currencies: Sequence[str]) -> tuple[str, str, str]:
    difference = signed(new - old, currencies[1]) if currencies[0] == currencies[1] else "–"
    return with_unit(old, currencies[0]), with_unit(new, currencies[1]), difference


def signed(amount: Decimal, currency: str) -> str:
    """An amount with its sign; nought has none."""
    sign = "+" if amount > 0 else "−" if amount < 0 else ""
    return f"{sign}{with_unit(abs(amount), currency)}"


def _findings(told: Comparison) -> Iterator[Sheet]:
    heads = ("weight", "code", "about")
    for title, advices in (("New findings", told.new_findings), ("Cured findings", told.cured)):
        rows = [(a.weight, a.code, a.about, a.new or a.old) for a in advices]
        yield Sheet(title, (*heads, "what"), rows)
    for title, advices in (
        ("Findings that read differently", told.reworded),
        ("Findings declined, or taken up again", told.declined),
    ):
        rows_ = [(a.weight, a.code, a.about, a.old or "–", a.new or "–") for a in advices]
        yield Sheet(title, (*heads, "before", "after"), rows_)


def _records(told: Comparison) -> Sheet:
    rows = [(entry.kind, entry.slug, "added", "", "", "") for entry in told.added]
    rows += [(entry.kind, entry.slug, "removed", "", "", "") for entry in told.removed]
    rows += [
        (entry.kind, entry.slug, "changed", name, _cut(old), _cut(new))
        for entry in told.changed
        for name, old, new in entry.fields
    ]
    return Sheet(RECORDS, ("kind", "which", "how", "what of it", "before", "after"), rows)


def reasons(because: Sequence[Cause], most: int = MOST_CAUSES) -> str:
    """`brief.people.roles.office.heads 24 -> 30`, the first few."""
    more = f"; and {len(because) - most} more" if len(because) > most else ""
    return "; ".join(map(str, because[:most])) + more or NOT_TRACED


def _cut(words: str) -> str:
    return words if len(words) <= LONGEST else f"{words[: LONGEST - 2]} …"


def as_json(told: Comparison) -> dict[str, Any]:
    """The comparison as plain data."""
    return {
        "client": told.client,
        "nothing_moved": told.nothing,
        "causes": [_cause(cause) for cause in told.causes],
        "figures": {
            "moved": [_moved(one) for one in told.moved],
            "come": [{"id": f.id, "label": f.label, "value": f.value} for f in told.come],
            "gone": [{"id": f.id, "label": f.label, "value": f.value} for f in told.gone],
        },
        "purchase": _purchase_json(told),
        "findings": {
            "new": [_advice_json(a) for a in told.new_findings], "cured": [_advice_json(a) for a in told.cured],
            "reworded": [_advice_json(a) for a in told.reworded], "declined": [_advice_json(a) for a in told.declined],
        },
        "records": {
            word: [
                {"kind": e.kind, "trade": e.trade, "slug": e.slug,
                 "fields": [{"name": name, "old": old, "new": new} for name, old, new in e.fields]}
                for e in entries
            ]
            for word, entries in (("added", told.added), ("removed", told.removed), ("changed", told.changed))
        },
    }  # fmt: skip


def _cause(cause: Cause) -> dict[str, str]:
    return {"kind": cause.kind, "id": cause.id, "old": cause.old, "new": cause.new}


def _moved(one: Moved) -> dict[str, Any]:
    return {
        "id": one.id, "label": one.label, "old": one.old, "new": one.new, "old_working": one.was.working,
        "new_working": one.now.working, "because": [cause.id for cause in one.because],
    }  # fmt: skip


def _purchase_json(told: Comparison) -> dict[str, Any]:
    slots = [
        {"slot": b.slot, "name": b.name, "old": b.old, "new": b.new, "old_price": plain(b.old_price),
         "new_price": plain(b.new_price), "difference": plain(b.difference)}
        for b in told.bought
    ]  # fmt: skip
    whole = [plain(amount) if amount is not None else None for amount in told.whole]
    return {
        "currencies": list(told.currencies), "slots": slots, "old_total": plain(told.totals[0]),
        "new_total": plain(told.totals[1]), "old_whole": whole[0], "new_whole": whole[1],
    }  # fmt: skip


def _advice_json(advice: Advice) -> dict[str, str]:
    return {
        "weight": advice.weight, "code": advice.code, "about": advice.about, "old": advice.old, "new": advice.new,
        "remedy": advice.remedy,
    }  # fmt: skip


def canonical(told: Comparison) -> str:
    """The same two plans give the same bytes."""
    return json.dumps(as_json(told), sort_keys=True, ensure_ascii=False, indent=1) + "\n"


@dataclass(frozen=True)
class Trade:
    """The figures of one trade, for the page."""

    name: str
    figures: Sequence[Moved]


def page(told: Comparison, names: tuple[str, str]) -> str:
    """One page: what it comes to, every table, and both workings of every figure that moved."""
    by_trade = sorted(told.moved, key=lambda one: one.id.partition(".")[0])
    trades = [Trade(name, list(many)) for name, many in groupby(by_trade, key=lambda one: one.id.partition(".")[0])]
    sheets = [sheet for sheet in tables(told) if sheet.title not in (FIGURES, *AFTER)]
    after = [sheet for sheet in tables(told) if sheet.title in AFTER]
    given = {
        "told": told,
        "names": names,
        "headline": headline(told),
        "sheets": sheets,
        "after": after,
        "trades": trades,
        "reasons": reasons,
    }
    return framed("comparison.html.j2", given, f"Two plans for {told.client}")
