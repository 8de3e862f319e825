"""What tests of the proof share: headers from plain packets and back, edges of boxes, random packets near them, sides."""

from collections.abc import Iterator, Sequence
from random import Random

from flow_samples import LEGS
from referees.filtering import Moment, Packet
from scantling.figures import FIREWALL, Flow, Leg, RuleSet, Transport
from scantling.handbook.filtering import compiled as compile_rules
from scantling.handbook.translating import translations
from scantling.trials.proof.headers import (
    DAY, INVALID, MINUTE, NEW, REPLY, Ground, Header, carried,
)  # fmt: skip
from scantling.trials.proof.judge import Apart, judge
from scantling.trials.proof.rulings import Outcome, Stage
from scantling.trials.proof.sides import Court, Side, compiled, courts, meaning

STATES = {"new": NEW, "established": REPLY, "invalid": INVALID}


def rules_of(flows: Sequence[Flow], legs: Sequence[Leg] = LEGS) -> RuleSet:
    """The compiled list of some intents."""
    return compile_rules(flows, legs, translations(flows, legs))


def sides(flows: Sequence[Flow], rules: RuleSet) -> tuple[tuple[Court, ...], Side, Side]:
    """Both families, what is meant, and what the rules do."""
    many = courts(flows, rules)
    return many, meaning(flows, many), compiled(rules, many)


def apart(flows: Sequence[Flow], rules: RuleSet) -> list[Apart]:
    """Every way in which rules and intents differ."""
    many, meant, found = sides(flows, rules)
    return [one for court in many for one in judge(court, meant, found).apart]


def header_of(packet: Packet, moment: Moment, ground: Ground) -> Header:
    """A plain packet, whose target nothing changed, as numbers."""
    names = [leg.interface for leg in ground.legs]
    place = len(names) if packet.origin == FIREWALL else names.index(packet.origin)
    what = carried(Transport(packet.protocol, packet.port, packet.port))[0][0]
    line = ground.places("outside")
    return Header(
        STATES[packet.state], place, int(packet.target), int(packet.source), what, moment.day * DAY + moment.minute * MINUTE,
        line[0][0] if line else 0, packet.source_port,
    )  # fmt: skip


def near(ground: Ground, stages: Sequence[Stage], random: Random, count: int) -> Iterator[Header]:
    """Headers on the edges of random boxes of some lists, and just beside them."""
    boxes = [box for stage in stages for ruling in stage.rulings for box in ruling.boxes]
    for _ in range(count):
        numbers = []
        for place, runs in enumerate(random.choice(boxes)):
            first, last = random.choice(runs)
            number = random.choice((first, last, first - 1, last + 1, (first + last) // 2))
            anything = random.randint(0, ground.last[place])
            numbers.append(min(max(number, 0), ground.last[place]) if random.random() < 0.9 else anything)
        yield Header(*numbers)


def plain_fate(stages: Sequence[Stage], header: Header) -> Outcome:
    """What becomes of a packet by going through every list, rule by rule, with nothing prepared: the naive evaluator."""
    to, masked = "", False
    for stage in stages:
        found = stage.unless.outcome
        for ruling in stage.rulings:
            if any(lies_in(box, header) for box in ruling.boxes):
                found = ruling.outcome
                break
        if not found.passes:
            return found
        to, masked = to or found.to, masked or found.masked
    return Outcome(passes=True, to=to, masked=masked)


def lies_in(box: Sequence[Sequence[tuple[int, int]]], header: Header) -> bool:
    """Whether every number of a packet lies in one of the runs of its field."""
    return all(any(a <= n <= b for a, b in runs) for n, runs in zip(header, box, strict=True))
