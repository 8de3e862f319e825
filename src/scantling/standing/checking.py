"""What in a standing file contradicts itself or the catalogue: every contradiction, with the path of the answer it stands in."""

from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import Any

from scantling.catalogue import Catalogue
from scantling.figures import Figure, text
from scantling.figures.spelled import nearest, quoted
from scantling.standing import Issued, Part, Piece, Standing

Wrong = tuple[str, str]
"""The path of the answer, and what is wrong with it."""


def contradictions(standing: Standing, catalogue: Catalogue) -> Iterator[Wrong]:
    """Parts that no catalogue knows, two things at one address, networks that overlap, addresses outside their zone."""
    yield from _articles(standing, catalogue)
    issued = standing.issued
    yield from _networks(issued)
    yield from _ranges(issued)
    yield from _addresses(issued)


def _articles(standing: Standing, catalogue: Catalogue) -> Iterator[Wrong]:
    known = {slug for rows in catalogue.rows.values() for slug in rows}
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
        if isinstance(piece, Piece) and (piece.article is None) != (piece.serves is None):
            given, lacks = ("article", "serves") if piece.serves is None else ("serves", "article")
            if text(piece.do) != "retire":
                yield f"{path}.{given}", f"{lacks} is missing beside it: which part of the purchase is it?"


def _networks(issued: Issued) -> Iterator[Wrong]:
    zones = issued.zones or {}
    for slug, zone in zones.items():
        if not _inside(zone.gateway, zone.network):
            says = f"the gateway {zone.gateway.value} lies outside {zone.network.value}"
            yield f"issued.zones.{slug}.gateway", says
    for (one, first), (other, second) in combinations(zones.items(), 2):
        if first.network.value.overlaps(second.network.value):
            says = f"{second.network.value} overlaps {first.network.value} of {one}"
            yield f"issued.zones.{other}.network", says
        if first.number.value == second.number.value:
            yield f"issued.zones.{other}.number", f"{one} has the number {first.number.value} too"


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
    for (one, first), (other, second) in combinations(ranges.items(), 2):
        if first.first.value <= second.last.value and second.first.value <= first.last.value:
            yield f"issued.ranges.{other}.first", f"it overlaps {one}"


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
