"""Ports and power over the cables counted by hand, and the switches against every set that the written stock allows."""

from decimal import Decimal
from itertools import product
from math import ceil

import pytest
from generated_offices import brief
from offices import changed, codes, fold, millrace, planned
from ruamel.yaml import YAML

from scantling.catalogue.columns import NOISE, UPLINKS, WATTS
from scantling.catalogue.reading import DATA, read
from scantling.figures import Draw, Page, Port, Ruled
from scantling.figures.spelled import titled
from scantling.handbook.choosing import Search
from scantling.plan.make import Plan

LINE = "office: {name: Nobody, country: IE, currency: EUR, as_of: 2026-11-25}\n"
CLASSES = {"camera": 15.4, "phone": 7.0, "access-point": 30.0}
"""IEEE 802.3: classes 3, 2 and 4 at the source, as restated in two tables."""


def value(plan: Plan, id_: str) -> float:
    """A figure's number."""
    return float(plan.figures[id_].value)


def spare(count: float, share: float) -> int:
    """So many and their spares, rounded up to whole ones; whole but for noise stays whole."""
    return ceil(round(count * (1 + share), 9))


def test_ports_and_watts_of_the_arts_centre_are_as_counted_by_hand() -> None:
    """Devices with a tenth more, half a port for a laptop, four and two for management and servers, one an access point."""
    plan = planned(millrace())
    wired = [14, 6, 3, 4, 5, 9, 18, 18]
    points = ceil(value(plan, "wiring.radio.people") / 25)
    ports = sum(spare(count, 0.1) for count in wired) + ceil(spare(8, 0.1) * 0.5) + 4 + 2 + points
    assert value(plan, "wiring.ports.wanted") == ports
    assert value(plan, "wiring.ports.needed") == spare(ports, 0.25)
    cameras, phones = spare(9, 0.1), spare(18, 0.1)
    watts = cameras * CLASSES["camera"] + phones * CLASSES["phone"] + points * CLASSES["access-point"]
    assert value(plan, "wiring.powered.watts") == pytest.approx(watts)
    assert value(plan, "wiring.powered.needed") == pytest.approx(watts * 1.25)
    assert value(plan, "wiring.powered.count") == cameras + phones + points
    taken = cameras * 8 + phones * 5 + points * 14
    assert value(plan, "wiring.powered.taken") == pytest.approx(taken)
    assert value(plan, "wiring.powered.mains") == pytest.approx(taken / 0.85)
    assert value(plan, "zones.ports") == ports


def test_what_is_fed_hangs_on_the_battery_once() -> None:
    """The switches' own watts are a column, what they feed is one draw, and both are in the load."""
    plan = planned(millrace())
    (draw,) = plan.records(Draw)
    assert draw.watts is plan.figures["wiring.powered.mains"]
    bought = sum(
        (row.get(WATTS) or 0) * count
        for option in plan.purchase.chosen.options.values()
        for row, count in option.parts
    )
    assert value(plan, "power.load") == pytest.approx(bought + value(plan, "wiring.powered.mains"))


def stock() -> dict[str, dict[str, str]]:
    """The rows of switches as they are written."""
    written = YAML(typ="safe").load((DATA / "switches.yaml").read_text("utf-8"))["switch"]
    return {slug: row for slug, row in written.items() if row.get("sold") != "no"}


def number(row: dict[str, str], column: str) -> float:
    """A cell without its unit."""
    return float(str(row[column]).split()[0])


def cheapest(ports: float, fed: float, watts: float, uplinks: float) -> Decimal:
    """By trying every set of up to ten of one kind, or of six and six of two, one that feeds and one that does not."""
    rows, best = list(stock().values()), Decimal("Infinity")
    managed = [row for row in rows if row["managed"] == "yes"]
    feeding = [row for row in managed if number(row, "powered_ports")]
    plain = [row for row in managed if not number(row, "powered_ports")]
    sets = [((row, n),) for row in managed for n in range(1, 11)]
    pairs = [
        ((one, n), (other, m)) for one, other in product(feeding, plain) for n, m in product(range(1, 7), repeat=2)
    ]
    for parts in (*sets, *pairs):
        count = sum(n for _, n in parts)
        sums = {
            column: sum(number(row, column) * n for row, n in parts)
            for column in ("switch_ports", "powered_ports", "power_budget", "uplinks")
        }
        given = (sums["switch_ports"], sums["powered_ports"], sums["power_budget"], sums["uplinks"] - 2 * (count - 1))
        if all(have >= need for have, need in zip(given, (ports, fed, watts, uplinks), strict=True)):
            best = min(best, sum((Decimal(str(row["price"]).split()[0]) * n for row, n in parts), Decimal(0)))
    return best


@pytest.mark.parametrize("heads", [3, 5, 9, 16, 20, 32, 50, 70, 120])
def test_the_switches_are_the_cheapest_that_the_stock_allows(heads: int) -> None:
    """Own search over the slot alone against sets from the written file, of which more are tried than the plan offers."""
    plan = planned(brief(heads))
    slots = [slot for slot in plan.purchase.slots if slot.id == "switch"]
    demands = [d for d in plan.purchase.demands if d.id.startswith("wiring.")]
    (best,) = Search(slots, demands, []).best(1)
    needs = ("ports.needed", "powered.ports", "powered.needed", "uplinks.wanted")
    floor = cheapest(*(value(plan, f"wiring.{id_}") for id_ in needs))
    assert best.price / 100 == floor
    assert plan.purchase.chosen.options["switch"].price >= best.price / 100


@pytest.mark.parametrize("office", [millrace, fold, lambda: brief(50), lambda: brief(120)])
def test_what_is_bought_meets_what_is_wanted(office: object) -> None:
    assert callable(office)
    plan = planned(office())
    for given, wanted in (
        ("ports.given", "ports.needed"), ("powered.given", "powered.needed"), ("powered.ports-given", "powered.ports"),
        ("uplinks.given", "uplinks.wanted"),
    ):  # fmt: skip
        assert value(plan, f"wiring.{given}") >= value(plan, f"wiring.{wanted}")
    assert plan.figures["wiring.managed"].value is True
    assert not {"W-1", "W-2"} & codes(plan)


def test_a_set_knows_what_no_single_switch_knows() -> None:
    """Fast ports that join them are taken; sounds add as powers: two of 42 dB are 45 dB (ISO 80000-8)."""
    plan = planned(millrace())
    slot = next(slot for slot in plan.purchase.slots if slot.id == "switch")
    two = next(option for option in slot.options if option.slug == "2x-switch-48-poe")
    assert two.get(UPLINKS) == 4 + 4 - 2
    assert two.get(NOISE) == pytest.approx(45.01, abs=0.01)


def test_access_points_that_are_there_are_not_bought_again() -> None:
    text = changed(
        millrace(),
        "  stage-nodes:",
        "  radio: {name: Access points, kind: access point, count: 3, zone: management}\n  stage-nodes:",
    )
    before, after = planned(millrace()), planned(text)
    assert value(after, "wiring.radio.listed") == 3
    assert value(after, "wiring.radio.count") == value(before, "wiring.radio.count") - 3
    assert value(after, "money.radio.price") == value(before, "money.radio.price") - 3 * 240


def test_more_people_never_want_fewer_ports_or_less_power() -> None:
    ids = ("wiring.ports.wanted", "wiring.powered.watts", "wiring.radio.count")
    plans = [planned(brief(heads)) for heads in (5, 10, 20, 40, 80, 120)]
    for id_ in ids:
        values = [value(plan, id_) for plan in plans]
        assert values == sorted(values), id_


@pytest.mark.parametrize(
    ("slug", "says"),
    [
        ("pcs", "PCs"), ("front-pcs", "Front PCs"), ("aps", "Access points"), ("desk-phones", "Desk phones"), ("tv-room", "TV room"),
        ("ups", "UPS"), ("pcsx", "Pcsx"),
    ],
)  # fmt: skip
def test_a_short_name_reads_as_people_write_it(slug: str, says: str) -> None:
    """Capitals of usual abbreviations: common practice, no source."""
    assert titled(slug) == says


def test_ports_are_told_by_the_names_of_what_hangs_on_them() -> None:
    aerials = "aps: {name: Aerials in the hall, kind: access point, count: 2, zone: management}"
    plan = planned(f"{LINE}devices:\n  pcs: {{kind: pc, count: 3, zone: staff}}\n  {aerials}\n")
    (page,) = (one for one in plan.records(Page) if one.slug == "wiring")
    ruled = {block.caption: [row[0] for row in block.rows] for block in page.blocks if isinstance(block, Ruled)}
    assert ruled["Ports wanted"][:2] == ["PCs", "Aerials in the hall"]
    assert ruled["Fed over the cable"][0] == "Aerials in the hall"


def test_nothing_is_planned_where_nothing_is_plugged_in() -> None:
    """An office alone: no switch, no allowance, no word of it."""
    plan = planned(LINE)
    assert "switch" not in plan.purchase.chosen.options
    assert not [id_ for id_ in plan.figures if id_.startswith("wiring.")]
    assert not [port for port in plan.records(Port) if port.slug == "access-points"]


def test_two_trades_may_call_their_ports_by_one_name() -> None:
    """Telephones called as the access points are: both are counted."""
    text = changed(
        millrace(), "  handsets:        {name: Desk telephones", "  access-points:   {name: Desk telephones"
    )
    before, after = planned(millrace()), planned(text)
    for id_ in ("wiring.ports.wanted", "wiring.powered.watts", "zones.ports"):
        assert value(after, id_) == value(before, id_), id_


def test_a_switch_is_within_what_such_switches_are() -> None:
    """Own watts of 5 to 80, 4 to 9 watts of budget a port that feeds up to 30 (common practice, no source); 90 W a port at most."""
    rows = list(read()[0].every("switch"))
    for row in rows:
        assert 4 <= row.values["watts"] <= 80, row.slug
        assert 1 <= row.values["height"] <= 2, row.slug
        fed, budget = row.values["powered_ports"], row.values["power_budget"]
        assert fed * 7 <= budget <= fed * 90, row.slug
        assert fed <= row.values["switch_ports"], row.slug
        assert row.values["switches"] == 1, row.slug


def test_a_larger_switch_costs_less_a_port() -> None:
    """Among those sold and alike in what they can do; own sanity."""
    sold = [row for row in read()[0].every("switch") if row.mark("sold") and row.values["managed"]]
    plain = sorted((r for r in sold if not r.values["powered_ports"]), key=lambda r: r.values["switch_ports"])
    fed = sorted(
        (r for r in sold if r.values["powered_ports"] == r.values["switch_ports"]),
        key=lambda r: r.values["power_budget"],
    )
    for rows in (plain, fed[:-1]):
        prices = [row.values["price"] / row.values["switch_ports"] for row in rows]
        assert prices == sorted(prices, reverse=True)
        assert [row.values["price"] for row in rows] == sorted(row.values["price"] for row in rows)
