"""Mistakes planted for mypy: each line marked "planted" must be refused with those words, and no other line."""

from collections.abc import Mapping
from decimal import Decimal
from enum import StrEnum
from ipaddress import IPv4Network
from typing import Any, assert_type

from scantling.figures import Attribute, Figure, Of, Origin, Over, Rule, Source, Sum, Table, method, rule
from scantling.figures.units import (
    COUNT,
    GB,
    MONEY,
    NETWORK,
    PAID_HOUR,
    TB,
    WORD,
    Count,
    Metres,
    Money,
    Network,
    PaidHours,
    Quantity,
    Terabytes,
    Unit,
)

BOOK = Source("a book")
BRIEF = Origin("brief", "somewhere")


class Level(StrEnum):
    """How an array is built."""

    MIRROR = "mirror"


@rule(BOOK, rises="disks", falls="parity")
def capacity(disks: Count, parity: Count, size: Terabytes) -> Terabytes:
    """Capacity left for data."""
    return (disks - parity) * size


@rule(BOOK)
def loss(distance: Metres, *, slope: float = 30.0) -> Metres:
    """A rule with a coefficient."""
    return slope * distance


@rule(BOOK)
def wage(hours: PaidHours, rate: Money) -> Money:
    """Numbers enter money."""
    return hours * rate


@rule(BOOK)
def doubled(amount: Quantity) -> Quantity:
    """A rule for any unit."""
    return amount * 2


@method(BOOK, says="the first that fits")
def placed(block: Network, sizes: Mapping[str, Count]) -> Count:
    """A method of many inputs."""
    return sum(sizes.values()) + block.prefixlen


parity = Table(BOOK, "parity disks", COUNT, {Level.MIRROR: 1})
anything: Rule[..., Any] = capacity
count, size = Figure(4, COUNT, BRIEF), Figure(12000.0, GB, BRIEF)
block = Figure(IPv4Network("192.0.2.0/24"), NETWORK, BRIEF)
price, word = Figure(Decimal(1), MONEY, BRIEF), Figure("a", WORD, BRIEF)
SIZE, DISKS = Attribute("size", TB), Attribute("disks", COUNT, sums=True)
LEVEL = Attribute("level", Unit("", Level))

# What is right passes, with the right type.
assert_type(capacity(4, 1, 12.0), float)
assert_type(capacity.of(disks=count, parity=count, size=size), Figure[float])
assert_type(capacity.over(disks=Of("fast", DISKS), parity=parity.over(Of("fast", LEVEL)), size=size), Over[float])
assert_type(loss.of(distance=size), Figure[float])
assert_type(wage.of(hours=size, rate=price), Figure[Decimal])
assert_type(wage.of(hours=count, rate=Figure(Decimal(2), PAID_HOUR, BRIEF)), Figure[Decimal])
assert_type(doubled.of(amount=count), Figure[float])
assert_type(placed.of(block=block, sizes={"a": count}), Figure[int])
anything.of(whatever=count)

# What is wrong is refused, where it stands.
capacity.of(disks=count, parity=count)  # planted: Missing named argument "size"
capacity.of(disk=count, parity=count, size=size)  # planted: Unexpected keyword argument "disk"
capacity.of(count, count, size)  # planted: Too many positional arguments
capacity.of(disks=size, parity=count, size=size)  # planted: expected "Figure[int]"
capacity.of(disks=4, parity=count, size=size)  # planted: expected "Figure[int]"
capacity.of(disks=count, parity=count, size=price)  # planted: expected "Figure[float]"
capacity.of(disks=count, parity=count, size=word)  # planted: expected "Figure[float]"
capacity.of(disks={"a": count}, parity=count, size=size)  # planted: expected "Figure[int]"
capacity(4, 1)  # planted: Missing positional argument "size"
capacity("4", 1, 12.0)  # planted: expected "int"
capacity.over(disks=Of("fast", SIZE), parity=count, size=size)  # planted: expected "Attribute[int]"
capacity.over(disks=Sum(DISKS), parity=count)  # planted: Missing named argument "size"
capacity.over(disks=4, parity=count, size=size)  # planted: expected "Term[int] | Figure[int]"
loss.of(distance=size, slope=size)  # planted: Unexpected keyword argument "slope"
wage.of(hours=size, rate=word)  # planted: Argument "rate" to "of" of "Rule" has incompatible type "Figure[str]"
placed.of(block=block, sizes={"a": size})  # planted: "Figure[float]"; expected "str": "Figure[int]"
placed.of(block=block, sizes=count)  # planted: expected "Mapping[str, Figure[int]]"
placed.of(block=count, sizes={"a": count})  # planted: expected "Figure[IPv4Network]"
parity.of(count)  # planted: expected "Figure[Level]"
parity.over(Of("fast", DISKS))  # planted: expected "Attribute[Level]"
count + 1  # planted: Unsupported operand types for +
total: Figure[float] = 12.0  # planted: expression has type "float"
whole: Figure[int] = size  # planted: expression has type "Figure[float]"
if count:  # planted: __bool__
    pass
