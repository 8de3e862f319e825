"""Chooses what is tried: every intent at its edges and just outside, and from every zone whatever no intent asks for."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from itertools import chain
from typing import NamedTuple

from scantling.figures import FIREWALL, OUTSIDE, Flow, Host, Verdict
from scantling.trials.probe.aims import SPARE, Aim, Aims
from scantling.trials.probe.probing import Kind
from scantling.trials.probe.spots import ECHO_TYPES, EXOTIC, ORDINARY, Spot, edges_of, holds, spots, told_apart
from scantling.trials.rehearsal.office import Sort, Station

PORTED = frozenset({Kind.TCP, Kind.UDP})
ODD = 1
"""A port that nothing ever asks for."""
USUAL: tuple[Spot, ...] = ((Kind.TCP, 22), (Kind.UDP, 53), (Kind.TCP, ODD))


class Try(NamedTuple):
    """One thing to try, with nothing said yet of what is meant."""

    source: str
    zone: str
    """Of the source: whence it comes in."""
    source_address: Host
    kind: Kind
    target: str
    address: Host
    port: int
    hears: bool = True
    """Whether an answer would come back to whoever sends it."""


class Mine(NamedTuple):
    """A station that tries."""

    station: Station
    address: Host
    number: int
    """Its place among those of its zone."""
    lead: bool
    """Whether it tries all that its zone can."""


def tries(aims: Aims, flows: Sequence[Flow]) -> Iterator[Try]:
    """Everything to try in one family, each once."""
    return iter(dict.fromkeys(Chooser(aims, flows).all()))


class Chooser:
    """Everything to try in one family."""

    def __init__(self, aims: Aims, flows: Sequence[Flow]) -> None:
        self.aims, self.family = aims, aims.family
        self.flows, _ = told_apart(flows)
        self.echo: Spot = (Kind.ECHO, ECHO_TYPES[aims.family])
        self._reached: dict[str, tuple[Aim, ...]] = {}
        self._spots: dict[tuple[str, bool], list[Spot]] = {}

    def all(self) -> Iterator[Try]:
        """Zone by zone; then the firewall, then the outside."""
        inside = [zone for zone in self.aims.leads if zone != OUTSIDE]
        for zone in inside:
            for mine in self._stations(zone):
                yield from self._from_station(mine)
            yield from chain(self._borrowed(zone), self._false(zone))
        yield from self._from_firewall()
        if OUTSIDE in self.aims.leads:
            for mine in self._stations(OUTSIDE):
                yield from self._from_station(mine)
            yield from chain(self._borrowed(OUTSIDE), self._false(OUTSIDE))

    def _stations(self, zone: str) -> Iterator[Mine]:
        """Those of a zone; of everybody outside one address each."""
        lead = self.aims.leads[zone][0].slug
        seen: set[str] = set()
        for one, host in self.aims.stations:
            if one.zone == zone and one.slug not in seen:
                seen.add(one.slug)
                yield Mine(one, host, len(seen) - 1, one.slug == lead)

    # -------------------------------------------------------------------------------------------------- of intents

    @cached_property
    def from_zone(self) -> Mapping[str, list[Flow]]:
        """Intents by the zone that they come from."""
        found: dict[str, list[Flow]] = {}
        for flow in self.flows:
            found.setdefault(flow.source.zone, []).append(flow)
        return found

    @cached_property
    def speakers(self) -> Mapping[str, str]:
        """By intent, the station that tries it at every edge: the first of those it names, a machine or device before a spare."""
        found: dict[str, str] = {}
        ordered = sorted(self.aims.stations, key=lambda one: one[0].group == SPARE)
        for flow in self.flows:
            mine = (one.slug for one, host in ordered if one.zone == flow.source.zone and holds(flow.source, host))
            lead = self.aims.leads.get(flow.source.zone)
            whole = not flow.source.networks and lead is not None
            found[flow.slug] = lead[0].slug if whole and lead else next(mine, "")
        return found

    def reached(self, flow: Flow) -> tuple[Aim, ...]:
        """What an intent leads to, of all that is tried; a published service at the firewall's address, and at its own."""
        found = self._reached.get(flow.slug)
        if found is None:
            found = self._reached[flow.slug] = tuple(dict.fromkeys(self._reach(flow)))
        return found

    def _reach(self, flow: Flow) -> Iterator[Aim]:
        end = flow.target
        if flow.source.zone == OUTSIDE and end.zone not in {OUTSIDE, FIREWALL}:
            yield from (aim for aim in self.aims.doors if any(aim.address == host for _, host in self.aims.fronts))
        named = {host for name, hosts in self.aims.office.outside_names if name in end.named for host in hosts}
        for aim in self.aims.aims:
            if aim.zone == end.zone and aim.address in named:
                yield aim
            elif aim.zone == end.zone and (end.networks or not end.named) and holds(end, aim.address):
                yield from [aim] if end.networks or not self._is_known(aim) else []

    def _is_known(self, aim: Aim) -> bool:
        """Whether somebody outside is a party to something; what all may ask of the outside is tried on a stranger."""
        return aim.zone == OUTSIDE and aim.target != self.aims.leads[OUTSIDE][0].slug

    def spots(self, flow: Flow, *, edges: bool) -> list[Spot]:
        """What an intent carries."""
        key = (flow.slug, edges)
        if key not in self._spots:
            self._spots[key] = spots(flow.carried, self.family, edges=edges)
        return self._spots[key]

    @cached_property
    def pools(self) -> Mapping[Aim, tuple[Spot, ...]]:
        """By address, all that anybody may try there, and a little that nobody may."""
        found: dict[Aim, dict[Spot, None]] = {aim: {} for aim in self.aims.aims}
        for flow in self.flows:
            for aim in self.reached(flow) if flow.verdict is Verdict.ACCEPT else ():
                found[aim].update(dict.fromkeys(self.spots(flow, edges=False)))
        return {aim: tuple(dict.fromkeys((*many, *USUAL, self.echo))) for aim, many in found.items()}

    # ------------------------------------------------------------------------------------------------ from stations

    def _from_station(self, mine: Mine) -> Iterator[Try]:
        zone, lead = mine.station.zone, mine.lead
        sent = self._sender(mine)
        for flow in self.from_zone.get(zone, ()):
            aims = self.reached(flow)
            if self.speakers[flow.slug] == mine.station.slug:
                yield from (sent(aim, spot) for aim in aims for spot in self.spots(flow, edges=True))
                yield from self._around(flow, sent)
            elif aims:
                aim = aims[mine.number % len(aims)]
                yield from (sent(aim, spot) for spot in self.spots(flow, edges=False))
        for aim in self._elsewhere(zone):
            pool = self.pools[aim]
            yield from (sent(aim, spot) for spot in (pool if lead else (pool[mine.number % len(pool)],)))
        if lead or mine.station.sort is Sort.MACHINE:
            yield from self._odd(mine, sent)

    def _sender(self, mine: Mine) -> "Sender":
        return Sender(mine.station.slug, mine.station.zone, mine.address)

    def _elsewhere(self, zone: str) -> Iterator[Aim]:
        """Addresses that lie beyond the firewall, or are its own."""
        return (aim for aim in self.aims.aims if aim.zone != zone)

    def _around(self, flow: Flow, sent: "Sender") -> Iterator[Try]:
        """The first and last address that an intent leads to, and those just outside it."""
        first = [spot for spot in self.spots(flow, edges=False) if spot[0] in PORTED][:1]
        for host in edges_of(flow.target.networks, self.family) if flow.target.zone != FIREWALL else ():
            inside = flow.target.zone != OUTSIDE
            if (self.aims.lies(host) if inside else self._is_far(host)) and host not in self.known:
                aim = Aim(self.aims.at.get(host, ""), flow.target.zone, host)
                yield from (sent(aim, spot) for spot in first)

    @cached_property
    def known(self) -> frozenset[Host]:
        """Addresses that are tried anyway."""
        return frozenset(aim.address for aim in self.aims.aims)

    def _is_far(self, host: Host) -> bool:
        """Whether an address lies outside and something goes there."""
        inside = any(
            host in net for leg in self.aims.office.legs for net in leg.networks if net.version == host.version
        )
        return self.aims.way is not None and not inside and host not in self.aims.own

    def _odd(self, mine: Mine, sent: "Sender") -> Iterator[Try]:
        """Other protocols, and segments that belong to no connection: the first of each zone to every zone, the others to one."""
        zone = mine.station.zone
        toward = [aim for aim in self._sampled if aim.zone != zone or aim.zone == FIREWALL]
        if zone not in {OUTSIDE, FIREWALL}:
            toward = [
                *toward,
                *(Aim(FIREWALL, FIREWALL, host) for host in [self.aims.door(zone)] if host is not None),
            ]
        if zone == OUTSIDE:
            toward = [Aim(FIREWALL, FIREWALL, host) for _, host in self.aims.fronts] + toward
        if not mine.lead and toward:
            toward = [toward[mine.number % len(toward)]]
        for aim in toward:
            yield sent(aim, (Kind.STRAY, self._tcp(aim)))
            yield from (sent(aim, (Kind.RAW, number)) for number in EXOTIC)

    @cached_property
    def _sampled(self) -> tuple[Aim, ...]:
        """One address in each zone: a machine's, where there is one."""
        found: dict[str, Aim] = {}
        for aim in self.aims.aims:
            if aim.zone != FIREWALL:
                found.setdefault(aim.zone, aim)
        return tuple(found.values())

    def _tcp(self, aim: Aim) -> int:
        """A port that somebody may reach there by TCP."""
        return next((port for kind, port in self.pools.get(aim, ()) if kind is Kind.TCP), ORDINARY)

    def _from_firewall(self) -> Iterator[Try]:
        """What the firewall itself tries, from its address on the side of whom it asks."""
        for zone in self.aims.leads:
            host = self.aims.door(zone)
            if host is None:
                continue
            sent = Sender(FIREWALL, FIREWALL, host)
            for flow in self.from_zone.get(FIREWALL, ()):
                if flow.target.zone == zone:
                    aims = self.reached(flow)
                    yield from (sent(aim, spot) for aim in aims for spot in self.spots(flow, edges=True))
                    yield from self._around(flow, sent)
            aims_there = [aim for aim in self.aims.aims if aim.zone == zone]
            yield from (sent(aim, spot) for aim in aims_there for spot in self.pools[aim])
            for aim in [one for one in self._sampled if one.zone == zone]:
                yield sent(aim, (Kind.STRAY, self._tcp(aim)))
                yield from (sent(aim, (Kind.RAW, number)) for number in EXOTIC)

    # -------------------------------------------------------------------------------------- under other addresses

    def _borrowed(self, zone: str) -> Iterator[Try]:
        """The first and last address that an intent lets begin, and those just outside, where no station has them.

        Nobody hears the answer but outside, where every address is somebody's.
        """
        lead, _ = self.aims.leads[zone]
        for flow in self.from_zone.get(zone, ()):
            first = [spot for spot in self.spots(flow, edges=False) if spot[0] in PORTED][:1]
            aims = [aim for aim in self.reached(flow) if aim.zone != zone][:1]
            for host in edges_of(flow.source.networks, self.family) if first and aims else ():
                there = self._is_far(host) if zone == OUTSIDE else self.aims.lies(host) and self._behind(zone, host)
                if there and host not in self.aims.at:
                    kind, port = first[0]
                    yield Try(lead.slug, zone, host, kind, aims[0].target, aims[0].address, port, zone == OUTSIDE)

    def _behind(self, zone: str, host: Host) -> bool:
        return any(
            host.version == net.version and host in net for leg in self.aims.legs(zone) for net in leg.networks
        )

    def _false(self, zone: str) -> Iterator[Try]:
        """First segments under addresses of other zones, each to what its owner may reach."""
        lead, _ = self.aims.leads[zone]
        for owner, (_, host) in self.aims.leads.items():
            if owner == zone:
                continue
            aim, port = self._may(owner, zone)
            if aim is not None:
                yield Try(lead.slug, zone, host, Kind.FALSE, aim.target, aim.address, port, hears=False)

    def _may(self, owner: str, zone: str) -> tuple[Aim | None, int]:
        """What a zone's own may reach by TCP, from where it does not lie; else some other zone's machine."""
        for flow in self.from_zone.get(owner, ()):
            ports = [port for kind, port in self.spots(flow, edges=False) if kind is Kind.TCP]
            aims = [aim for aim in self.reached(flow) if aim.zone not in {zone, owner}]
            if flow.verdict is Verdict.ACCEPT and ports and aims and zone != OUTSIDE:
                return aims[0], ports[0]
        doors = [Aim(FIREWALL, FIREWALL, host) for _, host in self.aims.fronts]
        other = doors if zone == OUTSIDE else [aim for aim in self._sampled if aim.zone not in {zone, owner}]
        return (other[0], self._tcp(other[0])) if other else (None, 0)


class Sender(NamedTuple):
    """A station that sends, from one address."""

    source: str
    zone: str
    address: Host

    def __call__(self, aim: Aim, spot: Spot) -> Try:
        """A try on an address."""
        return Try(self.source, self.zone, self.address, spot[0], aim.target, aim.address, spot[1])
