"""The margin's workings: every figure answers, leads further and down to the brief, and can be set by hand."""

import json
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from statistics import median
from time import process_time
from urllib.parse import unquote

import pytest
from conftest import Scale
from office_client import Read, Tab, served
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import breadth_first_order

from scantling import api
from scantling.api.dependents import web_of
from scantling.figures.numbers import in_currency, text
from scantling.figures.quantities import parse
from scantling.plan.telling import everything
from scantling.web.parts import View
from scantling.web.sheets.workings import Asked, told
from scantling.web.working import Teller, pinning, written

SCENARIOS = ("millrace", "fold-and-fell", "brackwater")
HEADS = "people.roles.programme.heads"


@pytest.fixture(scope="module")
def offices(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Tab]]:
    """The three scenarios, only looked at."""
    with (
        served(tmp_path_factory.mktemp("a"), SCENARIOS[0]) as one,
        served(tmp_path_factory.mktemp("b"), SCENARIOS[1]) as two,
        served(tmp_path_factory.mktemp("c"), SCENARIOS[2]) as three,
    ):
        yield dict(zip(SCENARIOS, (one, two, three), strict=True))


@pytest.fixture
def tab(tmp_path: Path) -> Iterator[Tab]:
    """The Millrace, to be changed."""
    with served(tmp_path) as made:
        yield made


def view_of(tab: Tab) -> View:
    return View(tab.desk.state, tab.desk)


@pytest.mark.slow
@pytest.mark.parametrize("name", SCENARIOS)
def test_every_figure_answers_and_every_link_leads_on(offices: dict[str, Tab], name: str, scale: Scale) -> None:
    """Named figures, unnamed inputs, brief lines, rows, rules: each a page of its own; each link in it is one of them."""
    tab = offices[name]
    plan = tab.desk.state.plan
    assert plan is not None
    nodes = web_of(plan).nodes
    assert set(plan.figures) | set(everything(plan)) <= set(nodes)
    for place, address in enumerate(sorted(nodes)):
        if place % scale(short=9, full=1):
            continue
        answer = tab.get(f"working/{address.replace('/', '%2F')}")
        assert answer.status_code == 200, address
        page = Read(answer.text)
        (working,) = page.of("div", data_working=address)
        assert (
            in_currency(text(nodes[address]), plan.currency)[:20] in working.text.replace("\n", " ")
            or len(working.text) > 20
        )
        for link in page.of("a"):
            href = link.attributes["href"]
            if href.startswith("../working/"):
                led_to = unquote(href.removeprefix("../working/").partition("?")[0])
                assert led_to in nodes, f"{address} leads to {led_to}"
                assert link.attributes["data-figure"] == led_to
        for button in page.of("button"):
            assert button.attributes.get("data-turn", address) in nodes


def test_a_working_says_what_the_command_says(offices: dict[str, Tab]) -> None:
    """The first line of `why`, and its inputs with their values, in their order."""
    tab = offices["millrace"]
    plan = tab.desk.state.plan
    assert plan is not None
    for id_ in ("money.total", "people.peak", "host.memory.needed", "purchase.host", "arrays.bulk.lost"):
        first, *others = api.why(plan, id_)
        page = Read(tab.get(f"working/{id_}").text)
        whole = " ".join(page.text.split())
        assert first.label in whole
        assert " ".join(first.working.split())[:300] in whole
        turns = [one.attributes["data-turn"] for one in page.of("button") if "data-turn" in one.attributes]
        assert turns == [line.address for line in others if line.depth == 1]


def test_a_line_is_opened_in_place_and_stays_open(offices: dict[str, Tab]) -> None:
    """One level alone, and the whole tree with lines that were open."""
    tab = offices["millrace"]
    level = Read(tab.get("working/money.net?level=1").text)
    assert [one.attributes["data-turn"] for one in level.of("button")] == ["money.sum", "money.contingency"]
    assert not level.of("div", data_working="money.net")
    tree = Read(tab.get("working/money.total?open=money.net&open=money.sum").text)
    opened = [one.attributes["data-turn"] for one in tree.of("button", aria_expanded="true")]
    assert opened == ["money.net", "money.sum"]
    assert "money.server" in [one.attributes.get("data-turn") for one in tree.of("button")]


def test_down_to_the_brief_with_the_field_itself(offices: dict[str, Tab]) -> None:
    page = Read(offices["millrace"].get(f"working/brief.{HEADS}").text)
    assert f"../sheet/brief?at={HEADS}" in [one.attributes.get("href") for one in page.of("a")]
    (line,) = page.of("input", data_answer=HEADS)
    assert line.attributes["value"] == "12"
    row = Read(offices["millrace"].get("working/catalogue.labour.consultant.hourly").text)
    assert "85.00 EUR/h" in row.text
    rule = Read(offices["millrace"].get("working/house.money.hours-survey").text)
    told_ = {head.text: one.text for head, one in zip(rule.of("th"), rule.of("td"), strict=True)}
    assert told_ == {
        "rule": "money.hours-survey", "as written": "6 h", "usual range": "3 to 10 h",
        "reason": "interview, walk round, photographs", "source": "common practice, no source",
    }  # fmt: skip


@pytest.mark.parametrize("name", SCENARIOS)
def test_what_rests_on_it_against_a_graph_library(offices: dict[str, Tab], name: str) -> None:
    """Scipy reckons what can be reached by a matrix of the figures as objects, named or not (csgraph, breadth first)."""
    plan = offices[name].desk.state.plan
    assert plan is not None
    places: dict[str | int, int] = {}
    rests: list[tuple[int, int]] = []
    waiting = list(plan.figures.values())
    while waiting:
        figure = waiting.pop()
        here = places.setdefault(figure.id or id(figure), len(places))
        for parent in figure.parents():
            known = (parent.id or id(parent)) in places
            rests.append((places.setdefault(parent.id or id(parent), len(places)), here))
            waiting += [] if known else [parent]
    below, above = zip(*rests, strict=True)
    matrix = csr_matrix(([1] * len(rests), (below, above)), shape=(len(places), len(places)))
    names, web = list(places), web_of(plan)
    for leaf in [id_ for id_ in names if isinstance(id_, str)][::11]:
        reached = breadth_first_order(matrix, places[leaf], return_predecessors=False)
        expected = ({names[place] for place in reached} - {leaf}) & set(plan.figures)
        found = web.resting_on(leaf, most=10**6)
        assert {figure.id for figure in found.nearest} == expected, leaf
        assert found.count == len(expected)


@pytest.mark.parametrize("name", SCENARIOS)
def test_what_a_pin_offers_reads_back_as_the_value(offices: dict[str, Tab], name: str) -> None:
    """The reader of the brief takes every prefilled value for the figure's own, to the nine digits of the plan's JSON."""
    plan = offices[name].desk.state.plan
    assert plan is not None
    offered, empty = 0, list[str]()
    for id_, figure in plan.figures.items():
        if pinning(plan, id_, figure) is None or figure.unit.kind is str:
            continue
        words = written(figure, plan.currency)
        if not words:
            empty.append(id_)
            continue
        value = parse(words, figure.unit, plan.currency)[0]
        offered += 1
        if isinstance(figure.value, float):
            assert value == pytest.approx(figure.value, rel=1e-8), id_
        else:
            assert value == figure.value, id_
    assert offered > 200
    assert len(empty) <= 6, "a serial number, an amount without end: none of these is an answer"


def test_pinned_with_a_reason_and_taken_off_again(tab: Tab) -> None:
    """Two lines of the brief; taken off, the brief is what it was, byte for byte."""
    before = tab.desk.brief.read_bytes()
    answer = tab.post("pin", id="people.peak", value="60", because="counted at the last <b>gala</b>")
    page = Read(answer.text)
    assert "Pinned: people.peak to 60." in page.text
    assert "Pinned by hand to 60: counted at the last <b>gala</b>" in " ".join(page.text.split())
    plan = tab.desk.state.plan
    assert plan is not None
    assert plan.figures["people.peak"].value == 60
    assert tab.desk.state.moved["people.peak"][1] == "60"
    tab.post("unpin", id="people.peak")
    assert tab.desk.brief.read_bytes() == before


def test_a_pin_without_a_reason_or_of_another_unit_is_refused(tab: Tab) -> None:
    before = tab.desk.brief.read_bytes()
    for value, because, says in (
        ("60", " ", "needs its reason"),
        ("", "x", "Write the value"),
        ("60 GiB", "x", "a bare number is wanted"),
    ):
        page = Read(tab.post("pin", id="people.peak", value=value, because=because).text)
        (line,) = page.of("p", id="said")
        assert (line.attributes["role"], says in line.text) == ("alert", True), line.text
    assert tab.desk.brief.read_bytes() == before


def test_what_a_pin_costs_is_told(tab: Tab) -> None:
    """As `plan` tells it on a terminal, once it is reckoned."""
    plan = tab.desk.state.plan
    assert plan is not None
    dearer = max(plan.purchase.slots[0].options, key=lambda one: one.price)
    slot = plan.purchase.slots[0].id
    chosen = plan.purchase.chosen.options[slot].price
    tab.desk.set({f"pins.purchase.{slot}": dearer.slug}, because="to see")
    whole = api.plan(tab.desk.brief)
    (price,) = whole.pin_prices
    assert price.purchase >= dearer.price - chosen > Decimal(0)
    state = tab.desk.state
    assert state.planned is not None
    view = View(type(state)(planned=api.Planned(state.planned.inputs, whole), text=state.text), tab.desk)
    assert f"Costs {price.purchase:,.2f} EUR more than without" in str(told(view, f"purchase.{slot}"))


def test_what_moved_is_told_before_and_after(tab: Tab) -> None:
    tab.desk.set({HEADS: "20"})
    page = Read(tab.get("working/people.heads").text)
    (moved,) = page.of("p", class_="moved")
    assert " ".join(moved.text.split()) == "64 → 72"
    again = tab.get("working/people.heads?again=1")
    assert again.status_code == 200


def test_the_same_working_is_not_sent_again(offices: dict[str, Tab]) -> None:
    tab = offices["millrace"]
    (place,) = Read(tab.get("working/people.heads").text).of("div", id="working")
    stamps = json.dumps({"working": place.attributes["data-stamp"]})
    assert tab.get("working/people.heads?again=1", had=stamps).text == ""
    assert tab.get("working/people.heads?again=1").text != ""


def test_without_scripts_it_is_a_page(offices: dict[str, Tab], tab: Tab) -> None:
    page = Read(offices["millrace"].get("working/rules.list%2Fr-10001", page=True).text)
    assert page.of("html")
    assert page.of("nav", id="sheet-list")
    assert page.of("div", data_working="rules.list/r-10001")
    led = offices["millrace"].get("working/rules.list/r-10001", page=True)
    assert (led.status_code, led.headers["location"]) == (303, "../../working/rules.list%2Fr-10001")
    pinned = tab.post("pin", page=True, id="people.peak", value="60", because="counted")
    assert (pinned.status_code, pinned.headers["location"]) == (303, "working/people.peak")


def test_an_unknown_figure_is_told_with_the_nearest(offices: dict[str, Tab]) -> None:
    answer = offices["millrace"].get("working/people.head")
    assert answer.status_code == 200
    assert "did you mean people.heads" in Read(answer.text).text


def test_fast_enough(offices: dict[str, Tab]) -> None:
    """Under 20 ms of the processor's time, warm, in the median; the largest tree of lines too."""
    view = view_of(offices["millrace"])
    took = []
    for id_ in (
        "money.total",
        "purchase.host",
        "rules.list",
        f"brief.{HEADS}",
        "catalogue.host.tower-mid-8.price",
    ) * 4:
        begun = process_time()
        told(view, id_, Asked(("money.net", "money.sum")))
        took.append(process_time() - begun)
    assert median(took[5:]) < 0.020


def test_tables_can_not_be_pinned(offices: dict[str, Tab]) -> None:
    plan = offices["millrace"].desk.state.plan
    assert plan is not None
    assert pinning(plan, "people.present", plan.figures["people.present"]) is None
    assert pinning(plan, f"brief.{HEADS}", Teller(view_of(offices["millrace"])).figure(f"brief.{HEADS}")) is None
