"""A firm's own rows and house rules lie over ours row by row, and every working says which of both spoke."""

import subprocess
import sys
from collections.abc import Callable
from decimal import Decimal
from functools import partial
from pathlib import Path

import pytest

from firm_samples import written
from offices import ROOT, changed, fold, millrace, planned
from scantling import UserError, api
from scantling.figures import PRICE
from scantling.plan.make import Plan

OURS = api.stock()
PLAN = planned(millrace())
BULK = PLAN.purchase.chosen.options["bulk"].parts[0][0].slug
NEW_DISK = """\
disk:
  spin-13:
    name: "spinning disk, 13 TB"
    price: 150.00 EUR
    medium: spinning
    size: 13 TB
    form: 35
    bays_taken: 1
    rate: 245 MB/s
    speed: 105 op/s
    failures: 1.3 %/year
    read_errors: 0.000000000000001
    endurance: 0
    watts: 7 W
    server_watts: 7 W
    weight: 0.7 kg
"""
Laid = Callable[..., Path]


@pytest.fixture
def laid(tmp_path: Path) -> Laid:
    """Writes a firm's files beside a copy of Millrace's brief; returns the brief."""
    return partial(written, tmp_path)


def workings(plan: Plan, id_: str) -> str:
    """The whole working of one figure."""
    return "\n".join(line.working for line in api.why(plan, id_))


def test_a_price_of_the_firm_is_the_price_of_the_plan_and_its_working_says_so(laid: Laid) -> None:
    brief = laid(disks=f"disk:\n  # our supplier's\n  {BULK}: {{price: 61.50 EUR, priced_on: 2026-11-20}}\n")
    plan = api.plan(brief)
    option = plan.purchase.chosen.options["bulk"]
    assert option.parts[0][0].slug == BULK  # cheaper than it was: still the choice
    assert plan.figures["money.parts.bulk"].value == Decimal("61.50") * option.parts[0][1]
    assert f"catalogue: firm/disks.yaml:3, disk.{BULK}.price" in workings(plan, "money.parts.bulk")
    assert f"catalogue: {OURS.catalogue.rows['disk'][BULK].place}, disk.{BULK}.price" in workings(
        PLAN, "money.parts.bulk"
    )


def test_columns_that_the_firm_does_not_name_stay_ours_with_our_place(laid: Laid) -> None:
    brief = laid(disks=f"disk:\n  {BULK}:\n    noise_of_it: no\n".replace("noise_of_it: no", "price: 61.50 EUR"))
    row, ours = api.stock(firm=brief.parent / "firm").catalogue.rows["disk"][BULK], OURS.catalogue.rows["disk"][BULK]
    assert {**row.values, "price": ours.values["price"]} == ours.values
    assert row.place == ours.place
    assert dict(row.places) == {"price": "firm/disks.yaml:3"}
    assert getattr(row.figure(PRICE).how, "place", "") == "firm/disks.yaml:3"


def test_days_of_our_price_do_not_speak_for_the_firms_price(laid: Laid) -> None:
    """A price of the firm without its days has none: ours were those of another price."""
    brief = laid(
        a=f"prices: {{priced_on: 2026-01-01, valid_until: 2026-02-01}}\ndisk:\n  {BULK}: {{price: 61.50 EUR}}\n  spin-2: {{watts: 6 W}}\n",
        prices=f"disk:\n  {BULK}: {{price: 62.50 EUR, priced_on: 2026-03-01}}\n",
    )
    rows = api.stock(firm=brief.parent / "firm").catalogue.rows["disk"]
    assert rows[BULK].mark("priced_on").isoformat() == "2026-03-01"
    assert rows[BULK].mark("valid_until") is None
    assert rows[BULK].places["price"] == "firm/prices.yaml:2"
    assert rows["spin-2"].marks == OURS.catalogue.rows["disk"]["spin-2"].marks  # no price, so no day of one


def test_a_row_of_the_firms_own_can_be_chosen(laid: Laid) -> None:
    plan = api.plan(laid(disks=NEW_DISK))
    assert plan.purchase.chosen.options["bulk"].parts[0][0].slug == "spin-13"
    assert "catalogue: firm/disks.yaml:4, disk.spin-13.price" in workings(plan, "money.parts.bulk")


def test_an_article_that_the_firm_does_not_sell_is_not_chosen(laid: Laid) -> None:
    plan = api.plan(laid(disks=f"disk:\n  {BULK}: {{sold: no}}\n"))
    assert plan.purchase.chosen.options["bulk"].parts[0][0].slug != BULK
    assert BULK in api.stock(firm=None).catalogue.rows["disk"]


def test_house_rules_of_the_firm_say_what_ours_was(laid: Laid) -> None:
    ours = OURS.house.lines["money.contingency"].texts[0]
    brief = laid(
        house__money='# ours\n# and this\nmoney.contingency: {value: 12 %, reason: "we have been wrong before"}\n'
    )
    plan = api.plan(brief)
    said = workings(plan, "money.contingency")
    assert f"house rule: firm/house/money.yaml:3 (ours: {ours}), money.contingency: " in said
    assert "we have been wrong before" in said
    assert OURS.house.lines["money.contingency"].source in said
    assert plan.figures["money.contingency"].value > PLAN.figures["money.contingency"].value


def test_a_house_rule_that_a_brief_falls_back_on_says_so_too(laid: Laid) -> None:
    """Without `hold:` in the brief the firm's rule answers, marked as assumed."""
    line = next(line for line in millrace().splitlines() if line.strip().startswith("hold:"))
    brief = laid(house__power='power.hold: {value: 12 min, reason: "our clients like it"}\n')
    brief.write_text(changed(millrace(), f"power:\n{line}\n", ""), encoding="utf-8")
    plan = api.plan(brief)
    assert api.why(plan, "brief.power.hold")[0].value == "12 min"
    working = api.why(plan, "brief.power.hold")[0].working
    assert working.startswith("house rule: firm/house/power.yaml:1 (ours: 10 min), power.hold: 12 min")
    assert working.endswith("(assumed, ask)")


def test_a_range_of_the_firms_own_admits_its_value(laid: Laid) -> None:
    brief = laid(
        house__power="power.hold: {value: 40 min, range: 5 to 60 min, reason: x, source: our service book}\n"
    )
    line = api.stock(firm=brief.parent / "firm").house.lines["power.hold"]
    assert (line.texts, line.range, line.source) == (("40 min",), "5 to 60 min", "our service book")


def test_a_profile_may_name_a_zone_of_the_firms_own(laid: Laid) -> None:
    """Also where the zone's file comes later."""
    rows = {
        "a": "profile:\n  files: {zone: archive}\n",
        "z": "zone_kind:\n  archive: {name: Archive, number: 77, sealed: no, alone: no}\n",
    }
    assert api.stock(firm=laid(**rows).parent / "firm").catalogue.rows["profile"]["files"].values["zone"] == "archive"
    (laid().parent / "firm/z.yaml").unlink()
    with pytest.raises(UserError, match=r"^firm/a\.yaml:2:17: profile\.files\.zone: no such zone"):
        api.stock_for(laid())


def test_an_empty_folder_beside_the_brief_lies_over_nothing(laid: Laid) -> None:
    brief = laid()
    (brief.parent / "firm/lists").mkdir(parents=True)
    assert api.stock_for(brief) == api.stock()


def test_a_firms_files_are_read_anew_each_time(laid: Laid) -> None:
    brief = laid(a=f"disk:\n  {BULK}: {{price: 61.50 EUR}}\n")
    assert api.stock_for(brief).catalogue.rows["disk"][BULK].values["price"] == Decimal("61.50")
    laid(a=f"disk:\n  {BULK}: {{price: 71.50 EUR}}\n")
    assert api.stock_for(brief).catalogue.rows["disk"][BULK].values["price"] == Decimal("71.50")


def test_the_commands_take_the_firms_folder(laid: Laid, tmp_path: Path) -> None:
    brief = laid(disks=f"disk:\n  {BULK}: {{price: 61.50 EUR}}\n")
    (brief.parent / "firm").rename(tmp_path / "elsewhere")

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "scantling", *words]
        return subprocess.run(
            command, capture_output=True, text=True, env={"PYTHONPATH": str(ROOT / "src")}, check=False
        )

    found = run("why", "money.parts.bulk", str(brief), "--firm", str(tmp_path / "elsewhere"))
    assert "elsewhere/disks.yaml:2" in found.stdout, found.stderr
    missing = run("plan", str(brief), "--firm", str(tmp_path / "nowhere"))
    assert (missing.returncode, missing.stdout) == (2, "")
    assert "no such folder" in missing.stderr


def test_without_a_firm_nothing_changes() -> None:
    assert api.stock(firm=None) is api.stock()
    assert planned(fold()).purchase.chosen.options.keys()
