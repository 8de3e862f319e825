"""Name zones: the zones of names that the office answers for: forward, reverse, and the inside answers to what it publishes.

Figures:
    zonefiles.revision    the change of the day
    zonefiles.serial      serial of every zone
    zonefiles.head        serial, times and lifetime that stand at the head of every zone
    zonefiles.odd         times that lie outside what is advised
Findings: D-18.
Records: NameZone.
"""

from collections.abc import Iterator, Sequence

from scantling.brief import Office
from scantling.catalogue import House, Practice
from scantling.figures import (
    FIREWALL, Desk, Every, Figure, Finding, Name, NameRecord, NameZone, OutsideName, Prefix, Server, Service, Subnet, Weight,
    cells, total,
)  # fmt: skip
from scantling.figures.units import COUNT, HOUR
from scantling.handbook.name_zones import (
    authority, forward_records, kind_of, name_at, odd_times, reverse_records, serial_of, service_records,
)  # fmt: skip
from scantling.handbook.sizing import beyond

REVISION, TTL = Practice("names.revision", COUNT), Practice("names.ttl", HOUR)
TIMES = {
    "refresh": Practice("names.refresh", HOUR), "retry": Practice("names.retry", HOUR), "expire": Practice("names.expire", HOUR),
    "negative": Practice("names.negative", HOUR),
}  # fmt: skip
NONE = total((), COUNT)
DIRECTORY, CONTACT = "directory", "hostmaster"
"""The profile of the service, and the mailbox that RFC 2142 gives to whoever looks after names."""


def design(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    office: Office,
    house: House,
    services: Every[Service],
    names: Every[Name],
    subnets: Every[Subnet],
    prefixes: Every[Prefix],
    servers: Every[Server],
    outside: Every[OutsideName],
    desk: Desk,
) -> Iterator[NameZone | Finding]:
    """Every zone with its records, one serial and the house's times."""
    if not names:
        return
    domain = names[0].name.partition(".")[2]
    primary = name_at(next(one.addresses for one in servers if one.does == "names"), names)
    forward = {domain: _forward(domain, services, names, servers), **_inside(outside, names, domain)}
    for one in outside:
        if one.mail and one.name in forward:
            forward[one.name].append(NameRecord(one.name, "MX", f"10 {one.mail}."))
    reverse = reverse_records(names, [*(one.network for one in subnets), *(one.network for one in prefixes)], primary)
    serial = serial_of.of(
        day=office.as_of, revision=desk.figure("revision", house[REVISION], "The change of the day")
    )
    serial = desk.figure("serial", serial)
    times = {name: house[practice] for name, practice in TIMES.items()}
    head = cells(desk.figure("head", authority.of(serial=serial, times={**times, "ttl": house[TTL]})))
    yield _odd(desk.figure("odd", odd_times.of(**times)))
    contact = f"{CONTACT}.{next((one.name for one in outside if one.kind == 'domain'), domain)}"
    after = (head["refresh"], head["retry"], head["expire"], head["negative"])
    for origin, records in {**reverse, **forward}.items():
        every = (NameRecord(origin, "NS", f"{primary}."), *records)
        slug, back = origin.replace(".", "-"), origin not in forward
        yield NameZone(slug, origin, back, head["serial"], primary, contact, after, head["ttl"], every)


def _odd(odd: Figure[int]) -> Finding:
    return Finding(
        "D-18", Weight.NOTE, beyond.of(have=odd, limit=NONE),
        "{odd:time of the name zones lies|times of the name zones lie} outside what is advised.",
        "Keep refresh, retry, expire and negative answers within RFC 1912 section 2.2 and RFC 2308 section 5.", {"odd": odd},
    )  # fmt: skip


def _forward(
    domain: str, services: Sequence[Service], names: Sequence[Name], servers: Sequence[Server]
) -> list[NameRecord]:
    """The directory's domain: every name with an address, and where its services are."""
    machines = {one.machine for one in services if one.profile == DIRECTORY}
    directory = next((name.name for name in names if name.holder in machines and name.addresses), "")
    clocks = [name_at(one.addresses, names) for one in servers if one.does == "time" and one.holder != FIREWALL]
    return [*forward_records(names, domain), *service_records(domain, directory, clocks)]


def _inside(outside: Sequence[OutsideName], names: Sequence[Name], domain: str) -> dict[str, list[NameRecord]]:
    """Names that are published outside and lead here: inside each is a zone of its own, so that all beside it is found outside."""
    found: dict[str, list[NameRecord]] = {}
    for one in outside:
        held = next((name for name in names if name.holder == one.holder and name.addresses), None)
        if one.holder and held is not None and one.name != domain and not one.name.endswith(f".{domain}"):
            found[one.name] = [NameRecord(one.name, kind_of(address), str(address)) for address in held.addresses]
    return found
