"""Lists of every shape: spreadsheets written by openpyxl, text files of every encoding, heads of every kind."""

from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from pricelist_samples import HEADS, KNOWN, ROWS, listed, odd, read, sheet
from scantling import UserError, api
from scantling.catalogue.pricelists.heads import Role
from scantling.catalogue.pricelists.mapping import Reading


def test_formulas_faults_and_dates_in_the_place_of_prices_are_odd(tmp_path: Path) -> None:
    path = sheet(
        tmp_path,
        ("A-12", "", "=C3*2", ""),
        ("A-4", "", date(2026, 4, 12), ""),
        ("A-8", "", "#REF!", ""),
        ("=1+1", "", 5, ""),
    )
    said = Reading(articles={"A-8": "spin-8"}).over(KNOWN)
    starts = ("acme.xlsx:2:C: a formula stands here", 'acme.xlsx:3:C: "2026-04-12" (date) is no price',
              'acme.xlsx:4:C: "#REF!"', "acme.xlsx:5:A: a formula stands here")  # fmt: skip
    for line, start in zip(odd(path, said), starts, strict=True):
        assert line.startswith(start)


def test_merged_cells_are_odd_where_a_price_or_number_stands(tmp_path: Path) -> None:
    lines = odd(
        sheet(tmp_path, *ROWS, ("A-8", "x", 190, ""), change=lambda table: table.merge_cells("C3:C4")),
        Reading(articles={"A-8": "spin-8"}).over(KNOWN),
    )
    assert [line.split(":")[1:3] for line in lines] == [["3", "C"], ["4", "C"], ["4", "C"]]
    assert "this cell is merged with others; part them in the list" in lines[0]


def test_a_banner_over_the_head_and_headings_between_rows_do_not_matter(tmp_path: Path) -> None:
    def change(table: Any) -> None:
        table.insert_rows(1, 3)
        table["A1"] = "Acme, prices of November"
        table.merge_cells("A1:D2")
        table.insert_rows(5)
        table["A5"] = "Disks"

    found = read(sheet(tmp_path, change=change))
    assert [change.place for change in found.judged.changes] == ["acme.xlsx:6:C", "acme.xlsx:7:C"]
    assert "rows without a price or a number, passed over as headings and remarks: 1" in found.judged.notes


def test_what_is_hidden_is_told(tmp_path: Path) -> None:
    def change(table: Any) -> None:
        table.row_dimensions[2].hidden = True
        table.column_dimensions["D"].hidden = True
        other = table.parent.create_sheet("Old prices")
        other.append(list(HEADS))
        other.append(["A-12", "large disk", 1, ""])
        other.sheet_state = "hidden"

    found = read(sheet(tmp_path, change=change))
    assert [change.note for change in found.judged.changes] == ["hidden in the list", ""]
    for note in (
        'the sheet "Old prices" is hidden and was not read',
        "1 hidden row read like the others",
        "hidden in the list: the column of valid_until",
    ):
        assert note in found.judged.notes


def test_several_sheets_are_asked_about(tmp_path: Path) -> None:
    def change(table: Any) -> None:
        other = table.parent.create_sheet("Offers")
        other.append(list(HEADS))
        other.append(["A-12", "large disk", 270, ""])

    path = sheet(tmp_path, change=change)
    with pytest.raises(
        UserError, match=r'several sheets hold such a table \("Prices", "Offers"\); say which one: --sheet'
    ):
        read(path)
    found = read(path, Reading(sheet="Offers").over(KNOWN))
    assert [str(change.new) for change in found.judged.changes] == ["270.00"]
    api.take_prices(found)
    assert read(path, Reading()).judged.same == 1
    with pytest.raises(UserError, match=r'no sheet called "Nope" that holds a table; there are: "Prices", "Offers"'):
        read(path, Reading(sheet="Nope"))


def test_cells_are_read_as_the_writer_meant_them(tmp_path: Path) -> None:
    """Numbers as numbers or texts, days as days or texts, article numbers that a spreadsheet keeps as numbers."""
    said = Reading(articles={"4711": "spin-12", "0815": "spin-4", "4006381333931": "spin-8"})
    rows = (
        (4711, "a", 281.4, datetime(2026, 12, 31)  # noqa: DTZ001 - a spreadsheet knows no zones
), ("0815", "b", "118,50 EUR", "31.12.2026"),
        (4006381333931, "c", 0.1 + 0.2 + 189.7, "2026-12-31"),
    )  # fmt: skip
    found = read(sheet(tmp_path, *rows), said)
    assert not found.judged.odd
    assert {c.number: str(c.new) for c in found.judged.changes} == {
        "4711": "281.40",
        "0815": "118.50",
        "4006381333931": "190.00",
    }
    assert {c.days["valid_until"].isoformat() for c in found.judged.changes} == {"2026-12-31"}


def test_a_currency_that_only_the_format_shows_is_seen(tmp_path: Path) -> None:
    def change(table: Any) -> None:
        table["C2"].number_format = '#,##0.00 "USD"'
        table["C3"].number_format = "#,##0.00\\ [$€-407]"

    lines = odd(
        sheet(
            tmp_path,
            ("A-12", "", 281.4, ""),
            ("A-4", "", 118.0, ""),
            heads=("Article no", "Description", "Price", "Valid until"),
            change=change,
        )
    )
    assert lines == ['acme.xlsx:2:C: this price is in "USD"; the catalogue\'s prices are in EUR']


def test_a_list_of_another_shape_says_what_stands_there(tmp_path: Path) -> None:
    with pytest.raises(UserError) as caught:
        read(listed(tmp_path, heads=("Quux", "Foo", "Bar", "Baz")))
    assert str(caught.value).startswith(
        "acme.csv:1:A: a list of another shape: no row among the first 50 has the heads article"
    )
    assert 'here stand "Quux", "Foo", "Bar", "Baz"' in str(caught.value)
    columns = {Role.ARTICLE: "Quux", Role.PRICE: "Bar"}
    said = Reading(columns=columns, currency="EUR").over(KNOWN)
    assert len(read(listed(tmp_path, heads=("Quux", "Foo", "Bar", "Baz")), said).judged.changes) == 2


def test_a_kept_list_that_lost_a_column_is_another_shape(tmp_path: Path) -> None:
    api.take_prices(read(listed(tmp_path)))
    with pytest.raises(UserError, match=r'another shape: .* valid_until under "Valid until"'):
        read(listed(tmp_path, heads=("Article no", "Description", "Net EUR", "Until when")))


def test_two_columns_that_could_be_the_price_are_asked_about(tmp_path: Path) -> None:
    heads = ("Article no", "Price", "Net EUR", "Valid until")
    rows = [("A-12", "300", "281.40", ""), ("A-4", "150", "118.00", "")]
    with pytest.raises(
        UserError, match=r'two columns could be the price: B \("Price"\) and C \("Net EUR"\); say which one'
    ):
        read(listed(tmp_path, *rows, heads=heads))
    found = read(listed(tmp_path, *rows, heads=heads), Reading(columns={Role.PRICE: "Net EUR"}).over(KNOWN))
    assert [str(change.new) for change in found.judged.changes] == ["281.40", "118.00"]


def test_a_head_merged_over_columns_is_told(tmp_path: Path) -> None:
    with pytest.raises(
        UserError, match=r"acme\.xlsx:1:C: the head of the price is merged over several columns, C to D"
    ):
        read(
            sheet(
                tmp_path,
                heads=("Article no", "Description", "Net EUR", ""),
                change=lambda table: table.merge_cells("C1:D1"),
            )
        )


@pytest.mark.parametrize("by", [";", ",", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_every_usual_way_of_writing_a_text_file_is_read_and_told(by: str, encoding: str, tmp_path: Path) -> None:
    rows = ("A-12", 'große, Platte; "gut"', "281.40", ""), ROWS[1]
    found = read(listed(tmp_path, *rows, by=by, encoding=encoding))
    assert [str(change.new) for change in found.judged.changes] == ["281.40", "118.00"]
    said = {"utf-8": "read as UTF-8", "utf-8-sig": "read as UTF-8 (with its mark)", "utf-16": "read as UTF-16"}
    assert (
        said.get(encoding, "not UTF-8: read as Windows-1252, so look whether names with accents are right")
        in found.judged.notes
    )
    parted = {";": "semicolons", ",": "commas", "\t": "tabs", "|": "upright strokes"}[by]
    assert f"cells are parted by {parted}" in found.judged.notes


def test_the_hint_of_a_spreadsheet_about_its_cells_is_followed(tmp_path: Path) -> None:
    path = tmp_path / "acme.csv"
    path.write_text('sep=|\nArticle no|Net EUR\n"A-4\nx"|"118,00"\nA-12|281,40\n', encoding="utf-8")
    found = read(path)
    assert [(change.article, change.place) for change in found.judged.changes] == [("disk.spin-12", "acme.csv:5:B")]
