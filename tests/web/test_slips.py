"""Slips: every thing of every drawing has one, and every number in it is the plan's."""

import re
from collections.abc import Iterator
from ipaddress import IPv4Address, IPv4Network

import pytest

from offices import changed, millrace, planned
from drawing_plans import plan_of
from scantling.figures import Address, Device, Flow, Place, Pool, Reservation, Subnet, Verdict, Zone
from scantling.figures.figure import Figure
from scantling.figures.numbers import text
from scantling.figures.pages import Block, Facts, Prose, Ruled
from scantling.outputs.drawings.drawn import drawings, one as one_drawing
from scantling.plan.telling import everything
from scantling.web.drawing import slip_html
from scantling.web.interactive import touchable, touches
from scantling.web.parts import View
from scantling.web import slips
from scantling.web.slips import KINDS, Names, NoSuchThingError, names, slip
from scantling.web.slips.addressed import uses

SCENARIOS = ("millrace", "fold", "brackwater")
LAYERS = ("owner", "technician")
every = pytest.mark.parametrize("scenario", SCENARIOS)


def touched(scenario: str) -> list[tuple[str, str]]:
    """Everything that can be touched on the drawings of an office, by kind and slug."""
    found = dict.fromkeys(touch for svg in drawings(plan_of(scenario)).values() for touch in touches(svg))
    return [(kind, slug) for touch in found for kind, _, slug in [touch.partition("/")]]


def cells(block: Block) -> Iterator[object]:
    """All values of a block."""
    if isinstance(block, Facts):
        yield from (value for _, value in block.rows)
    elif isinstance(block, Ruled):
        yield from (value for row in block.rows for value in row)


@every
@pytest.mark.parametrize("layer", LAYERS)
def test_everything_that_can_be_touched_has_a_slip(scenario: str, layer: str) -> None:
    """In both layers, and it says something."""
    plan, found = plan_of(scenario), touched(scenario)
    assert {kind for kind, _ in found} <= KINDS.keys()
    for kind, slug in found:
        told = slip(plan, kind, slug, layer)
        assert told.title
        assert told.blocks, (kind, slug)


@every
def test_every_figure_in_a_slip_is_the_plans(scenario: str) -> None:
    """The very object that stands behind the plan, so that its working can be opened."""
    plan = plan_of(scenario)
    known = everything(plan)
    slips = [slip(plan, kind, slug, layer) for kind, slug in touched(scenario) for layer in LAYERS]
    values = [value for told in slips for block in told.blocks for value in cells(block)]
    shown = [value for value in values if isinstance(value, Figure) and value.id]
    assert shown
    for value in shown:
        assert text(known[value.id]) == text(value), value.id


@every
def test_a_rooms_slip_counts_what_the_brief_counts(scenario: str) -> None:
    """Devices of the zone, each kind once with its count of today."""
    plan = plan_of(scenario)
    for zone in plan.records(Zone):
        told = slip(plan, "room", zone.slug)
        rows = [
            row
            for block in told.blocks
            if isinstance(block, Facts) and block.title == "In this room"
            for row in block.rows
        ]
        for device in plan.records(Device):
            assert ((device.name, device.now) in rows) == (device.zone == zone.slug)


@every
def test_a_technicians_room_has_every_fixed_address_once(scenario: str) -> None:
    """Of both families, against the plan's registers."""
    plan = plan_of(scenario)
    for zone in plan.records(Zone):
        blocks = slip(plan, "room", zone.slug, "technician").blocks
        told = [
            row[1]
            for block in blocks
            if isinstance(block, Ruled) and block.caption == "Fixed addresses"
            for row in block.rows
        ]
        bearers: list[Address | Reservation] = [*plan.records(Address), *plan.records(Reservation)]
        held = {str(one.address) for one in bearers if one.zone == zone.slug}
        assert len(told) == len(set(told))
        assert held <= set(told)


@every
def test_a_zones_slip_tells_every_address_once(scenario: str) -> None:
    """The runs are the whole subnet less its first and last address (RFC 950, RFC 1122), and the leased are the pool."""
    plan = plan_of(scenario)
    pools = {pool.slug: pool for pool in plan.records(Pool)}
    for subnet in plan.records(Subnet):
        counted: dict[str, int] = {}
        seen: list[int] = []
        for run, use in uses(plan, subnet):
            first, _, last = run.partition(" \u2013 ")
            span = range(int(IPv4Address(first)), int(IPv4Address(last or first)) + 1)
            seen += span
            counted[use] = counted.get(use, 0) + len(span)
        net = IPv4Network(subnet.network)
        assert seen == list(range(int(net.network_address) + 1, int(net.broadcast_address)))
        lent = pools.get(subnet.slug)
        assert counted.get("lent for a time", 0) == (int(lent.size.value) if lent is not None else 0)


@every
def test_a_field_of_the_matrix_tells_its_intents_and_what_the_proof_says(scenario: str) -> None:
    """As many as the plan means between the two, and the proof's own count of what gets through."""
    plan = plan_of(scenario)
    assert plan.proof is not None
    proved = {(door.source, door.target): len(door.passing) for door in plan.proof.doors}
    for pair in names(plan):
        if not pair.startswith("cell/"):
            continue
        _, who, whom = pair.split("/")
        meant = [
            f
            for f in plan.records(Flow)
            if (f.source.zone, f.target.zone) == (who, whom) and f.verdict is Verdict.ACCEPT
        ]
        blocks = slip(plan, "cell", f"{who}/{whom}", "technician").blocks
        captions = [block.caption for block in blocks if isinstance(block, Ruled)]
        says = [
            value
            for block in blocks
            if isinstance(block, Facts) and block.title == "What the proof says"
            for _, value in block.rows
        ]
        if meant:
            assert f"Intents: {len(meant)}" in captions
        else:
            assert any(isinstance(block, Prose) and "Nothing is meant" in block.words for block in blocks)
        many = proved.get((who, whom), 0)
        assert str(says[0]).startswith(f"open for {many} kind" if many else "shut")


def test_a_door_tells_its_flows_with_ports_and_the_lines_of_the_brief() -> None:
    """Technician's layer of the servers' door: a service's own port, and the line of the brief that it rests on."""
    plan = plan_of("millrace")
    blocks = slip(plan, "door", "20", "technician").blocks
    (flows,) = [block for block in blocks if isinstance(block, Ruled) and block.caption == "Flows"]
    assert any("files" in str(row[0]) and "445" in str(row[2]) for row in flows.rows)
    (why,) = [block for block in blocks if isinstance(block, Facts) and block.title == "Why"]
    lines = [
        line
        for _, told in why.rows
        for line in re.findall(r"services\.files\.down \((?:\w+\.yaml:)?(\d+)", str(told))
    ]
    assert lines
    assert "files:" in millrace().splitlines()[int(lines[0]) - 1]


def test_owners_read_no_address_and_no_port() -> None:
    """The owner's layer of every room and door has no address in it."""
    plan = plan_of("millrace")
    for kind in ("room", "door"):
        for slug in KINDS[kind].names(plan):
            for block in slip(plan, kind, slug).blocks:
                said = [str(value) for value in cells(block) if isinstance(value, str)]
                assert not [
                    words for words in said if re.search(r"\d+\.\d+\.\d+\.\d+|tcp \d", words) and kind == "room"
                ]


def test_a_part_tells_where_it_stands_and_how_high_it_may() -> None:
    """Its own lowest unit and the highest from which it still fits."""
    plan = plan_of("millrace")
    for place in plan.records(Place):
        if place.lowest is None:
            continue
        asks = slip(plan, "part", place.slug).asks
        assert asks is not None
        assert asks.given["unit"] == str(place.lowest.value)
        assert int(asks.given["most"]) + int(place.height.value) - 1 == plan.figures["places.units"].value


def test_a_triangle_tells_its_finding_and_the_remedy() -> None:
    """The number in the triangle is the finding's place in the list."""
    plan = plan_of("millrace")
    told = [each for each in plan.findings if not each.declined]
    for number, one in enumerate(told, 1):
        words = [block.words for block in slip(plan, "finding", str(number)).blocks if isinstance(block, Prose)]
        assert words[:2] == [one.says, one.finding.remedy]


@pytest.mark.parametrize(
    "touch",
    ["room/nowhere", "nothing/here", "cell/staff", "cell/staff/staff", "finding/0", "finding/x", "part/", "/"],
)
def test_what_is_not_there_has_no_slip(touch: str) -> None:
    """An error that the office answers with a sentence."""
    kind, _, slug = touch.partition("/")
    with pytest.raises(NoSuchThingError):
        slip(plan_of("millrace"), kind, slug)


def test_hostile_names_stay_text_in_a_slip() -> None:
    """A room's name that is markup is shown as it was written."""
    nasty = "<b onclick=x>&amp;"
    plan = planned(changed(millrace(), "name: Office PCs", f'name: "{nasty}"'))

    class State:
        """As much of the office's state as a slip needs."""

        def __init__(self) -> None:
            self.plan = plan
            self.moved: dict[str, tuple[str, str]] = {}

    html = slip_html(View(State(), None), "room/staff")  # type: ignore[arg-type]
    assert html is not None
    assert "<b onclick" not in html
    assert "&lt;b onclick=x&gt;&amp;amp;" in html


def test_names_are_looked_up_one_by_one_and_not_all_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Looking through every figure of a plan would take a twentieth of an edit."""
    plan = plan_of(SCENARIOS[0])

    def counted(_: object) -> dict[str, Figure[object]]:
        raise AssertionError("every figure was looked through")

    monkeypatch.setattr(slips, "everything", counted)
    assert 'aria-label="' in touchable(one_drawing(plan, "N-1"), "N-1", {}, Names({}, plan))
