"""The purchase against brute force over raw articles, judged by a predicate written apart, on hundreds of random catalogues."""

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from referees.brute import Wish, every, good

from scantling.figures import (
    Attribute, Demand, Figure, Most, Of, Option, Origin, Slot, Source, Sum, rule,
)  # fmt: skip
from scantling.figures.units import (
    COUNT,
    GIB,
    MINUTE,
    MM,
    RATIO,
    TB,
    WATT,
    WH,
    WORD,
    Count,
    Minutes,
    Truth,
    Unit,
    WattHours,
    Watts,
)
from scantling.figures.units import DECIBEL as DB
from scantling.handbook.arrays import COUNTS, DISKS, KEPT, Level, array_capacity, array_option
from scantling.handbook.choosing import Search
from scantling.handbook.easing import eased
from scantling.handbook.sharing import within_share
from scantling.handbook.sizing import enough, same

SOCKET, SOCKETS, CHIPS = Attribute("socket", WORD), Attribute("sockets", COUNT), Attribute("chips", COUNT, sums=True)
CORES, CAPACITY = Attribute("cores", COUNT, sums=True), Attribute("capacity", GIB, sums=True)
SLOTS, MODULES = Attribute("slots", COUNT), Attribute("modules", COUNT, sums=True)
BAYS, TAKEN, SIZE = Attribute("bays", COUNT), Attribute("bays_taken", COUNT, sums=True), Attribute("size", TB)
WATTS, SUPPLY, ENERGY = Attribute("watts", WATT, sums=True), Attribute("supply_watts", WATT), Attribute("energy", WH)
DEPTH, NOISE = Attribute("depth", MM), Attribute("noise", DB)
MINUTES_AN_HOUR = 60
HERE = Source("for this test", "own derivation")
LEVELS = (Level.MIRROR, Level.PAIRS, Level.SINGLE_PARITY, Level.DOUBLE_PARITY)
MODULE_COUNTS, CHIP_COUNTS = (1, 2, 4, 8), (1, 2)
LAYOUTS = [(level, count) for level in LEVELS for count in COUNTS[level] if count <= 6]


@rule(HERE, rises="energy", falls="bought standing")
def lasting(energy: WattHours, bought: Watts, standing: Watts) -> Minutes:
    """Minutes a battery lasts."""
    return energy / (bought + standing) * MINUTES_AN_HOUR


@rule(HERE)
def alike(modules: Count, chips: Count) -> Truth:
    """Modules share out evenly over the processors."""
    return modules % chips == 0


class Article:
    """A row of a random catalogue."""

    def __init__(self, slug: str, values: Mapping[str, Any]) -> None:
        self.slug, self.values = slug, values

    def get(self, attribute: Attribute[Any]) -> Any:
        """The plain value."""
        return self.values.get(attribute.name)

    def figure(self, attribute: Attribute[Any]) -> Figure[Any]:
        """The value as a figure."""
        return Figure(self.values[attribute.name], attribute.unit, Origin("catalogue", self.slug))


def stock(rng: random.Random) -> dict[str, list[Article]]:
    """A random catalogue: now and then generous, now and then hopeless."""

    def price(low: int, high: int) -> Decimal:
        return Decimal(rng.randrange(low, high))

    def some(kind: str, count: int, make: Any) -> list[Article]:
        return [Article(f"{kind}{place}", make()) for place in range(count)]

    return {
        "host": some("h", 4, lambda: {
            "price": price(400, 3000), "socket": rng.choice("ab"), "sockets": rng.choice((1, 2)), "slots": rng.choice((4, 8, 16)),
            "bays": rng.choice((2, 4, 8)), "watts": rng.uniform(20, 90), "supply_watts": rng.uniform(150, 700),
            "depth": rng.uniform(350, 800), "noise": rng.uniform(28, 56)}),
        "chip": some("c", 4, lambda: {
            "price": price(100, 1500), "socket": rng.choice("ab"), "chips": 1, "cores": rng.choice((4, 6, 8, 12, 16, 24)),
            "watts": rng.uniform(40, 160)}),
        "module": some("m", 3, lambda: {
            "price": price(50, 400), "modules": 1, "capacity": rng.choice((16.0, 32.0, 64.0)), "watts": rng.uniform(2, 6)}),
        "disk": some("d", 4, lambda: {
            "price": price(60, 700), "bays_taken": 1, "size": rng.choice((1.0, 2.0, 4.0, 8.0)), "watts": rng.uniform(3, 9)}),
        "unit": some("u", 3, lambda: {
            "price": price(150, 1500), "energy": rng.uniform(60, 700), "depth": rng.uniform(300, 700)}),
    }  # fmt: skip


def wish(rng: random.Random) -> Wish:
    """A random office."""
    return Wish(
        rng.randrange(4, 34), rng.choice((32.0, 60.0, 100.0, 200.0)), rng.uniform(1, 18), rng.uniform(5, 30),
        rng.uniform(450, 850), rng.uniform(32, 58), rng.uniform(0, 150),
    )  # fmt: skip


def given(value: Any, unit: Unit[Any]) -> Figure[Any]:
    """A figure from nowhere."""
    return Figure(value, unit, Origin("brief", "test"))


def slots(rows: Mapping[str, Sequence[Article]]) -> list[Slot]:
    """The same articles as options."""
    arrays = [array_option(disk, level, count) for disk in rows["disk"] for level, count in LAYOUTS]

    def options(kind: str, counts: Sequence[int]) -> tuple[Option, ...]:
        return tuple(Option(f"{n}x-{row.slug}", ((row, n),)) for row in rows[kind] for n in counts)

    return [
        Slot("host", options("host", (1,))), Slot("chip", options("chip", CHIP_COUNTS)),
        Slot("module", options("module", MODULE_COUNTS)), Slot("array", tuple(arrays)), Slot("unit", options("unit", (1,))),
    ]  # fmt: skip


def demands(office: Wish) -> list[Demand]:
    """The same wish as demands."""
    usable = array_capacity.over(disks=Of("array", DISKS), parity=Of("array", KEPT), size=Of("array", SIZE))
    lasts = lasting.over(energy=Of("unit", ENERGY), bought=Sum(WATTS), standing=given(office.other_watts, WATT))
    share = within_share.over(offered=Of("host", SUPPLY), share=given(0.8, RATIO), taken=Sum(WATTS))

    def need(id_: str, what: Any, least: Any = None, most: Any = None) -> Demand:
        return Demand(id_, id_, what, least, most, need=True)

    return [
        need("cores", Sum(CORES), given(office.cores, COUNT)), need("memory", Sum(CAPACITY), given(office.memory, GIB)),
        need("data", usable, given(office.data, TB)), need("lasts", lasts, given(office.minutes, MINUTE)),
        need("depth", Most(DEPTH), None, given(office.depth, MM)), need("noise", Of("host", NOISE), None, given(office.noise, DB)),
        Demand("socket", "socket", same.over(one=Of("host", SOCKET), other=Of("chip", SOCKET))),
        Demand("sockets", "sockets", enough.over(offered=Of("host", SOCKETS), taken=Sum(CHIPS))),
        Demand("slots", "slots", enough.over(offered=Of("host", SLOTS), taken=Sum(MODULES))),
        Demand("alike", "alike", alike.over(modules=Sum(MODULES), chips=Sum(CHIPS))),
        Demand("bays", "bays", enough.over(offered=Of("host", BAYS), taken=Sum(TAKEN))),
        Demand("supply", "supply", share),
    ]  # fmt: skip


def brute(rows: Mapping[str, Sequence[Article]], office: Wish) -> list[int]:
    """Prices of all good assemblies, cheapest first, by the referee."""
    raw = {kind: [article.values for article in articles] for kind, articles in rows.items()}
    layouts = [(level.value, count) for level, count in LAYOUTS]
    counts = {"chip": CHIP_COUNTS, "module": MODULE_COUNTS}
    return sorted(one.price for one in every(raw, layouts, counts) if good(one, office))


@pytest.mark.parametrize("group", range(10))
def test_the_cheapest_five_are_the_same_as_by_brute_force(group: int, scale: Any) -> None:
    """Three hundred random catalogues in full, sixty in short, in ten groups."""
    for seed in range(group, scale(short=60, full=300), 10):
        rng = random.Random(seed)
        rows, office = stock(rng), wish(rng)
        search = Search(slots(rows), demands(office), [])
        assert [int(assembly.price) for assembly in search.best(5)] == brute(rows, office)[:5], seed


def test_feasible_and_hopeless_both_occur() -> None:
    """Otherwise the comparison above would be about nothing."""
    seen = set()
    for seed in range(40):
        rng = random.Random(seed)
        rows, office = stock(rng), wish(rng)
        seen.add(bool(Search(slots(rows), demands(office), []).best(1)))
    assert seen == {True, False}


def hopeless() -> Iterator[tuple[dict[str, list[Article]], Wish]]:
    """Catalogues and offices that go together in no way."""
    for seed in range(40):
        rng = random.Random(seed)
        rows, office = stock(rng), wish(rng)
        if not brute(rows, office):
            yield rows, office


def test_an_easing_is_found_exactly_where_dropping_that_need_helps() -> None:
    """Whenever nothing fits, brute force with the need dropped finds an assembly exactly when the easing does."""
    tried = helped = 0
    for rows, office in hopeless():
        possible = _helping(rows, office)
        assert {easing.demand.id for easing in eased(slots(rows), demands(office), [])} == possible
        tried, helped = tried + 1, helped + bool(possible)
    assert tried >= 5
    assert helped >= 1


def _helping(rows: dict[str, list[Article]], office: Wish) -> set[str]:
    """The needs each of which, dropped alone, makes an assembly possible, by brute force."""
    lifted: dict[str, dict[str, Any]] = {
        "cores": {"cores": 0}, "memory": {"memory": 0.0}, "data": {"data": 0.0}, "lasts": {"minutes": 0.0},
        "depth": {"depth": 1e9}, "noise": {"noise": 1e9},
    }  # fmt: skip
    return {name for name, change in lifted.items() if brute(rows, replace(office, **change))}


def test_a_wrong_direction_is_caught() -> None:
    """A rule that claims the wrong direction makes the search differ from brute force somewhere."""

    @rule(HERE, rises="energy bought standing")
    def wrong(energy: WattHours, bought: Watts, standing: Watts) -> Minutes:
        """Minutes a battery lasts."""
        return energy / (bought + standing) * MINUTES_AN_HOUR

    different = 0
    for seed in range(60):
        rng = random.Random(seed)
        rows, office = stock(rng), replace(wish(rng), minutes=rng.uniform(20, 90), cores=8, memory=32.0)
        asked = [d for d in demands(office) if d.id != "lasts"]
        lasts = wrong.over(energy=Of("unit", ENERGY), bought=Sum(WATTS), standing=given(office.other_watts, WATT))
        asked.append(Demand("lasts", "lasts", lasts, given(office.minutes, MINUTE), None, need=True))
        found = [int(assembly.price) for assembly in Search(slots(rows), asked, []).best(1)]
        different += found != brute(rows, office)[:1]
    assert different > 0
