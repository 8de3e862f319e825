"""Every shape that demands and costs of a purchase can have, each with its plain twin for brute force."""

import math
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from referees.sets import Condition, Raw, Taken, together

from scantling.figures import (
    Attribute, Cost, Demand, Figure, Levels, Most, Of, Origin, Slot, Source, Sum, rule,
)  # fmt: skip
from scantling.figures.units import (
    COUNT, GIB, MM, MONEY, PAID_RATIO, RATIO, WATT, WORD, Count, Money, PaidRatio, Truth, Unit,
)  # fmt: skip
from scantling.figures.units import DECIBEL as DB
from scantling.handbook.sharing import evenly_spread, memory_node, within_share
from scantling.handbook.sizing import enough, same
from scantling.handbook.space import damped, deep_enough

HERE = Source("for this test", "own derivation")
UNITS: dict[str, Unit[Any]] = {
    "offer": COUNT, "taken": COUNT, "supply": WATT, "watts": WATT, "depth": MM, "usable": MM, "noise": DB, "damping": DB,
    "kind": WORD, "chips": COUNT, "modules": COUNT, "memory": GIB, "channels": COUNT, "factor": PAID_RATIO, "load": RATIO,
}  # fmt: skip
ATTRIBUTES = {name: Attribute(name, unit, sums=False) for name, unit in UNITS.items()}


@rule(HERE)
def even(amount: Count) -> Truth:
    """A number is even: no direction at all."""
    return amount % 2 == 0


@rule(HERE, rises="units each")
def billed(units: PaidRatio, each: Money) -> Money:
    """So many units at so much each."""
    return units * each


@rule(HERE, rises="units each factor")
def billed_by(units: PaidRatio, each: Money, factor: PaidRatio) -> Money:
    """So many units at so much each, times a factor."""
    return units * each * factor


@rule(HERE, rises="units each")
def billed_beyond(units: PaidRatio, each: Money, free: PaidRatio) -> Money:
    """Only the units beyond the free ones are paid."""
    return (max(units, free) - free) * each


class Article:
    """A row with one price and any numbers."""

    def __init__(self, slug: str, values: Mapping[str, Any]) -> None:
        self.slug, self.values = slug, values

    def get(self, attribute: Attribute[Any]) -> Any:
        """The plain value."""
        return self.values.get(attribute.name)

    def figure(self, attribute: Attribute[Any]) -> Figure[Any]:
        """The value as a figure."""
        return Figure(self.values[attribute.name], attribute.unit, Origin("catalogue", self.slug))


def given(value: Any, unit: Unit[Any]) -> Figure[Any]:
    """A figure from nowhere."""
    return Figure(value, unit, Origin("brief", "test"))


@dataclass
class Case:
    """A purchase, and its twin of plain numbers and functions."""

    slots: list[Slot]
    raw: dict[str, list[Raw]]
    demands: list[Demand] = field(default_factory=list)
    costs: list[Cost] = field(default_factory=list)
    conditions: list[Condition] = field(default_factory=list)
    dragged: list[Callable[[Taken], Decimal]] = field(default_factory=list)
    values: dict[str, Callable[[Taken], Any]] = field(default_factory=dict)
    """For each need with an amount, what a set comes to."""

    def need(self, id_: str, what: Any, value: Callable[[Taken], Any], least: Any = None, most: Any = None) -> None:
        """A need with a floor, a ceiling, or both."""
        floor = None if least is None else given(least, what.unit)
        ceiling = None if most is None else given(most, what.unit)
        self.demands.append(Demand(id_, id_, what, floor, ceiling, need=True))
        self.values[id_] = value
        self.conditions.append(
            lambda taken: (least is None or value(taken) >= least) and (most is None or value(taken) <= most)
        )

    def fit(self, id_: str, what: Any, holds: Condition) -> None:
        """A fit."""
        self.demands.append(Demand(id_, id_, what))
        self.conditions.append(holds)

    def cost(self, id_: str, what: Any, value: Callable[[Taken], Decimal]) -> None:
        """A cost that is dragged behind."""
        self.costs.append(Cost(id_, id_, what))
        self.dragged.append(value)


def _of(taken: Taken, slot: str, column: str) -> Any:
    return taken[slot].numbers[column]


def _total(taken: Taken, column: str) -> Any:
    return sum(together(taken, column))


def _loud(taken: Taken) -> float:
    power = sum(10 ** (level / 10) for level in together(taken, "noise") if level > 0)
    return 10 * math.log10(power) if power else 0.0


def _sum(column: str) -> Sum[Any]:
    return Sum(ATTRIBUTES[column])


def _one(slot: str, column: str) -> Of[Any]:
    return Of(slot, ATTRIBUTES[column])


def _same_kind(made: Case, _: random.Random) -> None:
    kinds = same.over(one=_one("base", "kind"), other=_one("chip", "kind"))
    made.fit("kind", kinds, lambda taken: bool(_of(taken, "base", "kind") == _of(taken, "chip", "kind")))


def _room(made: Case, _: random.Random) -> None:
    made.fit(
        "room", enough.over(offered=_one("base", "offer"), taken=_sum("taken")),
        lambda taken: bool(_total(taken, "taken") <= _of(taken, "base", "offer")),
    )  # fmt: skip


def _room_of_two(made: Case, _: random.Random) -> None:
    made.fit(
        "room-of-two", enough.over(offered=_one("base", "offer"), taken=_one("shell", "offer")),
        lambda taken: bool(_of(taken, "shell", "offer") <= _of(taken, "base", "offer")),
    )  # fmt: skip


def _supply(made: Case, rng: random.Random) -> None:
    share = rng.choice((0.5, 0.8, 1.0))
    what = within_share.over(offered=_one("base", "supply"), share=given(share, RATIO), taken=_sum("watts"))
    made.fit("supply", what, lambda taken: bool(_total(taken, "watts") <= _of(taken, "base", "supply") * share))


def _deep(made: Case, rng: random.Random) -> None:
    cables = rng.uniform(0, 200)
    what = deep_enough.over(
        usable=_one("shell", "usable"), deepest=Most(ATTRIBUTES["depth"]), cables=given(cables, MM)
    )
    made.fit(
        "deep", what, lambda taken: bool(max(together(taken, "depth")) + cables <= _of(taken, "shell", "usable"))
    )


def _shallow(made: Case, rng: random.Random) -> None:
    made.need("shallow", Most(ATTRIBUTES["depth"]), lambda taken: max(together(taken, "depth"), default=0.0), None,
              rng.uniform(300, 900))  # fmt: skip


def _deeper(made: Case, rng: random.Random) -> None:
    made.need("deeper", Most(ATTRIBUTES["depth"]), lambda taken: max(together(taken, "depth"), default=0.0),
              rng.uniform(200, 700))  # fmt: skip


def _quiet(made: Case, rng: random.Random) -> None:
    made.need("quiet", Levels(ATTRIBUTES["noise"]), _loud, None, rng.uniform(25, 60))


def _quiet_outside(made: Case, rng: random.Random) -> None:
    what = damped.over(level=Levels(ATTRIBUTES["noise"]), damping=_one("shell", "damping"))
    made.need(
        "quiet-outside", what, lambda taken: _loud(taken) - _of(taken, "shell", "damping"), None, rng.uniform(20, 55)
    )


def _between(made: Case, rng: random.Random) -> None:
    low = rng.uniform(20, 250)
    made.need("between", _sum("watts"), lambda taken: _total(taken, "watts") or 0.0, low, low + rng.uniform(10, 200))


def _node(made: Case, rng: random.Random) -> None:
    """Two sums, each over several slots."""
    what = memory_node.over(memory=_sum("memory"), chips=_sum("chips"))
    made.need("node", what, lambda taken: _total(taken, "memory") / _total(taken, "chips"), rng.uniform(4, 40))


def _spread(made: Case, _: random.Random) -> None:
    """Three slots and no direction."""
    what = evenly_spread.over(
        modules=_one("store", "modules"), chips=_one("chip", "chips"), channels=_one("base", "channels")
    )

    def holds(taken: Taken) -> bool:
        modules, chips = _of(taken, "store", "modules"), _of(taken, "chip", "chips")
        lanes = chips * _of(taken, "base", "channels")
        return bool(modules % chips == 0 and (modules <= lanes or modules % lanes == 0))

    made.fit("spread", what, holds)


def _even(made: Case, _: random.Random) -> None:
    made.fit("even", even.over(amount=_sum("taken")), lambda taken: bool(_total(taken, "taken") % 2 == 0))


def _enough_taken(made: Case, rng: random.Random) -> None:
    made.need("taken", _sum("taken"), lambda taken: _total(taken, "taken"), rng.randint(1, 9))


def _one_slot(made: Case, rng: random.Random) -> None:
    made.need(
        "supply-alone", _one("base", "supply"), lambda taken: _of(taken, "base", "supply"), rng.uniform(100, 400)
    )


def _memory(made: Case, rng: random.Random) -> None:
    made.need("memory", _sum("memory"), lambda taken: _total(taken, "memory") or 0.0, rng.uniform(10, 90))


def _bill(made: Case, rng: random.Random) -> None:
    """A cost on a straight line over several slots."""
    each = Decimal(rng.randrange(1, 900)) / 100
    what = billed.over(units=_sum("taken"), each=given(each, MONEY))
    made.cost("bill", what, lambda taken: _total(taken, "taken") * each)


def _bill_by(made: Case, rng: random.Random) -> None:
    """A cost on one of several lines."""
    each = Decimal(rng.randrange(1, 300)) / 100
    what = billed_by.over(units=_sum("taken"), each=given(each, MONEY), factor=_one("shell", "factor"))
    made.cost("bill-by", what, lambda taken: _total(taken, "taken") * each * _of(taken, "shell", "factor"))


def _bill_beyond(made: Case, rng: random.Random) -> None:
    """A cost with a bend."""
    each, free = Decimal(rng.randrange(1, 300)) / 100, Decimal(rng.randrange(40, 200))
    what = billed_beyond.over(units=_sum("load"), each=given(each, MONEY), free=given(free, PAID_RATIO))

    def due(taken: Taken) -> Decimal:
        paid = sum(
            (Decimal(f"{load:.9g}") for load in together(taken, "load")), Decimal(0)
        )  # money takes nine digits
        return max(paid - free, Decimal(0)) * each

    made.cost("bill-beyond", what, due)


def _bill_of_two(made: Case, rng: random.Random) -> None:
    """A cost of two columns."""
    each = Decimal(rng.randrange(1, 900)) / 100
    what = billed_by.over(units=_one("chip", "chips"), each=given(each, MONEY), factor=_one("shell", "factor"))
    made.cost("bill-of-two", what, lambda taken: _of(taken, "chip", "chips") * each * _of(taken, "shell", "factor"))


def _bill_alone(made: Case, rng: random.Random) -> None:
    each = Decimal(rng.randrange(1, 9000)) / 100
    what = billed.over(units=_one("store", "modules"), each=given(each, MONEY))
    made.cost("bill-alone", what, lambda taken: _of(taken, "store", "modules") * each)


SHAPES: tuple[tuple[tuple[str, ...], Callable[[Case, random.Random], None]], ...] = (
    (("base", "chip"), _same_kind), (("base",), _room), (("base", "shell"), _room_of_two), (("base",), _supply),
    (("shell",), _deep), ((), _shallow), ((), _deeper), ((), _quiet), (("shell",), _quiet_outside), ((), _between),
    (("chip", "store"), _node), (("base", "chip", "store"), _spread), (("chip", "store"), _even), ((), _enough_taken),
    (("base",), _one_slot), ((), _memory), (("chip", "store"), _bill), (("chip", "store", "shell"), _bill_by),
    (("chip", "store"), _bill_beyond), (("chip", "shell"), _bill_of_two), (("store",), _bill_alone),
)  # fmt: skip
