"""Standard builds: told when one was chosen, the nearest that meets every need when none was, and never a wrong one."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from generated_offices import brief
from offices import codes, fold, millrace, planned

from scantling import UserError, api
from scantling.catalogue import Article, Catalogue
from scantling.figures import Figure, Page, Prose, Ruled
from scantling.figures.numbers import text
from scantling.plan.make import Plan
from scantling.plan.spine import trades

SLOTS = {"host": "host", "processor": "processor", "memory": "module", "boot": "boot_disk"}
COUNTS = {"processor": "processors", "memory": "modules", "boot": "boot_disks"}
OURS = api.stock()
APPROVED = [row for row in OURS.catalogue.every("build") if row.mark("approved") and row.mark("sold")]


def value(plan: Plan, id_: str) -> Any:
    """A figure's plain value."""
    return plan.figures[id_].value


def options(row: Article) -> dict[str, str]:
    """How the purchase calls what a build is made of."""
    made = {}
    for slot, column in SLOTS.items():
        count = row.values[COUNTS[slot]] if slot in COUNTS else 1
        made[slot] = f"{count}x-{row.values[column]}" if count > 1 else str(row.values[column])
    return made


def pinned(written: str, row: Article) -> str:
    """The brief with a build's parts pinned, as a consultant does who wants it."""
    lines = [
        f'  purchase.{slot}: {{value: "{slug}", because: the set is wanted}}\n' for slot, slug in options(row).items()
    ]
    return f"{written}\npins:\n{''.join(lines)}"


def said(plan: Plan) -> str:
    """The sheet's first paragraph."""
    (sheet,) = [page for page in plan.records(Page) if page.slug == "builds"]
    first = sheet.blocks[0]
    assert isinstance(first, Prose)
    return first.words


def rows(plan: Plan) -> list[list[str]]:
    """The sheet's table as people read it."""
    (sheet,) = [page for page in plan.records(Page) if page.slug == "builds"]
    (table,) = [block for block in sheet.blocks if isinstance(block, Ruled)]
    return [[text(cell) if isinstance(cell, Figure) else cell for cell in row] for row in table.rows]


def named(plan: Plan) -> str:
    """The sentence of M-10."""
    (told,) = [told for told in plan.findings if told.finding.code == "M-10"]
    return told.says


def stock(changes: dict[str, Any], of: str = "", *, others: bool = False) -> api.Stock:
    """Our stock with the marks of every build changed, or of one (the rest kept or not); None takes a mark away."""
    builds = {}
    for slug, row in OURS.catalogue.rows["build"].items():
        if of in ("", slug):
            marks = {name: mark for name, mark in {**row.marks, **changes}.items() if mark is not None}
            builds[slug] = replace(row, marks=marks)
        elif others:
            builds[slug] = row
    return api.Stock(Catalogue({**OURS.catalogue.rows, "build": builds}, OURS.catalogue.currency), OURS.house)


def test_a_server_that_is_an_approved_build_is_told_so() -> None:
    plan = planned(fold())
    assert "M-10" not in codes(plan)
    assert value(plan, "builds.same") == 1
    assert said(plan) == (
        "The server as chosen is the maker approved build small office, quiet (set-office-8), supplier confirmed on 2026-11-10."
    )


def test_a_build_that_nobody_confirmed_is_told_so() -> None:
    plan = api.plan_text(fold(), kept=stock({"confirmed_on": None}))
    assert said(plan).endswith("(set-office-8), not yet confirmed by the supplier.")
    assert {row[-1] for row in rows(plan)} == {"not confirmed"}


def test_a_server_of_single_parts_is_told_with_the_nearest_build_and_its_extra_price() -> None:
    plan = planned(millrace())
    assert "M-10" in codes(plan)
    assert value(plan, "builds.same") == 0
    nearest = value(plan, "builds.nearest")
    extra = value(plan, f"builds.{nearest}.extra")
    assert named(plan).endswith(
        f"The nearest that meets every need is {nearest}: {extra:.2f} EUR more than the parts as chosen."
    )
    assert "single parts" in said(plan)


@pytest.mark.parametrize(
    "written", [millrace(), fold(), brief(6), brief(20), brief(45)], ids=["millrace", "fold", "6", "20", "45"]
)
def test_those_that_meet_every_need_are_those_that_a_purchase_can_be_pinned_to(written: str) -> None:
    """Another road: the purchase itself with only that build on offer; all other parts kept as they were chosen."""
    plan = planned(written)
    told = {row[0] for row in rows(plan)}
    fits = set()
    for row in APPROVED:
        others = "".join(
            f'  purchase.{slot}: {{value: "{option.slug}", because: kept}}\n'
            for slot, option in plan.purchase.chosen.options.items()
            if slot not in SLOTS
        )
        try:
            trial = api.plan_text(pinned(written, row) + others)
        except UserError:  # the parts do not go together with the others
            continue
        if "P-1" not in codes(trial) and not trial.provisional:
            fits.add(row.slug)
    assert told == fits


@pytest.mark.parametrize("written", [millrace(), fold(), brief(20)], ids=["millrace", "fold", "20"])
def test_prices_are_those_of_the_rows(written: str) -> None:
    """Added up here once more, with plain decimals."""
    plan = planned(written)
    parts = sum((plan.purchase.chosen.options[slot].price for slot in SLOTS), Decimal(0))
    assert value(plan, "builds.parts") == parts
    prices = {row.slug: row.values["price"] for row in APPROVED}
    for slug, _, price, extra, _ in rows(plan):
        assert value(plan, f"builds.{slug}.price") == prices[slug]
        assert value(plan, f"builds.{slug}.extra") == prices[slug] - parts
        assert (price, extra) == (
            text(plan.figures[f"builds.{slug}.price"]),
            text(plan.figures[f"builds.{slug}.extra"]),
        )
    if listed := [row[0] for row in rows(plan)]:
        assert value(plan, "builds.nearest") == min(listed, key=lambda slug: prices[slug])
    else:
        assert "builds.nearest" not in plan.figures


def test_what_is_pinned_to_a_build_is_that_build() -> None:
    row = OURS.catalogue.rows["build"]["set-tower-24"]
    plan = api.plan_text(pinned(millrace(), row))
    assert "M-10" not in codes(plan)
    assert "(set-tower-24)" in said(plan)


@pytest.mark.parametrize(
    "change", [{"approved": False}, {"approved": None}, {"sold": False}], ids=["no", "unsaid", "gone"]
)
def test_only_builds_that_are_approved_and_sold_count(change: dict[str, Any]) -> None:
    assert "M-10" in codes(
        api.plan_text(fold(), kept=stock({**change, "confirmed_on": None}, "set-office-8", others=True))
    )
    listed = {row[0] for row in rows(planned(millrace()))}
    assert not listed & {"set-tower-24-wide", "set-old-4"}


def test_no_build_is_near_enough_where_only_a_small_one_is_approved() -> None:
    plan = api.plan_text(millrace(), kept=stock({}, "set-office-8"))
    assert named(plan).endswith("No approved set of the catalogue meets every need.")
    assert "builds.nearest" not in plan.figures
    assert rows(plan) == []


def test_a_catalogue_without_builds_says_nothing_of_them() -> None:
    rest = {kind: found for kind, found in OURS.catalogue.rows.items() if kind != "build"}
    plan = api.plan_text(millrace(), kept=api.Stock(Catalogue(rest, "EUR"), OURS.house))
    assert "M-10" not in codes(plan)
    assert not [id_ for id_ in plan.figures if id_.startswith("builds.")]


def test_a_build_of_an_article_that_is_not_there_is_bad_input() -> None:
    builds = dict(OURS.catalogue.rows["build"])
    row = builds["set-tower-24"]
    builds["set-tower-24"] = replace(row, values={**row.values, "host": "tower-gone"})
    kept = api.Stock(Catalogue({**OURS.catalogue.rows, "build": builds}, "EUR"), OURS.house)
    with pytest.raises(
        UserError, match=r"^builds\.yaml:\d+: build\.set-tower-24\.host: there is no host called tower-gone$"
    ):
        api.plan_text(millrace(), kept=kept)


@pytest.mark.parametrize("row", OURS.catalogue.every("build"), ids=lambda row: str(row.slug))
def test_a_build_fits_together(row: Article) -> None:
    """Socket, memory, slots, boot places, one supply: the makers' own rules, held against the rows here."""
    parts = {slot: OURS.catalogue.rows[kind][str(row.values[kind])].values for slot, kind in SLOTS.items()}
    counts = {slot: int(row.values[column]) for slot, column in COUNTS.items()} | {"host": 1}
    host, chip, module = parts["host"], parts["processor"], parts["memory"]
    assert host["socket"] == chip["socket"]
    assert host["memory_kind"] == chip["memory_kind"] == module["memory_kind"]
    assert counts["processor"] <= host["sockets"]
    assert counts["memory"] <= host["slots"]
    assert counts["memory"] % counts["processor"] == 0
    assert counts["memory"] * module["capacity"] <= host["memory_limit"]
    assert counts["boot"] <= host["boot_bays"]
    assert sum(counts[slot] * parts[slot]["server_watts"] for slot in SLOTS) <= 0.8 * host["supply_watts"]


@pytest.mark.parametrize("row", OURS.catalogue.every("build"), ids=lambda row: str(row.slug))
def test_a_set_costs_about_what_its_parts_cost(row: Article) -> None:
    """Testing whole sets costs a few per cent, never a third (common practice, no source)."""
    parts = sum(
        (int(row.values[COUNTS[slot]]) if slot in COUNTS else 1)
        * OURS.catalogue.rows[kind][str(row.values[kind])].values["price"]
        for slot, kind in SLOTS.items()
    )
    assert Decimal("0.9") * parts <= row.values["price"] <= Decimal("1.1") * parts


def test_the_trade_is_found() -> None:
    assert "scantling.disciplines.builds" in {module.__name__ for module in trades()}
