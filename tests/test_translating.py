"""What the firewall changes in addresses: published services in IPv4, one port for one machine, and what leaves."""

from dataclasses import replace

from flow_samples import LEGS, end, flow
from referees.filtering import Packet
from rule_samples import hosts, nets
from test_filtering import SERVERS, STAFF, WEB, passes

from scantling.figures import OUTSIDE, Transport
from scantling.handbook.filtering import compiled
from scantling.handbook.translating import translations, twice


def test_a_published_service_is_reached_by_its_changed_address_only() -> None:
    flows = [flow("shop", end(OUTSIDE), SERVERS, WEB)]
    rules, (stranger, inside) = compiled(flows, LEGS, translations(flows, LEGS)), hosts("192.0.2.9", "10.20.20.5")
    packet = Packet("outside-1", stranger, inside, "tcp", 443, translated=True)
    assert passes(rules, packet)
    assert not passes(rules, replace(packet, translated=False))
    assert not passes(rules, replace(packet, source=hosts("10.20.30.7")[0])), "the office's own, from outside"
    (shop, masked) = rules.translations
    assert (shop.kind, shop.carried, shop.to, shop.port) == ("target", WEB, inside, 443)
    assert (masked.kind, masked.zone, masked.to) == ("source", OUTSIDE, None)


def test_two_machines_on_one_port_outside_are_told() -> None:
    other = end("servers", *nets("10.20.20.6"))
    flows = [flow("shop", end(OUTSIDE), SERVERS, WEB), flow("mail", end(OUTSIDE), other, Transport("tcp", 440, 450))]
    assert {one.slug for one in twice(flows)} == {"shop", "mail"}
    assert not twice([flows[0], flow("mail", end(OUTSIDE), other, Transport("tcp", 25, 25))])


def test_any_protocol_is_each_that_can_be_led_elsewhere() -> None:
    flows = [flow("all", end(OUTSIDE), SERVERS, Transport("any"))]
    led = [(one.carried.protocol, one.port) for one in translations(flows, LEGS) if one.carried is not None]
    assert led == [("esp", 0), ("gre", 0), ("tcp", 0), ("udp", 0)]


def test_several_machines_are_led_to_by_nobody() -> None:
    many = end("servers", *nets("10.20.20.5", "10.20.20.6"))
    assert [one.kind for one in translations([flow("all", end(OUTSIDE), many, WEB)], LEGS)] == ["source"]
    assert translations([flow("out", STAFF, end(OUTSIDE), WEB)], LEGS[:3]) == ()
