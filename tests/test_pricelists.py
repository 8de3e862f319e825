"""Suppliers' lists into a firm's prices: the whole way from list to plan, what is kept, and hostile words."""

from datetime import date
from decimal import Decimal
from pathlib import Path
from shutil import copyfile

import pytest

from hostile import EVERYTHING
from offices import BRIEFS, millrace, planned
from pricelist_samples import KNOWN, ROWS, listed, read, sheet
from scantling import UserError, api
from scantling.catalogue.pricelists.heads import Role
from scantling.catalogue.pricelists.judging import Terms
from scantling.catalogue.pricelists.mapping import Reading
from scantling.figures.composing import placed

OURS = api.stock().catalogue.rows["disk"]


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_the_price_of_the_plan_is_the_lists(kind: str, tmp_path: Path) -> None:
    """List to firm/prices.yaml to plan; the working names the file and its line."""
    plan = planned(millrace())
    slug, count = (
        plan.purchase.chosen.options["bulk"].parts[0][0].slug,
        plan.purchase.chosen.options["bulk"].parts[0][1],
    )
    new = OURS[slug].values["price"] - Decimal("1.10")
    path = (listed if kind == "csv" else sheet)(
        tmp_path, ("X-1", "the disk", str(new) if kind == "csv" else float(new), "2026-12-31")
    )
    found = read(path, Reading(articles={"X-1": slug}), terms=Terms({"priced_on": date(2026, 11, 1)}))
    assert [(c.article, c.new, c.old) for c in found.judged.changes] == [
        (f"disk.{slug}", new, OURS[slug].values["price"])
    ]
    assert set(api.take_prices(found)) == {"prices.yaml", "lists/acme.yaml"}
    brief = tmp_path / "brief.yaml"
    copyfile(BRIEFS["millrace"], brief)
    made = api.plan(brief)
    assert made.figures["money.parts.bulk"].value == new * count
    (line,) = [line.working for line in api.why(made, "money.parts.bulk") if line.working.startswith("catalogue")]
    assert line == f"catalogue: firm/prices.yaml:3, disk.{slug}.price"
    row = api.stock_for(brief).catalogue.rows["disk"][slug]
    assert [row.mark(name).isoformat() for name in ("priced_on", "valid_until")] == ["2026-11-01", "2026-12-31"]


def test_the_next_list_needs_no_question(tmp_path: Path) -> None:
    """Columns and articles are kept, whatever the next file is called; the same again changes nothing."""
    api.take_prices(read(listed(tmp_path), name="acme"))
    again = read(listed(tmp_path, name="prices of december.csv"), Reading())
    assert (again.new, again.name, again.judged.changes, again.judged.same, again.writes) == (
        False,
        "acme",
        (),
        2,
        False,
    )
    later = read(listed(tmp_path, ("A-4", "small disk", "119.00", "2027-01-31"), name="january.csv"), Reading())
    assert [(c.article, str(c.old), str(c.new), c.old_place) for c in later.judged.changes] == [
        ("disk.spin-4", "118.00", "119.00", "firm/prices.yaml:4")
    ]
    assert any('"A-12" (disk.spin-12)' in note for note in later.judged.notes)  # no longer in the list
    api.take_prices(later)
    text = (listed(tmp_path).parent / "firm/prices.yaml").read_text(encoding="utf-8")
    assert "  spin-4: {price: 119.00 EUR, valid_until: 2027-01-31}\n" in text
    assert "  spin-12: {price: 281.40 EUR, valid_until: 2026-12-31}\n" in text


def test_other_rows_and_their_comments_stay(tmp_path: Path) -> None:
    path = listed(tmp_path)
    firm = path.parent / "firm"
    firm.mkdir()
    before = (
        "# by hand\nups:\n  unit-1500: {price: 499.00 EUR}  # a friend\n\ndisk:  # disks\n"
        "  spin-4:  # asked in May\n    price: 100.00 EUR  # for ten\n    priced_on: 2026-05-01\n    watts: 5 W\n# end\n"
    )
    (firm / "prices.yaml").write_text(before, encoding="utf-8")
    api.take_prices(read(path))
    after = (firm / "prices.yaml").read_text(encoding="utf-8")
    assert after == (
        "# by hand\nups:\n  unit-1500: {price: 499.00 EUR}  # a friend\n\ndisk:  # disks\n"
        "  spin-4:  # asked in May\n    price: 118.00 EUR  # for ten\n    watts: 5 W\n    valid_until: 2026-12-31\n"
        "  spin-12: {price: 281.40 EUR, valid_until: 2026-12-31}\n# end\n"
    )


def test_a_file_that_changed_meanwhile_is_left_alone(tmp_path: Path) -> None:
    found = read(listed(tmp_path))
    firm = listed(tmp_path).parent / "firm"
    firm.mkdir()
    (firm / "prices.yaml").write_text("# mine\n", encoding="utf-8")
    with pytest.raises(UserError, match=r"prices\.yaml has changed since it was read; nothing was written"):
        api.take_prices(found)
    assert [path.name for path in firm.rglob("*")] == ["prices.yaml"]


def test_one_odd_row_stops_all_unless_it_is_left_out(tmp_path: Path) -> None:
    path = listed(tmp_path, *ROWS[:1], ("A-4", "small disk", "call", ""))
    found = read(path)
    assert [str(one) for one in found.judged.odd] == [
        'acme.csv:3:C: "call" is no price; ask the supplier, or leave the row out'
    ]
    with pytest.raises(UserError, match=r"acme\.csv:3:C: .*\nnothing was taken"):
        api.take_prices(found)
    assert not (path.parent / "firm").exists()
    api.take_prices(found, leave_out_odd=True)
    text = (path.parent / "firm/prices.yaml").read_text(encoding="utf-8")
    assert "spin-12" in text
    assert "spin-4" not in text


def test_rows_of_no_article_of_ours_are_listed_and_never_guessed(tmp_path: Path) -> None:
    found = read(
        listed(tmp_path, *ROWS, ("Z-1", "spinning disk, 8 TB", "call", "")), Reading(articles={"A-4": "spin-4"})
    )
    assert [(offer.row, offer.number) for offer in found.judged.unmatched] == [(2, "A-12"), (4, "Z-1")]
    assert [change.article for change in found.judged.changes] == ["disk.spin-4"]
    assert not found.judged.odd
    assert [one.row for one in found.judged.odd_elsewhere] == [4]
    assert found.suggested(found.judged.unmatched[1]) == "disk.spin-8"


def test_our_own_names_in_a_list_are_taken_and_told(tmp_path: Path) -> None:
    found = read(listed(tmp_path, ("spin-4", "", "118.00", "")), Reading())
    assert [change.article for change in found.judged.changes] == ["disk.spin-4"]
    assert "taken for our own names of articles: spin-4" in found.judged.notes


def test_a_mistake_in_what_is_kept_is_told_at_its_place(tmp_path: Path) -> None:
    path = listed(tmp_path)
    lists = path.parent / "firm/lists"
    lists.mkdir(parents=True)
    (lists / "acme.yaml").write_text(
        "columns:\n  article: Article no\n  prize: Net EUR\narticles:\n  A-4: spin-44\n  A-12: [x]\ndecimal: dot\ncurrncy: EUR\n",
        encoding="utf-8",
    )
    with pytest.raises(UserError) as caught:
        read(path, Reading())
    lines = str(caught.value).splitlines()
    assert [line.split(": ")[0] for line in lines] == [
        f"firm/lists/acme.yaml:{at}" for at in ("3:3", "5:8", "6:3", "7:1", "8:1")
    ]
    assert "did you mean price?" in lines[0]
    assert "did you mean disk.spin-" in lines[1]


def test_articles_said_wrongly_are_all_told(tmp_path: Path) -> None:
    with pytest.raises(UserError) as caught:
        read(
            listed(tmp_path),
            Reading(articles={"1": "spin-44", "2": "labour.consultant"}, decimal="dot", currency="euro"),
        )
    assert [line.split(":")[0] for line in str(caught.value).splitlines()] == [
        "--article 1=spin-44", "--article 2=labour.consultant", "--decimal dot", "--currency euro",
    ]  # fmt: skip


def test_a_column_can_be_given_up(tmp_path: Path) -> None:
    found = read(listed(tmp_path), Reading(columns={Role.VALID_UNTIL: ""}).over(Reading()), name="acme")
    assert Role.VALID_UNTIL in found.reading.columns  # `over` has dropped what is empty: said once more below
    found = read(listed(tmp_path), Reading(columns={Role.VALID_UNTIL: ""}, articles=KNOWN.articles))
    assert Role.VALID_UNTIL not in found.reading.columns
    assert all(not change.days for change in found.judged.changes)


@pytest.mark.parametrize("where", ["name", "number", "price", "head", "currency"])
def test_hostile_words_stay_plain_words(where: str, tmp_path: Path) -> None:
    """Told on one line, kept where they may be, and the written files read back by the strict reader."""
    path = listed(tmp_path)
    for place, word in enumerate(EVERYTHING):
        cells = {"name": "disk", "number": "A-4", "price": "118.00", "currency": "EUR", where: word}
        heads = ["Article no", word if where == "head" else "Text", "Price", "Currency"]
        row = [cells["number"], cells["name"], cells["price"], cells["currency"]]
        path = listed(tmp_path, row, ["A-12", "x", "281.40", "EUR"], heads=heads)
        firm = path.parent / f"firm-{place}"
        found, said = _taken(path, firm, cells["number"])
        assert all(_one_line(line) for line in said.split("\n")), word
        if found is None:
            continue
        assert all(_one_line(str(one)) for one in [*found.judged.odd, *found.judged.notes]), word
        for file in firm.rglob("*.yaml"):
            placed(file.read_text(encoding="utf-8"), file.name)
        assert api.read_prices(path, firm).reading == found.reading
        assert api.stock(firm=firm).catalogue.rows["disk"]["spin-12"].values["price"] == Decimal("281.40")


def _taken(path: Path, firm: Path, number: str) -> tuple[api.PriceImport | None, str]:
    """The list taken without its odd rows, or what is said instead."""
    try:
        found = api.read_prices(path, firm, Reading(articles={number: "spin-4"}).over(KNOWN))
        api.take_prices(found, leave_out_odd=True)
    except UserError as wrong:
        return None, str(wrong)
    return found, ""


def _one_line(line: str) -> bool:
    return not any(ord(letter) < 32 or 0x7F <= ord(letter) <= 0x9F for letter in line)
