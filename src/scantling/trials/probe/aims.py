"""Who can try something on whom: every station with the addresses it holds by now, and every address worth trying."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from ipaddress import IPv4Address
from typing import NamedTuple

from scantling.figures import FIREWALL, OUTSIDE, Host, Leg
from scantling.trials.probe.probing import Kind
from scantling.trials.rehearsal.office import Office, Sort, Station, Way

SPARE = "spare"
LENT_TO = frozenset({Sort.DEVICE, Sort.VISITOR, Sort.KIT})


@dataclass(frozen=True)
class Now:
    """How things stand when the tries are made."""

    held: Mapping[str, tuple[Host, ...]]
    """By slug of a station: the addresses it holds. One that is not named has those set by hand or kept for it."""
    moment: int
    """Second of the week, from Monday midnight, UTC."""
    everyone: bool = False
    """Whether all devices are there, and each tries only what tells it from the first of its zone."""
    families: tuple[int, ...] = (4, 6)
    lent: Mapping[str, Host] = field(default_factory=dict)
    """By slug of a line: what the provider has lent the firewall there."""
    real: Mapping[str, Collection[tuple[Kind, int]]] = field(default_factory=dict)
    """By slug of a station ("outside": all of them there): ports that a real service holds."""


class Aim(NamedTuple):
    """An address that something is tried on."""

    target: str
    """Slug of the station there; empty: nobody's address."""
    zone: str
    """Zone in which it lies, OUTSIDE, or FIREWALL."""
    address: Host


@dataclass(frozen=True)
class Aims:
    """Stations and addresses of an office in one family, as they stand now."""

    office: Office
    now: Now
    family: int

    def address(self, station: Station) -> Host | None:
        """The address that a station goes by: one that is given to it, before one that it was lent."""
        given = (*station.fixed, *station.kept)
        held = self.now.held.get(station.slug, given)
        mine = [one for one in held if one.version == self.family and not one.is_link_local]
        return min(mine, key=lambda one: one not in given, default=None)

    @cached_property
    def stations(self) -> tuple[tuple[Station, Host], ...]:
        """Every station but the firewall with its address; of those outside, every address."""
        found: list[tuple[Station, Host]] = []
        for station in self.office.stations:
            if station.sort is Sort.OUTSIDE:
                found += [(station, host) for host in station.fixed if host.version == self.family and self.way]
            elif station.sort is not Sort.FIREWALL and (mine := self.address(station)) is not None:
                found.append((station, mine))
        return tuple(found)

    def legs(self, zone: str) -> Iterator[Leg]:
        """The firewall's ports into a zone."""
        return (leg for leg in self.office.legs if leg.zone == zone)

    def front(self, way: Way) -> Host | None:
        """The firewall's own address on a line, or the one that it was lent there."""
        mine = next((host for host in way.own if host.version == self.family), None)
        lent = (self.now.lent.get(way.slug), way.lent6)
        return mine or next((host for host in lent if host is not None and host.version == self.family), None)

    @cached_property
    def fronts(self) -> tuple[tuple[Way, Host], ...]:
        """Every line with the firewall's address on it."""
        return tuple((way, host) for way in self.office.ways if (host := self.front(way)) is not None)

    @cached_property
    def way(self) -> tuple[Way, Host] | None:
        """The line by which everything goes out, with the firewall's address there; nothing where there is none."""
        return min(self.fronts, key=lambda one: one[0].standby, default=None)

    @cached_property
    def doors(self) -> tuple[Aim, ...]:
        """The firewall's own addresses, in every zone and outside."""
        inner = [host for leg in self.office.legs if leg.zone != OUTSIDE for host in leg.own]
        mine = [host for host in inner if host.version == self.family] + [host for _, host in self.fronts]
        return tuple(Aim(FIREWALL, FIREWALL, host) for host in dict.fromkeys(mine))

    def door(self, zone: str) -> Host | None:
        """The firewall's own address on the side of a zone: what it speaks from to there."""
        if zone == OUTSIDE:
            return self.way[1] if self.way else None
        own = (host for leg in self.legs(zone) for host in leg.own if host.version == self.family)
        return next(own, None)

    @cached_property
    def aims(self) -> tuple[Aim, ...]:
        """Everything that is tried: machines, one device a row, spares, the firewall, and everybody outside."""
        found: dict[tuple[str, str, Host | None], Aim] = {}
        for station, host in self.stations:
            row = station.sort in LENT_TO and station.group != SPARE
            key = (station.zone, station.group, None) if row else (station.zone, station.slug, host)
            found.setdefault(key, Aim(station.slug, station.zone, host))
        return (*found.values(), *self.doors)

    @cached_property
    def at(self) -> Mapping[Host, str]:
        """Slugs of stations by address."""
        return {aim.address: FIREWALL for aim in self.doors} | {host: one.slug for one, host in self.stations}

    def lies(self, host: Host) -> bool:
        """Whether an address can be somebody's in a zone: no network's own, no broadcast, none of the firewall's."""
        if host in self.own:
            return False
        mine = [
            net for leg in self.office.legs for net in leg.networks if host.version == net.version and host in net
        ]
        if any(isinstance(host, IPv4Address) and host == net.broadcast_address for net in mine):
            return False
        return bool(mine) and all(host != net.network_address for net in mine)

    @cached_property
    def own(self) -> frozenset[Host]:
        """All of the firewall's own addresses."""
        return frozenset(aim.address for aim in self.doors)

    @cached_property
    def leads(self) -> Mapping[str, tuple[Station, Host]]:
        """By zone, the station that tries most: a device before a spare, a spare before a machine; outside the first."""
        rank = {Sort.DEVICE: 0, Sort.VISITOR: 0, Sort.KIT: 1, Sort.MACHINE: 3, Sort.OUTSIDE: 0}
        found: dict[str, tuple[Station, Host]] = {}
        for one, host in sorted(self.stations, key=lambda one: 2 if one[0].group == SPARE else rank[one[0].sort]):
            found.setdefault(one.zone, (one, host))
        return found
