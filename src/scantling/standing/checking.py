"""What in a standing file contradicts itself or the catalogue: every contradiction, with the path of the answer it stands in."""

from collections.abc import Iterator, Mapping
from ipaddress import IPv4Address
from typing import Any

from scantling.catalogue import Catalogue
from scantling.figures import Figure, text
from scantling.figures.spelled import nearest, quoted
from scantling.handbook.keeping import called
from scantling.standing import Issued, IssuedRange, Part, Piece, Standing
from scantling.standing.inside import run_name
from scantling.standing.registers import wrong_registers

Wrong = tuple[str, str]
"""The path of the answer, and what is wrong with it."""


def contradictions(standing: Standing, catalogue: Catalogue) -> Iterator[Wrong]:
    """Parts that no catalogue knows, two things at one address, networks that overlap, addresses outside their zone, registers."""
    yield from _articles(standing, catalogue)
    yield from _twins(standing)
    issued = standing.issued
    yield from _networks(issued)
    yield from _ranges(issued)
    yield from _addresses(issued)
    yield from wrong_registers(issued)


def _articles(standing: Standing, catalogue: Catalogue) -> Iterator[Wrong]:
    kinds = {slug: kind for kind, rows in catalogue.rows.items() for slug in rows}
    known = kinds.keys()
    every: dict[str, Piece | Part] = {f"kit.{slug}": piece for slug, piece in standing.kit.items()}
    every |= {f"bought.{slug}": part for slug, part in standing.bought.items()}
    for path, piece in every.items():
        named = {"article": piece.article, "stands_for": getattr(piece, "stands_for", None)}
        for word, figure in named.items():
            if figure is not None and text(figure) not in known:
                near = nearest(text(figure), known)
                hint = f"; did you mean {near}?" if near else ""
                says = f"the catalogue has no article {quoted(text(figure))}{hint}"
                yield f"{path}.{word}", says
        yield from _another_kind(path, named, kinds)
        if isinstance(piece, Piece) and (piece.article is None) != (piece.serves is None):
            given, lacks = ("article", "serves") if piece.serves is None else ("serves", "article")
            if text(piece.do) != "retire":
                yield f"{path}.{given}", f"{lacks} is missing beside it: which part of the purchase is it?"


def _another_kind(path: str, named: Mapping[str, Figure[str] | None], kinds: Mapping[str, str]) -> Iterator[Wrong]:
    """A part that is said to have taken the place of one of another kind."""
    one, other = named["article"], named["stands_for"]
    if one is not None and other is not None and text(one) in kinds and text(other) in kinds:
        is_, was = (kinds[text(figure)].replace("_", " ") for figure in (one, other))
        if is_ != was:
            yield f"{path}.stands_for", f"{text(one)} is of the kind {is_}, {text(other)} of the kind {was}"


def _twins(standing: Standing) -> Iterator[Wrong]:
    """Two things with one hardware address, and a warranty that ends before the thing stood."""
    seen: dict[str, str] = {}
    for slug, piece in standing.kit.items():
        if piece.hardware_address is not None:
            address = text(piece.hardware_address).lower()
            if address in seen:
                yield f"kit.{slug}.hardware_address", f"{seen[address]} has {address} too"
            seen.setdefault(address, slug)
    every = [(f"kit.{slug}", piece.since, piece.warranty_until) for slug, piece in standing.kit.items()]
    every += [(f"bought.{slug}", part.on, part.warranty_until) for slug, part in standing.bought.items()]
    for path, begun, until in every:
        if begun is not None and until is not None and until.value < begun.value:
            yield (
                f"{path}.warranty_until",
                f"it ends before the thing was there: {text(until)}, there since {text(begun)}",
            )


def _networks(issued: Issued) -> Iterator[Wrong]:
    zones, numbers = issued.zones or {}, dict[int, str]()
    for slug, zone in zones.items():
        if not _inside(zone.gateway, zone.network):
            says = f"the gateway {zone.gateway.value} lies outside {zone.network.value}"
            yield f"issued.zones.{slug}.gateway", says
        if zone.number.value in numbers:
            yield (
                f"issued.zones.{slug}.number",
                f"{numbers[zone.number.value]} has the number {zone.number.value} too",
            )
        numbers.setdefault(zone.number.value, slug)
    nets = {slug: zone.network.value for slug, zone in zones.items()}
    for one, other in _overlapping(
        {slug: (net.network_address, net.broadcast_address) for slug, net in nets.items()}
    ):
        yield f"issued.zones.{other}.network", f"{nets[other]} overlaps {nets[one]} of {one}"


def _overlapping(spans: Mapping[str, tuple[IPv4Address, IPv4Address]]) -> Iterator[tuple[str, str]]:
    """Pairs of spans that have addresses in common: the one written first, then the other."""
    order, furthest = list(spans), ""
    for name in sorted(spans, key=lambda one: spans[one]):
        if furthest and spans[name][0] <= spans[furthest][1]:
            first, second = sorted((furthest, name), key=order.index)
            yield first, second
        if not furthest or spans[name][1] > spans[furthest][1]:
            furthest = name


def _inside(address: Figure[Any], network: Figure[Any]) -> bool:
    """Whether a device can have the address: inside, and neither end."""
    return bool(network.value.network_address < address.value < network.value.broadcast_address)


def _ranges(issued: Issued) -> Iterator[Wrong]:
    zones, ranges = issued.zones or {}, issued.ranges or {}
    for slug, run in ranges.items():
        path = f"issued.ranges.{slug}"
        if text(run.zone) not in zones:
            yield _no_zone(run.zone, path, zones)
            continue
        network = zones[text(run.zone)].network
        for word, end in (("first", run.first), ("last", run.last)):
            if not _inside(end, network):
                yield f"{path}.{word}", f"{end.value} lies outside {network.value} of {text(run.zone)}"
        if run.last.value < run.first.value:
            yield f"{path}.last", f"it ends before it begins: {run.first.value} to {run.last.value}"
    whole = {
        slug: (run.first.value, run.last.value) for slug, run in ranges.items() if run.first.value <= run.last.value
    }
    for one, other in _overlapping(whole):
        yield f"issued.ranges.{other}.first", f"it overlaps {one}"
    yield from _lent(issued)


def _lent(issued: Issued) -> Iterator[Wrong]:
    """Single addresses and gateways that stand in a run from which addresses are lent to anybody."""
    held = {f"issued.zones.{slug}.gateway": (slug, zone.gateway) for slug, zone in (issued.zones or {}).items()}
    held |= {
        f"issued.addresses.{slug}.address": (text(one.zone), one.address)
        for slug, one in (issued.addresses or {}).items()
    }
    pools: dict[str, list[tuple[str, IssuedRange]]] = {}
    for slug, run in (issued.ranges or {}).items():
        if called("lent", [run_name(text(run.zone), slug)]):
            pools.setdefault(text(run.zone), []).append((slug, run))
    for path, (zone, address) in held.items():
        for slug, run in pools.get(zone, ()):
            if run.first.value <= address.value <= run.last.value:
                yield path, f"{address.value} stands in {slug}, from which addresses are lent"


def _no_zone(zone: Figure[str], path: str, zones: Mapping[str, Any]) -> Wrong:
    near = nearest(text(zone), zones)
    hint = f"; did you mean {near}?" if near else ""
    return f"{path}.zone", f"no zone {quoted(text(zone))} is issued{hint}"


def _addresses(issued: Issued) -> Iterator[Wrong]:
    zones, seen = issued.zones or {}, {}
    for slug, zone in zones.items():
        seen[zone.gateway.value] = f"the gateway of {slug}"
    for slug, given in (issued.addresses or {}).items():
        path, address = f"issued.addresses.{slug}", given.address
        if text(given.zone) not in zones:
            yield _no_zone(given.zone, path, zones)
        elif not _inside(address, zones[text(given.zone)].network):
            network = zones[text(given.zone)].network.value
            yield f"{path}.address", f"{address.value} lies outside {network} of {text(given.zone)}"
        if address.value in seen:
            yield f"{path}.address", f"{seen[address.value]} has {address.value} too"
        seen.setdefault(address.value, slug)
