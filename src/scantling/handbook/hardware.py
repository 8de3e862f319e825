"""Hardware addresses: how they are written, what their first bits say, and devices that make up new ones."""

from collections.abc import Mapping
from re import ASCII, fullmatch
from typing import Annotated

from scantling.figures import Series, Source, method
from scantling.figures.units import EXPECTED, Count, Ratio, Word

BITS = Source("IEEE 802, as RFC 9542 section 2.1 tells: the two lowest bits of the first octet")
CHANGING = Source("RFC 9724 and RFC 9797: devices change their hardware address; how often is common practice")
GROUP, MADE_UP = 1, 2
FORM = r"[0-9a-f]{2}(?::[0-9a-f]{2}){5}"
ByTime = Annotated[Series, EXPECTED]


def first_octet(address: str) -> int:
    """The first two digits of a hardware address as a number. Raises ValueError for a text that is none."""
    if not fullmatch(FORM, address.lower(), ASCII):
        message = f"{address!r} is no hardware address"
        raise ValueError(message)
    return int(address[:2], 16)


def for_one(address: str) -> bool:
    """Whether it is the address of one device and not of a group, and not all noughts."""
    return not first_octet(address) & GROUP and address.lower() != "00:00:00:00:00:00"


def made_up(address: str) -> bool:
    """Whether it was assigned on the spot, not by the maker: by an administrator, or by a device that changes it."""
    return bool(first_octet(address) & MADE_UP)


@method(BITS, says="those of a group of devices, whose first octet is odd, and the one of noughts alone")
def of_no_device(addresses: Mapping[str, Word]) -> Count:
    """How many hardware addresses no single device can have."""
    return sum(not for_one(address) for address in addresses.values())


@method(BITS, says="those with the second lowest bit of the first octet, which no maker sets")
def changeable(addresses: Mapping[str, Word]) -> Count:
    """How many hardware addresses were made up by a device or a person."""
    return sum(made_up(address) for address in addresses.values())


@method(
    CHANGING, says="in every step those that join, and the share of them that comes back within the stay as new ones"
)
def joining_anew(arrivals: ByTime, anew: Ratio) -> ByTime:
    """Devices that want an address of their own, by time."""
    return Series(
        arrivals.start, arrivals.step, arrivals.step_unit, tuple(one * (1 + anew) for one in arrivals.values)
    )
