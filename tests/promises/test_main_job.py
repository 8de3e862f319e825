"""The promises of the main job: figures, brief, catalogue, trades, purchase and findings."""

import re
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest
from offices import changed, codes, fold, millrace, planned
from test_tables import plans

from scantling import UserError, api
from scantling.figures import Cost, Demand, Figure, Ledger, Origin, Service, Slot, Table
from scantling.figures.gathering import Gathering
from scantling.figures.rules import Rule
from scantling.handbook.arrays import Level, parity_disks
from scantling.handbook.choosing import Search
from scantling.plan.laying import laid
from scantling.plan.make import planned_functions
from scantling.plan.spine import Book, run, trades
from scantling.plan.telling import everything
from scantling.standing import NOTHING

KINDS = {"brief", "catalogue", "standard", "standing", "house rule"}
TRADES = {"people", "premises", "line", "machines", "storage", "zones", "addresses", "backup", "power", "money"}
ROWS = {"host": 8, "processor": 10, "module": 5, "disk": 12, "ups": 4, "backup": 4, "cabinet": 2}
PROFILES = {
    "directory", "names and addresses", "files", "wireless controller", "network monitor", "content filter", "firewall",
    "backup", "business application", "database", "print", "remote access", "camera recorder",
}  # fmt: skip


def leaves(figure: Figure[Any], seen: set[int]) -> list[Figure[Any]]:
    """Figures without inputs below one."""
    if id(figure) in seen:
        return []
    seen.add(id(figure))
    under = list(figure.parents())
    return [leaf for parent in under for leaf in leaves(parent, seen)] if under else [figure]


def refused(text: str) -> str:
    """What is said of a brief that can't be used."""
    with pytest.raises(UserError) as caught:
        api.plan_text(text)
    return str(caught.value)


def table_of(trade: ModuleType) -> list[str]:
    """The ids in a trade's docstring, demands included."""
    told = trade.__doc__ or ""
    figures = re.search(r"^Figures:\n((?: {4}.*\n)+)", told, re.MULTILINE)
    demands = re.search(r"^Demands: ((?:.*\n)(?: {4}.*\n)*)", told, re.MULTILINE)
    listed = [line.split()[0] for line in figures[1].splitlines()] if figures else []
    return listed + (demands[1].split() if demands else [])


def matches(pattern: str, id_: str) -> bool:
    """Whether an id is one of a pattern with places in angle brackets."""
    return bool(re.fullmatch(re.sub(r"<[a-z]+>", "[a-z0-9-]+", re.escape(pattern)), id_))


@pytest.mark.parametrize("text", [millrace(), fold()], ids=["millrace", "fold"])
def test_every_number_explains_itself(text: str) -> None:
    """Every figure of a plan leads to a brief line, a catalogue row, a standard or a house rule, and says how."""
    plan = planned(text)
    assert len(plan.figures) > 200
    for figure in plan.figures.values():
        assert figure.id
        assert figure.label
        assert figure.how.working(figure)
        for leaf in leaves(figure, set()):
            known = isinstance(leaf.how, Origin) and leaf.how.kind in KINDS and leaf.how.where
            nothing = isinstance(leaf.how, Gathering) and leaf.value == 0  # the sum of no things at all
            assert known or nothing, f"{figure.id}: {leaf!r} comes from nowhere"


def test_every_rule_names_its_source() -> None:
    """Every rule, method and table behind the plan names where it comes from."""
    hows = {f.how for f in everything(planned(millrace())).values() if isinstance(f.how, (Rule, Table))}
    assert hows
    assert all(how.source.name and how.source.kind for how in hows)


def test_the_trades_are_there() -> None:
    """People, premises, line, machines, storage, zones, addresses, backup, power and money are trades of their own."""
    assert {module.__name__.rsplit(".", maxsplit=1)[-1] for module in trades()} >= TRADES


@pytest.mark.parametrize("text", [millrace(), fold()], ids=["millrace", "fold"])
def test_each_trade_lists_the_figures_it_makes(text: str) -> None:
    """The table in a trade's docstring lists every figure the trade makes."""
    for module in trades():
        name = module.__name__.rsplit(".", maxsplit=1)[-1]
        made = [id_ for id_ in planned(text).figures if id_.startswith(f"{name}.")]
        patterns = table_of(module)
        assert patterns, name
        unlisted = [id_ for id_ in made if not any(matches(pattern, id_) for pattern in patterns)]
        assert not unlisted, f"{name}: {unlisted}"


def test_no_trade_lists_what_it_never_makes() -> None:
    """Nothing in those tables is idle: the offices, and the other ways to plan them, together make all of it."""
    made = {id_ for plan in plans() for id_ in plan.figures}
    idle = [p for module in trades() for p in table_of(module) if not any(matches(p, id_) for id_ in made)]
    assert not idle


def test_mistakes_come_all_at_once() -> None:
    """All mistakes of a brief are told at once, each with file, line, column and the nearest right word."""
    text = changed(changed(fold(), "heads: 4", "hedas: 4"), "profile: files", "profile: filez")
    told = refused(changed(text, "noise: 38 dB", "noise: 38 kg")).splitlines()
    places = [re.match(r"brief\.yaml:\d+:\d+: ", line) for line in told]
    assert len(told) == 3
    assert all(places)
    assert "heads?" in told[0]
    assert "dB" in told[1]
    assert "files?" in told[2]


@pytest.mark.parametrize(
    ("wrong", "right"), [("1,5 TB", "1.5 TB"), ("10 Mb", "10 MB"), ("64 G", "64 GB"), ("1.5 TBs", "TB")]
)
def test_units_are_exact(wrong: str, right: str) -> None:
    """A unit in the wrong spelling is refused with the right one."""
    said = refused(changed(fold(), "size: 2.2 TB", f"size: {wrong}"))
    assert right in said


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("name: Fold", "name: &a Fold"), ("name: Fold", "name: !!str Fold"), ("  country: IE", "  country: IE\n  country: IE"),
        ("as_of: 2026-11-25", "as_of: 2026-11-31"), ("office:", "[" * 500 + "]" * 500 + ": x\noffice:"),
        ("office:", "#\n" * 5001 + "office:"), ("office:", "#" + "x" * 1_000_001 + "\noffice:"), ("office:", "\x00office:"),
    ],
)  # fmt: skip
def test_what_is_no_plain_brief_is_refused(old: str, new: str) -> None:
    """Anchors, tags, doubled words, bad dates, 500 brackets, endless and binary files are refused in plain words."""
    said = refused(changed(fold(), old, new))
    assert said.startswith("brief.yaml:")
    assert "Traceback" not in said


def test_schema_and_reference_page_come_from_the_code() -> None:
    """The JSON Schema and the reference page are made from the same sections that read a brief."""
    page, schema = api.reference_page(), api.json_schema()
    for section in api.known_sections():
        name = section.key
        assert f"## {name}" in page
        assert f'"{name}"' in schema


def test_the_catalogue_makes_choosing_real() -> None:
    """At least sixty invented rows: hosts, processors, modules, disks, batteries, backup targets, cabinets, labour."""
    catalogue = api.stock().catalogue
    assert sum(len(rows) for rows in catalogue.rows.values()) >= 60
    for kind, least in ROWS.items():
        assert len(catalogue.every(kind)) >= least, kind
    hosts = catalogue.every("host")
    assert {row.values["sockets"] for row in hosts} == {1, 2}
    assert {row.values["shape"] for row in hosts} == {"tower", "short rack", "full rack"}
    assert {row.values["bays"] for row in hosts} >= {4, 8, 12}
    assert {row.values["medium"] for row in catalogue.every("disk")} == {"spinning", "solid state"}
    assert catalogue.every("labour")


def test_every_service_has_a_profile() -> None:
    """Thirteen service profiles say what is fixed and what each user adds."""
    rows = api.stock().catalogue.every("profile")
    assert {str(row.values["name"]) for row in rows} >= PROFILES
    assert all("cores_fixed" in row.values and "cores_each" in row.values for row in rows)


def test_house_rules_carry_range_reason_and_source() -> None:
    """Every house rule has its range, its reason and its source."""
    lines = api.stock().house.lines
    assert len(lines) > 50
    assert all(line.range and line.reason and line.source for line in lines.values())


def test_a_mirror_pair_keeps_half() -> None:
    """What an array gives to safety comes from level and disk count together."""
    assert [parity_disks(Level.MIRROR, 2), parity_disks(Level.PAIRS, 8)] == [1, 4]
    assert [parity_disks(Level.SINGLE_PARITY, n) for n in (3, 8)] == [1, 1]
    assert [parity_disks(Level.DOUBLE_PARITY, n) for n in (4, 8)] == [2, 2]


def test_the_busiest_day_sizes_the_visitors_pool() -> None:
    """Visitors' addresses come from the day profile, lease, take-up and devices that come back as new ones included."""
    plan = planned(millrace())
    peak, pool = plan.figures["addresses.visitors.peak"], plan.figures["addresses.visitors.pool"]
    assert peak.value == pytest.approx(450 * 0.55 * 1.2 * 1.1)
    assert pool.value > peak.value
    assert len(plan.figures["addresses.visitors.taken"].value.values) == 96


def test_every_service_has_its_restore_time_against_its_tolerance() -> None:
    """A file, a machine, the server: each has a time to come back, and every service's is held against the client's."""
    for text in (millrace(), fold()):
        plan = planned(text)
        for slug in ("backup.near.file", "backup.near.machine", "backup.near.server"):
            assert plan.figures[slug].value > 0
        for service in plan.records(Service):
            assert f"restore.{service.slug}.hours" in plan.figures
        late = {t.finding.about for t in plan.findings if t.finding.code == "B-3"}
        assert late <= {service.slug for service in plan.records(Service)}


def test_the_price_adds_up() -> None:
    """Parts, work, allowances and contingency come to the net price, tax makes the total, to the cent."""
    for text in (millrace(), fold()):
        got = {id_: f.value for id_, f in planned(text).figures.items() if id_.startswith("money.")}
        parts = sum(v for id_, v in got.items() if id_.startswith("money.parts."))
        work = sum(v for id_, v in got.items() if id_.startswith("money.labour.") and id_.endswith(".price"))
        assert got["money.labour.total"] == work
        assert got["money.server"] + got["money.copies"] + got["money.other"] == parts
        assert got["money.sum"] == parts + work + got["money.radio.price"]
        assert got["money.net"] == got["money.sum"] + got["money.contingency"]
        assert got["money.total"] == got["money.net"] + got["money.tax"]


def asked(text: str) -> Book:
    """All that the trades ask of the purchase."""
    book, read = Book(), api.inputs(text, "brief.yaml", api.stock())
    run([one for one in planned_functions() if not one.late], read.all(), Ledger(read.pins), book)
    return book


@pytest.mark.parametrize("text", [millrace(), fold()], ids=["millrace", "fold"])
@pytest.mark.parametrize("slot", ["host", "processor", "ups", "near", "away"])
def test_no_other_article_is_cheaper(text: str, slot: str) -> None:
    """With any other article in one place, the cheapest set that meets every demand is dearer, or there is none."""
    plan, book = planned(text), asked(text)
    slots, demands, costs = laid(book.every(Slot), NOTHING), book.every(Demand), book.every(Cost)
    (best,) = Search(slots, demands, costs).best(1)
    assert {
        slot.id: option.slug for slot, option in zip(sorted(slots, key=lambda s: s.id), best.options, strict=True)
    } == {slot: option.slug for slot, option in plan.purchase.chosen.options.items()}
    (offered,) = [one for one in slots if one.id == slot]
    others = [option for option in offered.options if option.slug != plan.purchase.chosen.options[slot].slug]
    assert others
    for other in others:
        held = [replace(one, options=(other,)) if one.id == slot else one for one in slots]
        assert all(found.price >= best.price for found in Search(held, demands, costs).best(1)), other.slug


def test_when_nothing_fits_one_need_gives_way() -> None:
    """If nothing meets all needs, the cheapest set under one easing is bought, and it is said what gave way."""
    plan = planned(changed(fold(), "noise: 38 dB", "noise: 20 dB"))
    assert plan.provisional
    easing = plan.purchase.easing
    assert easing is not None
    assert easing.demand.id == "premises.noise.heard"
    assert float(easing.reached) > 20
    assert "P-1" in codes(plan)


def test_at_least_twenty_findings_matter() -> None:
    """At least twenty different findings are looked for in every plan, each with a remedy."""
    plan = planned(millrace())
    looked = [told.finding for told in plan.findings] + list(plan.checked)
    assert len({finding.code for finding in looked}) >= 20
    assert all(finding.remedy.strip() and finding.says.strip() for finding in looked)
