"""Zones of the name system: their serials and times, where addresses lie in the reverse tree, and the records of each."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from ipaddress import IPv4Address, IPv4Network, IPv6Network
from typing import Annotated, Any

from scantling.figures import Host, Name, NameRecord, Net, Source, method
from scantling.figures.units import Count, Date, Hours, Unit, closed

SERIALS = Source("RFC 1912 section 2.2")
TIMES = Source("RFC 1912 section 2.2; RFC 2308 section 5")
NUMBERS: Unit[Any] = closed(Mapping)
NumberRegister = Annotated[Mapping[str, int], NUMBERS]
HUNDRED = 100
SECONDS_AN_HOUR = 3600
OCTET_BITS, NIBBLE_BITS, LAST_OCTET = 8, 4, 24
REFRESH, RETRY = (1200, 43200), (120, 7200)
EXPIRE, NEGATIVE = (1209600, 2419200), (3600, 10800)
"""Seconds: 20 minutes to 12 hours, 2 minutes to 2 hours, 2 to 4 weeks (RFC 1912); 1 to 3 hours (RFC 2308)."""
SERVICES = (
    ("_ldap._tcp", 389), ("_kerberos._tcp", 88), ("_kerberos._udp", 88), ("_kpasswd._tcp", 464), ("_kpasswd._udp", 464),
)  # fmt: skip
"""RFC 2782 with RFC 4120 section 7.2.3 and RFC 3244; ports of the service name registry (RFC 6335)."""
CLOCK = ("_ntp._udp", 123)


@method(SERIALS, says="year, month and day, then two digits for the change of that day", rises="revision")
def serial_of(day: Date, revision: Count) -> Count:
    """Serial of a zone of names, YYYYMMDDnn."""
    return int(f"{day:%Y%m%d}") * HUNDRED + min(revision, HUNDRED - 1)


@method(TIMES, says="the serial, and the times in whole seconds")
def authority(serial: Count, times: Mapping[str, Hours]) -> NumberRegister:
    """The numbers that stand at the head of every zone."""
    return {"serial": serial, **{name: round(hours * SECONDS_AN_HOUR) for name, hours in times.items()}}


@method(
    TIMES, says="refresh 20 min to 12 h, retry 2 min to 2 h and below refresh, expire 2 to 4 weeks, negative 1 to 3 h"
)
def odd_times(refresh: Hours, retry: Hours, expire: Hours, negative: Hours) -> Count:
    """How many of a zone's times lie outside what is advised."""
    bounds = ((refresh, REFRESH), (retry, RETRY), (expire, EXPIRE), (negative, NEGATIVE))
    odd = sum(not low <= round(hours * SECONDS_AN_HOUR) <= high for hours, (low, high) in bounds)
    return odd + (retry >= refresh)


def reversed_owner(address: Host, network: Net) -> tuple[str, str]:
    """Origin of the reverse zone and owner of the name that an address has in it, without the last dots.

    A subnet longer than /24 has a zone of its own below the one of its 256 addresses, its first address and its length joined by a
    hyphen (RFC 2317 section 4); a shorter one has a zone for each whole octet. IPv6 goes by nibbles (RFC 3596 section 2.5).
    """
    whole = address.reverse_pointer
    labels = whole.split(".")
    if isinstance(network, IPv4Network) and network.prefixlen > LAST_OCTET:
        first = int(network.network_address) % 256
        origin = f"{first}-{network.prefixlen}." + ".".join(labels[1:])
        return origin, f"{labels[0]}.{origin}"
    bits, step = network.max_prefixlen, NIBBLE_BITS if isinstance(network, IPv6Network) else OCTET_BITS
    kept = (bits - _rounded(network.prefixlen, step)) // step
    return ".".join(labels[kept:]), whole


def _rounded(prefix: int, step: int) -> int:
    """The next whole octet or nibble, at least one and never the whole address."""
    return min(max(step, -(-prefix // step) * step), 24 if step == OCTET_BITS else 124)


def delegation(address: IPv4Address, network: IPv4Network, server: str) -> Iterator[tuple[str, NameRecord]]:
    """What the zone of all 256 addresses says of one in a longer subnet: origin and record (RFC 2317 section 4)."""
    origin, owner = reversed_owner(address, network)
    parent = ".".join(origin.split(".")[1:])
    yield parent, NameRecord(origin, "NS", f"{server}.")
    yield parent, NameRecord(address.reverse_pointer, "CNAME", f"{owner}.")


def reverse_records(names: Iterable[Name], networks: Sequence[Net], server: str) -> dict[str, list[NameRecord]]:
    """Reverse zones by origin, each with its records: every address that bears a name, in the order of addresses."""
    bearing = sorted(
        ((address, name.name) for name in names for address in name.addresses),
        key=lambda one: (one[0].version, int(one[0])),
    )
    found: dict[str, list[NameRecord]] = {}
    for address, name in bearing:
        network = next((net for net in networks if address.version == net.version and address in net), None)
        if network is None:
            continue
        origin, owner = reversed_owner(address, network)
        found.setdefault(origin, []).append(NameRecord(owner, "PTR", f"{name}."))
        if isinstance(network, IPv4Network) and isinstance(address, IPv4Address) and network.prefixlen > LAST_OCTET:
            for parent, record in delegation(address, network, server):
                there = found.setdefault(parent, [])
                there += [record] if record not in there else []
    return found


def forward_records(names: Iterable[Name], domain: str) -> list[NameRecord]:
    """A and AAAA of every name below a domain that has addresses, and its further names as CNAME."""
    found = []
    for name in names:
        if not name.addresses or not name.name.endswith(f".{domain}"):
            continue
        found += [NameRecord(name.name, kind_of(address), str(address)) for address in name.addresses]
        found += [NameRecord(alias, "CNAME", f"{name.name}.") for alias in name.aliases]
    return found


def kind_of(address: Host) -> str:
    """The type of record that holds an address."""
    return "A" if isinstance(address, IPv4Address) else "AAAA"


def service_records(domain: str, directory: str, clocks: Sequence[str]) -> list[NameRecord]:
    """Where the directory's services and the time are to be found (RFC 2782); without a directory only the time."""
    found = [
        NameRecord(f"{name}.{domain}", "SRV", f"0 100 {port} {directory}.") for name, port in SERVICES if directory
    ]
    name, port = CLOCK
    return found + [
        NameRecord(f"{name}.{domain}", "SRV", f"{place} 100 {port} {clock}.") for place, clock in enumerate(clocks)
    ]


def name_at(addresses: Sequence[Host], names: Sequence[Name]) -> str:
    """The first name that leads to one of the addresses. Raises LookupError where none does."""
    there = set(addresses)
    found = next((one.name for one in names if there & set(one.addresses)), "")
    if not found:
        raise LookupError(f"no name leads to {', '.join(map(str, addresses)) or 'no address'}")
    return found
