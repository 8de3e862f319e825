"""The proof of a plan's rules, as evidence: the compiled list, or a file in its place, held against the intents."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from scantling.figures import Address, Address6, Flow, Host, Machine, RuleSet, Verdict
from scantling.plan.evidence import DIFFERS, PROVED, Difference, Evidence, Idle, Reach
from scantling.plan.make import Plan
from scantling.trials.proof.doors import Doors, Seen
from scantling.trials.proof.judge import Judged, judge
from scantling.trials.proof.meaning import Meaning, is_published, inner_host, placeless
from scantling.trials.proof.overlaps import overlaps
from scantling.trials.proof.sides import Court, Side, compiled, courts, meaning
from scantling.trials.proof.telling import Names
from scantling.trials.proof.verdicts import Verdicts

UNSHOWN = (
    "Traffic inside one zone never meets the firewall: whoever is in a zone may reach all else in it, as far as the switches let them.",
    "What happens inside a connection that is allowed: a web page, a tunnel or a lookup inside an encrypted page looks like any other.",
    "Radio: who is in range, and whether a password has been passed on.",
    "Whether the box that is bought does as its file says; try it on site, with packets.",
    "Whoever has the right address or port of a switch: a source is believed when it lies behind its port.",
)
"""What no proof from rules can show."""


FEW = 3


@dataclass(frozen=True)
class Case:
    """One office before the court: its intents, its rules, and everything in both families."""

    plan: Plan
    rules: RuleSet

    @cached_property
    def flows(self) -> tuple[Flow, ...]:
        """The intents."""
        return self.plan.records(Flow)

    @cached_property
    def courts(self) -> tuple[Court, ...]:
        """One for each family."""
        return courts(self.flows, self.rules)

    @cached_property
    def meant(self) -> Side:
        """What the intents mean."""
        return meaning(self.flows, self.courts)

    @cached_property
    def compiled(self) -> Side:
        """What the plan's own list does."""
        return compiled(self.rules, self.courts)

    @cached_property
    def names(self) -> Names:
        """Who is where."""
        return Names(self.plan)

    def judged(self, wanted: Side, found: Side) -> tuple[Judged, ...]:
        """One side against another, in both families; machines and devices are told of first."""
        return tuple(judge(court, wanted, found, self.names.likely(court.ground)) for court in self.courts)


def case(plan: Plan) -> Case | None:
    """The case of a plan; nothing where it has no rules."""
    found = plan.records(RuleSet)
    return Case(plan, found[0]) if found else None


def proof(one: Case, found: Side | None = None) -> Evidence:
    """The compiled rules, or another side, held against what is meant, exactly."""
    side = one.compiled if found is None else found
    judged = one.judged(one.meant, side)
    verdicts = Verdicts(one.names, one.meant, side, judged)
    differences = verdicts.differences()
    pairs, counts = overlaps(one.courts, side)
    doors = Doors(one.flows, tuple(_seen(judged)), tuple(_open(judged)))
    return Evidence(
        verdict=DIFFERS if differences else PROVED,
        about=side.about,
        intents=len(one.flows),
        holding=len(one.flows) - len(verdicts.broken(one.flows) if differences else ()),
        rules=len(side.rules),
        doors=doors.all(),
        machines=tuple(_machines(one.plan, doors)),
        differences=differences,
        idle=tuple(_idle(side, judged)),
        pairs=pairs,
        overlaps=counts,
        notes=(*side.notes, *_notes(one)),
        unshown=UNSHOWN,
    )


def equality(one: Case, first: Side, second: Side) -> tuple[Difference, ...]:
    """Where two lists differ: what the second lets through and the first does not, and the other way round."""
    judged = one.judged(first, second)
    return Verdicts(one.names, first, second, judged).differences()


def _seen(judged: Iterable[Judged]) -> Iterator[Seen]:
    yield from (Seen(one.court.ground, one.diagram) for one in judged)


def _open(judged: Iterable[Judged]) -> Iterator[Seen]:
    yield from (Seen(one.court.ground, one.open) for one in judged if one.open is not None)


def _machines(plan: Plan, doors: Doors) -> Iterator[Reach]:
    """Every machine in each of its zones."""
    machines = {one.slug for one in plan.records(Machine)}
    held: dict[tuple[str, str], list[Host]] = {}
    given: list[tuple[str, str, str, Host]] = [
        *((one.holder, one.zone, one.slug, one.address) for one in plan.records(Address)),
        *((one.holder, one.zone, one.slug, one.address) for one in plan.records(Address6)),
    ]
    for holder, zone, slug, host in given:
        if holder in machines and slug != f"gateway-{zone}":
            held.setdefault((holder, zone), []).append(host)
    yield from (doors.machine(holder, zone, hosts) for (holder, zone), hosts in held.items())


def _idle(side: Side, judged: Sequence[Judged]) -> Iterator[Idle]:
    """Rules that decide no packet of either family, and what decides in their place."""
    deciding = {fate.by for one in judged for stage in one.stages for fate in stage.deciding()}
    speaking = {ruling.by for stages in side.stages.values() for stage in stages for ruling in stage.rulings}
    for key, rule in side.rules.items():
        if key not in deciding and (key in speaking or side.whole):
            yield Idle(rule.told, rule.comment, _instead(side, key, judged))


def _instead(side: Side, key: str, judged: Sequence[Judged]) -> str:
    """Who decides where a rule would."""
    boxes = [
        (diagram, box)
        for one in judged
        for stage, diagram in zip(side.stages[one.court.ground.family], one.stages, strict=True)
        for ruling in stage.rulings
        for box in ruling.boxes
        if ruling.by == key
    ]
    fates = {fate.by for diagram, box in boxes for fate in diagram.deciding_in(box)}
    named = sorted(side.told(by) for by in fates if by)
    if not named:
        return "no packet is like what it says"
    more = " and others" if len(named) > FEW else ""
    return f"{', '.join(named[:FEW])}{more} decide{'' if named[1:] else 's'} before it"


def _notes(one: Case) -> Iterator[str]:
    """What was taken for granted of the intents."""
    zones = {leg.zone for leg in one.rules.legs}
    if lost := placeless(one.flows, zones):
        yield f"{len(lost)} intents speak of a zone that the firewall has no port to: no packet of theirs ever comes."
    empty = [flow for flow in one.flows if flow not in lost and not _has_packets(flow, one.courts)]
    for flow in empty:
        more = " (it names several machines, and one address outside can't lead to all)" if _is_lost(flow) else ""
        yield f"No packet is like what intent {one.names.intent(flow.slug)} says{more}."
    for party, _, names in one.rules.sets:
        if names:
            yield f"{party}: one address stands for whatever {', '.join(names)} answer."


def _is_lost(flow: Flow) -> bool:
    return is_published(flow) and flow.verdict is Verdict.ACCEPT and inner_host(flow) is None


def _has_packets(flow: Flow, many: Iterable[Court]) -> bool:
    return any(Meaning(court.ground, (flow,)).about(flow) for court in many)
