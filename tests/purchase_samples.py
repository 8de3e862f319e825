"""Random purchases: three to five slots with articles, some standing, and a handful of demands and costs of every shape."""

import random
from decimal import Decimal
from typing import Any

from purchase_shapes import ATTRIBUTES, SHAPES, Article, Case
from referees.sets import Raw

from scantling.figures import Option, Slot

CARRIES = {
    "base": ("offer", "supply", "depth", "usable", "watts", "kind", "channels", "noise"),
    "chip": ("watts", "kind", "chips", "taken", "load"),
    "store": ("watts", "taken", "modules", "memory", "load"),
    "extra": ("watts", "taken", "depth", "noise", "chips", "memory", "load"),
    "shell": ("damping", "usable", "factor", "depth", "offer"),
}
"""Which slot has which columns; an option of `extra` may have none at all."""


def _number(rng: random.Random, column: str) -> Any:
    whole = {"offer": (2, 12), "taken": (0, 5), "chips": (1, 3), "modules": (1, 8), "channels": (1, 3)}
    parts = {
        "supply": (150, 500), "watts": (5, 160), "depth": (200, 800), "usable": (300, 1200), "noise": (20, 55),
        "damping": (0, 12), "memory": (8, 64), "load": (1, 90),
    }  # fmt: skip
    if column in whole:
        return rng.randint(*whole[column])
    if column == "kind":
        return rng.choice("xy")
    if column == "factor":
        return Decimal(rng.choice((1, 2, 3)))
    return rng.choice((float(rng.randint(*parts[column])), rng.uniform(*parts[column])))


def case(rng: random.Random) -> Case:
    """Three to five slots of two to six options, some of them standing, and a handful of demands and costs."""
    made = Case([], {})
    for slot in rng.sample(sorted(CARRIES), rng.choice((3, 4, 5))):
        options, raws = [], []
        stands = rng.randrange(12)
        for place in range(rng.randint(2, 6)):
            lacks = slot == "extra" and rng.random() < 0.2
            numbers = {} if lacks else {column: _number(rng, column) for column in CARRIES[slot]}
            price = rng.choice((Decimal(rng.randrange(1, 9) * 100), Decimal(rng.randrange(100, 90_000)) / 100))
            row = Article(f"{slot}-{place}", numbers | {"price": price})
            count = rng.choice((1, 1, 2))
            there = count if place == stands else rng.choice((0, 0, count - 1))
            changes = stands < 6 and place != stands
            standing = ((row, there),) if there else ()
            # the numbers are an option's own, so that a count does not alter them: only the price counts parts
            own = {ATTRIBUTES[column]: number for column, number in numbers.items()}
            options.append(Option(f"{count}x-{row.slug}", ((row, count),), own, standing, changes))
            raws.append(Raw(f"{count}x-{row.slug}", int(price * 100) * (count - there), numbers, changes))
        made.slots.append(Slot(slot, tuple(options)))
        made.raw[slot] = raws
    _ask(made, rng)
    return made


def _ask(made: Case, rng: random.Random) -> None:
    """Each shape now and then, where the slots that it reads are there."""
    there = set(made.raw)
    for slots, ask in SHAPES:
        if set(slots) <= there and rng.random() < 0.4:
            ask(made, rng)
