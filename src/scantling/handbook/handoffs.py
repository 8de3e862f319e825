"""How lines are handed over: what the firewall's ports outside are called, and which addresses are its own there."""

from collections.abc import Mapping
from ipaddress import IPv4Address, IPv4Network, IPv6Address
from typing import Annotated, Any

from scantling.figures import Source, method
from scantling.figures.units import Address, Address6, Count, MegabitsPerSecond, Truth, Word, closed

ORDER = Source("the order in which they stand in the brief", "own derivation")
LENT = Source("RFC 2131: an address that is lent may be another next time")
SHARED_SPACE = Source("RFC 6598: 100.64.0.0/10 is the provider's own, translated before it reaches the Internet")
PRIVATE = Source("RFC 1918: three blocks that no line carries; RFC 3022: who has one is translated")
TOGETHER = Source("what has one cause fails together; common practice, no source", "common practice")
FIXED, DYNAMIC, SHARED = "fixed", "dynamic", "shared"
CARRIER = IPv4Network("100.64.0.0/10")
OWN_BLOCKS = tuple(IPv4Network(block) for block in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16"))
Words = Annotated[Mapping[str, str], closed(Mapping)]
Addresses = Annotated[Mapping[str, Any], closed(Mapping)]


@method(ORDER, says="outside- and its place among the lines")
def outside_ports(lines: Mapping[str, MegabitsPerSecond]) -> Words:
    """What the firewall's port to each line is called."""
    return {line: f"outside-{place}" for place, line in enumerate(lines, 1)}


@method(LENT, says="the addresses that are given; of a line whose address is lent and changes, none")
def own_outside(
    handoffs: Mapping[str, Word], fourth: Mapping[str, Address], sixth: Mapping[str, Address6]
) -> Addresses:
    """The firewall's own addresses at each line, of both families."""
    return {line: _own(line, fourth, sixth) if word != DYNAMIC else () for line, word in handoffs.items()}


def _own(
    line: str, fourth: Mapping[str, IPv4Address], sixth: Mapping[str, IPv6Address]
) -> tuple[IPv4Address | IPv6Address, ...]:
    return (*((fourth[line],) if line in fourth else ()), *((sixth[line],) if line in sixth else ()))


@method(SHARED_SPACE, says="so where it is handed over as shared, or an address lies in 100.64.0.0/10")
def behind_carrier(handoff: Word, addresses: Mapping[str, Address]) -> Truth:
    """Whether the line's address is shared with the provider's other clients, so that nothing outside can reach it."""
    return handoff == SHARED or any(address in CARRIER for address in addresses.values())


@method(PRIVATE, says="so where the provider's box translates, or an address is private")
def translated_before(router: Truth, addresses: Mapping[str, Address]) -> Truth:
    """Whether a box of the provider translates addresses before the firewall does."""
    return router or any(address in block for address in addresses.values() for block in OWN_BLOCKS)


@method(TOGETHER, says="each line counted once that has the provider, or comes by the road, of one before it")
def alike(providers: Mapping[str, Word], roads: Mapping[str, Word]) -> Count:
    """How many lines share their provider or their road with another."""
    return len({line for line, _, _ in shared_with(providers, roads)})


def shared_with(providers: Mapping[str, str], roads: Mapping[str, str]) -> tuple[tuple[str, str, str], ...]:
    """A line, one before it, and what they share, in words."""
    return (
        *((line, other, "have the same provider") for line, other in _repeated(providers)),
        *((line, other, f"both come by {roads[line]}") for line, other in _repeated(roads)),
    )


def _repeated(words: Mapping[str, str]) -> list[tuple[str, str]]:
    """Each that says what one before it said, and the first that did; capital and small letters alike."""
    first: dict[str, str] = {}
    for line, word in words.items():
        first.setdefault(word.casefold(), line)
    return [(line, first[word.casefold()]) for line, word in words.items() if first[word.casefold()] != line]
