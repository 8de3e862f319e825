"""A new trade is one file, its rows and its house rules: dropped in, it moves the plan, the book and the drawings.

Purchase, zones, addresses, ports, power over the cables, the battery's load, places, price, book and sheets.
"""

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from drawing_reading import said
from offices import fold, planned

from scantling import UserError, api, disciplines
from scantling.api.planning import own_stock
from scantling.catalogue.columns import WATTS
from scantling.catalogue.reading import DATA
from scantling.figures import Place, Range, Subnet, Zone
from scantling.outputs.documents.book import bound
from scantling.outputs.drawings.drawn import drawings
from scantling.plan.make import Plan
from scantling.plan.telling import canonical

ROWS = """\
controller:
  small-four: {name: four doors, price: 400.00 EUR, doors: 4, battery: 80 Wh, watts: 12 W, height: 1 U, depth: 200 mm, weight: 2 kg,
    noise: 0 dB, rails: 0}
  large-sixteen: {name: sixteen doors, price: 950.00 EUR, doors: 16, battery: 250 Wh, watts: 20 W, height: 2 U, depth: 240 mm,
    weight: 5 kg, noise: 0 dB, rails: 0}
reader:
  plain: {name: plain reader, reader_watts: 4 W, powered_class: 2, key_fee: 9.00 EUR}
zone_kind:
  doors: {name: Doors, number: 75, sealed: yes, alone: yes}
"""
HOUSE = """\
doors.hold: {value: 2 h, range: 1 to 4 h, reason: "a cut of the usual length", source: "common practice, no source"}
doors.spare: {value: 1, range: 1 to 4, reason: "one more door", source: "common practice, no source"}
doors.held: {value: 100 %, range: 5 to 100 %, reason: "locks that hold by current", source: "common practice, no source"}
"""
WISH = "\ndoors:\n  list:\n" + "".join(f"    door-{place}: {{lock: 6 W}}\n" for place in range(9))


@pytest.fixture
def with_doors(tmp_path: Path) -> Iterator[api.Stock]:
    """The pattern trade dropped into a folder of its own, and a catalogue with its rows."""
    planned(fold())  # made before the trade is there
    folder = tmp_path / "trades"
    folder.mkdir()
    shutil.copyfile(Path(__file__).parent / "pattern/doors.py", folder / "doors.py")
    stock = tmp_path / "stock"
    shutil.copytree(DATA, stock)
    (stock / "doors.yaml").write_text(ROWS, encoding="utf-8")
    (stock / "house/doors.yaml").write_text(HOUSE, encoding="utf-8")
    disciplines.__path__.append(str(folder))
    try:
        yield api.stock(stock)
    finally:
        disciplines.__path__.remove(str(folder))
        sys.modules.pop("scantling.disciplines.doors", None)


def value(plan: Plan, id_: str) -> float:
    """A figure's number."""
    return float(plan.figures[id_].value)


def test_without_its_section_the_plan_is_the_same_to_the_byte(with_doors: api.Stock) -> None:
    """The trade, its rows and its rules lie there, and nobody asks for doors."""
    before, silent = planned(fold()), api.plan_text(fold(), kept=with_doors)
    assert canonical(silent, places=False) == canonical(before, places=False)
    assert drawings(silent) == drawings(before)


def test_it_moves_purchase_ports_and_power(with_doors: api.Stock) -> None:
    """Nine readers want nine ports that feed them: a larger switch, more watts, a dearer plan."""
    before, after = planned(fold()), api.plan_text(fold() + WISH, kept=with_doors)
    assert after.purchase.chosen.options["door-controller"].slug == "large-sixteen"
    assert value(after, "wiring.ports.wanted") == value(before, "wiring.ports.wanted") + 9
    assert value(after, "wiring.powered.readers.watts") == 9 * 7
    assert value(after, "wiring.powered.watts") == value(before, "wiring.powered.watts") + 9 * 7
    assert (
        value(after, "wiring.ports.given")
        >= value(after, "wiring.ports.needed")
        > value(before, "wiring.ports.given")
    )
    assert after.purchase.chosen.options["switch"].slug != before.purchase.chosen.options["switch"].slug
    slots = ("switch", "ups")
    own = [sum(plan.purchase.chosen.options[slot].get(WATTS) for slot in slots) for plan in (before, after)]
    locks, controller, readers = 9 * 6, 20, 9 * 4 / 0.85
    more = locks + controller + readers + own[1] - own[0]
    assert value(after, "power.load") == pytest.approx(value(before, "power.load") + more)
    assert value(after, "power.circuit") == pytest.approx(value(after, "power.load"))
    assert value(after, "money.parts.switch") > value(before, "money.parts.switch")
    assert value(after, "money.total") > value(before, "money.total")


def test_it_gets_a_zone_addresses_a_place_and_a_sheet(with_doors: api.Stock) -> None:
    """Its readers keep an address each in a zone of their own; its controller stands in the cupboard."""
    after = api.plan_text(fold() + WISH, kept=with_doors)
    assert {zone.slug for zone in after.records(Zone)} - {zone.slug for zone in planned(fold()).records(Zone)} == {
        "doors"
    }
    (subnet,) = [subnet for subnet in after.records(Subnet) if subnet.slug == "doors"]
    (kept,) = [held for held in after.records(Range) if held.zone == "doors" and "readers" in held.purpose]
    assert kept.first in subnet.network
    assert int(kept.last) - int(kept.first) + 1 == 9
    (place,) = [place for place in after.records(Place) if place.slug == "door-controller"]
    assert (place.height.value, place.weight.value) == (2, 5)
    assert place.lowest is not None
    assert "Doors" in {sheet.title for sheet in bound(after).sheets}


def test_it_is_on_the_drawings(with_doors: api.Stock) -> None:
    """A room of its own on the plan of the network, its subnet on the technician's, its controller in the cupboard."""
    before, after = drawings(planned(fold())), drawings(api.plan_text(fold() + WISH, kept=with_doors))
    for sheet, words in (
        ("N-1", 'data-room="doors"'),
        ("N-1", "door readers"),
        ("N-2", 'data-room="doors"'),
        ("P-1", "sixteen doors"),
    ):
        assert words in after[sheet], (sheet, words)
        assert words not in before[sheet], (sheet, words)
    (subnet,) = [
        subnet for subnet in api.plan_text(fold() + WISH, kept=with_doors).records(Subnet) if subnet.slug == "doors"
    ]
    assert str(subnet.network).rpartition(".")[0] == "10.71.75"
    assert str(subnet.network) in said(after["N-2"])


def test_its_working_is_read_from_its_own_code(with_doors: api.Stock) -> None:
    """Letters and numbers come from the dropped file."""
    after = api.plan_text(fold() + WISH, kept=with_doors)
    front = after.figures["doors.door-0.watts"]
    assert front.how.working(front).startswith("lock × held = 6 W × 100 % = 6 W")


def test_a_rule_of_the_house_that_is_missing_is_named(with_doors: api.Stock, tmp_path: Path) -> None:
    """The reader refuses a house without the trade's rule, and a row without its column."""
    (tmp_path / "stock/house/doors.yaml").write_text(HOUSE.splitlines()[0] + "\n", encoding="utf-8")
    own_stock.cache_clear()
    with pytest.raises(UserError, match=r"doors\.spare"):
        api.stock(tmp_path / "stock")
    own_stock.cache_clear()
    assert with_doors.house.lines
