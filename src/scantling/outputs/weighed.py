"""What else could have been bought, as tables for terminal and book and as plain data."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from scantling.figures.numbers import in_currency, plain, with_unit
from scantling.outputs.summary import Sheet
from scantling.plan.weighing import DemandPrice, NeverChosen, Runner, Step, Weighed

TITLE = "What else could have been bought"
MOST_NAMED, MOST_WINNERS = 6, 3


def tables(told: Weighed, currency: str) -> Iterator[Sheet]:
    """The next best sets, the price of every demand, what is never chosen and why."""
    yield Sheet(TITLE, ("rank", "dearer by", "what differs"), [_runner(one, currency) for one in told.next_best],
                frozenset({1}))  # fmt: skip
    heads: tuple[str, ...] = (
        "demand",
        "asked",
        "bought",
        "cheaper at",
        "saves",
        "dropped, saves",
        "more, by one other part",
    )
    yield Sheet("What each demand costs", heads, [_price(one, currency) for one in told.prices], frozenset({4, 5}))
    heads = ("for", "never chosen, because", "how many", "which")
    yield Sheet("Never chosen, and why", heads, list(_never(told.never, currency)), frozenset({2}))


def _runner(one: Runner, currency: str) -> tuple[str, ...]:
    changes = [f"{change.name}: {change.instead} instead of {change.bought}" for change in one.changes]
    return str(one.rank), with_unit(one.dearer, currency), "; ".join(changes)


def _price(one: DemandPrice, currency: str) -> tuple[str, ...]:
    bound = "at least" if one.demand.at_least is not None else "at most"
    unit = in_currency(one.demand.what.unit.symbol, currency)
    asked, given = f"{bound} {with_unit(one.asked, unit)}", with_unit(one.given, unit)
    harder = _step(one.harder, unit, currency) if one.harder is not None else "–"
    if one.easier is None:
        return one.demand.label, asked, given, "at no value", "–", "–", harder
    at = with_unit(one.easier.value, unit)
    return (
        one.demand.label, asked, given, at, with_unit(-one.easier.moves, currency), with_unit(one.dropped, currency), harder,
    )  # fmt: skip


def _step(step: Step, unit: str, currency: str) -> str:
    more = f"+{with_unit(step.moves, currency)}" if step.moves >= 0 else with_unit(step.moves, currency)
    return f"{with_unit(step.value, unit)}: {more}"


def _never(never: Sequence[NeverChosen], currency: str) -> Iterator[tuple[str, ...]]:
    """One row for each slot and kind of reason, the most numerous first in each slot."""
    groups: dict[tuple[str, str, str, str], list[NeverChosen]] = {}
    for one in never:
        groups.setdefault((one.slot, one.name, one.why, one.demand), []).append(one)
    for (_, name, *_), many in sorted(groups.items(), key=lambda item: (item[0][0], -len(item[1]), item[0])):
        least = min(one.dearer for one in many)
        by = f", by {with_unit(least, currency)} or more" if least else ""
        yield name, f"{_because(many)}{by}", str(len(many)), _named([one.option for one in many])


def _because(many: Sequence[NeverChosen]) -> str:
    """The reason of one, or of all that some other part beats: which those are, the one that beats most first."""
    by = Counter(one.by for one in many)
    if len(by) == 1:
        return many[0].because
    winners = _named([slug for slug, _ in sorted(by.items(), key=lambda item: (-item[1], item[0]))], MOST_WINNERS)
    return f"another costs no more and is no worse in anything that counts: {winners}"


def _named(options: Sequence[str], most: int = MOST_NAMED) -> str:
    rest = len(options) - most
    return ", ".join(options[:most]) + (f" and {rest} more" if rest > 0 else "")


def as_plain(told: Weighed) -> dict[str, Any]:
    """The same as plain data, each option by itself."""
    return {
        "next_best": [_plain_runner(one) for one in told.next_best],
        "prices": [_plain_price(one) for one in told.prices],
        "never": [
            {
                "slot": one.slot, "option": one.option, "why": one.why, "because": one.because,
                "demand": one.demand, "by": one.by, "dearer": plain(one.dearer),
            }
            for one in told.never
        ],
    }  # fmt: skip


def _plain_runner(one: Runner) -> dict[str, Any]:
    changes = [{"slot": change.slot, "instead": change.instead, "bought": change.bought} for change in one.changes]
    return {"rank": one.rank, "price": plain(one.price), "dearer": plain(one.dearer), "changes": changes}


def _plain_price(one: DemandPrice) -> dict[str, Any]:
    return {
        "id": one.demand.id, "label": one.demand.label, "unit": one.demand.what.unit.symbol,
        "asked": plain(one.asked), "given": plain(one.given),
        "easier": None if one.easier is None else {"value": plain(one.easier.value), "saves": plain(-one.easier.moves)},
        "dropped_saves": plain(one.dropped),
        "harder": None if one.harder is None else {"value": plain(one.harder.value), "dearer": plain(one.harder.moves)},
    }  # fmt: skip
