"""Access lists of RFC 8519 judged plainly from their data: the first entry that matches, one packet at a time."""

from collections.abc import Mapping, Sequence
from functools import cache
from ipaddress import ip_network
from typing import Any

from referees.filtering import Packet, way_out
from scantling.figures.traffic import FIREWALL, Leg, Net

NUMBERS = {"icmp": 1, "tcp": 6, "udp": 17, "gre": 47, "esp": 50, "icmpv6": 58}
LISTS, PORTS = "ietf-access-control-list:acls", "attachment-points"


def passes(data: Mapping[str, Any], packet: Packet, legs: Sequence[Leg]) -> bool:
    """Whether the first packet of something passes the lists at the port it comes in by and those at the one it leaves by."""
    out = way_out(packet.target, legs)
    leaves = next((leg.interface for leg in legs if leg.zone == out), "")
    into = packet.origin if packet.origin != FIREWALL else ""
    inward = not into or _judged(data, packet, (into, "ingress"), leaves)
    return inward and (out == FIREWALL or _judged(data, packet, (leaves, "egress"), into))


def _judged(data: Mapping[str, Any], packet: Packet, point: tuple[str, str], other: str) -> bool:
    """Whether the lists at one port, one way, let a packet pass; that of the other family has no say."""
    interface, way = point
    attached = next(one for one in data[LISTS][PORTS]["interface"] if one["interface-id"] == interface)
    wanted = [one["name"] for one in attached[way]["acl-sets"]["acl-set"]]
    lists = [one for one in data[LISTS]["acl"] if one["name"] in wanted]
    mine = [one for one in lists if one["type"].endswith(f"ipv{packet.source.version}-acl-type")]
    entries = [entry for one in mine for entry in one["aces"]["ace"]]
    side = "egress-interface" if way == "ingress" else "ingress-interface"
    first = next((entry for entry in entries if _matches(entry.get("matches", {}), packet, side, other)), None)
    return first is not None and first["actions"]["forwarding"].endswith(":accept")


def _matches(matches: Mapping[str, Any], packet: Packet, side: str, other: str) -> bool:
    """Whether every condition of an entry holds. Raises KeyError for one that isn't known."""
    family = packet.source.version
    known = {f"ipv{family}", "tcp", "udp", "icmp", side}
    if unknown := set(matches) - known:
        raise KeyError(*unknown)
    header = matches.get(f"ipv{family}", {})
    number = NUMBERS[packet.protocol]
    return (
        header.get("protocol", number) == number
        and matches.get(side, other) == other
        and all(
            address in _network(header[f"{end}-ipv{family}-network"])
            for end, address in (("source", packet.source), ("destination", packet.target))
            if f"{end}-ipv{family}-network" in header
        )
        and ("icmp" not in matches or (number in {1, 58} and matches["icmp"]["type"] == packet.port))
        and all(
            packet.protocol == layer and _port(matches[layer], packet.port)
            for layer in ("tcp", "udp")
            if layer in matches
        )
    )


@cache
def _network(text: str) -> Net:
    return ip_network(text)


def _port(layer: Mapping[str, Any], port: int) -> bool:
    said = layer["destination-port"]
    if "port" in said:
        return bool(said["operator"] == "eq" and said["port"] == port)
    return bool(said["lower-port"] <= port <= said["upper-port"])
