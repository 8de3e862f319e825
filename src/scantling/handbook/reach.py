"""Who reaches whom, counted from intents alone: pairs of zones, doors in and out, and what is shut."""

from collections.abc import Iterable, Mapping, Sequence

from scantling.figures import FIREWALL, OUTSIDE, End, Flow, Leg, Source, Verdict, rule
from scantling.figures.units import Count
from scantling.handbook.covering import flow_within
from scantling.handbook.hours import written_hours
from scantling.handbook.spoken import written_carried

COUNTING = Source("combinatorics: ordered pairs without repetition")
FEW = 2


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
    if end.networks and len(end.networks) <= FEW and end.zone not in {FIREWALL, OUTSIDE}:
        return f"{end.label} ({', '.join(str(n.network_address) if n.num_addresses == 1 else str(n) for n in end.networks)})"
    return end.label


def rows_of(flows: Iterable[Flow], rests: Mapping[str, str]) -> list[tuple[str, ...]]:
    """One row an intent: who, to whom, what, hours, why, where it is written; those that differ in nothing but who, together."""
    found: dict[tuple[str, ...], list[str]] = {}
    for flow in flows:
        no = "" if flow.verdict is Verdict.ACCEPT else "never "
        rest = (
            told(flow.target),
            no + written_carried(flow.carried),
            written_hours(flow.window),
            flow.why,
            rests[flow.slug],
        )
        found.setdefault(rest, []).append(told(flow.source))
    return [(", ".join(dict.fromkeys(who)), *rest) for rest, who in found.items()]
