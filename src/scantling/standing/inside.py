"""What was issued inside one zone, as figures by the names that the address plan gives its parts."""

from collections.abc import Mapping
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network
from re import fullmatch

from scantling.figures import Figure, text
from scantling.handbook.keeping import DOOR
from scantling.standing import Issued, IssuedAddress

OURS = r"(?:more-[0-9]+-)?(?:static|machines|lent|kept-.+)"
"""Names that the address plan gives to runs; written with the zone and a hyphen before them."""


@dataclass(frozen=True)
class Inside:
    """One zone as issued: its subnet, its runs by name with both ends, its single addresses by holder."""

    network: Figure[IPv4Network]
    firsts: Mapping[str, Figure[IPv4Address]]
    lasts: Mapping[str, Figure[IPv4Address]]
    held: Mapping[str, Figure[IPv4Address]]
    """The gateway's among them; a holder's second address stands under its holder and its own name."""
    written: Mapping[str, tuple[str, str]]
    """Of each run the name in the standing file and what it is for."""
    holders: Mapping[str, str]
    """Who holds each of `held`, the gateway left out."""


def inside(issued: Issued, zone: str) -> Inside | None:
    """What was issued in a zone, None where the zone was not."""
    own = (issued.zones or {}).get(zone)
    if own is None:
        return None
    runs = {run_name(zone, key): (key, run) for key, run in (issued.ranges or {}).items() if text(run.zone) == zone}
    held, holders = {DOOR: own.gateway}, {}
    for key, one in (issued.addresses or {}).items():
        if text(one.zone) == zone:
            name = _free_name(one, key, held)
            held[name], holders[name] = one.address, text(one.holder)
    return Inside(
        own.network,
        {name: run.first for name, (_, run) in runs.items()},
        {name: run.last for name, (_, run) in runs.items()},
        held,
        {name: (key, text(run.purpose)) for name, (key, run) in runs.items()},
        holders,
    )


def run_name(zone: str, key: str) -> str:
    """The address plan's name of a run; one that a survey named otherwise stands in brackets and serves no purpose of ours."""
    name = key.removeprefix(f"{zone}-")
    return name if name != key and fullmatch(OURS, name) else f"({key})"


def _free_name(one: IssuedAddress, key: str, held: Mapping[str, object]) -> str:
    holder = text(one.holder)
    return holder if holder not in held else f"{holder} ({key})"
