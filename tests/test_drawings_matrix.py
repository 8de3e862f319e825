"""Matrix, address map, names and time of whole plans: what they say is counted again from the plan; sheets are in the book."""

import math
from collections import Counter
from dataclasses import replace
from ipaddress import IPv4Address
from xml.etree import ElementTree as ET

import pytest

from drawing_plans import OFFICES, hung, in_runs, parts, plan_of, rule_numbers, said, sheets_of, words
from drawing_reading import SVG
from scantling.figures import (
    Address, Address6, Asking, Flow, Pool, Range, Reservation, RuleSet, Server, Subnet, Verdict, Zone, text,
)  # fmt: skip
from scantling.outputs.documents.book import bound
from scantling.outputs.drawings.drawn import drawings
from scantling.plan.evidence import DIFFERS, OPEN, Difference
from scantling.plan.make import Plan

every = pytest.mark.parametrize("office", OFFICES)


@every
def test_the_matrix_says_what_the_intents_and_the_rules_say(office: str) -> None:
    """Each opening bears the number of intents between its places and their rules; hatched where there is none."""
    plan, svg = plan_of(office), sheets_of(office)["N-3"]
    flows = [flow for flow in plan.records(Flow) if flow.source.zone != flow.target.zone]
    opened = {}
    for group in parts(svg, "crossing"):
        pair = group.get("data-who", ""), group.get("data-whom", "")
        mine = [flow for flow in flows if (flow.source.zone, flow.target.zone) == pair]
        passing = [flow for flow in mine if flow.verdict is Verdict.ACCEPT]
        count, rules, *rest = words(group)
        opened[pair] = int(count)
        assert int(count) == len(passing), pair
        found = rule_numbers(plan, passing)
        assert rules == f"{len(found)} rules" or in_runs(rules) == found, pair
        shut = len(mine) - len(passing)
        assert not shut or f"{shut} forbidden" in " ".join(rest) or "\u2026" in " ".join(rest)
    assert opened.keys() == {(flow.source.zone, flow.target.zone) for flow in flows if flow.verdict is Verdict.ACCEPT}
    order = [zone.name for zone in sorted(plan.records(Zone), key=lambda zone: zone.number.value)]
    (names,) = parts(svg, "places")
    headed = [word for word in words(names) if not word.isdigit()]
    assert " ".join(headed[::2]) == " ".join(headed[1::2])
    assert " ".join(headed[::2]).startswith(" ".join(order[:2]))
    assert plan.proof is not None
    for pair in opened:
        assert any((door.source, door.target) == pair and door.passing for door in plan.proof.doors), pair


def spoiled(plan: Plan) -> Plan:
    """A plan whose proof has found that something passes from staff to management that nobody asks for."""
    assert plan.proof is not None
    passing = next(door.passing[0] for door in plan.proof.doors if door.passing)
    doors_ = tuple(
        replace(door, passing=(*door.passing, replace(passing, flows=())))
        if (door.source, door.target) == ("staff", "management")
        else door
        for door in plan.proof.doors
    )
    found = Difference(OPEN, "Staff reach management by tcp 22, and nobody asks for it.", "staff tcp management:22")
    return replace(plan, proof=replace(plan.proof, verdict=DIFFERS, doors=doors_, differences=(found, found)))


@every
def test_a_difference_is_marked_where_it_is_and_told_beside(office: str) -> None:
    """Title block, cloud and triangle in the opening, sentence in red pencil, numbered on from the findings."""
    plan = spoiled(plan_of(office))
    drawn = drawings(plan)
    assert "2 differences" in said(drawn["N-1"])
    groups = [
        group for group in parts(drawn["N-3"], "crossing") if any(each.get("data-part") == "cloud" for each in group)
    ]
    assert [(group.get("data-who"), group.get("data-whom")) for group in groups] == [("staff", "management")]
    first = len([told for told in plan.findings if not told.declined]) + 1
    marked = [each.get("data-finding") for each in groups[0].iter() if each.get("data-part") == "triangle"]
    assert marked == [str(first)]
    for words_ in ("nobody asks for it", "staff tcp management:22", str(first), str(first + 1)):
        assert words_ in said(drawn["N-3"])


@every
def test_the_title_block_says_what_the_proof_says(office: str) -> None:
    plan = plan_of(office)
    assert plan.proof is not None
    assert plan.proof.proved
    for sheet, svg in sheets_of(office).items():
        (block,) = parts(svg, "title-block")
        assert words(block)[-1] == "proved", sheet
    bare = drawings(replace(plan, proof=None))
    assert "not proved" in said(bare["N-3"])


def borne(plan: Plan, zone: str) -> set[IPv4Address]:
    """IPv4 addresses of a zone that one thing bears each: machines, gateway, what is known by its hardware address."""
    held = {one.address for one in plan.records(Address) if one.zone == zone}
    kept = {one.address for one in plan.records(Reservation) if one.zone == zone}
    return held | {address for address in kept if isinstance(address, IPv4Address)}


@every
def test_the_address_map_counts_every_address_once(office: str) -> None:
    """Issued, kept, leased and spare counted again from the records; the bricks drawn are as many; spare is the plan's own figure."""
    plan, svg = plan_of(office), sheets_of(office)["N-4"]
    drawn = {group.get("data-room"): group for group in parts(svg, "zone")}
    assert drawn.keys() == {subnet.slug for subnet in plan.records(Subnet)}
    for subnet in plan.records(Subnet):
        ranges = [one for one in plan.records(Range) if one.zone == subnet.slug]
        mine = borne(plan, subnet.slug)
        lent = sum(int(one.last) - int(one.first) + 1 for one in ranges if one.purpose == "lent")
        whole = sum(int(one.last) - int(one.first) + 1 for one in ranges)
        inside = sum(any(one.first <= address <= one.last for one in ranges) for address in mine)
        counts = {"issued": len(mine), "kept": whole - lent - inside, "leased": lent}
        counts["spare"] = subnet.network.num_addresses - 2 - sum(counts.values())
        said_ = " ".join(words(drawn[subnet.slug]))
        for use, many in counts.items():
            assert f"{many} {use}" in said_, (subnet.slug, use)
        assert counts["spare"] == plan.figures[f"addresses.{subnet.slug}.free"].value
        pool = next((pool for pool in plan.records(Pool) if pool.first in subnet.network), None)
        assert pool is None or (pool.size.value == lent and text(pool.lease) in said_)
        held = [(one.zone, one.holder) for one in plan.records(Address)]
        held += [(one.zone, one.holder) for one in plan.records(Address6)]
        assert all(holder in said_ for zone, holder in held if zone == subnet.slug)


def areas(group: ET.Element, part: str, brick: tuple[float, float]) -> int:
    """How many bricks are covered by such runs."""
    total = 0.0
    for each in group.iter():
        if each.get("data-part") == part and each.tag == f"{SVG}rect":
            total += float(each.get("width", "")) * float(each.get("height", ""))
    return round(total / (brick[0] * brick[1]))


@every
def test_bricks_are_to_scale(office: str) -> None:
    """The ink of issued bricks is as large as so many bricks of the first course."""
    plan, svg = plan_of(office), sheets_of(office)["N-4"]
    for group in parts(svg, "zone"):
        subnet = next(one for one in plan.records(Subnet) if one.slug == group.get("data-room"))
        (bricks,) = (each for each in group if each.get("data-part") == "bricks")
        edges = [each for each in bricks if each.tag == f"{SVG}rect" and each.get("fill") == "none"]
        area = sum(float(each.get("width", "")) * float(each.get("height", "")) for each in edges)
        high = float(edges[0].get("height", ""))
        brick = area / high / subnet.network.num_addresses, high
        assert areas(bricks, "issued", brick) == len(borne(plan, subnet.slug)), subnet.slug
        assert math.isclose(area, subnet.network.num_addresses * brick[0] * brick[1], rel_tol=1e-3)


@every
def test_each_room_asks_whom_the_plan_says(office: str) -> None:
    """Every address at which a room asks for names or time stands beside it; who asks nobody has no tap."""
    plan, svg = plan_of(office), sheets_of(office)["N-5"]
    seen = Counter(label for group in parts(svg, "branch") for label in words(group))
    wanted: Counter[str] = Counter()
    for one in plan.records(Asking):
        for hosts, does in ((one.resolvers, "lookups"), (one.time_sources, "time")):
            asked = {
                server.slug: str(host)
                for host in reversed(hosts)
                if host.version == 4
                for server in plan.records(Server)
                if server.does == does and host in server.addresses
            }
            wanted.update(asked.values())
    assert seen == wanted
    taps = sum(bool(one.resolvers) for one in plan.records(Asking))
    assert len(list(parts(svg, "tap-sign"))) == taps
    assert len(list(parts(svg, "clock-sign"))) == sum(bool(one.time_sources) for one in plan.records(Asking))
    told = said(svg)
    for server in plan.records(Server):
        if server.does in {"names", "lookups", "time"}:
            assert server.holder in told
            outside = [
                word
                for word in server.upstream
                if not any(word == str(a) for other in plan.records(Server) for a in other.addresses)
            ]
            assert all(word in told for word in outside[:3]), server.slug
    for one in plan.records(Asking):
        assert one.when_down.replace("\u00a0", " ")[:60] in told


def without(plan: Plan, *kinds: type) -> Plan:
    """A plan that lacks records of some kinds."""
    return replace(plan, entries={kind: many for kind, many in plan.entries.items() if kind not in kinds}, proof=None)


@every
def test_a_plan_without_traffic_is_drawn_without_doors(office: str) -> None:
    bare = without(plan_of(office), Flow, RuleSet, Asking)
    drawn = drawings(bare)
    assert {"N-1", "N-2", "N-4"} <= drawn.keys()
    assert not {"N-3", "N-5", "N-6"} & drawn.keys()
    assert "doors: not yet planned" in said(drawn["N-1"])
    assert "not proved" in said(drawn["N-1"])
    assert not list(parts(drawn["N-1"], "hatch"))
    assert dict(bound(bare).fields)["doors"] == "not yet planned"


@every
def test_every_sheet_is_in_the_book_with_words_for_those_who_cannot_see_it(office: str) -> None:
    plan = plan_of(office)
    book = bound(plan)
    assert list(sheets_of(office)) == list(book.plates)
    assert all(len(plate.says) > 40 for plate in book.plates.values())
    assert dict(book.fields)["proof"] == "proved"
    into = sum(door.kind == "room" for door in hung(plan))
    assert dict(book.fields)["doors"] == f"{into} of {len(plan.records(Zone))} rooms"
    numbers_ = [sheet.number for sheet in book.sheets]
    assert not set(numbers_) & sheets_of(office).keys()
    assert len(set(numbers_)) == len(numbers_)
