"""Addresses kept for devices that are known by their hardware address, and the register of all that was given."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from ipaddress import IPv4Address
from typing import Annotated, Any

from scantling.figures import Source, method, rule
from scantling.figures.units import Address, Address6, Count, Word, closed
from scantling.handbook.addressing import AddressRegister, Run

KEEPING = Source("what was issued stays; what is new takes the lowest free address", "own derivation")
ARITHMETIC = Source("arithmetic", "common practice")
OneRun = Annotated[Run, closed(Run)]


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


@method(
    KEEPING, says="as issued; a new one the lowest address of its runs that nobody holds, in the order of the names"
)
def places_in(
    runs: Mapping[str, OneRun], held: Mapping[str, Address], hardware: Mapping[str, Word]
) -> AddressRegister:
    """An address for every holder of a hardware address; those for which the runs have no place are left out."""
    free = _free(runs, held)
    given = {holder: held[holder] if holder in held else next(free, None) for holder in sorted(hardware)}
    return {holder: address for holder, address in given.items() if address is not None}


def _free(runs: Mapping[str, Run], held: Mapping[str, IPv4Address]) -> Iterator[IPv4Address]:
    taken = set(held.values())
    for run in sorted(runs.values(), key=lambda one: one.first):
        yield from (a for a in map(IPv4Address, range(int(run.first), int(run.last) + 1)) if a not in taken)


@rule(ARITHMETIC, rises="devices", falls="known")
def still_to_read(devices: Count, known: Count) -> Count:
    """Devices that keep an address and whose hardware address nobody has written down."""
    return max(devices - known, 0)


@method(ARITHMETIC, says="zone by zone and holder by holder, what each has")
def every_address(
    fourth: Mapping[str, Address], sixth: Mapping[str, Address6], hardware: Mapping[str, Word]
) -> Entries:
    """Everything that was given to one thing alone."""
    groups: tuple[Mapping[str, Any], ...] = (fourth, sixth, hardware)
    holders = sorted({holder for group in groups for holder in group})
    return {holder: Entry(*(str(group[holder]) if holder in group else "" for group in groups)) for holder in holders}
