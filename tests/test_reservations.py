"""Addresses kept by hardware address: for whom, from which run, and what can't have one; the register of all of them."""

from collections.abc import Mapping
from dataclasses import replace

import netaddr
import pytest

from address_judges import facts
from address_plans import Addressed, Small, addressed, keeping
from scantling import UserError
from scantling.figures import Finding, Page, Range, Reservation, Ruled
from scantling.handbook.hardware import for_one, made_up
from scantling.plan.make import sentence

BASE = Small(
    {
        "pcs": ("pc", "staff", 5),
        "printers": ("printer", "staff", 2),
        "labels": ("printer", "staff", 2),
        "tills": ("payment terminal", "payments", 2),
    }
)
LP = 'lp: {name: Printer, kind: printer, do: keep, zone: staff, hardware_address: "00:00:5E:00:53:01"}'


def kit(*lines: str) -> str:
    """A standing file with these things."""
    return "kit:\n" + "".join(f"  {line}\n" for line in lines)


def kept(plan: Addressed) -> Mapping[str, tuple[str, ...]]:
    """Zone, hardware address and address of each reservation."""
    return facts(plan, Reservation, ("zone", "hardware_address", "address"))


def says(plan: Addressed) -> dict[str, str]:
    """What is found, with its figures."""
    found = [one for one in plan.records(Finding) if one.when.value]
    return {one.code: sentence(one) for one in found if one.code[0] == "A"}


def test_a_printer_gets_the_first_address_of_its_kind() -> None:
    """In both families; the hardware address in small letters, as the address server writes it."""
    plan = addressed(BASE, kit(LP))
    first = facts(plan, Range, ("first",))["staff-kept-printers"][0]
    assert kept(plan)["lp"] == ("staff", "00:00:5e:00:53:01", first)
    assert kept(plan)["lp.ipv6"][2].endswith(f"::{first.rpartition('.')[2]}")


def test_a_thing_may_name_its_kind_of_device_by_the_word_of_the_brief() -> None:
    """Two kinds of printer: `labels` are the second."""
    plan = addressed(BASE, kit(LP.replace("kind: printer", "kind: labels")))
    assert kept(plan)["lp"][2] == facts(plan, Range, ("first",))["staff-kept-labels"][0]


def test_a_switch_gets_one_among_switches_and_the_like() -> None:
    plan = addressed(
        BASE, kit('sw: {name: Switch, do: keep, zone: management, hardware_address: "02:00:5e:10:00:30"}')
    )
    run = facts(plan, Range, ("first", "last"))["management-static"]
    assert netaddr.IPAddress(kept(plan)["sw"][2]) in netaddr.IPRange(*run)
    rows = [
        row
        for page in plan.records(Page)
        if page.slug == "reservations"
        for block in page.blocks
        if isinstance(block, Ruled)
        for row in block.rows
    ]
    assert [row[-1] for row in rows if row[1] == "Switch"] == ["made up, not by a maker"]


def test_an_address_that_was_issued_stays_with_its_thing() -> None:
    stands = kit(LP.replace(" zone: staff,", "")) + (
        "issued:\n  zones: {staff: {number: 30, network: 10.44.30.0/24, gateway: 10.44.30.1}}\n"
        "  addresses: {printer: {zone: staff, holder: lp, address: 10.44.30.77}}\n"
    )
    assert kept(addressed(BASE, stands))["lp"] == ("staff", "00:00:5e:00:53:01", "10.44.30.77")


def test_what_was_reserved_stays_when_others_come_before_it() -> None:
    """`aa` would be first by its name."""
    stands = keeping(kit(LP), addressed(BASE, kit(LP)))
    more = stands.replace(
        "kit:\n",
        'kit:\n  aa: {name: Printer, kind: printer, do: keep, zone: staff, hardware_address: "00:00:5e:00:53:09"}\n',
    )
    before, after = kept(addressed(BASE, stands)), kept(addressed(BASE, more))
    assert {slug: after[slug] for slug in before} == before
    assert after["aa"] != after["lp"]


def test_what_is_retired_gets_none() -> None:
    assert not kept(addressed(BASE, kit(LP.replace("do: keep", "do: retire"))))


def test_a16_counts_what_is_still_to_be_read() -> None:
    """Two printers, two label printers, two tills keep addresses; one printer is known."""
    assert says(addressed(BASE))["A-16"].startswith("6 devices")
    assert says(addressed(BASE, kit(LP)))["A-16"].startswith("5 devices")
    assert "A-16" not in says(addressed(Small({"pcs": ("pc", "staff", 5)})))


@pytest.mark.parametrize("where", ["", " zone: nowhere,"])
def test_a17_a_thing_without_a_zone_of_the_plan(where: str) -> None:
    plan = addressed(BASE, kit(LP.replace(" zone: staff,", where)))
    assert says(plan)["A-17"].startswith("1 thing that stands has")
    assert not kept(plan)
    assert "A-17" not in says(addressed(BASE, kit(LP)))


def test_a17_more_things_than_addresses_of_their_kind() -> None:
    """Forty printers where the brief counts two: the run is full, nobody else's address is taken."""
    many = [LP.replace("lp:", f"lp-{n}:").replace("53:01", f"53:{n:02x}") for n in range(1, 41)]
    plan = addressed(BASE, kit(*many))
    run = facts(plan, Range, ("first", "last"))["staff-kept-printers"]
    given = [row[2] for row in kept(plan).values() if ":" not in row[2]]
    assert {netaddr.IPAddress(one) for one in given} == set(netaddr.IPRange(*run))
    assert says(plan)["A-17"].startswith(f"{40 - len(given)} things")


@pytest.mark.parametrize("wrong", ["01:00:5e:00:00:01", "ff:ff:ff:ff:ff:ff", "00:00:00:00:00:00"])
def test_a18_an_address_of_no_single_device(wrong: str) -> None:
    """A group's, everybody's, nobody's (IEEE 802; netaddr reads the bit as we do)."""
    plan = addressed(BASE, kit(LP.replace("00:00:5E:00:53:01", wrong)))
    assert "A-18" in says(plan)
    assert not kept(plan)
    assert "A-18" not in says(addressed(BASE, kit(LP)))


@pytest.mark.parametrize("octet", range(0, 256, 3))
def test_the_first_octets_bits_are_read_as_netaddr_reads_them(octet: int) -> None:
    address = f"{octet:02x}:00:5e:00:53:01"
    first = netaddr.EUI(address).words[0]
    assert for_one(address) == (first & 1 == 0)
    assert made_up(address) == (first & 2 != 0)


def test_a_thing_called_like_a_machine_is_that_machine() -> None:
    """The old firewall and the new one are one place in the plan, so they share one address; the file to keep has it once."""
    stands = kit('firewall: {name: Firewall, do: keep, zone: management, hardware_address: "00:00:5e:00:53:04"}')
    plan = addressed(BASE, stands)
    assert keeping(stands, plan).count("holder: firewall") == 2  # one a family


def test_two_things_with_one_hardware_address_are_refused_at_their_place() -> None:
    with pytest.raises(UserError, match="has 00:00:5e:00:53:01 too"):
        addressed(BASE, kit(LP, LP.replace("lp:", "other:")))


def test_the_register_has_a_line_for_everything() -> None:
    """Gateways, machines and things, each with both families."""
    plan = addressed(replace(BASE, visitors=20), kit(LP))
    (register,) = [one for one in plan.records(Page) if one.slug == "register"]
    rows = [row for block in register.blocks if isinstance(block, Ruled) for row in block.rows]
    by = {(row[0], row[1]): row for row in rows}
    assert by[("Staff", "lp")][2:5] == ("10.44.30.21", kept(plan)["lp.ipv6"][2], "00:00:5e:00:53:01")
    assert all(row[2] and row[3] for row in rows)
    entries = plan.ledger.figures["register.all"].value
    assert len(entries) == len(rows)
