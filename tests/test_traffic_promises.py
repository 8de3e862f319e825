"""What is promised of who may reach whom, in plain words, on the three example offices: by the rules and by the meaning."""

from collections.abc import Iterator
from ipaddress import ip_address

import pytest
from offices import example
from referees.filtering import Moment, Packet
from rule_samples import NOWHERE
from traffic_offices import NAMES, NOON, STRANGER, Office, office

from scantling.figures import FIREWALL, OUTSIDE, Asking, Host, Leg

PORTS = (22, 53, 80, 123, 389, 443, 445, 514, 631, 853, 4840, 5060, 5353, 5432, 9100, 49152, 65535)
every_office = pytest.mark.parametrize("name", NAMES)


def targets(there: Office, zone: str) -> Iterator[Host]:
    """Addresses in a zone: the machines' and some others; outside, a stranger's and those of every party."""
    if zone == OUTSIDE:
        yield from STRANGER.values()
        yield from (network.network_address for networks in there.sets.values() for network in networks)
        yield from (network.network_address for _, networks, _ in there.rules.sets for network in networks)
        yield from (
            n.network_address for flow in there.flows if flow.target.zone == OUTSIDE for n in flow.target.networks
        )
        return
    leg = next(leg for leg in there.legs if leg.zone == zone)
    yield from (there.some(zone, family) for family in (4, 6))
    yield from (
        host for held in there.machines.values() for host in held if any(host in network for network in leg.networks)
    )
    yield from (n.network_address for flow in there.flows if flow.target.zone == zone for n in flow.target.networks)


def tries(there: Office, source: str, target: str) -> Iterator[Packet]:
    """Every address there by every port and protocol of a long list."""
    for host in dict.fromkeys(targets(there, target)):
        for protocol in ("tcp", "udp"):
            yield from (there.packet(source, host, protocol, port) for port in PORTS)
        yield there.packet(source, host, "icmp" if host.version == 4 else "icmpv6", 8 if host.version == 4 else 128)
        yield there.packet(source, host, "esp", 0)


def reached(there: Office, source: str, target: str, moment: Moment = NOON) -> set[tuple[str, int]]:
    """What passes, by protocol and port."""
    return {(p.protocol, p.port) for p in tries(there, source, target) if there.passes(p, moment)}


@every_office
def test_a_guest_reaches_nothing_inside(name: str) -> None:
    there = office(name)
    if "guests" not in there.zones():
        assert name == "fold", "five people under the stairs have no guests"
        return
    for zone in there.zones():
        if zone != "guests":
            assert not reached(there, "guests", zone), zone


@pytest.mark.parametrize("name", ["millrace", "brackwater"])
def test_a_guest_reaches_the_web_and_nothing_else_outside(name: str) -> None:
    web = {("tcp", 80), ("tcp", 443), ("udp", 443)}
    allowed = {("tcp", 853), ("udp", 853)} if name == "brackwater" else set()
    assert reached(office(name), "guests", OUTSIDE) == web | allowed


@every_office
def test_nobody_from_outside_gets_in_unasked(name: str) -> None:
    """A stranger reaches the remote access where there is one, by its own ports, and nothing else."""
    there = office(name)
    gateway = there.machines.get("gateway", ()) if name == "brackwater" else ()
    for zone in there.zones():
        got = {(p.target, p.protocol, p.port) for p in tries(there, OUTSIDE, zone) if there.passes(p)}
        assert got == {(host, "tcp", 443) for host in gateway if zone == "servers"}, zone
    for host in gateway:
        ways = {
            port for port in (500, 501, 4499, 4500, 4501) if there.passes(there.packet(OUTSIDE, host, "udp", port))
        }
        assert ways == {500, 4500}


@every_office
def test_a_stranger_reaches_nothing_of_the_firewall_but_what_is_meant(name: str) -> None:
    there = office(name)
    meant = any(f.source.zone == OUTSIDE and f.target.zone == FIREWALL and not f.source.networks for f in there.flows)
    for leg in there.legs:
        for host in leg.own:
            got = {
                port
                for port in PORTS
                if there.passes(there.packet(OUTSIDE, host, "tcp", port, STRANGER[host.version]))
            }
            assert not got or meant


def test_a_payment_terminal_reaches_its_processor_and_nothing_else_outside() -> None:
    there = office("millrace")
    processor = {network.network_address for network in there.sets["processor"]}
    for packet in tries(there, "payments", OUTSIDE):
        wanted = packet.target in processor and (packet.protocol, packet.port) == ("tcp", 443)
        assert there.passes(packet) == wanted, packet


def test_a_payment_terminal_reaches_nobody_inside_but_names_and_time_of_the_firewall() -> None:
    there = office("millrace")
    for zone in there.zones():
        if zone != "payments":
            assert not reached(there, "payments", zone), zone
    door = next(leg.own[0] for leg in there.legs if leg.zone == "payments")
    got = {
        (protocol, port)
        for protocol in ("tcp", "udp")
        for port in PORTS
        if there.passes(there.packet("payments", door, protocol, port))
    }
    assert got == {("tcp", 53), ("udp", 53), ("udp", 123)}


def test_nobody_reaches_the_payment_terminals() -> None:
    there = office("millrace")
    for zone in (*there.zones(), OUTSIDE):
        if zone != "payments":
            assert not reached(there, zone, "payments"), zone


def test_nobody_reaches_the_stage_zone_and_it_reaches_nobody() -> None:
    there = office("millrace")
    for zone in (*there.zones(), OUTSIDE):
        if zone != "stage":
            assert not reached(there, zone, "stage"), zone
            assert not reached(there, "stage", zone), zone


def test_only_the_application_reaches_the_saws_and_only_in_working_hours() -> None:
    there, shift, night = office("brackwater"), Moment(0, 6 * 60), Moment(0, 3 * 60)
    application = there.machines["application"][0]
    saw = next(flow for flow in there.flows if flow.slug == "allow-cutting-lists").target.networks[0].network_address
    lists = there.packet("servers", saw, "tcp", 4840, application)
    assert there.passes(lists, shift)
    assert not there.passes(lists, night)
    assert not there.passes(there.packet("servers", saw, "tcp", 4841, application), shift)
    assert not there.passes(there.packet("servers", saw, "tcp", 4840), shift), "another machine of the zone"
    for zone in (*there.zones(), OUTSIDE):
        if zone not in {"workshop", "servers"}:
            assert not reached(there, zone, "workshop", shift), zone


@every_office
def test_only_the_resolver_asks_names_outside(name: str) -> None:
    """Plain lookups leave from the resolver's own address, or from the firewall; from nowhere else."""
    there = office(name)
    resolver = there.machines.get("filter", ())
    asked = [
        (zone, source, target)
        for target in STRANGER.values()
        for zone in there.zones()
        for source in speakers(there, zone, target)
    ]
    for zone, source, target in asked:
        passed = there.passes(there.packet(zone, target, "udp", 53, source))
        assert passed == (source in resolver), (zone, source)


def speakers(there: Office, zone: str, target: Host) -> Iterator[Host]:
    """The machines of a zone and some device in it, of the target's family."""
    behind = next(leg.networks for leg in there.legs if leg.zone == zone)
    every = (there.some(zone, target.version), *(host for held in there.machines.values() for host in held))
    return (host for host in every if host.version == target.version and any(host in network for network in behind))


def test_encrypted_lookups_are_shut_for_staff_whatever_else_is_open() -> None:
    there = office("millrace")
    for target in STRANGER.values():
        for protocol in ("tcp", "udp"):
            packet = there.packet("staff", target, protocol, 853)
            assert not there.passes(packet)
            rule = there.decides(packet)
            assert rule is not None
            assert rule.flow == "encrypted-staff"


@every_office
def test_the_office_is_managed_from_the_named_places_only(name: str) -> None:
    there = office(name)
    places = {"management", "staff"} if name == "fold" else {"management"}
    doors = [host for leg in there.legs for host in leg.own]
    for zone in (*there.zones(), OUTSIDE):
        got = {
            host
            for host in doors
            if there.passes(there.packet(zone, host, "tcp", 22, there.some(zone, host.version)))
        }
        assert bool(got) == (zone in places), zone


@every_office
def test_sources_that_are_not_behind_a_port_are_dropped(name: str) -> None:
    """A device of one zone that claims to be of another; the outside that claims to be inside (RFC 2827)."""
    there = office(name)
    files = there.machines["files"][0]
    staff = there.some("staff")
    assert there.passes(there.packet("staff", files, "tcp", 445, staff))
    for zone in (*there.zones(), OUTSIDE):
        if zone != "staff":
            packet = there.packet(zone, files, "tcp", 445, staff)
            rule = there.decides(packet)
            assert not there.passes(packet)
            assert rule is not None
            assert rule.early


@every_office
def test_staff_open_their_files_and_nobody_else_does(name: str) -> None:
    there = office(name)
    for host in there.machines["files"]:
        assert there.passes(there.packet("staff", host, "tcp", 445))
        for zone in (*there.zones(), OUTSIDE):
            if zone not in {"staff", "servers"}:
                assert not there.passes(there.packet(zone, host, "tcp", 445)), zone


@every_office
def test_nobody_sends_to_addresses_that_are_never_outside(name: str) -> None:
    there = office(name)
    for zone in there.zones():
        for text in ("10.255.3.3", "192.168.44.4", "100.64.0.9", "169.254.9.9"):
            assert not there.passes(there.packet(zone, ip_address(text), "tcp", 443)), zone


@every_office
def test_a_device_without_an_address_gets_one_in_every_zone(name: str) -> None:
    """RFC 2131: from 0.0.0.0 to all; RFC 8415: from its link address to ff02::1:2; the answers find their way."""
    there = office(name)
    nobody, everybody, servers, link = (
        ip_address(one) for one in (NOWHERE, "255.255.255.255", "ff02::1:2", "fe80::77")
    )
    for zone in there.zones():
        assert there.passes(there.packet(zone, everybody, "udp", 67, nobody)), zone
        assert not there.passes(there.packet(zone, everybody, "udp", 68, nobody)), zone
        assert there.passes(there.packet(zone, servers, "udp", 547, link)), zone
        door = next(leg.own[0] for leg in there.legs if leg.zone == zone)
        assert there.passes(there.packet(FIREWALL, there.some(zone), "udp", 68, door)), zone
    assert there.passes(there.packet(FIREWALL, everybody, "udp", 68, door))


@every_office
def test_ipv6_finds_its_neighbours_in_every_zone_and_outside(name: str) -> None:
    """RFC 4890 section 4.4.1: solicitations and advertisements must not be dropped on the link; redirects (137) may be."""
    there = office(name)
    all_routers, near, link = (ip_address(one) for one in ("ff02::2", "fe80::1", "fe80::77"))
    lines = [OUTSIDE] if any(leg.zone == OUTSIDE for leg in example(name).records(Leg)) else []
    for zone in (*there.zones(), *lines):
        for kind in (133, 134, 135, 136):
            assert there.passes(there.packet(zone, all_routers, "icmpv6", kind, link)), (zone, kind)
            assert there.passes(there.packet(zone, near, "icmpv6", kind, link)), (zone, kind)
        assert not there.passes(there.packet(zone, near, "icmpv6", 137, link)), zone
    assert there.passes(there.packet(FIREWALL, all_routers, "icmpv6", 134, near))


@every_office
def test_every_zone_that_looks_names_up_reaches_its_resolver_and_clocks(name: str) -> None:
    """As the page of names and time says; a quiet zone asks nobody but the firewall for the time."""
    there = office(name)
    for asking in example(name).records(Asking):
        quiet = asking.slug in {"stage", "workshop", "cameras"}
        leg = next(leg for leg in there.legs if leg.zone == asking.slug)
        for host in asking.resolvers:
            within = any(host.version == net.version and host in net for net in leg.networks) and host not in leg.own
            assert within or there.passes(there.packet(asking.slug, host, "udp", 53)) == (not quiet), (
                asking.slug,
                host,
            )
        for host in asking.time_sources:
            within = any(host.version == net.version and host in net for net in leg.networks) and host not in leg.own
            own = any(host in one.own for one in there.legs)
            assert within or there.passes(there.packet(asking.slug, host, "udp", 123)) == (own or not quiet), (
                asking.slug,
                host,
            )


@every_office
def test_the_firewall_itself_speaks_only_where_it_must(name: str) -> None:
    """Default deny on its way out too: no mail, no files, no pages of the office's machines."""
    there = office(name)
    for zone in there.zones():
        for host in targets(there, zone):
            if not any(host in leg.own for leg in there.legs):
                own = next(one for leg in there.legs for one in leg.own if one.version == host.version)
                sent = (there.packet(FIREWALL, host, "tcp", port, own) for port in (22, 25, 80, 443, 445, 631))
                assert not any(there.passes(packet) for packet in sent), host
