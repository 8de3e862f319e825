"""Addresses that are set aside by standards: what no packet to the outside may be meant for, and what stays on one link."""

from collections.abc import Iterable
from functools import lru_cache
from ipaddress import IPv4Network, IPv6Network, collapse_addresses, ip_network
from typing import Any

from scantling.figures import Net, Source, method
from scantling.figures.units import Network, Truth

FAMILIES = (4, 6)
PURPOSES = Source("RFC 6890, RFC 1918 and RFC 6598: blocks that are set aside for some purpose")
LINK_ONLY: tuple[Net, ...] = tuple(
    ip_network(one) for one in ("224.0.0.0/4", "255.255.255.255/32", "fe80::/10", "ff00::/8")
)
"""Multicast, broadcast and link-local targets: whoever hears them is on the same link (RFC 5771, 919, 4291)."""
NEVER_OUTSIDE: tuple[Net, ...] = tuple(
    ip_network(one)
    for one in (
        "0.0.0.0/8", "10.0.0.0/8", "100.64.0.0/10", "127.0.0.0/8", "169.254.0.0/16", "172.16.0.0/12", "192.0.0.0/24",
        "192.88.99.0/24", "192.168.0.0/16", "198.18.0.0/15", "224.0.0.0/4", "240.0.0.0/4",
        "::/128", "::1/128", "::ffff:0:0/96", "100::/64", "2001::/23", "2002::/16", "fc00::/7", "fe80::/10", "ff00::/8",
    )
)  # fmt: skip
"""RFC 6890 with multicast, without the blocks for examples (RFC 5737, 3849), which stand for outside addresses in them."""
FROM_NOWHERE: tuple[Net, ...] = tuple(ip_network(one) for one in ("0.0.0.0/32", "::/128", "fe80::/10"))
"""What a device bears that has no address yet, and on its link always (RFC 1122, 4291): no false source."""


def of_family(networks: Iterable[Net], family: int) -> tuple[Net, ...]:
    """The networks of one family (4 or 6) in order, joined where they touch."""
    kind = IPv4Network if family == FAMILIES[0] else IPv6Network
    mine = tuple([one for one in networks if isinstance(one, kind)])
    return _joined(mine) if len(mine) > 1 else mine


@lru_cache(4096)  # the same networks come up in every rule of an office
def _joined(networks: tuple[Any, ...]) -> tuple[Net, ...]:
    return tuple(collapse_addresses(networks))


def shared(some: Iterable[Net], others: Iterable[Net]) -> tuple[Net, ...]:
    """The addresses that both have; all of one family."""
    pairs = [(one, other) for one in some for other in others if one.overlaps(other)]
    return tuple(dict.fromkeys(max(pair, key=lambda net: net.prefixlen) for pair in pairs))


@method(PURPOSES, says="so where no block that is set aside holds all of it")
def is_public(network: Network) -> Truth:
    """Whether a network lies on the Internet, so that it is somebody's there; blocks for examples stand for such ones."""
    return not any(isinstance(kept, IPv4Network) and network.subnet_of(kept) for kept in NEVER_OUTSIDE)
