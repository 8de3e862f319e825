"""Network numbers of zones (IEEE 802.1Q), and what is called after them."""

from collections.abc import Mapping
from itertools import chain
from typing import Annotated, Any

from scantling.figures import Source, method
from scantling.figures.units import Count, Network, Network6, closed

CIDR = Source("RFC 4632: two networks overlap when one holds the other")
TAGS = Source("IEEE 802.1Q: network numbers 1 to 4094")
HIGHEST = 4094
Words = Annotated[Mapping[str, str], closed(Mapping)]


def own_numbers(numbers: Mapping[str, int]) -> dict[str, int]:
    """Every zone's number where it can have it to itself, else the next free one; the first in the order given has it."""
    given: dict[str, int] = {}
    taken: set[int] = set()
    for zone, number in numbers.items():
        if 1 <= number <= HIGHEST and number not in taken:
            given[zone] = number
            taken.add(number)
    for zone in numbers:
        if zone not in given:
            start = min(max(numbers[zone], 1), HIGHEST)
            onward = chain(range(start, HIGHEST + 1), range(1, start))
            given[zone] = next(number for number in onward if number not in taken)
            taken.add(given[zone])
    return {zone: given[zone] for zone in numbers}


@method(TAGS, says="zone- and the network number; where another has it, the next free one")
def port_names(numbers: Mapping[str, Count]) -> Words:
    """What the port into each zone is called, at most 15 letters."""
    return {zone: f"zone-{number}" for zone, number in own_numbers(numbers).items()}


@method(TAGS, says="those whose number is not from 1 to 4094, or is one that a zone before them has")
def doubled(numbers: Mapping[str, Count]) -> Count:
    """How many zones can't have their number to themselves."""
    return sum(number != numbers[zone] for zone, number in own_numbers(numbers).items())


@method(CIDR, says="those in which another zone's network lies, or that lie in one, in either family")
def overlapping(fourth: Mapping[str, Network], sixth: Mapping[str, Network6]) -> Count:
    """How many zones share addresses with another."""
    groups: tuple[Mapping[str, Any], ...] = (fourth, sixth)
    return len(
        {
            zone
            for nets in groups
            for zone, net in nets.items()
            if any(net.overlaps(other) for name, other in nets.items() if name != zone)
        }
    )
