"""From a plan's servers and zones to the paths of names and time: who answers, whom it asks in turn, whom each room asks."""

from collections.abc import Iterator, Sequence

from scantling.figures import Asking, Host, Server, Zone
from scantling.outputs.drawings.model import Phrase, plain
from scantling.outputs.drawings.paths_model import Asked, Paths, Station, Tap
from scantling.outputs.drawings.sheet_set import title_block
from scantling.plan.make import Plan

NAMES, LOOKUPS, TIME = "names", "lookups", "time"
DOES = {NAMES: "holds the office's names", LOOKUPS: "looks names up", TIME: "tells the time"}
ROOT = ("name servers outside,", "from the root on")
FOURTH = 4


def paths_sheet(plan: Plan) -> Paths:
    """Names and time, rooms in the order of their numbers."""
    servers = plan.records(Server)
    naming = [one for one in servers if one.does in {NAMES, LOOKUPS}]
    zones = {zone.slug: zone for zone in plan.records(Zone)}
    asking = sorted(
        (one for one in plan.records(Asking) if one.slug in zones), key=lambda one: zones[one.slug].number.value
    )
    return Paths(
        title_block(plan, "Names and time", "N-5"),
        tuple(_stations(plan, naming)),
        tuple(Station(one.slug, _called(one), DOES[TIME], one.upstream) for one in servers if one.does == TIME),
        tuple(_tap(one, zones[one.slug], servers) for one in asking),
        tuple(_down(asking, zones)), tuple(_notes(asking)),
    )  # fmt: skip


def _called(server: Server) -> str:
    return server.holder


def _stations(plan: Plan, naming: Sequence[Server]) -> Iterator[Station]:
    """Resolvers that ask another one first, then those that ask the outside, then whoever holds the names."""
    holding = next((one for one in naming if one.does == NAMES), None)
    resolvers = [one for one in naming if one.does == LOOKUPS]
    by_address = {str(address): one for one in resolvers for address in one.addresses}
    inner = {
        one.slug: list(dict.fromkeys(by_address[a].slug for a in one.upstream if a in by_address))
        for one in resolvers
    }
    for one in sorted(resolvers, key=lambda one: not inner[one.slug]):
        asks = [(slug, "all names") for slug in inner[one.slug]]
        together = holding is not None and holding.holder == one.holder
        copies = holding is not None and bool(set(holding.upstream) & {str(address) for address in one.addresses})
        if holding is not None and copies and not together:
            asks.append((holding.slug, "the office's own names"))
        outside = () if inner[one.slug] else one.upstream or ROOT
        copy = "its own copy of the office's names" if copies and not together else ""
        does = f"{DOES[LOOKUPS]}, {DOES[NAMES]}" if together else DOES[LOOKUPS]
        yield Station(one.slug, _called(one), does, outside, tuple(asks), copy)
    if holding is not None and all(one.holder != holding.holder for one in resolvers):
        domain = next((one.domain for one in plan.records(Asking) if one.domain), "")
        yield Station(holding.slug, _called(holding), f"{DOES[NAMES]}, {domain}" if domain else DOES[NAMES])


def _tap(asking: Asking, zone: Zone, servers: Sequence[Server]) -> Tap:
    names = _asked(asking.resolvers, [one for one in servers if one.does == LOOKUPS])
    times = _asked(asking.time_sources, [one for one in servers if one.does == TIME])
    return Tap(zone.slug, zone.name, str(int(zone.number.value)), names, times)


def _asked(hosts: Sequence[Host], servers: Sequence[Server]) -> tuple[Asked, ...]:
    """Each station once, at its IPv4 address where it has one."""
    found: dict[str, str] = {}
    for host in sorted(hosts, key=lambda host: host.version != FOURTH):
        server = next((one for one in servers if host in one.addresses), None)
        if server is not None:
            found.setdefault(server.slug, str(host))
    return tuple(Asked(station, address) for station, address in found.items())


def _down(asking: Sequence[Asking], zones: dict[str, Zone]) -> Iterator[Phrase]:
    """One sentence for all rooms that fare alike."""
    alike: dict[str, list[str]] = {}
    for one in asking:
        alike.setdefault(one.when_down, []).append(zones[one.slug].name)
    for says, rooms in alike.items():
        yield plain(f"{', '.join(rooms)}: {says}")


def _notes(asking: Sequence[Asking]) -> Iterator[Phrase]:
    yield plain("A pipe leads to whoever is asked: for names from the left, for the time from the right.")
    yield plain("Dashed: what answers at a cold start, and while the machine that holds the names is down.")
    yield plain("Thin: asked second. A clock that is wrong is found only beside another.")
    yield plain("Addresses are those of IPv4; each station answers in IPv6 too, at its address in the register.")
    if any(not one.domain for one in asking):
        yield plain("Rooms without the office's domain learn none of its names.")
