"""Address plans that keep what was issued: no number, network, run or address moves; what is new takes free places."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network
from itertools import chain, count
from re import escape, fullmatch
from typing import Annotated, Any

from scantling.figures import Source, method, rule
from scantling.figures.units import Address, Address6, Count, Hours, Network, Truth, Unit, Word, closed
from scantling.handbook.addressing import (
    WIDEST, AddressRegister, NetworkRegister, Run, first_free, placed, usable,
)  # fmt: skip

KEEPING = Source("what was issued stays; what is new takes the first free place", "own derivation")
CIDR = Source("RFC 4632")
HABIT = Source("common practice, no source", "common practice")
HIGHEST_NUMBER = 4094  # network numbers of IEEE 802.1Q
GATEWAY, STATIC, MACHINES, LENT = "gateway", "static", "machines", "lent"
DOOR = "the gateway"
"""Under this, which no machine can be called, the gateway's address stands among those that are held."""
WIDER, SECOND = "wider", "second"
CountRegister = Annotated[Mapping[str, int], closed(Mapping)]
REGISTER: Unit[Any] = closed(dict)
OneRun = Annotated[Run, closed(Run)]
Layout = Annotated[Mapping[str, Any], REGISTER]
Span = tuple[int, int]
"""First and last address as numbers, both ends included."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the register: what one holder has in one zone; empty where it has none."""

    fourth: str = ""
    sixth: str = ""
    hardware: str = ""

    def __str__(self) -> str:
        return ", ".join(one for one in (self.fourth, self.sixth, self.hardware) if one)

    def as_plain(self) -> dict[str, Any]:
        """For canonical JSON."""
        return {"ipv4": self.fourth, "ipv6": self.sixth, "hardware": self.hardware}


Entries = Annotated[Mapping[str, Entry], closed(Mapping)]


@method(KEEPING, says="as issued; a new zone takes its usual number where nobody has it, else the next free one")
def kept_numbers(usual: Mapping[str, Count], issued: Mapping[str, Count]) -> CountRegister:
    """The network number of every zone."""
    given = {zone: issued[zone] for zone in usual if zone in issued}
    taken = set(issued.values())
    new = sorted((zone for zone in usual if zone not in issued), key=lambda zone: (usual[zone], zone))
    for zone in new:
        if usual[zone] not in taken:
            given[zone] = usual[zone]
            taken.add(usual[zone])
    for zone in new:
        if zone not in given:
            onward = chain(range(usual[zone] + 1, HIGHEST_NUMBER + 1), range(1, usual[zone]))
            given[zone] = next((number for number in onward if number not in taken), usual[zone])
            taken.add(given[zone])
    return {zone: given[zone] for zone in usual}


@method(CIDR, says="the number after the stroke")
def prefix_of(network: Network) -> Count:
    """Prefix length of a subnet."""
    return network.prefixlen


@rule(CIDR)
def differs(one: Network, other: Network) -> Truth:
    """Two networks are not the same."""
    return one != other


@method(
    KEEPING, says="as issued, or around that where a shorter prefix is asked for and nothing else lies there; a new zone "
    "where its number says, else at the first free place, clear of all that was issued",
)  # fmt: skip
def kept_subnets(
    block: Network, prefixes: Mapping[str, Count], numbers: Mapping[str, Count], issued: Mapping[str, Network]
) -> NetworkRegister:
    """A subnet for every zone; `issued` holds those of zones that are no more, too. What has no place is left out."""
    given: dict[str, IPv4Network] = dict(issued)
    for zone in sorted(issued.keys() & prefixes.keys()):
        others = [network for name, network in given.items() if name != zone]
        given[zone] = _around(issued[zone], usable(prefixes[zone]), block, others)
    new = {zone: usable(prefix) for zone, prefix in prefixes.items() if zone not in issued}
    given = placed(block, new, numbers, given)
    return {zone: given[zone] for zone in sorted(prefixes.keys() & given.keys(), key=lambda z: (numbers[z], z))}


def _around(network: IPv4Network, prefix: int, block: IPv4Network, others: Sequence[IPv4Network]) -> IPv4Network:
    """The network of that prefix around this one; itself where that is no wider or not free."""
    if prefix >= network.prefixlen:
        return network
    wider = network.supernet(new_prefix=prefix)
    free = wider.subnet_of(block) and not any(wider.overlaps(other) for other in others)
    return wider if free else network


@method(KEEPING, says="the block itself, doubled until every zone that was not issued has a place")
def kept_room(
    block: Network, prefixes: Mapping[str, Count], numbers: Mapping[str, Count], issued: Mapping[str, Network]
) -> Network:
    """The block, or the smallest network around it in which all zones have a place beside what was issued."""
    wider = block
    while wider.prefixlen > 0 and len(kept_subnets(wider, prefixes, numbers, issued)) < len(prefixes):
        wider = wider.supernet()
    return wider


@method(KEEPING, says="as issued; of a new subnet the first address")
def kept_gateways(networks: Mapping[str, Network], issued: Mapping[str, Address]) -> AddressRegister:
    """The gateway of every zone."""
    return {name: issued.get(name, network.network_address + 1) for name, network in networks.items()}


@method(
    CIDR, says="wider: the smallest network around it with so many addresses, if it touches no other; "
    "second: the first free place for as many again",
)  # fmt: skip
def more_room(network: Network, addresses: Count, block: Network, others: Mapping[str, Network]) -> NetworkRegister:
    """Where a subnet that is too small finds room while nothing moves; empty when there is none."""
    prefix = max(WIDEST, min(network.prefixlen - 1, 32 - max(0, addresses - 1).bit_length()))
    found: dict[str, IPv4Network] = {}
    wider = _around(network, prefix, block, list(others.values()))
    if wider != network:
        found[WIDER] = wider
    second = first_free(block, [network, *others.values()], network.prefixlen)
    if second is not None:
        found[SECOND] = second
    return found


def gaps(network: IPv4Network, taken: Iterable[Span]) -> list[Span]:
    """What is free between the two ends of a network, which no device can have."""
    at, end = int(network.network_address) + 1, int(network.broadcast_address) - 1
    free: list[Span] = []
    for first, last in sorted(taken):
        if at < first and at <= end:
            free.append((at, min(first - 1, end)))
        at = max(at, last + 1)
    return [*free, (at, end)] if at <= end else free


def filled(free: Sequence[Span], wanted: int, *, from_top: bool) -> list[Span]:
    """Spans for so many addresses: one gap that holds all if there is one, else gap after gap; fewer if all are full."""
    order = list(reversed(free)) if from_top else list(free)
    whole = [gap for gap in order if _size(gap) >= wanted]
    pieces = []
    for gap in whole[:1] or order:
        take = min(wanted, _size(gap))
        pieces.append((gap[1] - take + 1, gap[1]) if from_top else (gap[0], gap[0] + take - 1))
        wanted -= take
        if not wanted:
            break
    return pieces


def _size(span: Span) -> int:
    return span[1] - span[0] + 1


def called(name: str, runs: Iterable[str]) -> list[str]:
    """Which runs serve one purpose: the first by its name, further ones as `more-2-<name>`."""
    return [run for run in runs if run == name or fullmatch(rf"more-[0-9]+-{escape(name)}", run)]


def _next_name(name: str, runs: Iterable[str]) -> str:
    taken = set(runs)
    return next(one for n in count(1) if (one := name if n == 1 else f"more-{n}-{name}") not in taken)


def _order(wanted: Mapping[str, int], new: int) -> Iterator[tuple[str, int]]:
    """How many addresses of each purpose: static first (its count has the gateway in it), then machines, then the rest."""
    yield STATIC, wanted.get(STATIC, 0) - 1
    yield MACHINES, new
    yield from ((name, many) for name, many in wanted.items() if name != STATIC)


def _free_of_machines(runs: Mapping[str, Run], held: Mapping[str, IPv4Address]) -> Iterator[IPv4Address]:
    """Addresses in the machines' runs that nobody was given, the lowest first."""
    taken = set(held.values())
    for run in sorted((runs[name] for name in called(MACHINES, runs)), key=lambda run: run.first):
        yield from (a for a in map(IPv4Address, range(int(run.first), int(run.last) + 1)) if a not in taken)


@method(
    KEEPING, says="runs and addresses as issued; what grew gets a further run: the pool in the highest gap, all else in the "
    "lowest one that holds it; a new machine gets the lowest free address of the machines' runs; nothing shrinks by itself",
)  # fmt: skip
def laid_out(
    network: Network,
    wanted: Mapping[str, Count],
    holders: Mapping[str, Count],
    firsts: Mapping[str, Address],
    lasts: Mapping[str, Address],
    held: Mapping[str, Address],
) -> Layout:
    """One zone's subnet: `ranges`, addresses of `machines`, how many are `unplaced`, how many are `free`.

    `wanted` counts addresses by purpose (that of `static` has the gateway in it), `holders` names the machines, `firsts`
    and `lasts` are the ends of issued runs, `held` the addresses issued singly, the gateway's among them.
    """
    runs = {GATEWAY: Run(held[DOOR], held[DOOR])}
    runs |= {name: Run(first, lasts[name]) for name, first in firsts.items()}
    new = sum(holder not in held for holder in holders)
    short = 0
    for name, many in _order(wanted, new):
        there = sum(len(runs[run]) for run in called(name, runs))
        if name == MACHINES:
            there = sum(1 for _ in _free_of_machines(runs, held))
        if many > there:
            pieces = filled(gaps(network, _taken(runs, held)), many - there, from_top=name == LENT)
            short += many - there - sum(map(_size, pieces))
            for first, last in pieces:
                runs[_next_name(name, runs)] = Run(IPv4Address(first), IPv4Address(last))
    return {
        "ranges": dict(sorted(runs.items(), key=lambda item: (item[0] != GATEWAY, item[1].first))),
        "machines": _machines(runs, holders, held),
        "unplaced": short,
        "free": sum(map(_size, gaps(network, _taken(runs, held)))),
    }


def _machines(
    runs: Mapping[str, Run], holders: Mapping[str, int], held: Mapping[str, IPv4Address]
) -> dict[str, IPv4Address]:
    """As issued; new ones from the lowest free address on; one without a place is left out."""
    free = _free_of_machines(runs, held)
    given = {holder: held.get(holder) or next(free, None) for holder in sorted(holders)}
    return {holder: address for holder, address in given.items() if address is not None}


def _taken(runs: Mapping[str, Run], held: Mapping[str, IPv4Address]) -> list[Span]:
    singles = [(int(address), int(address)) for address in held.values()]
    return [*singles, *((int(run.first), int(run.last)) for run in runs.values())]


@rule(HABIT, rises="devices each besides")
def visiting(devices: Count, each: Hours, besides: Hours) -> Hours:
    """Work at every device, and what is to be done besides."""
    return devices * each + besides


@method(
    KEEPING, says="as issued; a new one the lowest address of its runs that nobody holds, in the order of the names"
)
def places_in(
    runs: Mapping[str, OneRun], held: Mapping[str, Address], hardware: Mapping[str, Word]
) -> AddressRegister:
    """An address for every holder of a hardware address; those for which the runs have no place are left out."""
    free = _free_in(runs, held)
    given = {holder: held[holder] if holder in held else next(free, None) for holder in sorted(hardware)}
    return {holder: address for holder, address in given.items() if address is not None}


def _free_in(runs: Mapping[str, Run], held: Mapping[str, IPv4Address]) -> Iterator[IPv4Address]:
    taken = set(held.values())
    for run in sorted(runs.values(), key=lambda one: one.first):
        yield from (a for a in map(IPv4Address, range(int(run.first), int(run.last) + 1)) if a not in taken)


@method(HABIT, says="zone by zone and holder by holder, what each has")
def every_address(
    fourth: Mapping[str, Address], sixth: Mapping[str, Address6], hardware: Mapping[str, Word]
) -> Entries:
    """Everything that was given to one thing alone."""
    small = {holder: address.lower() for holder, address in hardware.items()}
    groups: tuple[Mapping[str, Any], ...] = (fourth, sixth, small)
    holders = sorted({holder for group in groups for holder in group})
    return {holder: Entry(*(str(group[holder]) if holder in group else "" for group in groups)) for holder in holders}
