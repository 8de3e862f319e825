"""What was issued stays: offices change at random and no number, network, run or address moves; ipaddress and netaddr judge."""

import re
from collections.abc import Mapping
from dataclasses import replace
from ipaddress import ip_address, ip_network
from typing import Any

import netaddr
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from address_plans import KINDS, MORE_SERVICES, ZONES, Addressed, Small, addressed, keeping
from scantling.figures import Address, Finding, Machine, Pool, Range, Subnet, Zone

SLUGS = ("pcs", "printers", "phones", "phones-2", "phones-2-2", "a", "x-ray")
Devices = st.dictionaries(
    st.sampled_from(SLUGS), st.tuples(st.sampled_from(KINDS), st.sampled_from(ZONES), st.integers(1, 9)), max_size=5
)
Offices = st.builds(
    Small,
    devices=Devices,
    heads=st.integers(1, 12),
    services=st.frozensets(st.sampled_from(MORE_SERVICES), max_size=4),
    visitors=st.sampled_from((0, 0, 20, 60)),
    block=st.sampled_from(("", "10.44.0.0/20", "172.20.16.0/20")),
)
"""The small blocks do not hold the zones' usual third numbers, so that places have to be looked for."""
Steps = st.lists(Offices, min_size=1, max_size=3)
"""An office that has changed in every way at once: devices, people, zones, machines, visitors, each added or gone."""


def read(stands: str) -> Mapping[str, Any]:
    """A standing file as another program reads it."""
    return YAML(typ="safe").load(stands)["issued"]


def holds(plan: Addressed, issued: Mapping[str, Any]) -> None:
    """Everything that was issued is where it was; what the brief no longer asks for is held free."""
    zones = {zone.slug: zone.number.value for zone in plan.records(Zone)}
    for slug, zone in issued["zones"].items():
        if slug in zones:
            (subnet,) = [one for one in plan.records(Subnet) if one.slug == slug]
            assert (str(subnet.network), str(subnet.gateway)) == (zone["network"], zone["gateway"])
            assert zones[slug] == zone["number"]
    for slug, run in issued.get("ranges", {}).items():
        if run["zone"] in zones:
            (there,) = [one for one in plan.records(Range) if one.slug == slug]
            assert (there.zone, str(there.first), str(there.last)) == (run["zone"], run["first"], run["last"])
    wanted = {(machine.slug, zone) for machine in plan.records(Machine) for zone in machine.zones}
    held = {(one.holder, one.zone, str(one.address)) for one in plan.records(Address)}
    given = {str(one.address): one.holder for one in plan.records(Address)}
    for one in issued.get("addresses", {}).values():
        if (one["holder"], one["zone"]) in wanted:
            assert (one["holder"], one["zone"], one["address"]) in held
        else:
            assert one["address"] not in given


def apart(plan: Addressed, issued: Mapping[str, Any]) -> None:
    """No two networks overlap, issued ones of zones that are gone among them; no two runs, no two addresses."""
    nets = {one.slug: netaddr.IPNetwork(str(one.network)) for one in plan.records(Subnet)}
    nets |= {slug: netaddr.IPNetwork(zone["network"]) for slug, zone in issued["zones"].items()}
    assert netaddr.IPSet(nets.values()).size == sum(net.size for net in nets.values())
    assert len({zone.number.value for zone in plan.records(Zone)}) == len(plan.records(Zone))
    gone = {
        zone["number"] for slug, zone in issued["zones"].items() if slug not in {z.slug for z in plan.records(Zone)}
    }
    assert not gone & {zone.number.value for zone in plan.records(Zone)}
    spans = [netaddr.IPRange(str(run.first), str(run.last)) for run in plan.records(Range)]
    assert netaddr.IPSet(spans).size == sum(span.size for span in spans)
    for run in plan.records(Range):
        inside = [ip_address(str(run.first)), ip_address(str(run.last))]
        net = ip_network(str(nets[run.zone].cidr))
        assert all(host in net and host not in (net.network_address, net.broadcast_address) for host in inside)
    new = [
        netaddr.IPRange(str(run.first), str(run.last))
        for run in plan.records(Range)
        if run.slug not in issued.get("ranges", {})
    ]
    assert not [one for one in issued.get("addresses", {}).values() if one["address"] in netaddr.IPSet(new)]
    addresses = [str(one.address) for one in plan.records(Address)]
    assert len(set(addresses)) == len(addresses)
    pools = netaddr.IPSet([netaddr.IPRange(str(pool.first), str(pool.last)) for pool in plan.records(Pool)])
    assert not any(address in pools for address in addresses)
    machines = netaddr.IPSet(
        [s for s, run in zip(spans, plan.records(Range), strict=True) if run.purpose == "machines"]
    )
    gateways = {str(one.gateway) for one in plan.records(Subnet)}
    assert all(address in machines for address in addresses if address not in gateways)


def enough(plan: Addressed) -> None:
    """Every machine and every device that keeps its address has a place, or the plan says that there is none (A-7, A-3)."""
    lacking = {finding.about for finding in plan.records(Finding) if finding.code == "A-7" and finding.when.value}
    held = {(one.holder, one.zone) for one in plan.records(Address)}
    missing = {
        zone for machine in plan.records(Machine) for zone in machine.zones if (machine.slug, zone) not in held
    }
    assert missing <= lacking
    for zone in {run.zone for run in plan.records(Range)} - lacking:
        lent = plan.ledger.figures[f"addresses.{zone}.lent"].value
        pools = [run for run in plan.records(Range) if run.zone == zone and run.purpose == "lent"]
        assert sum(int(run.last) - int(run.first) + 1 for run in pools) >= lent
        reserved = plan.ledger.figures[f"addresses.{zone}.reserved"].value
        kept = [
            run for run in plan.records(Range) if run.zone == zone and run.purpose.startswith(("kept", "machines"))
        ]
        assert sum(int(run.last) - int(run.first) + 1 for run in kept) >= reserved


@given(Offices, Steps)
def test_nothing_that_was_issued_moves_whatever_changes(first: Small, steps: list[Small]) -> None:
    """Kept after every step, the standing file only grows, and every plan keeps all of it."""
    stands = keeping("", addressed(first))
    for office in steps:
        plan = addressed(office, stands)
        issued = read(stands)
        holds(plan, issued)
        apart(plan, issued)
        enough(plan)
        grown = keeping(stands, plan)
        assert set(stands.splitlines()) <= set(grown.splitlines())
        stands = grown


@given(Offices, Steps)
def test_removing_and_adding_back_gives_the_same(first: Small, steps: list[Small]) -> None:
    """Whatever came and went in between, and was kept, the first office gets its own again."""
    stands = keeping("", addressed(first))
    before = addressed(first, stands)
    for office in steps:
        stands = keeping(stands, addressed(office, stands))
    after = addressed(first, stands)
    assert {(a.slug, a.address) for a in before.records(Address)} == {
        (a.slug, a.address) for a in after.records(Address)
    }
    assert {(s.slug, s.network) for s in before.records(Subnet)} == {
        (s.slug, s.network) for s in after.records(Subnet)
    }
    assert {(r.slug, r.first, r.last) for r in before.records(Range)} <= {
        (r.slug, r.first, r.last) for r in after.records(Range)
    }
    assert {(z.slug, z.number.value) for z in before.records(Zone)} == {
        (z.slug, z.number.value) for z in after.records(Zone)
    }


@given(Offices)
def test_keeping_a_plan_changes_nothing_in_it(office: Small) -> None:
    """The same brief beside what it issued gives the same records, and has nothing new to keep."""
    plan = addressed(office)
    stands = keeping("", plan)
    again = addressed(office, stands)
    for kind, words in (
        (Subnet, ("network", "gateway")),
        (Range, ("first", "last", "purpose")),
        (Address, ("address",)),
    ):
        assert facts(plan, kind, words) == facts(again, kind, words)
    for id_, figure in plan.ledger.figures.items():
        if id_.startswith(("addresses.", "zones.")):
            assert str(again.ledger.figures[id_].value) == str(figure.value), id_
    assert keeping(stands, again) == stands
    assert again.codes() == plan.codes()


def facts(plan: Addressed, kind: type[Any], words: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    """The named fields of every record of a kind, by slug."""
    return {one.slug: tuple(str(getattr(one, word)) for word in words) for one in plan.records(kind)}


BASE = Small({"pcs": ("pc", "staff", 10), "printers": ("printer", "staff", 4)}, services=frozenset({"print"}))


def kept(office: Small = BASE) -> str:
    """What a first plan issues."""
    return keeping("", addressed(office))


def test_a_new_machine_takes_a_new_address_and_the_old_ones_stay() -> None:
    """`controller` would come first by its name."""
    stands = kept()
    plan = addressed(replace(BASE, services=frozenset({"print", "network monitor", "wireless controller"})), stands)
    assert facts(plan, Address, ("address",))["firewall"] == ("10.44.10.21",)
    assert facts(plan, Address, ("address",))["controller"] == ("10.44.10.22",)
    assert facts(plan, Range, ("first", "last"))["management-more-2-machines"] == ("10.44.10.22", "10.44.10.23")


def test_a_machine_that_is_gone_keeps_its_address_and_the_sheet_says_so() -> None:
    stands = kept(replace(BASE, services=frozenset({"network monitor"})))
    plan = addressed(replace(BASE, services=frozenset({"wireless controller"})), stands)
    given_to = {str(one.address): one.holder for one in plan.records(Address)}
    gone = read(stands)["addresses"]["monitor"]["address"]
    assert gone not in given_to
    assert f"kept for monitor Management {gone} no longer in the brief" in sheet(plan)


def sheet(plan: Addressed) -> str:
    """All rows of the address sheets as words."""
    from scantling.figures import Page, Ruled, text  # noqa: PLC0415 - one reader

    blocks = [block for page in plan.records(Page) if page.slug in ("addresses", "issued") for block in page.blocks]
    rows = [row for block in blocks if isinstance(block, Ruled) for row in block.rows]
    return "\n".join(" ".join(cell if isinstance(cell, str) else text(cell) for cell in row) for row in rows)


def test_a_run_that_grew_gets_a_further_one() -> None:
    stands = kept()
    plan = addressed(replace(BASE, devices={**BASE.devices, "printers": ("printer", "staff", 9)}), stands)
    runs = facts(plan, Range, ("first", "last", "purpose"))
    assert runs["staff-kept-printers"] == ("10.44.30.21", "10.44.30.25", "kept for printers")
    assert runs["staff-more-2-kept-printers"] == ("10.44.30.26", "10.44.30.30", "kept for printers")


def test_the_pool_grows_beside_its_beginning_and_never_shrinks() -> None:
    stands = kept()
    first, last = facts(addressed(BASE), Range, ("first", "last"))["staff-lent"]
    more = addressed(replace(BASE, devices={**BASE.devices, "pcs": ("pc", "staff", 14)}), stands)
    pools = {pool.slug: (str(pool.first), str(pool.last)) for pool in more.records(Pool)}
    assert pools["staff"] == (first, last)
    assert pools["staff-more-2-lent"][1] == str(ip_address(first) - 1)
    fewer = addressed(replace(BASE, devices={**BASE.devices, "pcs": ("pc", "staff", 1)}), stands)
    assert {pool.slug: (str(pool.first), str(pool.last)) for pool in fewer.records(Pool)} == {"staff": (first, last)}


def test_devices_with_numbers_in_their_names_keep_apart() -> None:
    """`phones-2` is another kind of device, not the second run of `phones`."""
    two = Small({"phones": ("printer", "staff", 3), "phones-2": ("printer", "staff", 3)})
    stands = kept(replace(two, devices={"phones": ("printer", "staff", 3)}))
    stands = keeping(stands, addressed(replace(two, devices={"phones": ("printer", "staff", 6)}), stands))
    runs = facts(addressed(two, stands), Range, ("purpose",))
    assert runs["staff-more-2-kept-phones"] == ("kept for phones",)
    assert runs["staff-kept-phones-2"] == ("kept for phones 2",)


def test_a_new_zone_keeps_clear_of_a_number_and_a_network_that_were_issued() -> None:
    stands = kept()
    moved = stands.replace(
        "number: 30, network: 10.44.30.0/26, gateway: 10.44.30.1",
        "number: 40, network: 10.44.40.0/26, gateway: 10.44.40.1",
    )
    moved = moved.replace("10.44.30.", "10.44.40.")
    plan = addressed(replace(BASE, devices={**BASE.devices, "phones": ("phone", "phones", 3)}), moved)
    assert {zone.slug: zone.number.value for zone in plan.records(Zone)} == {
        "management": 10, "servers": 20, "staff": 40, "phones": 41,
    }  # fmt: skip
    assert facts(plan, Subnet, ("network",))["phones"] == ("10.44.41.0/26",)


def test_a_zone_that_is_gone_keeps_its_number_and_its_network() -> None:
    """Cameras had telephones' usual number; they are no more, and telephones take the next one."""
    old = "    old-cameras: {number: 40, network: 10.44.40.0/26, gateway: 10.44.40.1}\n"
    stands = kept().replace("  ranges:\n", f"{old}  ranges:\n")
    plan = addressed(replace(BASE, devices={**BASE.devices, "phones": ("phone", "phones", 3)}), stands)
    assert {zone.slug: zone.number.value for zone in plan.records(Zone)}["phones"] == 41
    assert facts(plan, Subnet, ("network",))["phones"] == ("10.44.41.0/26",)
    apart(plan, read(stands))


def test_a_survey_of_somebody_elses_network_is_kept_as_it_is() -> None:
    """A flat network of another block, the gateway at its end, a printer and an old store with addresses of their own."""
    stands = """
issued:
  zones: {staff: {number: 1, network: 192.168.50.0/24, gateway: 192.168.50.254}}
  ranges: {old-printers: {zone: staff, purpose: printers of the old office, first: 192.168.50.10, last: 192.168.50.19}}
  addresses: {old-store: {zone: staff, holder: old-store, address: 192.168.50.5}}
"""
    plan = addressed(BASE, stands)
    assert facts(plan, Subnet, ("network", "gateway"))["staff"] == ("192.168.50.0/24", "192.168.50.254")
    assert facts(plan, Range, ("first", "last", "purpose"))["old-printers"] == (
        "192.168.50.10", "192.168.50.19", "printers of the old office",
    )  # fmt: skip
    holds(plan, read(stands))
    apart(plan, read(stands))
    told = sheet(plan)
    assert "kept for old-store Staff 192.168.50.5 no longer in the brief" in told
    assert "printers of the old office Staff 192.168.50.10 to 192.168.50.19 no longer in the brief" in told
    assert addressed(BASE, keeping(stands, plan)).codes() == plan.codes()


CROWDED = replace(BASE, devices={**BASE.devices, "pcs": ("pc", "staff", 40)})


def found(plan: Addressed, code: str) -> Finding:
    """The finding of that code that holds."""
    (one,) = [one for one in plan.records(Finding) if one.code == code and one.when.value]
    return one


def test_a_zone_that_outgrew_its_subnet_keeps_it_and_is_told_what_more_room_costs() -> None:
    """Staff as issued has 62 addresses. 2 h and a tenth of an hour for each of 44 things at 85 EUR: 544 EUR."""
    plan = addressed(CROWDED, kept())
    assert facts(plan, Subnet, ("network",))["staff"] == ("10.44.30.0/26",)
    told = found(plan, "A-7")
    assert told.about == "staff"
    assert "Widening it to 10.44.30.0/25 costs {widening}" in told.says
    figures = plan.ledger.figures
    visited = figures["addresses.staff.visited"].value
    assert visited == 44
    assert str(figures["addresses.staff.widening.price"].value) == "544.00"
    assert str(figures["addresses.staff.renumbering.price"].value) == "1105.00"
    assert str(figures["addresses.staff.splitting.price"].value) == "170.00"
    assert figures["addresses.staff.unplaced"].value > 0
    holds(plan, read(kept()))


def test_a_pin_widens_it_where_nothing_else_lies_and_nothing_moves() -> None:
    pin = ("pins:", "  addresses.staff.prefix: {value: 25, because: it grew}")
    plan = addressed(replace(CROWDED, more=pin), kept())
    assert facts(plan, Subnet, ("network",))["staff"] == ("10.44.30.0/25",)
    assert not {"A-7", "A-8"} & plan.codes()
    issued = read(kept())
    assert all(
        facts(plan, Range, ("first", "last"))[slug] == (run["first"], run["last"])
        for slug, run in issued["ranges"].items()
    )


def test_a_pin_does_not_widen_it_over_a_neighbour() -> None:
    """The neighbour is a zone that is no longer in the brief: it keeps its network all the same."""
    stands = kept().replace(
        "  ranges:\n", "    old: {number: 31, network: 10.44.30.64/26, gateway: 10.44.30.65}\n  ranges:\n"
    )
    pin = ("pins:", "  addresses.staff.prefix: {value: 25, because: it grew}")
    plan = addressed(replace(CROWDED, more=pin), stands)
    assert facts(plan, Subnet, ("network",))["staff"] == ("10.44.30.0/26",)
    assert {"A-7", "A-8"} <= plan.codes()
    assert "wider" not in str(plan.ledger.figures["addresses.staff.ways"].value)
    assert "the zone old  10.44.30.64/26 no longer in the brief" in sheet(plan)


def test_another_block_in_the_brief_moves_nothing_and_is_priced() -> None:
    plan = addressed(replace(BASE, block="10.99.0.0/16"), kept())
    assert str(plan.ledger.figures["addresses.block"].value) == "10.44.0.0/16"
    told = found(plan, "A-8")
    assert "Renumbering all zones costs {price}" in told.says
    zones = [
        plan.ledger.figures[f"addresses.{zone}.renumbering.price"].value
        for zone in ("management", "servers", "staff")
    ]
    assert plan.ledger.figures["addresses.renumbering.price"].value == sum(zones)


def test_without_anything_issued_no_figure_speaks_of_it() -> None:
    made = [
        id_
        for id_ in addressed(BASE).ledger.figures
        if re.search(r"renumber|widening|splitting|\.ways|unplaced|addresses.*visited", id_)
    ]
    assert not made


@pytest.mark.parametrize("gateway", ["10.44.30.1", "10.44.30.30", "10.44.30.62"])
def test_the_gateway_stays_wherever_it_stands(gateway: str) -> None:
    stands = f"issued:\n  zones:\n    staff: {{number: 30, network: 10.44.30.0/26, gateway: {gateway}}}\n"
    plan = addressed(BASE, stands)
    assert facts(plan, Subnet, ("gateway",))["staff"] == (gateway,)
    runs = netaddr.IPSet(
        [netaddr.IPRange(str(r.first), str(r.last)) for r in plan.records(Range) if r.zone == "staff"]
    )
    assert gateway not in runs
    apart(plan, read(stands))
