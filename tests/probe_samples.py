"""What tests of probes share: offices as they would stand, with made-up lent addresses, and their probes."""

from dataclasses import dataclass, replace
from functools import cached_property

from scantling.figures import OUTSIDE, Host, Leg
from scantling.plan.make import Plan
from scantling.trials.probe.aims import Now
from scantling.trials.probe.intended import probes
from scantling.trials.probe.probing import Probe
from scantling.trials.proof.proving import Case, case
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.office import Office

TUESDAY_NOON = 86400 + 43200
FIRST_LENT, FIRST_LENT6 = 40, 0x1000


@dataclass(frozen=True)
class Stood:
    """An office with the addresses that its stations hold."""

    plan: Plan
    everyone: bool = False
    moment: int = TUESDAY_NOON
    families: tuple[int, ...] = (4, 6)

    @cached_property
    def case(self) -> Case:
        """The case of its plan, which has rules."""
        found = case(self.plan)
        assert found is not None
        return found

    @cached_property
    def office(self) -> Office:
        """As it would stand."""
        return designed(self.plan, everyone=self.everyone)

    @cached_property
    def held(self) -> dict[str, tuple[Host, ...]]:
        """Counted up from somewhere in the zone, one after another, as an address server does."""
        found: dict[str, tuple[Host, ...]] = {}
        for segment in self.office.segments:
            asking = [one for one in self.office.stations if one.zone == segment.slug and not (one.fixed or one.kept)]
            for place, one in enumerate(asking):
                fourth: tuple[Host, ...] = (segment.network4.network_address + FIRST_LENT + place,)
                sixth = segment.network6
                found[one.slug] = fourth + ((sixth.network_address + FIRST_LENT6 + place,) if sixth else ())
        return found

    @cached_property
    def lent(self) -> dict[str, Host]:
        """What the provider would lend: the second address of the line's network."""
        return {way.slug: way.network4.network_address + 2 for way in self.office.ways if way.lent}

    @cached_property
    def now(self) -> Now:
        """How things stand."""
        return Now(self.held, self.moment, self.everyone, self.families, self.lent)

    @cached_property
    def probes(self) -> list[Probe]:
        """All of them."""
        return probes(self.case, self.office, self.now)

    @cached_property
    def legs(self) -> tuple[Leg, ...]:
        """The firewall's ports, with what was lent as its own."""
        sixth = {way.slug: way.lent6 for way in self.office.ways}
        return tuple(
            replace(leg, own=(*leg.own, *(host for host in (self.lent.get(leg.slug), sixth.get(leg.slug)) if host is not None)))
            if leg.zone == OUTSIDE
            else leg
            for leg in self.case.rules.legs
        )  # fmt: skip

    @cached_property
    def zones(self) -> dict[str, str]:
        """Zones by station."""
        return {one.slug: one.zone for one in self.office.stations}
