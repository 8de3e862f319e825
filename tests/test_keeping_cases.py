"""What was issued stays: one case after the other, each with what an office gets and why."""

import re
from dataclasses import replace
from ipaddress import ip_address

import netaddr
import pytest

from address_judges import apart, facts, holds, read, sheet
from address_plans import Addressed, Small, addressed, keeping
from scantling.figures import Address, Finding, Pool, Range, Subnet, Zone


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
