"""The kernel's listing read back: what each expression lets through, by packets by hand; what is not known is refused."""

from dataclasses import replace
from random import Random
from typing import Any

import pytest
from conftest import Scale
from flow_samples import FlowDice
from kernel_listings import becomes, passes
from offices import BRIEFS, example
from proof_samples import near, plain_fate, rules_of

import kernel
from scantling.outputs.files.packet_filter import rules_text
from scantling.trials.proof.judge import judge
from scantling.trials.proof.proving import Case, case, equality, proof
from scantling.trials.proof.rulefile import side_of
from scantling.trials.proof.sides import Side

TO = "staff 10.20.10.20 10.20.20.5"
TO6 = "staff 2001:db8:20:10::1 2001:db8:20:20::5"


def text_of(objects: list[dict[str, Any]]) -> str:
    """A listing as its file."""
    import json  # noqa: PLC0415 - only here

    return json.dumps({"nftables": objects})


def the_case(name: str) -> Case:
    """An example before the court."""
    found = case(example(name))
    assert found is not None
    return found


def kernels(one: Case) -> Side:
    """What the kernel lists when it has loaded the file that is written for it."""
    return side_of(text_of(kernel.listing(rules_text(one.rules, []))), "rules.json", one)


@pytest.mark.parametrize("name", BRIEFS)
def test_what_the_kernel_lists_is_equal_to_the_list_and_to_the_meaning(name: str) -> None:
    """The file that is written, loaded by the kernel and read back: no packet of either family fares otherwise."""
    one = the_case(name)
    side = kernels(one)
    assert equality(one, one.compiled, side) == ()
    told = proof(one, side)
    assert told.proved
    assert told.holding == told.intents
    assert all(door.asked for door in told.doors)
    assert told.about == "rules.json"


def test_random_lists_are_read_back_as_they_were_written(scale: Scale) -> None:
    """Random intents, compiled, written, loaded by the kernel, listed, read: the same diagram."""
    for seed in range(scale(short=12, full=50)):
        flows = FlowDice(Random(seed + 7000)).flows()
        rules = rules_of(flows)
        one = Case(replace(example("fold"), entries={**example("fold").entries}), rules)
        side = kernels(one)
        for court in one.courts:
            assert judge(court, one.compiled, side).apart == (), seed


def test_a_listing_is_followed_as_a_diagram_as_rule_by_rule(scale: Scale) -> None:
    one = the_case("millrace")
    side = kernels(one)
    for court in one.courts:
        diagram, stages = court.diagram(side), side.stages[court.ground.family]
        for header in near(court.ground, stages, Random(3), scale(short=200, full=2000)):
            assert diagram.decide(header).outcome == plain_fate(stages, header)


MATCHES = [
    ("ip saddr 10.20.10.0/25 accept", TO + " tcp:1", "staff 10.20.10.200 10.20.20.5 tcp:1"),
    ("ip saddr != 10.20.10.0/25 accept", "staff 10.20.10.200 10.20.20.5 tcp:1", TO + " tcp:1"),
    ("ip daddr { 10.20.20.4-10.20.20.6, 10.20.20.9 } accept", TO + " tcp:1", "staff 10.20.10.20 10.20.20.7 tcp:1"),
    ("ip saddr & 255.255.255.0 == 10.20.10.0 accept", TO + " tcp:1", "guests 10.20.30.20 10.20.20.5 tcp:1"),
    ("iifname zone-10 accept", TO + " tcp:1", "guests 10.20.30.20 10.20.20.5 tcp:1"),
    ("iifname != zone-10 accept", "guests 10.20.30.20 10.20.20.5 tcp:1", TO + " tcp:1"),
    ('iifname { "zone-1*", "outside-1" } accept', TO + " tcp:1", "guests 10.20.30.20 10.20.20.5 tcp:1"),
    ("oifname zone-20 accept", TO + " tcp:1", "staff 10.20.10.20 10.20.30.5 tcp:1"),
    ("oifname != zone-20 accept", "staff 10.20.10.20 10.20.30.5 tcp:1", TO + " tcp:1"),
    ("oifname outside-1 accept", "staff 10.20.10.20 203.0.113.1 tcp:1 by-outside-1", "staff 10.20.10.20 203.0.113.1 tcp:1 by-outside-2"),
    ("tcp dport 445 accept", TO + " tcp:445", TO + " udp:445"),
    ("tcp dport { 22, 443-445 } accept", TO + " tcp:444", TO + " tcp:446"),
    ("tcp dport != 22-25 accept", TO + " tcp:26", TO + " tcp:25"),
    ("tcp dport != 22-25 accept", TO + " tcp:21", TO + " udp:21"),
    ("tcp dport >= 1024 accept", TO + " tcp:1024", TO + " tcp:1023"),
    ("tcp dport < 1024 accept", TO + " tcp:1023", TO + " tcp:1024"),
    ("udp sport 53 accept", TO + " udp:9 from-53", TO + " udp:9 from-54"),
    ("meta l4proto { tcp, udp } th dport 53 accept", TO + " udp:53", TO + " udp:54"),
    ("meta l4proto esp accept", TO + " esp", TO + " gre"),
    ("meta l4proto 50 accept", TO + " esp", TO + " tcp:50"),
    ("meta l4proto != tcp accept", TO + " udp:1", TO + " tcp:1"),
    ("ip protocol { tcp, udp } accept", TO + " udp:1", TO + " esp"),
    ("icmp type echo-request accept", TO + " icmp:8", TO + " icmp:0"),
    ("icmp type { destination-unreachable, 99 } accept", TO + " icmp:99", TO + " icmp:98"),
    ("icmp type != 8 accept", TO + " icmp:9", TO + " icmp:8"),
    ("icmp type 3 icmp code 1 accept", TO + " icmp:3 code-1", TO + " icmp:3 code-2"),
    ("meta nfproto ipv4 accept", TO + " tcp:1", ""),
    ("meta protocol ip accept", TO + " tcp:1", ""),
    ("ct state new accept", TO + " tcp:1", TO + " tcp:1 reply"),
    ("ct state established,related accept", TO + " tcp:1 related", TO + " tcp:1"),
    ("ct state established accept", TO + " tcp:1 reply", TO + " tcp:1 related"),
    ("ct state != invalid accept", TO + " tcp:1", TO + " tcp:1 stray"),
    ("ct state { new, related } accept", TO + " tcp:1 related", TO + " tcp:1 reply"),
    ("ct state vmap { established : accept, invalid : drop, new : accept }", TO + " tcp:1", TO + " tcp:1 stray"),
    ("meta day { Monday, Friday } accept", TO + " tcp:1 fri/00:00", TO + " tcp:1 thu/23:59"),
    ('meta hour "08:00"-"17:59:59" accept', TO + " tcp:1 sun/17:59", TO + " tcp:1 sun/18:00"),
    ('meta hour "22:00"-"06:00" accept', TO + " tcp:1 mon/23:00", TO + " tcp:1 mon/12:00"),
    ("ip saddr . tcp dport { 10.20.10.20 . 80, 10.20.10.21 . 443-445 } accept", TO + " tcp:80", TO + " tcp:444"),
    ("tcp dport vmap { 22 : accept, 80-90 : drop }", TO + " tcp:22", TO + " tcp:85"),
    ("ct status dnat accept", "", TO + " tcp:1"),
    ("tcp dport 1 reject with tcp reset", "", TO + " tcp:1"),
    ('counter comment "only counts"', "", TO + " tcp:1"),
    ('limit rate 5/minute log prefix "seen "', "", TO + " tcp:1"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "let", "kept"), MATCHES)
def test_what_a_rule_lets_through(rule: str, let: str, kept: str) -> None:
    """Each as the kernel lists it; the packets are chosen by hand from the manual page nft(8)."""
    if let:
        assert passes(rule, let)
    if kept:
        assert not passes(rule, kept)


MATCHES6 = [
    ("ip6 saddr 2001:db8:20:10::/64 accept", TO6 + " tcp:1", "guests 2001:db8:20:30::1 2001:db8:20:20::5 tcp:1"),
    ("ip6 daddr != ::1 accept", TO6 + " tcp:1", ""),
    ("ip saddr 0.0.0.0/0 accept", "", TO6 + " tcp:1"),
    ("icmpv6 type echo-request accept", TO6 + " icmpv6:128", TO6 + " icmpv6:129"),
    ("meta nfproto ipv6 accept", TO6 + " tcp:1", ""),
    ("icmp type 8 accept", "", TO6 + " icmpv6:128"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "let", "kept"), MATCHES6)
def test_what_a_rule_lets_through_in_ipv6(rule: str, let: str, kept: str) -> None:
    if let:
        assert passes(rule, let, 6)
    if kept:
        assert not passes(rule, kept, 6)


def test_messages_of_the_link_are_untracked_and_never_new() -> None:
    """Neighbour discovery belongs to no connection: `ct state new` alone keeps it out (RFC 4861; nf_conntrack, from memory)."""
    asks, heard = "staff fe80::5 ff02::1 icmpv6:135", {"hook": "input"}
    assert not passes("ct state new accept", asks, 6, **heard)
    assert passes("ct state new,untracked accept", asks, 6, **heard)
    assert passes("ct state untracked accept", asks, 6, **heard)
    assert passes("ct state new accept", "staff fe80::5 ff02::1 icmpv6:128", 6, **heard)
    assert not passes("ct state untracked accept", "staff fe80::5 ff02::1 icmpv6:128", 6, **heard)


def test_jump_goto_and_return_are_followed() -> None:
    """Jump comes back, goto does not (its chain's end is the end of the caller's), return leaves a chain early: nft(8)."""
    before = """chain inner { ip saddr 10.20.10.20 return; tcp dport 1 accept; }
	chain last { tcp dport 2 accept; }"""
    jumps = "jump inner\n\t\ttcp dport 3 accept\n\t\tgoto last\n\t\ttcp dport 4 accept"
    for port, somebody, wanted in (
        (1, 20, False),
        (1, 21, True),
        (2, 20, True),
        (3, 20, True),
        (4, 21, False),
        (5, 21, False),
    ):
        assert passes(jumps, f"staff 10.20.10.{somebody} 10.20.20.5 tcp:{port}", before=before) == wanted, port
    assert passes("return\n\t\tdrop", TO + " tcp:1", policy="accept")
    assert not passes("return\n\t\taccept", TO + " tcp:1")


def test_maps_of_verdicts_by_name_are_followed() -> None:
    before = """chain from-staff { tcp dport 445 accept; }
	chain from-guests { drop; }
	map doors { type ifname : verdict; elements = { "zone-10" : jump from-staff, "zone-30" : goto from-guests }; }"""
    rules = "iifname vmap @doors\n\t\ttcp dport 80 accept"
    assert passes(rules, TO + " tcp:445", before=before)
    assert passes(rules, TO + " tcp:80", before=before)
    assert not passes(rules, "guests 10.20.30.9 10.20.20.5 tcp:80", before=before)


def test_named_sets_and_their_elements_are_read() -> None:
    before = """set them { type ipv4_addr; flags interval; elements = { 10.20.10.16/28, 10.20.10.99 comment "one more" }; }
	set pairs { type ipv4_addr . inet_service; elements = { 10.20.10.20 . 80 }; }"""
    assert passes("ip saddr @them accept", TO + " tcp:1", before=before)
    assert passes("ip saddr @them accept", "staff 10.20.10.99 10.20.20.5 tcp:1", before=before)
    assert not passes("ip saddr @them accept", "staff 10.20.10.98 10.20.20.5 tcp:1", before=before)
    assert passes("ip saddr != @them accept", "staff 10.20.10.98 10.20.20.5 tcp:1", before=before)
    assert passes("ip saddr . tcp dport @pairs accept", TO + " tcp:80", before=before)
    assert not passes("ip saddr . tcp dport @pairs accept", TO + " tcp:81", before=before)


def test_a_drop_of_any_chain_counts_and_priorities_have_their_order() -> None:
    """What one chain accepts, a later one at the same hook may still drop; a drop is the end (nft(8))."""
    script = """table inet t {
	chain first { type filter hook forward priority -10; policy accept; tcp dport 1 drop; tcp dport 2 accept; }
	chain second { type filter hook forward priority 10; policy accept; tcp dport 2 drop; }
}
"""
    assert not becomes(script, TO + " tcp:1").passes
    assert not becomes(script, TO + " tcp:2").passes
    assert becomes(script, TO + " tcp:3").passes


def test_hooks_see_their_own_packets_only() -> None:
    """What comes in for the firewall is input, what it sends output, all else forward; where no chain stands all passes."""
    for hook, mine in (("input", "staff 10.20.10.20 10.20.10.1 tcp:1"), ("forward", TO + " tcp:1"),
                       ("output", "firewall 10.20.20.1 10.20.20.5 tcp:1")):  # fmt: skip
        for words in (
            "staff 10.20.10.20 10.20.10.1 tcp:1",
            TO + " tcp:1",
            "firewall 10.20.20.1 10.20.20.5 tcp:1",
        ):
            assert passes("", words, hook=hook) == (words != mine)


PUBLISHED = """table inet t {{
	chain way {{ type filter hook forward priority 0; policy drop; {filter} }}
}}
table ip n {{
	chain in {{ type nat hook prerouting priority -100; policy accept; {nat} }}
	chain out {{ type nat hook postrouting priority 100; policy accept; oifname {{ "outside-1", "outside-2" }} masquerade; }}
}}
"""


def test_a_changed_target_is_followed_to_its_end() -> None:
    """A filter sees a packet after its target was changed; the packet here is told as it was sent."""
    nat = 'iifname "outside-1" ip daddr 198.51.100.2 tcp dport 443 dnat to 10.20.20.8:8443;'
    script = PUBLISHED.format(nat=nat, filter="ip daddr 10.20.20.8 tcp dport 8443 ct status dnat accept;")
    front = "fibre 203.0.113.9 198.51.100.2 tcp:443"
    assert becomes(script, front) == (True, "10.20.20.8:8443", False)
    assert not becomes(script, "fibre 203.0.113.9 10.20.20.8 tcp:8443").passes, "not changed, so not let through"
    wrong = PUBLISHED.format(nat=nat, filter="ip daddr 10.20.20.8 tcp dport 443 accept;")
    assert not becomes(wrong, front).passes, "the port that arrives counts"
    kept = PUBLISHED.format(nat="tcp dport 443 ip saddr 203.0.113.9 accept; " + nat, filter="ct status dnat accept;")
    assert becomes(kept, front) == (True, "", False), (
        "left alone by the first rule: for the firewall itself, where no chain stands"
    )
    assert becomes(kept, front.replace("113.9", "113.8")) == (True, "10.20.20.8:8443", False)


def test_what_leaves_is_masked_in_ipv4() -> None:
    script = PUBLISHED.format(nat="", filter="accept;")
    assert becomes(script, "staff 10.20.10.20 203.0.113.9 tcp:443") == (True, "", True)
    assert becomes(script, TO + " tcp:443") == (True, "", False)
    assert becomes(script, "staff 2001:db8:20:10::1 2001:db8:beef::1 tcp:443", 6) == (True, "", False)
