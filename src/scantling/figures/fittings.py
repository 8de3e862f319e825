"""The plain records of what is plugged in, fed and put up: ports, loads, circuits, places, sites. None names a trade."""

from dataclasses import dataclass

from scantling.figures.figure import Figure


@dataclass(frozen=True, slots=True)
class Port:
    """Sockets in the wall or on a device that want a switch port."""

    slug: str
    zone: str
    count: Figure[int]
    fed: Figure[float] | None = None
    """Watts that the switch sets aside for the device at each, by its class; None where it feeds none."""
    taken: Figure[float] | None = None
    """Watts that such a device really takes over its cable."""
    name: str = ""
    """What hangs on them, as the brief calls it."""


@dataclass(frozen=True, slots=True)
class Switching:
    """What the office's switches carry, and the access points allowed for until radio is planned."""

    slug: str
    ports: Figure[int]
    fed: Figure[float]
    """Watts that they must be able to give, by class."""
    radio: Figure[int]
    """Access points to buy, beyond those that are there."""


@dataclass(frozen=True, slots=True)
class Draw:
    """Power drawn by things that are not bought by choice."""

    slug: str
    watts: Figure[float]


@dataclass(frozen=True, slots=True)
class Circuit:
    """A mains circuit that reaches the place."""

    slug: str
    free: Figure[float]
    """Power it may still carry for hours."""
    rating: Figure[float]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a part stands and how much room it takes; `slot` is what it was bought for."""

    slug: str
    name: str
    place: str
    height: Figure[int]
    weight: Figure[float]
    slot: str = ""
    lowest: Figure[int] | None = None
    """Lowest height unit that it fills, counted from below; None where it stands elsewhere."""
    depth: Figure[float] | None = None
    noise: Figure[float] | None = None
    set_aside: bool = False
    """Whether the room is only kept for something that is not planned yet."""


@dataclass(frozen=True, slots=True)
class Site:
    """The place where the server and its parts are to stand."""

    slug: str
    name: str
    depth: Figure[float]
    height: Figure[float]
    set_aside: Figure[int]
    """Height units of a cabinet kept for what is not planned yet."""
