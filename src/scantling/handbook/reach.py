"""Who reaches whom, counted from intents alone: pairs of zones, doors in and out, and what is shut."""

from collections.abc import Iterable, Sequence
from typing import Any

from scantling.figures import FIREWALL, End, Flow, Leg, Source, Verdict, rule
from scantling.figures.units import Count
from scantling.handbook.covering import flow_within
from scantling.handbook.hours import written_hours
from scantling.handbook.intents import lines_of
from scantling.handbook.spoken import written_carried

COUNTING = Source("combinatorics: ordered pairs without repetition")
FEW = 2
Row = tuple[dict[str, None], dict[str, None], str, str, dict[str, None]]


@rule(COUNTING, rises="places")
def ordered_pairs(places: Count) -> Count:
    """From each of so many places to each other one."""
    return places * (places - 1)


def killed(flows: Sequence[Flow], legs: Sequence[Leg]) -> dict[str, Flow]:
    """Intents that are forbidden as a whole, by their slug, and by whom."""
    drops = [flow for flow in flows if flow.verdict is not Verdict.ACCEPT]
    found: dict[str, Flow] = {}
    for flow in flows:
        if flow.verdict is Verdict.ACCEPT:
            wider = next((drop for drop in drops if flow_within(flow, drop, legs)), None)
            if wider is not None:
                found[flow.slug] = wider
    return found


def open_pairs(flows: Sequence[Flow], legs: Sequence[Leg]) -> dict[tuple[str, str], Flow]:
    """Pairs of different places, the firewall left out, that some living intent joins; the first that does."""
    dead = killed(flows, legs)
    found: dict[tuple[str, str], Flow] = {}
    for flow in flows:
        pair = flow.source.zone, flow.target.zone
        if flow.verdict is Verdict.ACCEPT and flow.slug not in dead and FIREWALL not in pair and pair[0] != pair[1]:
            found.setdefault(pair, flow)
    return found


def told(end: End) -> str:
    """An end as a page has it: what it is called, and its addresses, names or dated list."""
    if end.named:
        listed = f", networks of {end.listed}" if end.listed else ""
        return (
            f"{end.label} (names {', '.join(end.named)}{listed})" if end.label != ", ".join(end.named) else end.label
        )
    if end.listed:
        return f"{end.label} (list of {end.listed})"
    if end.holder and end.networks and len(end.networks) <= FEW:
        return f"{end.label} ({', '.join(str(n.network_address) if n.num_addresses == 1 else str(n) for n in end.networks)})"
    return end.label


def rows_of(flows: Iterable[Flow]) -> list[tuple[str, ...]]:
    """One row an intent: who, to whom, what and when, why, on which lines it rests; those that differ in one end only, together."""
    by_target: dict[Any, Row] = {}
    for flow in flows:
        row: Row = (
            {told(flow.source): None},
            {told(flow.target): None},
            _what(flow),
            flow.why,
            dict.fromkeys(lines_of(flow.cause, FEW + 1)),  # whether there are more than a few is all that is told
        )
        _join(by_target, (tuple(row[1]), row[2], row[3]), row)
    by_source: dict[Any, Row] = {}
    for row in by_target.values():
        _join(by_source, (tuple(row[0]), row[2], row[3]), row)
    return [
        (", ".join(who), ", ".join(whom), what, why, _lines(list(lines)))
        for who, whom, what, why, lines in by_source.values()
    ]


def _join(found: dict[Any, Row], key: Any, row: Row) -> None:
    known = found.setdefault(key, row)
    for mine, more in ((known[0], row[0]), (known[1], row[1]), (known[4], row[4])):
        mine.update(more)


def _what(flow: Flow) -> str:
    """Protocols, ports and hours; what is forbidden begins with never."""
    no = "" if flow.verdict is Verdict.ACCEPT else "never "
    hours = f" ({written_hours(flow.window)})" if flow.window else ""
    return no + written_carried(flow.carried) + hours


def _lines(many: Sequence[str]) -> str:
    """A few lines of the brief; where there are none, the house or a standard has it so."""
    return ", ".join(many[:FEW]) + (" and others" if len(many) > FEW else "") if many else "house rule or standard"
