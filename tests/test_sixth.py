"""IPv6: every zone's network and every address, judged by netaddr and by RFC 4193; each finding raised from a changed brief."""

import re
from dataclasses import replace
from hashlib import sha1
from ipaddress import IPv6Network

import netaddr
import pytest
from hypothesis import given
from hypothesis import strategies as st

from address_judges import apart_sixth, facts
from address_plans import Addressed, Small, addressed, keeping
from offices import BRIEFS, example
from scantling.figures import Address, Address6, Finding, Leg, Prefix, Subnet, Zone
from scantling.figures.spelled import spelled
from scantling.handbook.addressing6 import GLOBAL, LOCAL, unique_local

BASE = Small({"pcs": ("pc", "staff", 10), "printers": ("printer", "staff", 4)}, visitors=20)
ZONES = 4
GIVEN = "2001:db8:44::/48"


def says(plan: Addressed) -> dict[str, str]:
    """The findings of IPv6 that hold, by code."""
    return {
        one.code: one.says
        for one in plan.records(Finding)
        if one.when.value and one.code >= "A-1" and one.code[0] == "A"
    }


@pytest.mark.parametrize("name", BRIEFS)
def test_every_zone_of_the_examples_has_a_network_and_a_port(name: str) -> None:
    """All /64 apart, all addresses inside, the gateway among them (RFC 4291 section 2.5.4; netaddr)."""
    plan = example(name)
    zones = {zone.slug for zone in plan.records(Zone)}
    nets = {one.slug: netaddr.IPNetwork(str(one.network)) for one in plan.records(Prefix)}
    assert set(nets) == zones == {leg.slug for leg in plan.records(Leg) if leg.zone in zones}
    assert {net.prefixlen for net in nets.values()} == {64}
    assert netaddr.IPSet(nets.values()).size == len(nets) * 2**64
    given = plan.records(Address6)
    assert all(netaddr.IPAddress(str(one.address)) in nets[one.zone] for one in given)
    assert len({one.address for one in given}) == len(given)
    assert {one.address for one in given} >= {one.gateway for one in plan.records(Prefix)}


def test_the_own_prefix_is_made_as_rfc_4193_says() -> None:
    """fd, then the last 40 bits of a SHA-1 over a time in the format of NTP and an identifier; a /48 (sections 3.1 and 3.2.2)."""
    (block,) = {one.network.supernet(new_prefix=48) for one in addressed(BASE).records(Prefix)}
    key = (
        (4_004_553_600).to_bytes(4, "big") + bytes(4) + b"Test"
    )  # 2026-11-25 from 1900 on (RFC 5905), the office's name
    assert block.network_address.packed[:6] == b"\xfd" + sha1(key).digest()[-5:]  # noqa: S324 - as RFC 4193 asks


@given(st.text(min_size=1, max_size=60), st.dates())
def test_any_name_and_day_give_a_local_prefix(name: str, day: object) -> None:
    """Inside fd00::/8 and 48 bits long, whatever the name; the same again (RFC 4193 section 3.1)."""
    made = unique_local(name.encode("utf-8", "ignore").decode(), day)  # type: ignore[arg-type]
    assert made.prefixlen == 48
    assert made.subnet_of(LOCAL)
    assert not made.overlaps(GLOBAL)


def test_names_differ_and_so_do_prefixes() -> None:
    """A thousand offices: RFC 4193's table gives 4.54*10^-7 that two are alike."""
    from datetime import date  # noqa: PLC0415 - for this alone

    made = {unique_local(f"Office {number}", date(2026, 11, 25)) for number in range(1000)}
    assert len(made) == 1000


def test_without_a_prefix_the_office_has_its_own_and_is_told() -> None:
    """A-11."""
    plan = addressed(BASE)
    assert "A-11" in says(plan)
    assert all(one.network.subnet_of(LOCAL) for one in plan.records(Prefix))


def test_with_the_providers_prefix_every_zone_bears_its_number() -> None:
    """Zone 30 is :30: in 2001:db8:44::/48, its gateway ::1, and the machine at .22 is ::22."""
    plan = addressed(replace(BASE, prefix6=GIVEN))
    nets = facts(plan, Prefix, ("network", "gateway"))
    assert nets["staff"] == ("2001:db8:44:30::/64", "2001:db8:44:30::1")
    assert nets["servers"] == ("2001:db8:44:20::/64", "2001:db8:44:20::1")
    assert facts(plan, Address, ("address",))["directory"] == ("10.44.20.22",)
    assert facts(plan, Address6, ("address",))["directory"] == ("2001:db8:44:20::22",)
    assert not {"A-10", "A-11", "A-12", "A-13"} & says(plan).keys()


def test_a10_a_prefix_too_long_for_all_zones() -> None:
    """A /64 for four zones: one network in it, the others in the office's own; a /62 holds them all."""
    plan = addressed(replace(BASE, prefix6="2001:db8:44:f::/64"))
    assert len(plan.records(Zone)) == ZONES
    assert "A-10" in says(plan)
    assert sum(one.network.subnet_of(LOCAL) for one in plan.records(Prefix)) == ZONES - 1
    apart_sixth(plan, {})
    assert "A-10" not in says(addressed(replace(BASE, prefix6="2001:db8:44:c::/62")))


def test_a10_a_prefix_longer_than_a_zones_network() -> None:
    plan = addressed(replace(BASE, prefix6="2001:db8:44:f:1::/80"))
    assert "A-10" in says(plan)
    assert all(one.network.subnet_of(LOCAL) for one in plan.records(Prefix))


def test_a12_the_provider_gives_another_prefix_than_was_issued() -> None:
    """What was issued stays, and is told; a new zone gets the new prefix."""
    first = replace(BASE, prefix6=GIVEN)
    stands = keeping("", addressed(first))
    other = replace(first, prefix6="2001:db8:55::/48", devices={**BASE.devices, "phones": ("phone", "phones", 3)})
    plan = addressed(other, stands)
    nets = facts(plan, Prefix, ("network",))
    assert nets["staff"] == ("2001:db8:44:30::/64",)
    assert nets["phones"] == ("2001:db8:55:40::/64",)
    assert "A-12" in says(plan)
    assert "A-12" not in says(addressed(first, stands))


@pytest.mark.parametrize("wrong", ["fe80::/64", "ff02::/16", "::/0", "64:ff9b::/96"])
def test_a13_no_prefix_of_an_office(wrong: str) -> None:
    """Link-local, multicast, everything, translated IPv4 (RFC 4291 section 2.4, RFC 6052): the office's own is taken instead."""
    plan = addressed(replace(BASE, prefix6=wrong))
    assert "A-13" in says(plan)
    assert all(one.network.subnet_of(LOCAL) for one in plan.records(Prefix))


def test_the_own_prefix_is_kept_whatever_the_day() -> None:
    """Kept once, a new zone gets its network beside the others even when the day, and so the prefix to be made, is another."""
    stands = keeping("", addressed(BASE))
    kept = next(iter(facts(addressed(BASE), Prefix, ("network",)).values()))[0]
    prefix = IPv6Network(kept).supernet(new_prefix=48)
    later = replace(BASE, heads=6, devices={**BASE.devices, "phones": ("phone", "phones", 3)})
    text = later.brief().replace("2026-11-25", "2031-01-01")
    assert text != later.brief()
    plan = addressed(_Written(text), stands)
    nets = {one.slug: one.network for one in plan.records(Prefix)}
    assert nets["phones"].subnet_of(prefix)
    assert str(nets["staff"]) == re.findall(r"staff: \{prefix: (\S+)\}", stands.replace('"', ""))[0]


class _Written(Small):
    """An office whose brief is a text."""

    def __init__(self, text: str) -> None:
        object.__setattr__(self, "text", text)

    def brief(self) -> str:
        """As it is."""
        return str(getattr(self, "text"))  # noqa: B009 - the fields of an office are fixed


def test_a_gateway_that_stands_elsewhere_stays() -> None:
    """Issued at ::fe; a machine may then not have it, and ::1 is free."""
    stands = (
        "issued:\n  zones: {staff: {number: 30, network: 10.44.30.0/24, gateway: 10.44.30.254}}\n"
        '  prefixes: {staff: {prefix: "2001:db8:44:30::/64", gateway: "2001:db8:44:30::fe"}}\n'
    )
    plan = addressed(replace(BASE, prefix6=GIVEN), stands)
    assert facts(plan, Prefix, ("gateway",))["staff"] == ("2001:db8:44:30::fe",)
    assert keeping(stands, plan).count("2001:db8:44:30::fe") == 1


def test_a14_two_zones_with_one_number() -> None:
    """A pin; the plan goes on with the next free number, so that no two ports have one name."""
    plan = addressed(replace(BASE, more=_pin("zones.staff.number", "20")))
    assert "A-14" in says(plan)
    names = [leg.interface for leg in plan.records(Leg)]
    assert len(set(names)) == len(names)
    assert "A-14" not in says(addressed(BASE))


@pytest.mark.parametrize("number", ["0", "4095", "10000000"])
def test_a14_a_number_that_no_network_can_have(number: str) -> None:
    plan = addressed(replace(BASE, more=_pin("zones.staff.number", number)))
    assert "A-14" in says(plan)
    assert all(
        len(leg.interface) <= 15 for leg in plan.records(Leg)
    )  # IFNAMSIZ less the nought at its end, Linux if.h


def test_a15_a_pin_that_lays_one_subnet_over_another() -> None:
    """In either family; the ports show what is pinned."""
    plan = addressed(replace(BASE, more=_pin("addresses.staff.subnet", "10.44.20.0/26")))
    assert "A-15" in says(plan)
    assert str({leg.slug: leg for leg in plan.records(Leg)}["staff"].networks[0]) == "10.44.20.0/26"
    assert facts(plan, Subnet, ("network",))["staff"] == ("10.44.20.0/26",)
    sixth = addressed(replace(BASE, prefix6=GIVEN, more=_pin("sixth.staff.network", "2001:db8:44:20::/64")))
    assert "A-15" in says(sixth)
    assert "A-15" not in says(addressed(BASE))


def _pin(id_: str, value: str) -> tuple[str, ...]:
    return (f'pins: {{{id_}: {{value: "{value}", because: to see the finding}}}}',)


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("2001:db8:44::1/48", "is an address inside a network; the network itself is 2001:db8:44::/48"),
        ("2001:db8:44::/129", "is not an IPv6 network"),
        ("10.44.0.0/16", "is not an IPv6 network"),
        ("2001:db8:44::", "is not an IPv6 network"),
        ("2001:::/48", "is not an IPv6 network"),
        ("::ffff:10.44.0.0/112", "is not an IPv6 network"),
    ],
)
def test_what_is_no_network_is_told(text: str, wrong: str) -> None:
    with pytest.raises(ValueError, match=re.escape(wrong)):
        spelled(text, IPv6Network)


@given(st.integers(0, 2**128 - 1), st.integers(0, 128))
def test_every_network_reads_as_netaddr_reads_it(number: int, length: int) -> None:
    """Written by netaddr, whole or short."""
    cidr = netaddr.IPNetwork((number, length), version=6).cidr
    for text in (str(cidr), cidr.ip.format(netaddr.ipv6_verbose) + f"/{length}"):
        if "." not in text:  # netaddr writes the old numbers with dots in some
            assert int(spelled(text, IPv6Network).network_address) == cidr.first
            assert spelled(text, IPv6Network).prefixlen == length


@pytest.mark.parametrize("text", ["fe80::1%zone-30", "::1/128", "10.44.0.1", "2001:db8::g", ""])
def test_what_is_no_address_is_told(text: str) -> None:
    from ipaddress import IPv6Address  # noqa: PLC0415 - for this alone

    with pytest.raises(ValueError, match="is not an IPv6 address"):
        spelled(text, IPv6Address)
