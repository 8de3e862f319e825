"""The table in each trade's docstring is what the example plans produce: figures, demands, records, codes."""

import importlib
import inspect
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

import pytest
from offices import example, fold, millrace, planned
from option_samples import other_ways
from standing_samples import beside_what_stands

import scantling.disciplines
from scantling.figures import Demand, Slot
from scantling.plan import confirming, laying, purchase
from scantling.plan.make import Plan
from scantling.plan.spine import trades

NAMES = sorted(one.__name__.rpartition(".")[2] for one in trades())
HEADS = ("Figures:", "Demands:", "Findings:", "Records:")
CODE = re.compile(r'"([A-Z]-\d+)"')
PLACE = re.compile(r"<[a-z]+>")


@dataclass(frozen=True, slots=True)
class Table:
    """What a docstring promises: ids with places in angle brackets, and names."""

    figures: tuple[str, ...]
    demands: tuple[str, ...]
    findings: tuple[str, ...]
    records: tuple[str, ...]


def parts(docstring: str) -> Table:
    """Reads the table: the first word of each line under Figures, all words under the other heads."""
    found: dict[str, list[str]] = {head: [] for head in HEADS}
    head = ""
    for line in docstring.splitlines():
        given = next((one for one in HEADS if line.startswith(one)), "")
        head = given or head
        words = line.removeprefix(given).replace(",", " ").split()
        if head == "Figures:":
            found[head] += words[:1] if not given else []
        elif head:
            found[head] += [word.rstrip(".") for word in words]
    return Table(*(tuple(found[one]) for one in HEADS))


@cache
def table(trade: str) -> Table:
    """The table of one trade."""
    return parts(inspect.getdoc(importlib.import_module(f"{scantling.disciplines.__name__}.{trade}")) or "")


@cache
def plans() -> tuple[Plan, ...]:
    """The examples, and the other ways to build them."""
    return planned(millrace()), planned(fold()), example("brackwater"), *other_ways(), *beside_what_stands()


def demands(trade: str) -> set[str]:
    """Ids of the demands of one trade."""
    return {one.id for plan in plans() for by, one in plan.entries.get(Demand, ()) if by == trade}


def figures(trade: str) -> set[str]:
    """Ids of its figures, without those that judge a demand."""
    return {id_ for plan in plans() for id_ in plan.figures if id_.split(".")[0] == trade} - demands(trade)


def fits(pattern: str, id_: str) -> bool:
    """Whether an id is one of those that the pattern stands for; a place is one word of the brief or catalogue."""
    wanted = r"[^.]+".join(re.escape(piece) for piece in PLACE.split(pattern))
    return re.fullmatch(wanted, id_) is not None


def unsaid(patterns: Iterable[str], ids: Iterable[str]) -> list[str]:
    """Ids that no pattern stands for; a plain one is not hidden behind one with places."""
    kept = list(patterns)
    return sorted(id_ for id_ in ids if not any(fits(one, id_) for one in kept))


def unmade(patterns: Iterable[str], ids: Iterable[str]) -> list[str]:
    """Patterns that stand for no id that a plainer pattern does not already stand for."""
    kept, all_ids = list(patterns), list(ids)
    plain = {one for one in kept if "<" not in one}
    return [one for one in kept if not any(fits(one, id_) for id_ in all_ids if one in plain or id_ not in plain)]


trade_by_trade = pytest.mark.parametrize("trade", NAMES)


@trade_by_trade
def test_every_figure_is_in_the_table(trade: str) -> None:
    assert not unsaid(table(trade).figures, figures(trade))


@trade_by_trade
def test_every_line_of_the_table_is_made_by_a_plan(trade: str) -> None:
    assert not unmade(table(trade).figures, figures(trade))


@trade_by_trade
def test_demands_are_those_of_the_table(trade: str) -> None:
    assert set(table(trade).demands) == demands(trade)


@trade_by_trade
def test_records_are_those_of_the_table(trade: str) -> None:
    made = {kind.__name__ for plan in plans() for kind, entries in plan.entries.items() if trade in dict(entries)}
    assert set(table(trade).records) == made


def test_slots_are_named_where_they_are_filled() -> None:
    """Every slot of both plans belongs to a trade whose table says so."""
    owners = {trade for plan in plans() for trade, _ in plan.entries.get(Slot, ())}
    assert owners
    assert all("Slot" in table(trade).records for trade in owners)


def test_codes_are_those_of_the_tables() -> None:
    """What the plans looked at and what the tables promise, together; the purchase is no trade and has its own."""
    looked = {told.finding.code for plan in plans() for told in plan.findings}
    looked |= {finding.code for plan in plans() for finding in plan.checked}
    promised = {code for trade in NAMES for code in table(trade).findings}
    own = {code for room in (purchase, laying, confirming) for code in CODE.findall(inspect.getsource(room))}
    assert promised == looked - own


@trade_by_trade
def test_codes_of_a_trade_stand_in_its_source(trade: str) -> None:
    source = inspect.getsource(importlib.import_module(f"{scantling.disciplines.__name__}.{trade}"))
    assert set(CODE.findall(source)) == set(table(trade).findings)


@trade_by_trade
def test_a_table_names_nothing_twice(trade: str) -> None:
    for names in (table(trade).figures, table(trade).demands, table(trade).findings, table(trade).records):
        assert len(names) == len(set(names))


def test_a_docstring_is_read_as_people_read_it() -> None:
    read = parts(
        "A trade.\n\nFigures:\n    a.<slug>.b    what it is\n    a.c    another\nDemands: a.d a.e\n    a.f\nRecords: Page."
    )
    assert read == Table(("a.<slug>.b", "a.c"), ("a.d", "a.e", "a.f"), (), ("Page",))


def test_what_is_missing_is_told() -> None:
    assert unsaid(["a.<slug>.b"], ["a.x.b", "a.x.c", "a.x.y.b"]) == ["a.x.c", "a.x.y.b"]
    assert unmade(["a.<slug>", "a.c", "a.d"], ["a.c"]) == ["a.<slug>", "a.d"]
