"""What stands is judged: each finding raised by one changed line and not without it, ages and prices reckoned apart."""

import re
from datetime import date
from decimal import Decimal

import pytest

from hostile import HOSTILE
from offices import changed, fold, planned
from scantling import api
from scantling.figures import Page, Ruled
from scantling.plan.make import Plan
from scantling.plan.telling import canonical
from standing_samples import STANDS, beside


def told(plan: Plan, code: str) -> list[str]:
    """What the findings of a code say."""
    return [one.says for one in plan.findings if one.finding.code == code]


def stands(old: str, new: str) -> str:
    """The sample with one passage changed."""
    return changed(STANDS, old, new)


SMALL_UNIT = "bought:\n  ups-unit-500: {serves: ups, article: unit-500}\n"
RAISED = [
    ("K-1", stands("warranty_until: 2033-06-03", "warranty_until: 2026-11-24"), "Switch has been out of warranty since 2026-11-24."),
    ("K-2", stands("warranty_until: 2033-06-03", "warranty_until: 2031-11-24"), "The warranty of Switch ends on 2031-11-24"),
    ("K-3", stands("since: 2024-06-03", "since: 2018-11-20"), "Switch is 8 years old; after 8 years"),
    ("K-4", stands("known: told", "known: guessed"), "Nobody has looked at Switch: what is known of it is a guess."),
    ("K-5", stands("do: keep, known: seen, since: 2024-01-10", "do: retire, known: seen"), "Large scanner is to go."),
    ("K-6", stands("bought:\n", SMALL_UNIT), "Of what stands as ups (1 × unit-500) not all can stay."),
    ("K-7", stands("since: 2024-01-10", "since: 2026-11-26"), "Large scanner is said to stand since 2026-11-26, which is after 2026-11-25"),
]  # fmt: skip


@pytest.mark.parametrize(("code", "text", "says"), RAISED, ids=[code for code, _, _ in RAISED])
def test_one_changed_line_raises_it(code: str, text: str, says: str) -> None:
    assert [one for one in told(beside(text), code) if one.startswith(says)]
    assert not [one for one in told(beside(), code) if one.startswith(says)]
    assert code in {finding.code for finding in beside().checked}


@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("K-1", stands("warranty_until: 2033-06-03", "warranty_until: 2026-11-25")),
        ("K-2", stands("warranty_until: 2033-06-03", "warranty_until: 2031-11-25")),
        ("K-2", stands("warranty_until: 2033-06-03", "warranty_until: 2026-11-24")),
        ("K-3", stands("since: 2024-06-03", "since: 2018-11-30")),
        ("K-7", stands("since: 2024-01-10", "since: 2026-11-25")),
    ],
)
def test_it_is_not_raised_on_the_last_good_day(code: str, text: str) -> None:
    """A warranty holds on its last day, and what is over is not told again as ending soon."""
    assert not told(beside(text), code)


def test_what_is_to_go_is_neither_judged_nor_counted() -> None:
    """The old tower is eleven years old; nothing but its going is told."""
    about = {one.finding.code for one in beside().findings if "Old tower" in one.says}
    assert about == {"K-5"}
    assert "kit.found.old-tower.replacing" not in beside().figures


def test_batteries_that_go_have_their_own_caution() -> None:
    remedies = {one.says: one.finding.remedy for one in beside().findings if one.finding.code == "K-5"}
    assert "licensed collector take them" in remedies["Old battery unit is to go."]
    assert "atteries" not in remedies["Old tower is to go."]
    assert all("Wipe or destroy" in remedy for remedy in remedies.values())


def test_age_is_reckoned_from_the_day_of_the_plan() -> None:
    """As Python's calendar counts the days."""
    days = (date(2026, 11, 25) - date(2024, 6, 3)).days
    assert beside().figures["kit.found.switch.age"].value == pytest.approx(days / 365.25)
    assert beside().figures["kit.horizon"].value == date(2031, 11, 25)


def test_replacing_is_the_price_that_the_purchase_found() -> None:
    """A switch bought where none stands costs what replacing it is said to cost."""
    bare = "\n".join(line for line in STANDS.splitlines() if "switch" not in line and "02:00" not in line) + "\n"
    bought = beside(bare).figures["money.parts.switch"].value
    assert beside().figures["kit.found.switch.replacing"].value == bought > 0
    assert beside().figures["money.parts.switch"].value == Decimal(0)


def test_the_price_of_what_takes_its_place_is_told() -> None:
    text = stands("bought:\n", SMALL_UNIT)
    plan = beside(text)
    (says,) = [one for one in told(plan, "K-6") if "stands as ups" in one]
    price = plan.figures["money.parts.ups"].value
    assert plan.figures["kit.instead.ups"].value == price > 0
    assert f"What takes its place costs {price:,.2f} EUR." in says


def test_a_thing_the_catalogue_does_not_know_has_an_age_and_no_price() -> None:
    """The scanner is judged by the age of other things."""
    assert "kit.found.scanner.age" in beside().figures
    assert "kit.found.scanner.replacing" not in beside().figures
    old = beside(stands("known: seen, since: 2024-01-10", "known: seen, since: 2019-01-10"))
    assert told(old, "K-3")[0].startswith("Large scanner is 7.9 years old; after 6 years")


def test_the_sheet_lists_everything_that_stands() -> None:
    (page,) = [page for page in beside().records(Page) if page.slug == "kit"]
    tables = {block.caption: block.rows for block in page.blocks if isinstance(block, Ruled)}
    assert len(tables["What stands"]) == 5
    assert len(tables["Maker's plates"]) == 2


def test_nothing_is_told_where_nothing_stands() -> None:
    made = planned(fold())
    assert not [id_ for id_ in made.figures if id_.startswith("kit.")]
    assert not [page for page in made.records(Page) if page.slug == "kit"]
    assert canonical(api.plan_text(fold(), stands="# nothing\n")) == canonical(made)


@pytest.mark.parametrize("name", HOSTILE[:12])
def test_a_hostile_name_is_told_as_it_is_written(name: str) -> None:
    """Braces of a client's own stay as they are, and fill with nothing."""
    quoted = name.replace("'", "''")
    text = stands(
        "name: Large scanner, kind: scanner, do: keep, known: seen",
        f"name: '{quoted}', kind: scanner, do: retire, known: seen",
    )
    assert f"{name} is to go." in told(beside(text), "K-5")


def test_a_name_in_braces_fills_with_nothing() -> None:
    text = stands(
        "name: Large scanner, kind: scanner, do: keep", 'name: "{replacing} {thing}", kind: scanner, do: retire'
    )
    assert "{replacing} {thing} is to go." in told(beside(text), "K-5")


def test_all_that_stands_is_counted_when_some_of_it_gives_way() -> None:
    """A thousand switches: no arrangement has a use for more than a few, and the rest is told with them."""
    (says,) = told(
        beside(
            stands(
                "article: switch-24-half, serves: switch,", "article: switch-24-half, serves: switch, count: 1000,"
            )
        ),
        "K-6",
    )
    found = re.search(r"as switch \((\d+) × switch-24-half and (\d+) more\)", says)
    assert found, says
    assert int(found[1]) + int(found[2]) == 1000
