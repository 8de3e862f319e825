"""What a kernel rule can ask of a packet: each field it knows, how its words are read, and which headers it means."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address

from scantling.figures import FIREWALL, OUTSIDE
from scantling.figures.calendar import DAY_NAMES
from scantling.trials.proof.headers import (
    CODES, DAY, HOUR, IPV4, IPV6, LAST_ADDRESS, MINUTE, NUMBERS, PORTS, UNTRACKED, WEEK, Ground,
)  # fmt: skip
from scantling.trials.proof.spans import Spans, both, joined, less

Condition = dict[str, Spans]
"""Runs by field of a header, and `translated`, which is 0 or 1; what is not named may be anything."""
ICMP = {
    "echo-reply": 0, "destination-unreachable": 3, "source-quench": 4, "redirect": 5, "echo-request": 8, "router-advertisement": 9,
    "router-solicitation": 10, "time-exceeded": 11, "parameter-problem": 12, "timestamp-request": 13, "timestamp-reply": 14,
    "info-request": 15, "info-reply": 16, "address-mask-request": 17, "address-mask-reply": 18,
}  # fmt: skip
ICMPV6 = {
    "destination-unreachable": 1, "packet-too-big": 2, "time-exceeded": 3, "parameter-problem": 4, "echo-request": 128,
    "echo-reply": 129, "mld-listener-query": 130, "mld-listener-report": 131, "mld-listener-done": 132,
    "mld-listener-reduction": 132, "nd-router-solicit": 133, "nd-router-advert": 134, "nd-neighbor-solicit": 135,
    "nd-neighbor-advert": 136, "nd-redirect": 137, "router-renumbering": 138, "ind-neighbor-solicit": 141,
    "ind-neighbor-advert": 142, "mld2-listener-report": 143,
}  # fmt: skip
ICMP_CODES = {
    "net-unreachable": 0, "host-unreachable": 1, "prot-unreachable": 2, "port-unreachable": 3, "frag-needed": 4, "net-prohibited": 9,
    "host-prohibited": 10, "admin-prohibited": 13,
}  # fmt: skip
ICMPV6_CODES = {
    "no-route": 0, "admin-prohibited": 1, "addr-unreachable": 3, "port-unreachable": 4, "policy-fail": 5, "reject-route": 6,
}  # fmt: skip
"""Words of nftables for messages and their codes (nft describe icmp type, and so on)."""
TRACKED = {"new": 0, "established": 1, "related": 2, "invalid": 3, "untracked": 4}
PORTED = ("tcp", "udp", "udplite", "dccp", "sctp")
LAST_CARRIED = 2**24 - 1


class WordError(Exception):
    """A word that is not known, told with what it was looked for as."""


@dataclass(frozen=True)
class Field:
    """One thing asked of a packet: how a word of it is read as runs of numbers, and which headers have these numbers."""

    read: Callable[[object], Spans]
    last: int
    means: Callable[[Spans], list[Condition]]
    apart: Spans = ()
    """Numbers that stand for others: no written word holds them."""


def number(most: int, words: Mapping[str, int] | None = None) -> Callable[[object], Spans]:
    """Reads a number up to `most`, or a word for one. Raises WordError."""

    def read(word: object) -> Spans:
        found = (words or {}).get(word) if isinstance(word, str) else word
        if not isinstance(found, int) or isinstance(found, bool) or not 0 <= found <= most:
            raise WordError(f"{word!r} is no number from 0 to {most}" + (" and no word for one" if words else ""))
        return ((found, found),)

    return read


def address_of(word: object, family: int) -> int:
    """The number of an address of the family. Raises WordError."""
    try:
        found = ip_address(word) if isinstance(word, str) else None
    except ValueError:
        found = None
    kind = IPv4Address if family == IPV4 else IPv6Address
    if not isinstance(found, kind):
        raise WordError(f"{word!r} is no address of IPv{family}")
    return int(found)


def addresses(ground: Ground, axis: str, family: int) -> Field:
    """A source or a target; nothing where it is of the other family."""

    def means(spans: Spans) -> list[Condition]:
        return [{axis: spans}] if family == ground.family else []

    apart = ground.symbols if family == ground.family else ()
    return Field(lambda word: ((address_of(word, family),) * 2,), LAST_ADDRESS[family], means, apart)


def protocols(ground: Ground, family: int = 0) -> Field:
    """The protocol that a packet carries."""

    def means(spans: Spans) -> list[Condition]:
        wide = joined((first * PORTS, last * PORTS + PORTS - 1) for first, last in spans)
        return [{"carried": wide}] if family in {0, ground.family} else []

    return Field(number(255, NUMBERS), 255, means)


def ports(names: tuple[str, ...], axis: str) -> Field:
    """A target or source port of some protocols."""

    def means(spans: Spans) -> list[Condition]:
        starts = [NUMBERS[name] * PORTS for name in names]
        if axis == "source_port":
            return [{"carried": joined((start, start + PORTS - 1) for start in starts), axis: spans}]
        return [{"carried": joined((start + first, start + last) for start in starts for first, last in spans)}]

    return Field(number(PORTS - 1), PORTS - 1, means)


def messages(ground: Ground, name: str, *, codes: bool = False) -> Field:
    """The type of a message, or its code."""
    family, start = (IPV4, NUMBERS[name] * PORTS) if name == "icmp" else (IPV6, NUMBERS[name] * PORTS)
    words = {
        ("icmp", False): ICMP,
        ("icmp", True): ICMP_CODES,
        ("icmpv6", False): ICMPV6,
        ("icmpv6", True): ICMPV6_CODES,
    }

    def means(spans: Spans) -> list[Condition]:
        if family != ground.family:
            return []
        if not codes:
            return [{"carried": joined((start + a * CODES, start + b * CODES + CODES - 1) for a, b in spans)}]
        kinds = range(start, start + PORTS, CODES)
        return [{"carried": joined((kind + first, kind + last) for kind in kinds for first, last in spans)}]

    return Field(number(CODES - 1, words[name, codes]), CODES - 1, means)


def families(ground: Ground, words: Mapping[str, int]) -> Field:
    """The family of a packet."""
    mine = ((ground.family,) * 2,)
    return Field(number(IPV6, words), IPV6, lambda spans: [{}] if both(spans, mine) else [])


def interfaces(ground: Ground, unknown: Callable[[str], None]) -> Callable[[object], Spans]:
    """Reads the name of a port, or the beginning of several names with a star; one that the plan has not is told."""

    def read(word: object) -> Spans:
        if not isinstance(word, str):
            raise WordError(f"{word!r} is no name of a port")
        begins = word[:-1] if word.endswith("*") else None
        names = [leg.interface for leg in ground.legs]
        mine = [
            place
            for place, name in enumerate(names)
            if name == word or (begins is not None and name.startswith(begins))
        ]
        if not mine and word != "lo":
            unknown(word)
        return joined((place, place) for place in mine)

    return read


def comes_in(ground: Ground, unknown: Callable[[str], None]) -> Field:
    """The port that a packet comes in by."""
    return Field(interfaces(ground, unknown), len(ground.legs) - 1, lambda spans: [{"place": spans}])


def goes_out(ground: Ground, unknown: Callable[[str], None]) -> Field:
    """The port that a packet leaves by, which its target says, but outside and for calls on a link."""

    def means(spans: Spans) -> list[Condition]:
        zones = joined(
            span for zone, place in _inner(ground) if both(spans, ((place, place),)) for span in ground.toward(zone)
        )
        lines = ground.places(OUTSIDE)
        outside: Condition = {"target": ground.outside, "line": both(spans, lines)}
        if both(spans, lines) == lines:
            outside = {"target": ground.outside if lines else ()}
        link: Condition = {"place": ground.places(FIREWALL), "target": ground.link, "line": spans}
        return [{"target": zones}, outside, link]

    return Field(interfaces(ground, unknown), len(ground.legs) - 1, means)


def _inner(ground: Ground) -> list[tuple[str, int]]:
    return [(leg.zone, place) for place, leg in enumerate(ground.legs) if leg.zone != OUTSIDE]


def states(ground: Ground) -> Field:
    """Whether a packet begins something; messages of a link belong to no connection and are untracked."""
    link = joined(
        (NUMBERS["icmpv6"] * PORTS + first * CODES, NUMBERS["icmpv6"] * PORTS + last * CODES + CODES - 1)
        for first, last in UNTRACKED
    )

    def means(spans: Spans) -> list[Condition]:
        tracked, untracked = both(spans, ((0, 3),)), bool(both(spans, ((4, 4),)))
        if ground.family == IPV4:
            return [{"state": tracked}]
        begins, rest = both(tracked, ((0, 0),)), both(tracked, ((1, 3),))
        if bool(begins) == untracked:
            return [{"state": tracked}]
        what = link if untracked else less(((0, LAST_CARRIED),), link)
        return [{"state": ((0, 0),), "carried": what}, {"state": rest}]

    return Field(number(4, TRACKED), 4, means)


def days() -> Field:
    """The day of the week; the kernel counts from Sunday, we from Monday."""
    words = {name: place for place, name in enumerate(DAY_NAMES)}

    def read(word: object) -> Spans:
        if isinstance(word, str) and word[:3].lower() in words:
            return number(6, words)(word[:3].lower())
        if isinstance(word, int) and 0 <= word <= 6:  # noqa: PLR2004 - a week has seven days
            return (((word - 1) % 7,) * 2,)
        raise WordError(f"{word!r} is no day of the week")

    return Field(read, 6, lambda spans: [{"second": joined((a * DAY, b * DAY + DAY - 1) for a, b in spans)}])


def hours() -> Field:
    """The time of day, to the second."""

    def read(word: object) -> Spans:
        parts = word.split(":") if isinstance(word, str) else []
        if not 2 <= len(parts) <= 3 or not all(part.isdecimal() and len(part) <= 2 for part in parts):  # noqa: PLR2004
            raise WordError(f"{word!r} is no time of day")
        second = sum(int(part) * unit for part, unit in zip(parts, (HOUR, MINUTE, 1), strict=False))
        return ((min(second, DAY - 1),) * 2,)

    def means(spans: Spans) -> list[Condition]:
        return [{"second": joined((day + first, day + last) for day in range(0, WEEK, DAY) for first, last in spans)}]

    return Field(read, DAY - 1, means)
