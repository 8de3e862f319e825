"""Records of what is not simply on one host: services in boxes or in the cloud, and two hosts that share the machines."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from scantling.figures.figure import Figure

BOXED, IN_CLOUD = "in a box", "in the cloud"
"""Where a service may stand instead of on a machine; no machine can be called so, since slugs hold no blanks."""


@dataclass(frozen=True, slots=True)
class Box:
    """A device of its own that does what would else be machines' work."""

    slug: str
    """The slot that it is bought for."""
    name: str
    kind: str
    roles: tuple[str, ...]
    """Slugs of the services that it does."""
    users: Figure[int]


@dataclass(frozen=True, slots=True)
class Rented:
    """A service left with others, used over the line."""

    slug: str
    """Of the service."""
    name: str
    users: Figure[int]
    down: Figure[float]
    """Speed that all its users want at once, to the office."""
    up: Figure[float]
    yearly: Figure[Decimal]


@dataclass(frozen=True, slots=True)
class Hosts:
    """Two equal hosts: each carries its part of the machines, and all of them when the other is lost.

    There is no such record where there is one host. Cores and memory are those of the host that carries more.
    """

    slug: str
    count: Figure[int]
    cores: Figure[int]
    """Virtual cores."""
    busy: Figure[float]
    expected: Figure[float]
    places: Mapping[str, int]
    """Which host each machine runs on, counted from one."""
