"""What was weighed, as a person reads it: terminal, JSON, the book as page and print; hostile names of articles stay text."""

import json
import subprocess
import sys
from dataclasses import replace
from decimal import Decimal
from functools import cache
from io import BytesIO

import pikepdf
import pytest

from hostile import EVERYTHING
from offices import BRIEFS, fold, millrace, planned
from scantling import api
from scantling.outputs.documents import pdf
from scantling.outputs.documents.book import bound
from scantling.outputs.documents.html import page
from scantling.outputs.drawings.drawn import drawings
from scantling.outputs.weighed import as_plain, tables
from scantling.plan.telling import as_json
from scantling.plan.weighing import Weighed
from test_book_html import Reader

TITLES = ("What else could have been bought", "What each demand costs", "Never chosen, and why")


@cache
def weighed() -> Weighed:
    """Fold & Fell's purchase weighed."""
    return api.weigh(planned(fold()))


def run(*words: str) -> subprocess.CompletedProcess[str]:
    """One command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "scantling", *words], capture_output=True, text=True, encoding="utf-8", check=False
    )


def with_names(told: Weighed, name: str) -> Weighed:
    """The same with one name for every article that is told."""
    runners = tuple(
        replace(one, changes=tuple(replace(change, instead=name, bought=name) for change in one.changes))
        for one in told.next_best
    )
    never = tuple(replace(one, option=name, by=name if one.by else "") for one in told.never)
    return replace(told, next_best=runners, never=never)


def test_the_tables_say_what_was_weighed() -> None:
    """Ten sets that get dearer, every need with an amount, every option that is never chosen, counted once."""
    told, made = weighed(), planned(fold())
    sets, demands, never = tables(told, made.currency)
    assert tuple(sheet.title for sheet in (sets, demands, never)) == TITLES
    assert [row[0] for row in sets.rows] == [str(n) for n in range(1, 11)]
    assert all(" instead of " in row[2] and row[1].endswith(" EUR") for row in sets.rows)
    assert {row[0] for row in demands.rows} == {d.label for d in made.purchase.demands if d.need and d.bounds}
    assert sum(int(row[2]) for row in never.rows) == len(told.never)
    assert all(len(row) == len(sheet.heads) for sheet in (sets, demands, never) for row in sheet.rows)


def test_a_demand_is_told_with_its_next_value_and_what_it_saves() -> None:
    """Fewer boot disks: the amount asked, the next lower one, the saving; and a need that costs nothing says so."""
    _, demands, _ = tables(weighed(), "EUR")
    rows = {row[0]: row for row in demands.rows}
    boot = rows["Boot disks"]
    assert boot[1:4] == ("at least 2", "2", "1")
    assert boot[4].endswith(" EUR")
    assert rows["Load on the circuit"][3] == "at no value"


def test_the_plain_data_hold_every_option_by_itself() -> None:
    """They survive JSON; money is text with its cents."""
    plain = json.loads(json.dumps(as_plain(weighed())))
    assert [one["rank"] for one in plain["next_best"]] == list(range(1, 11))
    assert all(Decimal(one["dearer"]) >= 0 for one in plain["next_best"])
    assert len(plain["never"]) == len(weighed().never)
    assert len(plain["prices"]) == len(weighed().prices)
    assert {one["why"] for one in plain["never"]} <= {"fails", "fits nothing", "beaten", "too dear"}


def test_the_command_line_weighs_when_asked() -> None:
    """In words and as JSON; without the word nothing of it is there."""
    brief = str(BRIEFS["fold"])
    words, plain, without = run("plan", brief, "--weigh"), run("plan", brief, "--json", "--weigh"), run("plan", brief)
    assert words.returncode == plain.returncode == without.returncode
    assert all(title in words.stdout for title in TITLES)
    assert not any(title in without.stdout for title in TITLES)
    whole = json.loads(plain.stdout)
    assert whole.pop("weighed") == json.loads(json.dumps(as_plain(weighed())))
    assert whole == json.loads(run("plan", brief, "--json").stdout)
    assert "The cheapest set: confirmed by a second solver to the cent" in without.stdout


def test_the_json_is_the_plan_and_a_section_more() -> None:
    """Nothing else is touched."""
    made = planned(fold())
    whole = json.loads(api.weighed_json(made, weighed()))
    assert whole.pop("weighed")
    assert whole == json.loads(json.dumps(as_json(made)))


def test_the_book_has_a_sheet_when_weighed_and_none_when_not() -> None:
    """After the price; its letter goes on counting; the other sheets keep their numbers."""
    made = planned(millrace())
    with_it, without = bound(made, (), api.weigh(made)).sheets, bound(made).sheets
    (sheet,) = [sheet for sheet in with_it if sheet.title == TITLES[0]]
    assert sheet.number.startswith("O-")
    assert [one for one in with_it if one is not sheet] == list(without)
    assert len({one.number for one in with_it}) == len(with_it)


def test_page_and_print_show_it() -> None:
    """All three tables, read back by a parser of pages and by a reader of PDF."""
    made = planned(fold())
    book, drawn = bound(made, (), weighed()), drawings(made, "day")
    told = Reader(page(book, drawn)).text
    assert all(title in told for title in TITLES)
    with pikepdf.open(BytesIO(pdf.printed(book, drawn))) as opened:
        assert opened.check_pdf_syntax() == []
        assert len(opened.pages) > 10


@pytest.mark.parametrize("place", range(0, len(EVERYTHING), 4))
def test_hostile_names_of_articles_stay_text(place: int) -> None:
    """A firm's own catalogue may call an article anything: no element more on the page, and the words are there."""
    made, name = planned(fold()), EVERYTHING[place]
    drawn = drawings(made, "day")
    harmless = Reader(page(bound(made, (), with_names(weighed(), "Larkfield")), drawn))
    hostile = Reader(page(bound(made, (), with_names(weighed(), name)), drawn))
    assert [tag for tag, _ in hostile.elements] == [tag for tag, _ in harmless.elements]
    assert json.loads(json.dumps(as_plain(with_names(weighed(), name))))["never"][0]["option"] == name


def test_hostile_names_can_be_printed() -> None:
    """Every fourth of them at once, in the typesetter."""
    made = planned(fold())
    name = " ".join(EVERYTHING[::4])
    printed = pdf.printed(bound(made, (), with_names(weighed(), name)), drawings(made, "day"))
    with pikepdf.open(BytesIO(printed)) as opened:
        assert opened.check_pdf_syntax() == []
