"""The plain records that trades exchange; none of them names a trade. Unique by kind, trade and slug."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from ipaddress import IPv4Address, IPv4Network, IPv6Address
from typing import Any

from scantling.figures.figure import Figure
from scantling.figures.gathering import Series


@dataclass(frozen=True, slots=True)
class Crowd:
    """People of one role."""

    slug: str
    name: str
    heads: Figure[int]
    horizon: Figure[int]
    present: Figure[Series]
    """Heads at work by hour of the week, from Monday midnight, at the horizon."""


@dataclass(frozen=True, slots=True)
class Visitors:
    """People who come and go on the busiest day and join the network."""

    slug: str
    zone: str
    arrivals: Figure[Series]
    """Devices that join in each step of the busiest day."""
    stay: Figure[float]
    present: Figure[int]
    """Devices there at the same time, at the peak."""
    active: Figure[int]
    """Devices using the line at the same time, at the peak."""


@dataclass(frozen=True, slots=True)
class Device:
    """Things of one kind that plug in or join by radio."""

    slug: str
    name: str
    kind: str
    zone: str
    now: Figure[int]
    count: Figure[int]
    """With the house's spare."""
    wired: bool
    fixed: bool
    """Whether each keeps a reserved address."""


@dataclass(frozen=True, slots=True)
class Service:
    """One thing the office needs done, what it may cost to lose it, and the machine that does it (or BOXED, IN_CLOUD)."""

    slug: str
    name: str
    profile: str
    machine: str
    zone: str
    users: Figure[int]
    down: Figure[float]
    lost: Figure[float]


@dataclass(frozen=True, slots=True)
class Machine:
    """One virtual machine."""

    slug: str
    roles: tuple[str, ...]
    zones: tuple[str, ...]
    cores: Figure[int]
    floor: Figure[float]
    expected: Figure[float]
    ceiling: Figure[float]
    disk: Figure[float]
    """Room for its system and programs."""
    operations: Figure[float]
    """Disk operations a second on a busy hour."""
    stop: Figure[float]
    """Minutes to shut it down in good order."""
    busy: Figure[float]
    """Cores it keeps busy in a busy hour; nought where no service time is known."""
    ports: Figure[int]
    """Network ports of the host that it wants for itself."""


@dataclass(frozen=True, slots=True)
class Dataset:
    """One body of data, as given and at the horizon."""

    slug: str
    name: str
    kind: str
    size: Figure[float]
    horizon: Figure[float]
    files: Figure[int]
    change: Figure[float]
    """Share of it that changes in a day."""
    compression: Figure[float]
    service: str
    """Slug of the service that keeps it."""
    room: Figure[float]
    """Room set aside for it, with snapshots and free space."""
    daily: Figure[float]
    """How much of it changes in a day, at the horizon."""
    full: Figure[int]
    """Months until its room is full."""
    copied: Figure[bool]
    """Whether it is to be backed up."""
    later: Figure[bool]
    """Whether it may come back after all else."""
    quick: bool
    """Whether it belongs on the fast array."""


@dataclass(frozen=True, slots=True)
class Volume:
    """Room set aside on an array."""

    slug: str
    name: str
    array: str
    now: Figure[float]
    horizon: Figure[float]
    room: Figure[float]


@dataclass(frozen=True, slots=True)
class Array:
    """Disks joined to one store."""

    slug: str
    name: str
    level: str
    disks: Figure[int]
    usable: Figure[float]
    filled_now: Figure[float]
    filled_horizon: Figure[float]


@dataclass(frozen=True, slots=True)
class Zone:
    """Devices that may see each other and nobody else without leave."""

    slug: str
    name: str
    number: Figure[int]
    devices: Figure[int]
    sealed: bool
    kinds: tuple[tuple[str, Figure[int]], ...]


@dataclass(frozen=True, slots=True)
class Subnet:
    """A zone's cell of the address register; the allocation behind it is the figure."""

    slug: str
    network: IPv4Network
    gateway: IPv4Address
    allocation: Figure[Mapping[str, IPv4Network]]


@dataclass(frozen=True, slots=True)
class Pool:
    """Addresses lent for a time."""

    slug: str
    first: IPv4Address
    last: IPv4Address
    size: Figure[int]
    peak: Figure[float]
    lease: Figure[float]


@dataclass(frozen=True, slots=True)
class Range:
    """A run of addresses in a zone and what it is for (static, reserved)."""

    slug: str
    zone: str
    purpose: str
    first: IPv4Address
    last: IPv4Address
    layout: Figure[Mapping[str, Any]] | None = None
    """The runs of its zone, one of them this one, under `run`."""
    run: str = ""


@dataclass(frozen=True, slots=True)
class Address:
    """One address that is given to one thing."""

    slug: str
    zone: str
    holder: str
    address: IPv4Address
    allocation: Figure[Mapping[str, IPv4Address]]


@dataclass(frozen=True, slots=True)
class Line:
    """One line to the outside."""

    slug: str
    name: str
    down: Figure[float]
    up: Figure[float]
    standby: bool
    handoff: Figure[str]
    """How it is handed over: bridge, login, fixed, dynamic or shared."""
    router: Figure[bool]
    """Whether a box of the provider translates addresses before the firewall does."""
    term: Figure[float]
    """Months that a contract binds at least."""
    notice: Figure[float]
    """Months before its end in which it must be cancelled or renewed."""
    monthly: Figure[Decimal] | None = None
    address: Figure[IPv4Address] | None = None
    address6: Figure[IPv6Address] | None = None
    road: Figure[str] | None = None
    """What it comes by: fibre, copper, cable, radio or satellite."""
    provider: Figure[str] | None = None
    contact: Figure[str] | None = None
    """How the provider is reached when the line is down."""
    ends: Figure[date] | None = None
    """The day on which its contract ends."""


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy of the data apart from the server."""

    slug: str
    name: str
    off_site: bool
    off_line: bool
    capacity: Figure[float]
    needed: Figure[float]
    how: str
    """How often it is written: every night, or each time it is carried."""
    window: Figure[float]
    """Hours of one run."""
    restore: Figure[float]
    """Hours until the whole server is back from it."""


@dataclass(frozen=True, slots=True)
class Lasting:
    """A choice that is hard to change later, and whether the client has confirmed it."""

    slug: str
    what: str
    chosen: Figure[Any]
    confirmed: Figure[bool]


@dataclass(frozen=True, slots=True)
class Fee:
    """Something to pay every year."""

    slug: str
    name: str
    yearly: Figure[Decimal]


@dataclass(frozen=True, slots=True)
class Task:
    """Work of the consultant, in hours."""

    slug: str
    name: str
    hours: Figure[float]
