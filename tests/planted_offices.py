"""The example offices as they run on a Tuesday morning, for tests of planted errors: case, stations, rules that stand, the cube."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from ipaddress import IPv4Address

from offices import example
from referees.filtering import Moment, Packet, deciding
from scantling.figures import FIREWALL, OUTSIDE, FilterRule, Host, RuleSet, Verdict
from scantling.outputs.files.packet_filter import rules_text
from scantling.trials.probe.aims import Aims, Now
from scantling.trials.probe.probing import Kind, Probe
from scantling.trials.proof.headers import DAY, HOUR, MINUTE
from scantling.trials.proof.proving import Case, case
from scantling.trials.rehearsal.agreeing import lent_to
from scantling.trials.rehearsal.boundaries import boundary_probes
from scantling.trials.rehearsal.cubing import Cubing
from scantling.trials.rehearsal.cubing import Packet as Sent
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.lists import KEPT_OUT, Fares, Listed, Row, difference, flat
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.passages import ECHO, MESSAGE, STEP, TYPE, Passage, standing
from scantling.trials.rehearsal.planted import Planted, Wrong, chosen

TUESDAY_AT_TEN = DAY + 10 * HOUR
NAMES = {1: "icmp", 6: "tcp", 17: "udp", 47: "gre", 50: "esp", 58: "icmpv6"}
NUMBERS = {Kind.TCP: 6, Kind.UDP: 17, Kind.STRAY: 6, Kind.FALSE: 6}
Point = tuple[int, int, int, int]


@dataclass(frozen=True)
class Running:
    """An office that runs."""

    case: Case
    office: Office
    now: Now

    @property
    def planned(self) -> RuleSet:
        """The rules as they are planned."""
        return self.case.rules

    @cached_property
    def generated(self) -> str:
        """Their text."""
        return rules_text(self.planned, ["the generated file"])

    @cached_property
    def standing(self) -> RuleSet:
        """The rules as they stand."""
        return standing(self.planned, self.office.outside_names, lent_to(self.office, self.now))

    @cached_property
    def cubing(self) -> Cubing:
        """Judges changes of them."""
        likely = [host for family in (4, 6) for _, host in Aims(self.office, self.now, family).stations]
        return Cubing(self.standing, self.now.moment, likely)

    @cached_property
    def wrongs(self) -> tuple[Wrong, ...]:
        """Errors that are planted."""
        return chosen(self.planned, self.cubing)

    @cached_property
    def bounds(self) -> list[Probe]:
        """Tries at the boundaries."""
        return boundary_probes(self.case, self.office, self.now)

    # ------------------------------------------------------------------------------------------------ tries as points

    @cached_property
    def tries(self) -> Mapping[Passage, list[Point]]:
        """Tries at the boundaries as points of the cube, by passage."""
        zones = {one.slug: one.zone for one in self.office.stations}
        found: dict[Passage, list[Point]] = {}
        for probe in self.bounds:
            passage = self.passage(probe, zones[probe.source])
            found.setdefault(passage, []).append(point(probe, self.now.moment))
        return found

    def passage(self, probe: Probe, zone: str) -> Passage:
        """The passage that a try takes. Raises StopIteration where there is none."""
        where = self.cubing.where[probe.family]
        way = (zone, where.lies_in(int(probe.address)), "invalid" if probe.kind is Kind.STRAY else "new")
        at = point(probe, self.now.moment)
        mine = (one for one in where.all if (one.zone, one.toward, one.state) == way)
        return next(one for one in mine if lies(one.box, at))

    def seen_by_tries(self, planted: Planted) -> bool:
        """Whether some try at a boundary fares otherwise, read row by row."""
        changed = replace(self.standing, rules=planted.rules.rules, translations=planted.rules.translations)
        before, after = self.cubing.before, Listed(changed)
        change = difference(before.ordered, after.ordered)
        same = before.rules.translations == changed.translations
        for passage, points in self.tries.items():
            old, where = self.cubing.rows[passage], self.cubing.where[passage.family]
            new = after.changed(old, change, planted.chain, passage, where) if same else after.rows(passage, where)
            one, other = flat(old), flat(new or old)
            if any(first(one, at) != first(other, at) for at in points):
                return True
        return False


def point(probe: Probe, moment: int) -> Point:
    """A try as a point of the cube."""
    if probe.kind is Kind.RAW:
        what = probe.port * STEP
    elif probe.kind is Kind.ECHO:
        what = MESSAGE[probe.family] * STEP + ECHO[probe.family] * TYPE
    else:
        what = NUMBERS[probe.kind] * STEP + probe.port
    return (int(probe.address), int(probe.source_address), what, moment)


def lies(box: Sequence[Sequence[tuple[int, int]]], at: Sequence[int]) -> bool:
    """Whether a point lies in a box."""
    return all(any(first <= number <= last for first, last in form) for form, number in zip(box, at, strict=True))


def first(rows: Sequence[Row], at: Sequence[int]) -> Fares:
    """What becomes of a point, row by row."""
    return next((fares for box, fares in rows if lies(box, at)), KEPT_OUT)


@cache
def running(name: str) -> Running:
    """An example, every line to the outside with an address."""
    plan = example(name)
    found, office = case(plan), designed(plan)
    assert found is not None
    lent: dict[str, Host] = {way.slug: way.network4[2] for way in office.ways if way.lent}
    return Running(found, office, Now({}, TUESDAY_AT_TEN, lent=lent))


# ------------------------------------------------------------------------------------------------------- the referee


def moment_of(second: int) -> Moment:
    """Day and minute."""
    return Moment(second // DAY, second % DAY // MINUTE)


def read_plainly(rules: RuleSet, sent: Sent) -> Fares:
    """What becomes of a packet by tests/referees/filtering.py; of translations only what their own words say."""
    family, protocol = sent.family, NAMES.get(sent.protocol, str(sent.protocol))
    packet = Packet(sent.origin or FIREWALL, sent.source, sent.target, protocol, sent.port, 0, sent.state)
    early = deciding(
        packet, replace(rules, rules=tuple(rule for rule in rules.rules if rule.early)), moment_of(sent.second)
    )
    to = None
    if early is None and sent.state == "new" and sent.zone == OUTSIDE and family == 4:
        led = next(_led(rules, packet), None)
        if led is not None:
            to = (int(led[0]), led[1])
            packet = replace(packet, target=led[0], port=led[1] or packet.port, translated=True)
    late = deciding(
        packet, replace(rules, rules=tuple(rule for rule in rules.rules if not rule.early)), moment_of(sent.second)
    )
    if not (early is None and accepts(late)):
        return KEPT_OUT
    leaves = family == 4 and sent.toward == OUTSIDE and sent.zone != FIREWALL and sent.state == "new"
    masks = any(one.kind == "source" for one in rules.translations)
    return Fares(passes=True, to=to, masked=leaves and masks)


def accepts(rule: FilterRule | None) -> bool:
    """Whether what a rule decides passes; what none decides is dropped."""
    return rule is not None and rule.verdict is Verdict.ACCEPT


def _led(rules: RuleSet, packet: Packet) -> Iterator[tuple[Host, int]]:
    own = [host for leg in rules.legs for host in leg.own if leg.interface == packet.origin]
    for one in rules.translations:
        what = one.carried if one.kind == "target" and packet.target in own else None
        led = what is not None and what.protocol == packet.protocol and what.first <= packet.port <= what.last
        if led and isinstance(one.to, IPv4Address):
            yield one.to, one.port
