"""Firm options as people see them: table, JSON, book and command; and no mixture of places makes a plan stumble."""

import json
import random
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import generated_offices
import pytest
from click.testing import CliRunner
from conftest import Scale
from hostile_briefs import spread
from offices import changed, fold, millrace, planned
from option_samples import EXAMPLES, WAYS, options_of, way

from scantling import UserError, api
from scantling.cli import cli
from scantling.figures import Ruled
from scantling.outputs.documents.book import bound
from scantling.outputs.documents.html import page
from scantling.outputs.drawings.drawn import drawings
from scantling.outputs.side_by_side import NOTHING, SideBySide, side_by_side
from scantling.outputs.summary import findings, sheets
from scantling.plan.make import Plan
from scantling.plan.telling import canonical, find

every_office = pytest.mark.parametrize("office", list(EXAMPLES))


def table(office: str) -> SideBySide:
    """The options of an example side by side."""
    return side_by_side(options_of(office))


def words(told: SideBySide, row: str) -> list[str]:
    """One row's words."""
    return next([cell.words for cell in one.cells] for one in told.rows if one.id == row)


@every_office
def test_every_cell_is_a_figure_or_a_text_of_its_own_plan(office: str) -> None:
    told = table(office)
    for row in told.rows:
        assert len(row.cells) == len(WAYS)
        for cell, option in zip(row.cells, told.options, strict=True):
            assert cell.words
            assert option.plan is not None
            if cell.figure is not None and cell.figure.id:
                assert find(option.plan, cell.figure.id).value == cell.figure.value
    assert NOTHING not in words(told, "total")


def test_what_a_client_asks_is_answered_in_words() -> None:
    """Millrace: who stops with what, and how the office comes back."""
    told = table("millrace")
    assert words(told, "server-out")[2] == "there is no server"
    assert words(told, "server-out")[3].startswith("half of the machines")
    assert "every way out" in words(told, "server-out")[0]
    assert "every way out" not in words(told, "server-out")[1]
    assert words(told, "box-out")[1] == "Gateway box: Firewall, every way out"
    assert words(told, "one-lost")[3] == "3 h, on the other one"
    assert words(told, "missed")[2] == "16 h"
    assert words(told, "cores")[2] == "0"
    assert "data and ways of work moved to others" in words(told, "lasting")[2]
    assert words(table("fold"), "line-out")[0].startswith("all that is outside")
    assert words(table("fold"), "line-out")[2].startswith("Directory, Files")


def test_an_option_that_breaks_the_brief_says_so_in_its_column() -> None:
    """Two servers are dearer than Fold & Fell's budget of 14,000 EUR."""
    told = table("fold")
    assert words(told, "fits")[0] == "keeps it"
    assert words(told, "fits")[3] == "breaks it: O-1"
    assert words(told, "stops")[3] == "1"


def test_an_option_that_cannot_be_planned_says_why() -> None:
    lone = replace(options_of("fold")[1], plan=None, why_not="nothing fits")
    told = side_by_side([options_of("fold")[0], lone])
    assert words(told, "fits")[1] == "can't be planned: nothing fits"
    assert words(told, "total")[1] == NOTHING


@every_office
def test_the_json_is_the_same_every_time_and_can_be_read(office: str) -> None:
    told = table(office)
    assert told.as_json() == side_by_side(options_of(office)).as_json()
    read = json.loads(told.as_json())
    assert [one["slug"] for one in read["options"]] == list(WAYS)
    whole = next(row for row in read["rows"] if row["id"] == "total")
    assert [cell["value"] for cell in whole["cells"]] == [
        f"{way(office, s).figures['money.total'].value:.2f}" for s in WAYS
    ]


@every_office
@pytest.mark.parametrize("slug", WAYS)
def test_every_way_can_be_shown_drawn_and_bound(office: str, slug: str) -> None:
    """No sheet of a server that is not there; the pages are numbered without a gap, and what is left out is said."""
    plan = way(office, slug)
    made, book = drawings(plan), bound(plan)
    assert ("S-1" in made) == (slug != "no-server")
    numbers = [sheet.number for sheet in book.sheets if sheet.number.startswith("S-")]
    first = 1 if slug == "no-server" else 2
    assert numbers == [f"S-{place}" for place in range(first, first + len(numbers))]
    assert list(sheets(plan))
    assert findings(plan).heads
    said = "left out of the set" in " ".join(str(block) for sheet in book.sheets for block in sheet.blocks)
    assert said == (slug == "no-server")


def test_the_book_holds_the_table_when_options_were_asked_for() -> None:
    plan = way("fold", "as-planned")
    assert "The options side by side" not in {sheet.title for sheet in bound(plan).sheets}
    (sheet,) = [one for one in bound(plan, options_of("fold")).sheets if one.title == "The options side by side"]
    assert sheet.number.startswith("O-")
    assert len({one.number for one in bound(plan, options_of("fold")).sheets}) == len(bound(plan).sheets) + 1
    (ruled,) = [block for block in sheet.blocks if isinstance(block, Ruled)]
    assert ruled.heads == ("", *(option.name for option in options_of("fold")))
    assert len(ruled.rows) == len(table("fold").rows)


class Tags(HTMLParser):
    """Collects the names of tags and of their attributes."""

    def __init__(self, written: str) -> None:
        super().__init__()
        self.found: set[str] = set()
        self.feed(written)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """One more tag, and each of its attributes."""
        self.found |= {tag, *(f"{tag} {name}" for name, _ in attrs)}


def test_hostile_names_stay_inside_the_table_and_the_book() -> None:
    """Names of services reach table, JSON and page: read back, no tag or attribute is there that a tame brief lacks."""
    hostile, tame = api.options_text(spread(millrace())), options_of("millrace")
    told = side_by_side(hostile)
    assert words(told, "server-out")[0] != words(table("millrace"), "server-out")[0]
    read = json.loads(told.as_json())["rows"]
    assert [cell["text"] for row in read for cell in row["cells"]] == [
        c.words for row in told.rows for c in row.cells
    ]
    assert hostile[0].plan is not None
    assert tame[0].plan is not None
    written = Tags(page(bound(hostile[0].plan, hostile), {})).found
    assert written <= Tags(page(bound(tame[0].plan, tame), {})).found


def test_the_command_prints_a_table_or_json_and_the_exit_code_of_the_brief() -> None:
    run = CliRunner().invoke(cli, ["options", str(EXAMPLES["fold"])])
    assert run.exit_code == 0
    assert "Two smaller" in run.output
    told = CliRunner().invoke(cli, ["options", "--json", str(EXAMPLES["fold"])])
    assert told.exit_code == 0
    assert told.output == table("fold").as_json()


def test_the_command_says_what_stops_and_what_it_cannot_read(tmp_path: Path) -> None:
    poor = tmp_path / "brief.yaml"
    poor.write_text(changed(fold(), "once: 14000 EUR", "once: 100 EUR"), encoding="utf-8")
    assert CliRunner().invoke(cli, ["options", str(poor)]).exit_code == 1
    poor.write_text(changed(fold(), "stairs: {rating", "stairs: {ratng"), encoding="utf-8")
    refused = CliRunner().invoke(cli, ["options", str(poor)])
    assert isinstance(refused.exception, UserError)
    assert "brief.yaml:" in str(refused.exception)


@pytest.mark.slow
def test_the_book_is_written_with_the_table_beside_it(tmp_path: Path) -> None:
    run = CliRunner().invoke(cli, ["book", "--no-weigh", "--options", "--out", str(tmp_path), str(EXAMPLES["fold"])])
    assert run.exit_code == 0, run.output
    assert json.loads((tmp_path / "options.json").read_text("utf-8"))["rows"]
    assert "The options side by side" in (tmp_path / "book.html").read_text("utf-8")


def scattered(heads: int, rng: random.Random) -> str:
    """A generated office whose services stand anywhere, sensible or not, on one server or two."""
    text = generated_offices.brief(heads)
    for profile in generated_offices.services(heads):
        place = rng.choice(("guest", "guest", "box", "cloud"))
        text = changed(text, f"{{profile: {profile}, down", f"{{profile: {profile}, stands: {place}, down")
    for line in ("premises", "budget", "lines"):
        if rng.random() < 0.2:  # a brief that is silent about it
            text = "\n".join(_without(text.splitlines(), line)) + "\n"
    return text + f"build: {{hosts: {rng.choice((1, 2))}}}\n"


def _without(lines: list[str], key: str) -> list[str]:
    """The brief without one section."""
    kept, inside = [], False
    for line in lines:
        inside = line.startswith(f"{key}:") or (inside and line.startswith(" "))
        kept += [] if inside else [line]
    return kept


def _looked_at(plan: Plan) -> None:
    """Everything that is made of a plan, made."""
    assert json.loads(canonical(plan))
    assert bound(plan).sheets
    assert isinstance(drawings(plan), dict)
    assert list(sheets(plan))


@pytest.mark.slow
def test_no_mixture_of_places_makes_a_plan_stumble(scale: Scale) -> None:
    """Any service anywhere, one server or two, sections left out: a plan, or a sentence for the person."""
    rng, plans, refused = random.Random(7), 0, 0
    for _ in range(scale(short=10, full=50)):
        text = scattered(rng.choice(generated_offices.HEADS), rng)
        try:
            plan = planned(text)
        except UserError:
            refused += 1
        else:
            _looked_at(plan)
            plans += 1
    assert plans > refused


@pytest.mark.parametrize("heads", [5, 20])
def test_generated_offices_have_every_way(heads: int) -> None:
    made = api.options_text(generated_offices.brief(heads))
    assert [option.variant.slug for option in made] == list(WAYS)
    for option in made:
        assert option.plan is not None, option.why_not
        _looked_at(option.plan)
