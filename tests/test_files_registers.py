"""The registers as files: read back by csv and openpyxl and compared with the plan's records cell by cell."""

from dataclasses import replace
from ipaddress import ip_address
from typing import Any

import pytest

from hostile import EVERYTHING
from offices import BRIEFS, changed, example, millrace, planned
from register_files import BOOK, book, by, cells, column, comma_files, files, parts, separated, sheet_rows
from scantling import api
from scantling.figures import (
    Address, Address6, Figure, Flow, Leg, Line, Name, Origin, OutsideName, Pool, Prefix, Range, Reservation, RuleSet, Subnet, Zone,
    text,
)  # fmt: skip
from scantling.figures.units import WORD
from scantling.outputs.files import FilesError, register_book
from scantling.outputs.files.register_rows import registers
from scantling.outputs.files.tables import NONE_PLANNED, harmless, plain, printable
from scantling.outputs.files.tables import separated as as_separated
from scantling.plan.make import Plan

SHEETS = [
    "zones", "subnets", "pools-and-ranges", "addresses", "names", "outside-names", "lines", "intents", "rules",
]  # fmt: skip
KINDS = (
    Zone,
    Subnet,
    Pool,
    Range,
    Address,
    Address6,
    Prefix,
    Reservation,
    Name,
    OutsideName,
    Line,
    Leg,
    Flow,
    RuleSet,
)
every_office = pytest.mark.parametrize("name", BRIEFS)


@every_office
def test_both_sorts_of_file_hold_the_same_cells(name: str) -> None:
    """Python's csv and openpyxl read the same table, which is the plan's own."""
    plan = example(name)
    comma, workbook = comma_files(plan), book(files(plan)[BOOK].content)
    assert workbook.sheetnames == ["about", *SHEETS]
    assert list(comma) == SHEETS
    for table in registers(plan):
        whole = [list(table.heads), *([printable(str(cell)) for cell in row] for row in table.lines())]
        assert comma[table.slug] == whole, table.slug
        assert sheet_rows(workbook[table.slug]) == whole, table.slug


@every_office
def test_zones_and_subnets_are_those_of_the_plan(name: str) -> None:
    plan, found = example(name), comma_files(example(name))
    zones, nets = by(found["zones"], "zone"), by(found["subnets"], "zone")
    assert list(zones) == [zone.slug for zone in plan.records(Zone)]
    for zone in plan.records(Zone):
        assert zones[zone.slug]["network number"] == text(zone.number)
        assert zones[zone.slug]["devices"] == text(zone.devices)
        assert zones[zone.slug]["name"] == zone.name
    for subnet in plan.records(Subnet):
        assert (nets[subnet.slug]["IPv4 network"], nets[subnet.slug]["IPv4 gateway"]) == (
            str(subnet.network),
            str(subnet.gateway),
        )
    for prefix in plan.records(Prefix):
        assert (nets[prefix.slug]["IPv6 network"], nets[prefix.slug]["IPv6 gateway"]) == (
            str(prefix.network),
            str(prefix.gateway),
        )
    ports = {leg.zone: leg.interface for leg in plan.records(Leg)}
    assert {zone: row["port of the firewall"] for zone, row in nets.items()} == {zone: ports[zone] for zone in nets}


@every_office
def test_every_pool_and_range_is_there_once(name: str) -> None:
    plan, rows = example(name), comma_files(example(name))["pools-and-ranges"]
    runs: list[Pool | Range] = [*plan.records(Pool), *plan.records(Range)]
    wanted = sorted((str(one.first), str(one.last), str(int(one.last) - int(one.first) + 1)) for one in runs)
    assert sorted(zip(column(rows, "first"), column(rows, "last"), column(rows, "addresses"), strict=True)) == wanted
    nets = {subnet.slug: subnet.network for subnet in plan.records(Subnet)}
    for zone, first in zip(column(rows, "zone"), column(rows, "first"), strict=True):
        assert ip_address(first) in nets[zone]
    lent = by(rows, "run")
    for pool in plan.records(Pool):
        assert (lent[pool.slug]["for"], lent[pool.slug]["lent for"]) == ("lent for a time", text(pool.lease))


@every_office
def test_every_address_is_there_once_with_its_holder_and_name(name: str) -> None:
    """Nothing given twice, nothing left out, in either family."""
    plan, rows = example(name), comma_files(example(name))["addresses"]
    every: list[Address | Address6 | Reservation] = [
        *plan.records(Address), *plan.records(Address6), *plan.records(Reservation),
    ]  # fmt: skip
    given = [(one.zone, one.holder, str(one.address)) for one in every]
    told = [
        (row["zone"], row["held by"], address)
        for row in by(rows, "entry").values() for family in ("IPv4", "IPv6") for address in row[family].split(", ") if address
    ]  # fmt: skip
    assert sorted(told) == sorted(set(given))
    names = {str(address): one.name for one in plan.records(Name) for address in one.addresses}
    for row in by(rows, "entry").values():
        own = {
            names.get(address, "") for family in ("IPv4", "IPv6") for address in row[family].split(", ") if address
        }
        assert set(row["name"].split(", ")) - {""} == own - {""}


def test_hardware_addresses_stand_beside_the_address() -> None:
    """Of what a survey found."""
    kit = 'kit:\n  lp: {name: Printer, kind: printer, do: keep, zone: staff, hardware_address: "00:00:5e:00:53:01"}\n'
    plan = api.plan_text(millrace(), stands=kit)
    kept = [one for one in plan.records(Reservation) if one.holder == "lp"]
    assert kept
    row = by(comma_files(plan)["addresses"], "held by")["lp"]
    assert row["hardware address"] == "00:00:5e:00:53:01"
    assert {row["IPv4"], row["IPv6"]} - {""} == {str(one.address) for one in kept}


@every_office
def test_names_outside_names_and_lines_are_those_of_the_plan(name: str) -> None:
    plan, found = example(name), comma_files(example(name))
    assert column(found["names"], "name") == [one.name for one in plan.records(Name)]
    assert column(found["names"], "borne by") == [one.holder for one in plan.records(Name)]
    assert column(found["outside-names"], "name") == [one.name for one in plan.records(OutsideName)]
    wanted = [one.expires.isoformat() if one.expires else "not given" for one in plan.records(OutsideName)]
    assert column(found["outside-names"], "expires") == wanted
    lines = by(found["lines"], "line")
    for line in plan.records(Line):
        row = lines[line.slug]
        assert (row["to the office"], row["hand-off"]) == (text(line.down), text(line.handoff))
        assert row["contract ends"] == (text(line.ends) if line.ends is not None else "not given")
        assert row["port of the firewall"].startswith("outside-")


@every_office
def test_every_intent_and_rule_is_there_in_its_order(name: str) -> None:
    plan, found = example(name), comma_files(example(name))
    flows, (rules,) = plan.records(Flow), plan.records(RuleSet)
    assert column(found["intents"], "intent") == [flow.slug for flow in flows]
    assert column(found["intents"], "why") == [flow.why for flow in flows]
    assert column(found["intents"], "what") == [", ".join(map(str, sorted(flow.carried))) for flow in flows]
    assert all(column(found["intents"], "rests on"))
    assert column(found["rules"], "number") == [rule.slug for rule in rules.rules]
    assert column(found["rules"], "verdict") == [rule.verdict.value for rule in rules.rules]
    for head, field in (("from", "sources"), ("from all but", "not_sources"), ("to", "targets")):
        assert column(found["rules"], head) == [", ".join(map(str, getattr(rule, field))) for rule in rules.rules]


def test_hours_and_the_line_of_the_brief_are_told() -> None:
    row = by(comma_files(example("millrace"))["intents"], "intent")["allow-ticket-help"]
    assert row["hours"] == "tue-fri 10:00-16:00"
    assert "traffic.allow.ticket-help" in row["rests on"]


def test_a_register_of_nothing_says_so() -> None:
    """Without records every sheet has its heads and two words."""
    bare = replace(planned(millrace()), entries={})
    assert all(rows[1:] == [[NONE_PLANNED, *[""] * (len(rows[0]) - 1)]] for rows in comma_files(bare).values())
    workbook = book(files(bare)[BOOK].content)
    assert all(workbook[sheet]["A2"].value == NONE_PLANNED for sheet in SHEETS)
    assert [row[2] for row in sheet_rows(workbook["about"])[-len(SHEETS) :]] == ["0"] * len(SHEETS)


def test_the_same_plan_gives_the_same_bytes() -> None:
    """The spreadsheet's own dates are the plan's day; nothing of the machine or the hour is in it."""
    first = files(planned(millrace()))
    again = files(api.plan_text(millrace() + "\n# another remark\n"))
    assert {path: one.content for path, one in first.items()} == {path: one.content for path, one in again.items()}
    core = parts(first[BOOK].content)["docProps/core.xml"].decode()
    assert "2026-11-25T00:00:00Z" in core
    assert core.count("T00:00:00Z") == core.count("W3CDTF") == 2
    later = files(planned(changed(millrace(), "as_of: 2026-11-25", "as_of: 2026-11-26")))
    assert b"2026-11-26T00:00:00Z" in parts(later[BOOK].content)["docProps/core.xml"]


@pytest.mark.parametrize("typed", ["=1+1", "+1", "-1", "@SUM(1)", "\uff1d1+1", "=cmd|'/c calc'!A1"])
def test_what_looks_like_a_formula_gets_a_mark(typed: str) -> None:
    """An apostrophe before it: a spreadsheet then shows the text (the OWASP page on CSV injection)."""
    assert harmless(typed) == "'" + typed
    assert as_separated(["head"], [[typed]]).split(b"\r\n")[1].strip(b'"').startswith(b"'")


def test_tabs_and_line_breaks_are_told_by_their_number() -> None:
    """So that no field begins with one, and no line of the file is broken."""
    assert harmless("\t=1") == "<U+0009>=1"
    assert harmless("\r=1\n") == "<U+000D>=1<U+000A>"
    assert separated(as_separated(["a"], [["two\r\nlines"]])) == [["a"], ["two<U+000D><U+000A>lines"]]


@pytest.mark.parametrize("typed", EVERYTHING)
def test_a_field_reads_back_as_it_was(typed: str) -> None:
    """Whatever it is; only what can't be printed is told by its number. Marks are taken off exactly."""
    for words in (typed, f"'{typed}", f"''{typed}"):
        assert plain(harmless(words)) == printable(words)
        assert not harmless(words).startswith(tuple("=+-@\t\r\n"))
        assert separated(as_separated(["a", "b"], [[words, "x"]])) == [["a", "b"], [printable(words), "x"]]


FEW = 12
"""So many rules are enough to see what becomes of words in them."""
TYPED: dict[type[Any], tuple[str, ...]] = {
    Zone: ("name",), Line: ("name", "provider", "contact"), OutsideName: ("name", "registrar", "owner", "answers"),
    Name: ("name", "aliases"), Flow: ("name", "why"), Reservation: ("hardware_address", "holder"),
}  # fmt: skip
"""Fields of records that hold what somebody typed."""


def hostile_plan(words: str) -> Plan:
    """The example with the same words wherever a register has what somebody typed."""
    plan = planned(millrace())
    said = Figure(words, WORD, Origin("brief", "typed"))
    shapes = {"provider": said, "contact": said, "answers": (words,), "aliases": (words, words)}

    def typed(kind: type[Any], record: Any) -> Any:
        if kind is RuleSet:
            few = record.rules[:FEW]
            return replace(record, rules=tuple(replace(rule, comment=words, target_set=words) for rule in few))
        fields = {field: shapes.get(field, words) for field in TYPED.get(kind, ())}
        ends = (
            {"source": replace(record.source, label=words), "target": replace(record.target, label=words)}
            if kind is Flow
            else {}
        )
        return replace(record, **fields, **ends)

    entries = {kind: [(trade, typed(kind, record)) for trade, record in plan.entries.get(kind, ())] for kind in KINDS}
    entries[Flow] = entries[Flow][:FEW]
    return replace(plan, entries=entries)


ESCAPES = ("_x0041_", "=_x0041_")
"""What the format itself would read as another letter (ISO/IEC 29500-1, 22.9.2.19)."""


@pytest.mark.parametrize("words", EVERYTHING + ESCAPES)
def test_hostile_words_stay_words_in_every_register(words: str) -> None:
    """No formula, no link, no other cell; both files read back as what was typed."""
    plan = hostile_plan(words)
    made = files(plan)
    every = cells(made[BOOK].content)
    assert {cell.data_type for cell in every} <= {"s", "n"}
    assert all(cell.hyperlink is None for cell in every)
    inside = parts(made[BOOK].content)
    assert not [name for name in inside if "external" in name.lower() or "vba" in name.lower()]
    assert not any(
        b"<f>" in content or b"<f " in content for name, content in inside.items() if "worksheets/" in name
    )
    comma, workbook = comma_files(plan), book(made[BOOK].content)
    for table in registers(plan):
        whole = [list(table.heads), *([printable(str(cell)) for cell in row] for row in table.lines())]
        assert comma[table.slug] == whole, table.slug
        assert sheet_rows(workbook[table.slug]) == whole, table.slug
    assert printable(words) in column(comma["zones"], "name")


def test_letters_that_the_format_would_change_are_told_by_their_number() -> None:
    assert register_book.in_cell("_x005F_x0041_") == "<U+005F>x005F_x0041_"
    workbook = book(files(hostile_plan("a _x000D_x0041_ b"))[BOOK].content)
    assert workbook["zones"]["C2"].value == "a <U+005F>x000D_x0041_ b"


def test_a_text_too_long_for_a_cell_is_refused() -> None:
    """32,767 letters (ISO/IEC 29500-1, 18.18.96 ST_Xstring as programs take it; common practice, no source)."""
    with pytest.raises(FilesError, match="40,000 letters is too long"):
        register_book.workbook(hostile_plan("W" * 40_000))
