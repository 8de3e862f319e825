"""Two servers: what is left when one is lost, everything counted twice, and the search against brute force over raw rows."""

import random
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import product
from math import log10
from typing import Any

import pytest
from conftest import Scale
from offices import changed, codes, fold, planned
from option_samples import EXAMPLES, raw, way
from test_purchase_brute import (
    BAYS, CAPACITY, CHIPS, CORES, LAYOUTS, MODULES, NOISE, SLOTS, SOCKET, SOCKETS, SUPPLY, TAKEN, WATTS, Article, given, stock,
)  # fmt: skip

from scantling.catalogue import columns
from scantling.figures import PRICE, Array, Demand, Hosts, Levels, Machine, Of, Option, Port, Slot, Sum
from scantling.figures.units import COUNT, GIB, RATIO, WATT
from scantling.figures.units import DECIBEL as DB
from scantling.handbook.arrays import array_option
from scantling.handbook.choosing import Search
from scantling.handbook.sharing import within_share
from scantling.handbook.sizing import enough, same
from scantling.handbook.twins import doubled, on_each
from scantling.outputs.drawings.from_plan import section_sheet

every_office = pytest.mark.parametrize("office", list(EXAMPLES))
TWICE = ("host", "processor", "memory", "boot", "fast", "bulk")


@every_office
def test_when_one_is_lost_the_other_starts_every_machine(office: str) -> None:
    """Memory of one server from the written rows: all floors and the host's own fit; the largest machine too."""
    plan = way(office, "two-hosts")
    ((slug, count),) = plan.purchase.chosen.parts("memory")
    each = float(str(raw("hosts.yaml", "module")[slug]["capacity"]).split()[0]) * count / 2
    machines = plan.records(Machine)
    assert each >= sum(m.floor.value for m in machines) + plan.figures["host.memory.host"].value
    assert each >= max(m.expected.value for m in machines)
    assert plan.figures["host.memory.bought"].value == each


@every_office
def test_in_normal_days_each_carries_its_part(office: str) -> None:
    """Every machine on one of two, neither idle, and the busier fits with the house's quarter of headroom."""
    plan = way(office, "two-hosts")
    (both,) = plan.records(Hosts)
    machines = {m.slug: m for m in plan.records(Machine)}
    assert set(both.places) == set(machines)
    sums = [sum(machines[s].expected.value for s, on in both.places.items() if on == host) for host in (1, 2)]
    assert min(sums) > 0
    assert both.expected.value == max(sums)
    assert max(sums) - min(sums) <= max(m.expected.value for m in machines.values())
    own = plan.figures["host.memory.host"].value
    assert plan.figures["host.memory.bought"].value >= (max(sums) + own) * 1.25


@every_office
def test_everything_of_a_server_is_bought_twice(office: str) -> None:
    """Counts are even, and price, watts and weight of the server are those of all its parts."""
    plan = way(office, "two-hosts")
    chosen = plan.purchase.chosen
    for slot in TWICE:
        assert all(count % 2 == 0 for _, count in chosen.parts(slot)), slot
    host = raw("hosts.yaml", "host")[chosen.parts("host")[0][0]]
    one = {name: float(str(host[name]).split()[0]) for name in ("watts", "weight", "height", "noise")}
    option = chosen.options["host"]
    for name, column in (("watts", columns.WATTS), ("weight", columns.WEIGHT), ("height", columns.HEIGHT)):
        assert option.get(column) == pytest.approx(2 * one[name])
    assert option.get(columns.NOISE) == pytest.approx(one["noise"] + 10 * log10(2))
    assert option.price == 2 * Decimal(str(host["price"]).split()[0])


@every_office
def test_each_holds_all_data_and_starts_from_two_disks(office: str) -> None:
    before, after = way(office, "as-planned"), way(office, "two-hosts")
    assert after.figures["storage.data.needed"].value == before.figures["storage.data.needed"].value
    arrays = {array.slug: array for array in after.records(Array)}
    assert arrays["boot"].level == "mirror"
    assert arrays["boot"].disks.value == 2
    data = arrays.get("bulk", arrays["fast"])
    assert data.usable.value >= data.filled_horizon.value
    again = sum(port.count.value for port in after.records(Port)) - sum(p.count.value for p in before.records(Port))
    uplinks = [plan.figures["wiring.uplinks.wanted"].value for plan in (before, after)]
    assert uplinks[1] == 2 * uplinks[0] > 0
    assert again == 3  # the house's two for the machines inside, doubled, and one to manage the second server


def test_the_drawing_says_that_there_are_two() -> None:
    model = section_sheet(way("millrace", "two-hosts"))
    assert model.host.name.startswith("2 × ")
    assert any("Two equal servers" in part.text for note in model.notes for part in note)
    alone = section_sheet(way("millrace", "as-planned"))
    assert not any("Two equal servers" in part.text for note in alone.notes for part in note)


def two(text: str) -> str:
    """The brief with two servers."""
    return f"{text}\nbuild: {{hosts: 2}}\n"


def test_who_is_far_away_and_who_can_lose_little_are_told() -> None:
    """Reach 4 h and an hour to start; written every night."""
    hurried = changed(
        fold(), "files:     {profile: files, down: 8 h, lost: 24 h}", "files: {profile: files, down: 4 h, lost: 8 h}"
    )
    assert {"F-8", "F-9"} <= codes(planned(two(hurried)))
    made = planned(two(fold()))
    assert made.figures["hosts.ready"].value == 5
    assert not {"F-8", "F-9", "F-10"} & codes(made)


def test_a_crowded_server_is_told() -> None:
    """Twelve more virtual cores for one machine than half the office needs: beyond four to a real one when alone."""
    text = two(fold()) + "pins:\n  purchase.processor: {value: 2x-small-4, because: to see it}\n"
    crowded = text.replace("files:     {profile: files,", "files:     {profile: files, cores: 14,")
    made = planned(crowded)
    assert "F-10" in codes(made)
    assert made.figures["hosts.alone"].value == made.figures["hosts.together"].value / 4


# ------------------------------------------------------------------------------- the search against brute force


def slots_for_two(rows: Mapping[str, Sequence[Article]]) -> list[Slot]:
    """Every article for each of two servers."""

    def options(kind: str, counts: Sequence[int]) -> Iterator[Option]:
        return (doubled(Option(f"{n}x-{r.slug}", ((r, n),)), NOISE) for r in rows[kind] for n in counts)

    arrays = [doubled(array_option(disk, level, count)) for disk in rows["disk"] for level, count in LAYOUTS]
    return [
        Slot("host", tuple(options("host", (1,)))), Slot("chip", tuple(options("chip", (1, 2)))),
        Slot("module", tuple(options("module", (1, 2, 4)))), Slot("array", tuple(arrays)),
    ]  # fmt: skip


def demands_of_each(cores: int, memory: float, noise: float) -> list[Demand]:
    """What each server needs, as the trades say it."""
    hosts = given(2, COUNT)

    def each(column: Any) -> Any:
        return on_each.over(amount=Sum(column), hosts=hosts)

    def fit(id_: str, offered: Any, taken: Any) -> Demand:
        return Demand(id_, id_, enough.over(offered=Of("host", offered), taken=each(taken)))

    share = within_share.over(offered=Of("host", SUPPLY), share=given(0.8, RATIO), taken=each(WATTS))
    return [
        Demand("cores", "cores", each(CORES), given(cores, COUNT), None, need=True),
        Demand("memory", "memory", each(CAPACITY), given(memory, GIB), None, need=True),
        Demand("noise", "noise", Levels(NOISE), None, given(noise, DB), need=True),
        Demand("watts", "watts", Sum(WATTS), None, given(1200.0, WATT), need=True),
        Demand("socket", "socket", same.over(one=Of("host", SOCKET), other=Of("chip", SOCKET))),
        fit("sockets", SOCKETS, CHIPS), fit("slots", SLOTS, MODULES), fit("bays", BAYS, TAKEN), Demand("supply", "supply", share),
    ]  # fmt: skip


def by_hand(rows: Mapping[str, Sequence[Article]], cores: int, memory: float, noise: float) -> Decimal | None:
    """The cheapest pair of equal servers, every combination looked at in plain numbers; None of none."""
    best: Decimal | None = None
    chips, modules, disks = (
        product(rows["chip"], (1, 2)),
        product(rows["module"], (1, 2, 4)),
        product(rows["disk"], LAYOUTS),
    )
    for h, (c, n), (m, k), (d, (_, size)) in product(rows["host"], [*chips], [*modules], [*disks]):
        host, chip, module, disk = h.values, c.values, m.values, d.values
        watts = host["watts"] + n * chip["watts"] + k * module["watts"] + size * disk["watts"]
        good = (
            host["socket"] == chip["socket"] and n <= host["sockets"] and k <= host["slots"] and size <= host["bays"]
            and n * chip["cores"] >= cores and k * module["capacity"] >= memory and watts <= 0.8 * host["supply_watts"]
            and 10 * log10(2 * 10 ** (host["noise"] / 10)) <= noise and 2 * watts <= 1200
        )  # fmt: skip
        price = 2 * (host["price"] + n * chip["price"] + k * module["price"] + size * disk["price"])
        if good and (best is None or price < best):
            best = price
    return best


def test_the_search_agrees_with_brute_force_over_doubled_options(scale: Scale) -> None:
    """Random catalogues and needs, hopeless ones too; by hand every set of raw rows is tried."""
    rng, found = random.Random(20261125), {True: 0, False: 0}
    for _ in range(scale(short=40, full=300)):
        rows = stock(rng)
        cores, memory, noise = rng.randrange(4, 24), rng.choice((16.0, 32.0, 60.0)), rng.uniform(36, 62)
        wanted = by_hand(rows, cores, memory, noise)
        best = Search(slots_for_two(rows), demands_of_each(cores, memory, noise), []).best(1)
        assert (best[0].price / 100 if best else None) == wanted
        found[wanted is not None] += 1
    assert min(found.values()) >= 3, found


def test_a_part_that_is_nothing_stays_nothing_when_doubled() -> None:
    nothing = Option("none", ())
    assert doubled(nothing) is nothing
    one = Option("box", ((Article("box", {"price": Decimal(7), "noise": 30.0}), 3),))
    two_ = doubled(one, NOISE)
    assert (two_.slug, two_.parts[0][1], two_.get(PRICE)) == ("2x-box", 6, 42)
    assert two_.get(NOISE) == pytest.approx(33.0103, abs=1e-4)
