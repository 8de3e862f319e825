"""Listings that can't be judged: whatever is not known is refused with the rule that says it, never passed over."""

from re import search
from typing import Any

import pytest
from flow_samples import LEGS
from kernel_listings import framed, listed, stages_of

from scantling.trials.proof.listing import RuleFileError, read_listing

REFUSED = {
    "meta mark 1 accept": "mark", "tcp flags syn accept": "flags", "ip saddr 10.0.0.1 limit rate 5/second accept": "depends on how many",
    "ip6 nexthdr udp accept": "nexthdr", "ct mark 1 drop": "mark", "fib saddr . iif oif missing drop": "question to the routes",
    "ip dscp 1 accept": "dscp", "udp length 8 accept": "length", "tcp dport 80 meta mark set 5 accept": "mangle",
    "ct direction original accept": "direction", "ct original ip daddr 1.2.3.4 drop": "original",
    "ct status snat accept": "mark of a connection", "ct status != dnat accept": "mark of a connection",
    "notrack": "notrack", "quota over 10 mbytes drop": "quota",
    "meta pkttype broadcast drop": "pkttype", "ip ttl 5 drop": "ttl", "meta length 5 drop": "length",
}  # fmt: skip


@pytest.mark.parametrize("rule", REFUSED)
def test_what_is_not_known_is_refused_with_the_rule(rule: str) -> None:
    """Nothing is passed over: a rule that can't be judged stops the proof, and the message names it and what it says."""
    hook = "prerouting" if rule in {"notrack", "fib saddr . iif oif missing drop"} else "forward"
    script = framed(rule, hook=hook).replace("priority 0", "priority -300")
    with pytest.raises(RuleFileError) as told:
        stages_of(listed(script))
    said = str(told.value)
    assert search(r"^rule \d+ of chain way in table inet t", said)
    assert REFUSED[rule] in said


def test_a_not_of_a_port_that_is_not_there_is_refused() -> None:
    """Kernels differ in what `iifname != x` means of a packet that the firewall sends itself."""
    with pytest.raises(RuleFileError, match="means one thing here and another there"):
        stages_of(listed(framed("iifname != zone-10 accept", hook="output")))


def test_ports_of_any_protocol_are_refused() -> None:
    with pytest.raises(RuleFileError, match="a protocol that may have none"):
        stages_of(listed(framed("th dport 53 accept")))


def test_what_comes_and_goes_by_itself_is_refused() -> None:
    before = "set seen { type ipv4_addr; timeout 1m; }"
    with pytest.raises(RuleFileError, match="comes and goes by itself"):
        stages_of(listed(framed("ip saddr @seen accept", before=before)))


def test_a_port_that_the_plan_has_not_is_told() -> None:
    notes: dict[str, None] = {}
    ground, stages = stages_of(listed(framed('iifname "eth7" accept')), notes=notes)
    assert any("'eth7', which the plan has not" in note for note in notes)
    assert stages
    assert ground.family == 4


IN_T = {"family": "inet", "table": "t"}
BAD: dict[str, list[Any]] = {
    "one object of one kind": ["chain"],
    "a 'flowtable' is not known": [{"flowtable": {}}],
    "holds no chain at all": [{"metainfo": {}}],
    "does not say its table": [{"chain": {"family": "inet", "name": "x"}}],
    "there is no such chain": [{"rule": {"family": "inet", "table": "t", "chain": "x", "expr": [], "handle": 1}}],
    "no list of statements": [{"rule": {"family": "inet", "table": "t", "chain": "x", "expr": "drop", "handle": 1}}],
    "of the family netdev": [{"chain": {"family": "netdev", "table": "t", "name": "x"}}],
    "the family 'ipx' is not known": [{"chain": {"family": "ipx", "table": "t", "name": "x"}}],
    "chains at ingress are not known": [{"chain": {**IN_T, "name": "x", "type": "filter", "hook": "ingress"}}],
    "its priority or policy is none": [{"chain": {**IN_T, "name": "x", "type": "filter", "hook": "input", "prio": "x"}}],
}  # fmt: skip


@pytest.mark.parametrize("says", BAD)
def test_a_listing_that_is_none_is_refused(says: str) -> None:
    with pytest.raises(RuleFileError, match=says):
        read_listing(BAD[says])


def test_jumps_in_a_circle_are_refused() -> None:
    """The kernel never takes them; a file may have them all the same."""
    chain = {
        "family": "inet",
        "table": "t",
        "name": "way",
        "type": "filter",
        "hook": "forward",
        "prio": 0,
        "policy": "drop",
    }
    rule = {"family": "inet", "table": "t", "chain": "way", "handle": 2, "expr": [{"jump": {"target": "way"}}]}
    with pytest.raises(RuleFileError, match="jumps go deeper than"):
        stages_of(({"chain": chain}, {"rule": rule}))


def test_a_firewall_of_the_sample_office_stands_on_its_ports() -> None:
    assert [leg.interface for leg in LEGS] == ["zone-10", "zone-20", "zone-30", "outside-1", "outside-2"]
