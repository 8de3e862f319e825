"""The address servers' settings: taken by Kea itself, true to the plan, safe from what clients type; netaddr is the referee."""

import json
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from ipaddress import IPv4Address, IPv6Address
from pathlib import Path
from typing import Any

import netaddr
import pytest

import generated_offices
from address_servers import files, judged, let_through, refused, settings, texts
from conftest import Scale
from hostile import EVERYTHING
from offices import BRIEFS, changed, example, fold, millrace, planned
from option_samples import other_ways
from scantling import api
from scantling.figures import (
    FIREWALL, Address, Asking, Figure, Leg, Machine, Name, Origin, Pool, Reservation, Server, Subnet, Zone,
)  # fmt: skip
from scantling.figures.units import WORD
from scantling.outputs.files import leases, leases6, leasing
from scantling.plan.make import Plan

KIT = """\
kit:
  lp: {name: Printer, kind: printer, do: keep, zone: staff, hardware_address: "00:00:5e:00:53:01"}
  switch: {name: Switch, do: keep, zone: management, hardware_address: "00:00:5e:00:53:02"}
"""
WITHOUT_NAMES = "  names:     {profile: names and addresses, down: 8 h, lost: 24 h}\n"


@cache
def _stands() -> Plan:
    return api.plan_text(millrace(), stands=KIT)


WAYS: dict[str, Callable[[], Plan]] = {
    **{name: lambda name=name: example(name) for name in BRIEFS},  # type: ignore[misc]
    "on the firewall": lambda: planned(changed(fold(), WITHOUT_NAMES, "")),
    "with things that stand": _stands,
    "with a provider's prefix": lambda: planned(
        changed(millrace(), "prefix6: 2001:db8:44::/48", "prefix6: 2001:db8:44:ab00::/56")
    ),
}
each_way = pytest.mark.parametrize("way", WAYS)


@each_way
def test_kea_takes_both_files(way: str, tmp_path: Path) -> None:
    """kea-dhcp4 -t and kea-dhcp6 -t, with the ports there that the files name."""
    plan = WAYS[way]()
    assert judged(plan, tmp_path) == []
    assert {"addresses/kea-dhcp4.conf", "addresses/kea-dhcp6.conf", "addresses/router-advertisements.txt"} <= set(
        files(plan)
    )
    assert all(one.what and one.goes and one.load and one.undo for one in files(plan).values())


def test_kea_takes_the_files_of_other_offices(scale: Scale, tmp_path: Path) -> None:
    for heads in generated_offices.HEADS[:: scale(short=7, full=1)]:
        assert judged(planned(generated_offices.brief(heads)), tmp_path) == []


def test_kea_takes_the_files_of_other_ways_to_build(tmp_path: Path) -> None:
    for plan in other_ways():
        assert judged(plan, tmp_path) == []


def _stray_pool(inside: Any) -> None:
    inside["subnet4"][2]["pools"].append({"pool": "192.0.2.1 - 192.0.2.9"})


def _number_twice(inside: Any) -> None:
    inside["subnet4"][1]["id"] = inside["subnet4"][0]["id"]


def _unknown_word(inside: Any) -> None:
    inside["wrong"] = True


def _reserved_twice(inside: Any) -> None:
    inside["subnet4"][2]["reservations"].append(dict(inside["subnet4"][2]["reservations"][0]))


def test_the_judge_is_real(tmp_path: Path) -> None:
    """A pool outside its subnet, a number twice, an unknown word, a port that is missing: Kea refuses each."""
    whole = files(_stands())["addresses/kea-dhcp4.conf"].content
    for spoil in (_stray_pool, _number_twice, _unknown_word, _reserved_twice):
        tree = json.loads(whole)
        spoil(tree["Dhcp4"])
        assert refused(json.dumps(tree).encode(), tmp_path), spoil
    assert refused(whole, tmp_path, ports=[])
    assert not refused(whole, tmp_path)


@each_way
def test_every_zone_and_every_address_is_that_of_the_plan(way: str) -> None:
    """Subnet, number, pool, gateway as planned; pools apart and inside, nothing reserved in one (netaddr)."""
    plan = WAYS[way]()
    fourth = settings(files(plan)["addresses/kea-dhcp4.conf"])["subnet4"]
    nets = {one.slug: str(one.network) for one in plan.records(Subnet)}
    numbers = {zone.slug: zone.number.value for zone in plan.records(Zone)}
    assert {(one["id"], one["subnet"]) for one in fourth} == {(numbers[slug], net) for slug, net in nets.items()}
    pools = [(one["subnet"], netaddr.IPRange(*pool["pool"].split(" - "))) for one in fourth for pool in one["pools"]]
    assert {(str(run[0]), str(run[-1])) for _, run in pools} == {
        (str(p.first), str(p.last)) for p in plan.records(Pool)
    }
    assert all(run in netaddr.IPNetwork(net) for net, run in pools)
    lent = netaddr.IPSet([run for _, run in pools])
    assert lent.size == sum(run.size for _, run in pools)
    kept = [one.address for one in plan.records(Reservation) if isinstance(one.address, IPv4Address)]
    singles = [str(one) for one in (*(given.address for given in plan.records(Address)), *kept)]
    assert not any(netaddr.IPAddress(one) in lent for one in singles)
    gateways = {str(one.network): str(one.gateway) for one in plan.records(Subnet)}
    for one in fourth:
        told = {option["name"]: option["data"] for option in one["option-data"]}
        assert told["routers"] == gateways[one["subnet"]]
        assert one.get("relay", {"ip-addresses": [gateways[one["subnet"]]]}) == {
            "ip-addresses": [gateways[one["subnet"]]]
        }


@each_way
def test_the_names_and_times_are_those_that_each_zone_asks(way: str) -> None:
    """In both families, the domain only where the zone has it."""
    plan = WAYS[way]()
    asking = {one.slug: one for one in plan.records(Asking)}
    numbers = {zone.number.value: zone.slug for zone in plan.records(Zone)}
    for path, subnets, kind, words in (
        ("addresses/kea-dhcp4.conf", "subnet4", IPv4Address, ("domain-name-servers", "ntp-servers")),
        ("addresses/kea-dhcp6.conf", "subnet6", IPv6Address, ("dns-servers", "sntp-servers")),
    ):
        for one in settings(files(plan)[path])[subnets]:
            told = {option["name"]: option["data"] for option in one["option-data"]}
            wanted = asking[numbers[one["id"]]]
            sources = (wanted.resolvers, 53), (wanted.time_sources, 123)
            for word, (hosts, port) in zip(words, sources, strict=True):
                mine = [
                    host for host in hosts if isinstance(host, kind) and let_through(plan, wanted.slug, host, port)
                ]
                assert told.get(word, "") == ", ".join(map(str, mine))
            assert told.get("domain-search", "") == wanted.domain


@each_way
def test_lease_times_are_in_their_order(way: str) -> None:
    """RFC 2131 section 4.4.5: T1 half, T2 seven eighths; RFC 8415 section 21.4: half and eight tenths; each below the next."""
    plan = WAYS[way]()
    for path, subnets, share in (("kea-dhcp4.conf", "subnet4", 0.875), ("kea-dhcp6.conf", "subnet6", 0.8)):
        for one in settings(files(plan)[f"addresses/{path}"])[subnets]:
            if "valid-lifetime" in one:
                lease = one["valid-lifetime"]
                assert one["renew-timer"] < one["rebind-timer"] < lease
                assert one["renew-timer"] == pytest.approx(lease / 2, abs=1)
                assert one["rebind-timer"] == pytest.approx(lease * share, abs=1)


def test_visitors_are_lent_addresses_for_as_long_as_the_plan_says() -> None:
    plan = example("millrace")
    (guests,) = [one for one in settings(files(plan)["addresses/kea-dhcp4.conf"])["subnet4"] if one["id"] == 60]
    assert guests["valid-lifetime"] == plan.figures["addresses.visitors.lease"].value * 3600


def test_what_is_reserved_is_given_by_hardware_address() -> None:
    """In both families, with the name that leads to it; visitors' IPv6 addresses are given by nobody."""
    plan = _stands()
    fourth = {one["id"]: one for one in settings(files(plan)["addresses/kea-dhcp4.conf"])["subnet4"]}
    sixth = {one["id"]: one for one in settings(files(plan)["addresses/kea-dhcp6.conf"])["subnet6"]}
    given = {one.slug: str(one.address) for one in plan.records(Reservation)}
    (printer,) = fourth[30]["reservations"]
    assert (printer["hw-address"], printer["ip-address"]) == ("00:00:5e:00:53:01", given["lp"])
    assert printer["hostname"]
    assert [one["ip-addresses"] for one in sixth[30]["reservations"]] == [[given["lp.ipv6"]]]
    assert [one["ip-address"] for one in fourth[10]["reservations"]] == [given["switch"]]
    assert sixth[30]["pools"]
    assert not sixth[60]["pools"]


def test_given_ipv6_addresses_lie_apart_from_those_that_things_bear() -> None:
    plan = _stands()
    for one in settings(files(plan)["addresses/kea-dhcp6.conf"])["subnet6"]:
        for pool in one["pools"]:
            lent = netaddr.IPNetwork(pool["pool"])
            assert lent in netaddr.IPNetwork(one["subnet"])
            assert not any(netaddr.IPAddress(kept["ip-addresses"][0]) in lent for kept in one["reservations"])
            assert (
                netaddr.IPAddress(one["relay"]["ip-addresses"][0] if "relay" in one else one["subnet"][:-3])
                not in lent
            )


def test_the_server_listens_where_it_stands() -> None:
    """A machine on its own ports, all else passed on; the firewall on every port."""
    plan = example("millrace")
    who = next(one.holder for one in plan.records(Server) if one.does == "addresses")
    own = next(one.zones for one in plan.records(Machine) if one.slug == who)
    legs = {one.slug: one.interface for one in plan.records(Leg)}
    inside = settings(files(plan)["addresses/kea-dhcp4.conf"])
    assert inside["interfaces-config"]["interfaces"] == [legs[zone] for zone in own]
    told = settings(files(plan)["addresses/kea-dhcp6.conf"])["interfaces-config"]["interfaces"]
    lender = [
        host for one in plan.records(Server) if one.does == "addresses" for host in one.addresses if host.version == 6
    ]
    assert told == [
        *(legs[zone] for zone in own),
        *(f"{legs[own[0]]}/{host}" for host in lender),
    ]  # the relay speaks to it alone
    assert sum("relay" in one for one in inside["subnet4"]) == len(inside["subnet4"]) - len(own)
    assert "addresses/relay.txt" in files(plan)
    firewall = WAYS["on the firewall"]()
    assert leasing.holder(firewall) == FIREWALL
    every = settings(files(firewall)["addresses/kea-dhcp4.conf"])
    zones = {one.slug for one in firewall.records(Zone)}
    assert set(every["interfaces-config"]["interfaces"]) == {
        leg.interface for leg in firewall.records(Leg) if leg.zone in zones
    }
    assert not any("relay" in one for one in every["subnet4"])
    assert "addresses/relay.txt" not in files(firewall)


def test_without_a_server_that_was_named_the_machine_with_the_service_gives_addresses() -> None:
    plan = example("millrace")
    without = replace(plan, entries={kind: made for kind, made in plan.entries.items() if kind is not Server})
    assert leasing.holder(without) == leasing.holder(plan) != FIREWALL


def test_the_notes_say_what_the_firewall_tells_each_zone() -> None:
    """Every zone with its prefix; visitors make their own address (A yes, M no)."""
    plan = example("millrace")
    told = files(plan)["addresses/router-advertisements.txt"].content.decode("ascii")
    blocks = {block.split("\n")[0]: block for block in told.split("\n\n")[2:]}
    assert len(blocks) == len(plan.records(Zone))
    guests = blocks["zone-60 (Guests)"]
    assert "own address (A)      yes" in guests
    assert "given address (M)    no" in guests
    relay = files(plan)["addresses/relay.txt"].content.decode("ascii")
    assert all(leg.interface in relay for leg in plan.records(Leg) if leg.zone not in ("servers", "outside"))


@pytest.mark.parametrize("words", EVERYTHING)
def test_a_hostile_office_name_stays_a_remark(words: str) -> None:
    """The files are JSON of the same shape but for the remark, and no line of a note begins with the client's words."""
    usual = planned(fold())
    named = usual.office.model_copy(update={"name": Figure(words, WORD, Origin("brief", "office.name"))})
    for path, one in files(replace(usual, office=named)).items():
        same = files(usual)[path].content
        assert one.content.isascii()
        if path.endswith(".conf"):
            assert {**settings(one), "comment": ""} == {**settings(same), "comment": ""}
        else:
            assert one.content.splitlines()[1:] == same.splitlines()[1:]


def test_hostile_words_in_every_field_are_taken_by_kea(tmp_path: Path, scale: Scale) -> None:
    """Zone, domain, holder and name at once, also what no brief may hold; read back by Kea and by json."""
    plan = _stands()
    zones = leasing.served(plan)
    for words in EVERYTHING[:: scale(short=4, full=1)]:
        hostile = [
            replace(
                zone,
                name=words,
                asking=replace(zone.asking, domain=words) if zone.asking is not None else None,
                reservations=tuple(replace(one, holder=words) for one in zone.reservations),
            )
            for zone in zones
        ]
        names = [_called(words, one) for zone in hostile for one in zone.reservations]
        fourth = {
            **leases.settings(plan),
            "comment": leasing.plainly(words),
            "subnet4": [leases.subnet(zone, names) for zone in hostile],
        }
        sixth = {**leases6.settings(plan, hostile), "subnet6": [leases6.subnet6(zone, names) for zone in hostile]}
        for program, tree in (("kea-dhcp4", {"Dhcp4": fourth}), ("kea-dhcp6", {"Dhcp6": sixth})):
            content = leases.as_json(tree)
            assert json.loads(content) == tree
            assert all(one.isprintable() and one.isascii() for one in texts(tree))
            assert refused(content, tmp_path, program) == "", words
        told = [*leases6.advertised(plan, hostile), *leases6.passed_on(plan, hostile)]
        assert len(leases6.lines_of(iter(told)).splitlines()) == len(told)


def _called(words: str, one: Reservation) -> Name:
    return Name(one.slug, f"{words}.client.example", one.holder, (one.address,))
