"""Every odd row of a supplier's list is told at its cell; prices and days of several countries read back exactly."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

from pricelist_samples import KNOWN, ROWS, listed, odd, read
from scantling import UserError, api
from scantling.catalogue.pricelists.amounts import OddAmountError, read_date, read_price
from scantling.catalogue.pricelists.judging import Terms
from scantling.catalogue.pricelists.mapping import Reading


@pytest.mark.parametrize(
    ("price", "says"),
    [
        ("", "the price is missing"),
        ("call", '"call" is no price'),
        ("POA", "the price is missing"),
        ("-118.00", "below nought"),
        ("(118.00)", "below nought"),
        ("0.00", "not above nought"),
        ("1.234", "could mean 1234 or 1.234; say the list's decimal mark: --decimal comma or point"),
        ("118.005 EUR", "could mean 118005 or 118.005"),
        ("1118.005", "more than two places"),
        ("118 USD", 'this price is in "USD"; the catalogue\'s prices are in EUR'),
        ("$118.00", 'this price is in "$"'),
        ("11,8,00", "is not a number that can be read"),
        ("99999999999", "too much for a price"),
        ("712.00", "+536 % against 112.00 EUR of disk.spin-4"),
        ("11.80", "-89 % against"),
    ],
)  # fmt: skip
def test_an_odd_price_is_told_at_its_cell(price: str, says: str, tmp_path: Path) -> None:
    (line,) = odd(listed(tmp_path, ROWS[0], ("A-4", "small disk", price, "")))
    assert line.startswith("acme.csv:3:C: ") or (line.startswith("acme.csv:3:") and "USD" in line + price)
    assert says in line


@pytest.mark.parametrize(
    ("row", "said", "says"),
    [
        (("A-12", "again", "281.40", ""), KNOWN, ['2:A: "A-12" stands in row 4 too', '4:A: "A-12" stands in row 2 too']),
        (("", "no number", "5.00", ""), KNOWN, ["4:A: a price without an article number"]),
        (("4.00638E+12", "cut", "5.00", ""), KNOWN, ['4:A: "4.00638E+12": a spreadsheet has cut this long number short']),
        (("A-5", "twin", "119.00", ""), Reading(articles={"A-5": "spin-4"}), ["3:A: 2 numbers of this list", "4:A: 2 numbers"]),
        (("A-8", "x", "190.00", "31/02/2026"), Reading(articles={"A-8": "spin-8"}), ['4:D: "31/02/2026" is not a day of the calendar']),
        (("A-8", "x", "190.00", "01/02/2027"), Reading(articles={"A-8": "spin-8"}), ['4:D: "01/02/2027" could be two days; say which']),
        (("A-8", "x", "190.00", "2027-01-01", "more", "cells"), Reading(articles={"A-8": "spin-8"}), ["4:E: this row has 6 cells"]),
        (("A-8", "x", "190,00", ""), Reading(articles={"A-8": "spin-8"}), ["4:C: this list writes prices both with comma and with point"]),
    ],
)  # fmt: skip
def test_an_odd_row_is_told_at_its_cell(row: Sequence[str], said: Reading, says: list[str], tmp_path: Path) -> None:
    lines = odd(listed(tmp_path, *ROWS, row), said.over(KNOWN))
    assert len(lines) == len(says)
    for line, wanted in zip(lines, says, strict=True):
        assert line.startswith(f"acme.csv:{wanted}")


def test_a_number_in_an_unquoted_cell_that_parts_it_is_odd(tmp_path: Path) -> None:
    """1,234.50 without quotation marks in a list parted by commas shifts what follows."""
    path = tmp_path / "acme.csv"
    path.write_text("Article no,Net EUR,Text\nA-12,281.40,x\nA-4,1,118.00,y\nA-8,190.00,z\n", encoding="utf-8")
    assert [line.split(": ")[0] for line in odd(path)] == ["acme.csv:3:B", "acme.csv:3:D"]


def test_a_jump_is_taken_when_the_limit_is_raised(tmp_path: Path) -> None:
    path = listed(tmp_path, ("A-4", "small disk", "712.00", ""))
    assert odd(path)
    assert not odd(path, terms=Terms(jump=Decimal(600)))


def test_said_marks_settle_what_could_be_two_things(tmp_path: Path) -> None:
    """And they are kept; a price that contradicts them is odd."""
    rows = ("A-12", "", "1.234", "01/02/2027"), ("A-4", "", "118,5", "13/02/2027")
    said = Reading(decimal="comma", dates="day-first").over(KNOWN)
    found = read(listed(tmp_path, *rows), said, terms=Terms(jump=Decimal(1000)))
    assert [str(change.new) for change in found.judged.changes] == ["1234.00", "118.50"]
    assert found.judged.changes[0].days["valid_until"].isoformat() == "2027-02-01"
    api.take_prices(found)
    later = odd(
        listed(tmp_path, ("A-12", "", "1,234.50", ""), ("A-4", "", "118,50", "")),
        Reading(),
        terms=Terms(jump=Decimal(1000)),
    )
    assert later == ['acme.csv:2:C: "1,234.50" is written with another decimal mark than this list\'s (",")']


def test_a_column_of_currencies_may_not_hold_two(tmp_path: Path) -> None:
    path = listed(
        tmp_path,
        ("A-12", "281.40", "EUR"), ("A-4", "118.00", "USD"), ("Z", "1.00", "SEK"), ("A-8", "€ 190.00", "CHF"), ("A-6", "150.00", ""),
        heads=("Article no", "Price", "Currency"),
    )  # fmt: skip
    said = Reading(articles={"A-8": "spin-8", "A-6": "spin-6"}).over(KNOWN)
    assert odd(path, said) == [
        'acme.csv:3:C: this price is in "USD"; the catalogue\'s prices are in EUR',
        'acme.csv:5:B: two currencies are said of this price: "CHF" and "EUR"',
        "acme.csv:6:C: this price is in no currency that is said; the catalogue's prices are in EUR",
    ]
    assert any("several currencies in one list" in note for note in read(path, said).judged.notes)


def test_a_list_without_any_currency_asks_for_it_and_keeps_it(tmp_path: Path) -> None:
    path = listed(tmp_path, heads=("Article no", "Description", "Price", "Valid until"))
    found = read(path)
    assert list(map(str, found.judged.asked)) == [
        "acme.csv:1:C: no currency is written in this list; say it: --currency EUR"
    ]
    with pytest.raises(UserError, match="no currency is written"):
        api.take_prices(found, leave_out_odd=True)
    found = read(path, Reading(currency="EUR").over(KNOWN))
    assert len(found.judged.changes) == 2
    api.take_prices(found)
    assert len(read(path, Reading()).judged.odd) == 0


def written(value: Decimal, style: str) -> str:
    """A price as four countries write it."""
    english = f"{value:,.2f}"
    marks = {"english": ",.", "german": ".,", "french": "\u202f,", "swiss": "\u2019."}[style]
    return english.translate(str.maketrans(",.", marks))


@given(
    st.decimals(Decimal("0.01"), Decimal("9999999.99"), places=2),
    st.sampled_from(["english", "german", "french", "swiss"]),
)
def test_any_price_in_any_style_reads_back_to_the_cent(value: Decimal, style: str) -> None:
    for around in ("{}", "{} EUR", "€ {}", "EUR {}", " {} "):
        assert read_price(around.format(written(value, style))).value == value


@given(st.decimals(Decimal("0.01"), Decimal("9999.99"), places=2))
def test_a_price_is_never_read_as_another_one(value: Decimal) -> None:
    """With any one mark and any cut of its digits: the price, or a refusal, never a silent factor of a thousand."""
    for text in {str(value), str(value).replace(".", ","), str(value.quantize(Decimal(1))), f"{value}0"}:
        try:
            found = read_price(text).value
        except OddAmountError:
            continue
        assert found == Decimal(text.replace(",", "."))


@given(st.text(max_size=30))
def test_any_text_is_a_price_above_nought_or_refused_in_words(text: str) -> None:
    try:
        found = read_price(text).value
    except OddAmountError as wrong:
        told = str(wrong)
    else:
        told = ""
        assert 0 < found <= 10_000_000
    assert "\n" not in told


@given(st.dates(date(2000, 1, 1), date(2100, 12, 31)))
def test_any_day_reads_back(day: date) -> None:
    assert read_date(day.isoformat()) == read_date(f"{day:%d.%m.%Y}") == day
    assert read_date(f"{day:%d/%m/%Y}", "day-first") == read_date(f"{day:%m/%d/%Y}", "month-first") == day
    if day.day > 12:
        assert read_date(f"{day:%d/%m/%Y}") == read_date(f"{day:%m/%d/%Y}") == day
