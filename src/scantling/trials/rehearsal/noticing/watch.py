"""What is looked at in each pass: a few stations of every zone, a few of the tries, and how long answers are waited for."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from scantling.figures import FIREWALL, OUTSIDE, Host, Server
from scantling.trials.probe.probing import Expected, Kind, Probe
from scantling.trials.rehearsal.given import Given
from scantling.trials.rehearsal.loading import listing
from scantling.trials.rehearsal.office import Sort, Station
from scantling.trials.rehearsal.session import Living
from scantling.trials.rehearsal.signs import Seen
from scantling.trials.rehearsal.stations import hardware
from scantling.trials.rehearsal.trying import Trial

A_ZONE = 3
"""How many stations of a zone are looked at, each of another row of devices."""
PATIENCE, PATIENT = 0.2, 1.0
"""Seconds that an answer may take on a quiet machine, and at most; rooms of one kernel answer in a few thousandths."""
NOTHING = Seen()
NEWCOMER = 0x7FF0
"""Hardware addresses of newcomers are counted from here, above those of all stations."""
PARTY = "party-"
"""How names of sets of parties' addresses begin."""
KINDS = frozenset({Kind.TCP, Kind.UDP, Kind.ECHO})


@dataclass(frozen=True)
class Watch:
    """All that stays the same from pass to pass."""

    living: Living
    trial: Trial
    stations: Mapping[str, tuple[Station, ...]]
    """By zone: those that are looked at, who asks for an address first."""
    probes: tuple[Probe, ...]
    given: Mapping[str, Given]
    """By station: what it was given in IPv4."""
    names: Mapping[str, Host]
    """Names of machines that the resolvers must know."""
    sets: frozenset[str] = frozenset()
    """Sets of parties' addresses that hold some."""
    known: Seen = NOTHING
    """What was seen while nothing had happened yet."""
    patience: float = PATIENCE

    def asking(self) -> Iterator[tuple[str, Station]]:
        """Zones in which addresses are lent, and those who ask for one there."""
        for segment in self.living.office.segments:
            if segment.lends:
                yield from ((segment.slug, one) for one in self.stations[segment.slug] if one.asks)

    def source(self, station: Station, version: int) -> Host | None:
        """The address that a station asks from."""
        held = self.living.held.get(station.slug, ())
        return next((host for host in held if host.version == version and not host.is_link_local), None)

    def newcomer(self, zone: str) -> str:
        """The hardware address of a newcomer in a zone."""
        return hardware(self.living.office.segment(zone).number, NEWCOMER)

    def serving(self, what: str) -> Iterator[Server]:
        """All that serve in a way."""
        return (one for one in self.living.plan.records(Server) if one.does == what)


def watch(living: Living, trial: Trial) -> Watch:
    """Choose what is looked at."""
    stations = {segment.slug: tuple(_few(living, segment.slug)) for segment in living.office.segments}
    names = {
        one.names[0]: next(host for host in one.fixed if host.version == 4)  # noqa: PLR2004 - the version
        for one in living.office.stations
        if one.sort is Sort.MACHINE and one.names
    }
    given = {one.station: one for one in living.given if one.family == 4 and one.address is not None}  # noqa: PLR2004
    return Watch(living, trial, stations, tuple(_chosen(living, trial, stations)), given, names, sets_filled(living))


def sets_filled(living: Living) -> frozenset[str]:
    """Names of the sets of parties' addresses that hold some by now. Raises OSError."""
    return filled_sets(listing(living.run))


def filled_sets(listed: Iterable[Mapping[str, Any]]) -> frozenset[str]:
    """The same of a listing."""
    sets = [one["set"] for one in listed if "set" in one]
    return frozenset(one["name"] for one in sets if one["name"].startswith(PARTY) and one.get("elem"))


def _few(living: Living, zone: str) -> Iterator[Station]:
    """Of each row of devices one, those first who ask for their address, but never a machine of the server."""
    groups: dict[str, Station] = {}
    here = [one for one in living.office.stations if one.zone == zone and one.sort is not Sort.MACHINE]
    for one in sorted(here, key=lambda one: not one.asks):
        groups.setdefault(one.group, one)
    yield from [*groups.values()][:A_ZONE]


def _chosen(living: Living, trial: Trial, stations: Mapping[str, tuple[Station, ...]]) -> Iterator[Probe]:
    """Of all tries one for each sort of thing: who is spoken to by which zone at which port, as far as somebody may do so.

    In the first family every such port is tried, in the other one for each intent: hands slip in both alike.
    """
    sorts = {one.slug: one for one in living.office.stations}
    few = {one.slug for many in stations.values() for one in many}
    heard = {(one.target, one.kind, one.port) for one in trial.probes if one.expected is Expected.ALLOWED}
    taken: set[tuple[object, ...]] = set()
    for one in trial.probes:
        source = sorts[one.source]
        borrowed = source.slug in living.held and one.source_address not in living.held[source.slug]
        if borrowed or one.kind not in KINDS or (one.first and source.zone == OUTSIDE):
            continue
        single = source.sort is Sort.MACHINE or source.zone in {FIREWALL, OUTSIDE} or one.source in few
        who = one.source if single and one.expected is Expected.ALLOWED else source.zone
        first = one.family == living.families[0]
        key = (who, one.target, one.kind, one.port if first else one.reason, one.family)
        wanted = one.expected is Expected.ALLOWED or (
            (one.target, one.kind, one.port) in heard and _is_ours(sorts.get(one.target))
        )
        if wanted and key not in taken:
            taken.add(key)
            yield one


def _is_ours(target: Station | None) -> bool:
    """Whether it is a machine of the server or the firewall: what must be kept from others."""
    return target is not None and target.sort in {Sort.MACHINE, Sort.FIREWALL}
