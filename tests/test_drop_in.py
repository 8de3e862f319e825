"""A new trade is one file, its rows and its house rules: dropped in, it moves purchase, ports, power, price and book."""

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from offices import fold, planned

from scantling import UserError, api, disciplines
from scantling.api.planning import own_stock
from scantling.catalogue.reading import DATA
from scantling.outputs.documents.book import bound
from scantling.plan.make import Plan
from scantling.plan.telling import canonical

ROWS = """\
controller:
  small-four: {name: four doors, price: 400.00 EUR, doors: 4, battery: 80 Wh, watts: 12 W}
  large-sixteen: {name: sixteen doors, price: 950.00 EUR, doors: 16, battery: 250 Wh, watts: 20 W}
reader:
  plain: {name: plain reader, reader_watts: 4 W, key_fee: 9.00 EUR}
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


def test_it_moves_what_it_should_and_nothing_else_is_touched(with_doors: api.Stock) -> None:
    """Purchase, ports, power, price, findings and book change; without its section the plan is the same to the byte."""
    before = planned(fold())
    after = api.plan_text(fold() + WISH, kept=with_doors)
    silent = api.plan_text(fold(), kept=with_doors)
    assert canonical(silent, places=False) == canonical(before, places=False)
    assert after.purchase.chosen.options["door-controller"].slug == "large-sixteen"
    assert value(after, "money.ports.count") > value(before, "money.ports.count")
    watts = 9 * (4 + 6) + 20
    assert value(after, "power.load") == pytest.approx(value(before, "power.load") + watts)
    assert value(after, "money.total") > value(before, "money.total")
    assert "Doors" in {sheet.title for sheet in bound(after).sheets}


def test_its_working_is_read_from_its_own_code(with_doors: api.Stock) -> None:
    """Letters and numbers come from the dropped file."""
    after = api.plan_text(fold() + WISH, kept=with_doors)
    front = after.figures["doors.door-0.watts"]
    assert front.how.working(front).startswith("reader + lock × held = 4 W + 6 W × 100 % = 10 W")


def test_a_rule_of_the_house_that_is_missing_is_named(with_doors: api.Stock, tmp_path: Path) -> None:
    """The reader refuses a house without the trade's rule, and a row without its column."""
    (tmp_path / "stock/house/doors.yaml").write_text(HOUSE.splitlines()[0] + "\n", encoding="utf-8")
    own_stock.cache_clear()
    with pytest.raises(UserError, match=r"doors\.spare"):
        api.stock(tmp_path / "stock")
    own_stock.cache_clear()
    assert with_doors.house.lines
