"""One packet followed through the rules: what becomes of it, which rule says so, and how its addresses change on the way."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from scantling.figures import FIREWALL, OUTSIDE, Flow
from scantling.trials.proof.compiled import Compiled
from scantling.trials.proof.headers import NEW, WEEK, Ground, Header
from scantling.trials.proof.rulings import Ruling, inside
from scantling.trials.proof.leading import end_of
from scantling.trials.proof.meaning import NOTHING, Meaning
from scantling.trials.proof.packet import Places, Words, headers, office
from scantling.trials.proof.proving import Case
from scantling.trials.proof.sides import Side
from scantling.trials.proof.spans import Spans, joined
from scantling.trials.proof.telling import Names, hours_words, packet_words

SAME = "both are in one zone, so the firewall is never asked: whether it gets there is for the switches and the target to say"
ITSELF = "the firewall speaks to itself, which no rule is asked about"


@dataclass(frozen=True)
class Traced:
    """What becomes of one packet in one family."""

    family: int
    packet: str
    """As it can be asked for again, with every address."""
    passes: bool | None
    """Nothing: the firewall is never asked."""
    says: str
    rule: str
    intent: str
    """The intent that the rule is made from."""
    also: tuple[str, ...]
    """Other intents that ask for it too."""
    line: str
    """Of the brief."""
    meant: bool
    """Whether the intents say the same."""
    hours: str
    """When it passes, where that depends on the hour; else empty. Nothing of one that never does."""
    way: tuple[str, ...]
    """Step by step."""


def traced(case: Case, side: Side, words: Words) -> tuple[Traced, ...]:
    """What was asked, in each family that both ends have. Raises PacketError."""
    places: Places = office(case.plan, case.rules.legs)
    grounds = [court.ground for court in case.courts]
    leads = [lead for ground in grounds for lead in Compiled(ground, case.rules).leads()]
    found = headers(words, places, grounds, leads)
    return tuple(_one(case, side, ground, header, asked=words.second) for ground, header in found)


def _one(case: Case, side: Side, ground: Ground, header: Header, *, asked: int | None) -> Traced:
    names, packet = case.names, packet_words(header, ground)
    packet = packet if asked is not None else packet.replace(" at mon 00:00", "")
    from_zone, to_zone = ground.zone_at(header.place), ground.zone_of(header.target)
    hours = _hours(side, header, ground)
    header = header if asked is not None or not hours else header._replace(second=hours[0][0])
    wanted, found = case.meant.fate(header, ground.family), side.fate(header, ground.family)
    bare = Traced(ground.family, packet, None, SAME, "", "", (), "", meant=True, hours="", way=())
    if from_zone == to_zone and from_zone not in {OUTSIDE, FIREWALL}:
        return bare
    if found.by == NOTHING:
        return replace(bare, says=ITSELF)
    asking = [flow.slug for flow in case.flows if _asks(flow, header, ground)]
    rule = side.rules.get(found.by)
    first = rule.flow if rule is not None and rule.flow else wanted.by if wanted.by in names.flows else ""
    return Traced(
        ground.family,
        packet,
        found.outcome.passes,
        f"{names.source(header, ground)} to {names.target(header, ground)}",
        side.told(found.by) if found.by else "",
        names.intent(first) if first else "",
        tuple(names.intent(flow) for flow in asking if flow != first),
        names.line(first),
        wanted.outcome == found.outcome if side.translates else wanted.outcome.passes == found.outcome.passes,
        hours_words(hours) if hours != ((0, WEEK - 1),) else "",
        tuple(_way(names, ground, header, found)),
    )


def _asks(flow: Flow, header: Header, ground: Ground) -> bool:
    """Whether an intent is about a packet."""
    return any(inside(box, header) for box in Meaning(ground, (flow,)).about(flow))


def _hours(side: Side, header: Header, ground: Ground) -> Spans:
    """The seconds of the week at which it passes."""
    cuts = {0, WEEK}
    for stage in side.stages[ground.family]:
        for ruling in stage.rulings:
            cuts |= {edge for box in ruling.boxes for first, last in box[5] for edge in (first, last + 1)}
    edges = sorted(cuts)
    runs = [(first, last - 1) for first, last in pairwise(edges)]
    passing = [run for run in runs if side.fate(header._replace(second=run[0]), ground.family).outcome.passes]
    return joined(passing)


def _way(names: Names, ground: Ground, header: Header, found: Ruling) -> Iterator[str]:
    """Where it comes in, what is changed, where it leaves."""
    zone = ground.zone_at(header.place)
    if zone == FIREWALL:
        yield "the firewall sends it itself"
    else:
        yield f"comes in from {names.zone(zone)} by {ground.legs[header.place].interface}"
    if not found.outcome.passes:
        yield "is dropped there"
        return
    end = found.outcome.to
    if end:
        yield f"its target is changed to {end}"
    to_zone = _end_zone(ground, header, end)
    if to_zone == FIREWALL and zone == FIREWALL:
        yield "is heard on the link"
    elif to_zone == FIREWALL:
        yield "is for the firewall itself"
    else:
        yield f"leaves to {names.zone(to_zone)} by {', '.join(_ports(ground, to_zone))}"
    if found.outcome.masked:
        yield "bears the firewall's own address from there on"
    if header.state == NEW and end:
        yield "replies go back the same way, their source changed back"


def _end_zone(ground: Ground, header: Header, end: str) -> str:
    return ground.zone_of(end_of(end) if end else header.target)


def _ports(ground: Ground, zone: str) -> Sequence[str]:
    return [leg.interface for leg in ground.legs if leg.zone == zone]
