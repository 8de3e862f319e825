"""The firewall's rules as nftables reads them: accepted, loaded, listed back by the kernel, and safe from what clients type."""

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import kernel
from hostile import EVERYTHING
from rule_samples import LEGS, A, D, hosts, nets, office
from scantling.figures.traffic import (
    FIREWALL, OUTSIDE, FilterRule, Leg, RuleSet, Translation, Transport, Verdict, Window,
)  # fmt: skip
from scantling.outputs.files import FilesError
from scantling.outputs.files.packet_filter import chains_of, rules_text
from scantling.outputs.files.packet_filter_text import COMMENT_BYTES, head, host_name, one_line, quoted

CHAINS = ("early", "input", "forward", "output")


def rules(*some: FilterRule, **fields: Any) -> RuleSet:
    return RuleSet("office", some, LEGS, (), **fields)


def decides(rule: Mapping[str, Any]) -> bool:
    return any(verdict in part for part in rule["expr"] for verdict in ("accept", "drop", "reject"))


def test_the_kernel_takes_the_office() -> None:
    assert kernel.accepted(rules_text(office(), ["a head"])) == ""


def test_a_wrong_file_is_refused() -> None:
    assert kernel.accepted(rules_text(office(), []).replace("tcp dport 445", "tcp dport 70000"))


def test_the_listing_has_each_rule_in_its_chains_in_order() -> None:
    objects = kernel.listing(rules_text(office(), []))
    for chain in CHAINS:
        numbers = [rule["comment"].split()[0] for rule in kernel.rules_of(objects, chain) if decides(rule)]
        expected = [rule.slug for rule in office().rules if chain in chains_of(rule)]
        assert [number for number in numbers if number != "the"] == expected


def test_only_our_own_tables_are_replaced() -> None:
    other = "table inet other { chain forward { type filter hook forward priority 10; policy accept; \n}\n}"
    told = kernel.alone(
        [
            "sh",
            "-c",
            "rules=$(cat); nft -f - <<E\n"
            + other
            + '\nE\nfor again in 1 2; do echo "$rules" | nft -f -; done; nft list tables',
        ],
        rules_text(office(), []),
    )
    assert told.stdout.split("\n")[:-1] == ["table inet other", "table inet office", "table ip office-nat"]


def test_the_last_line_alone_is_logged_and_not_too_often() -> None:
    listed = kernel.rules_of(kernel.listing(rules_text(office(), [])), "forward")
    logs = [rule for rule in listed if any("log" in part for part in rule["expr"])]
    assert [rule["comment"] for rule in logs] == ["r-999 log"]
    assert [next(iter(part)) for part in logs[0]["expr"]] == ["limit", "log"]
    assert not decides(logs[0])  # it only tells; the next line drops


@pytest.mark.parametrize(
    ("rule", "lines"),
    [
        # family and addresses: one line a family, none where it has no address
        (FilterRule("r-1", A, "", sources=nets("10.20.10.0/24"), zone_in="staff", zone_out="servers"),
         ['iifname "zone-10" oifname "zone-20" ip saddr 10.20.10.0/24 counter accept comment "r-1"']),
        (FilterRule("r-1", A, "", targets=nets("10.20.10.5", "2001:db8::5"), zone_in="staff", zone_out="servers"),
         ['iifname "zone-10" oifname "zone-20" ip daddr 10.20.10.5 counter accept comment "r-1"',
          'iifname "zone-10" oifname "zone-20" ip6 daddr 2001:db8::5 counter accept comment "r-1"']),
        (FilterRule("r-1", A, "", family=4, zone_in="staff", zone_out="servers", protocol="tcp", ports=((443, 443),)),
         ['iifname "zone-10" oifname "zone-20" meta nfproto ipv4 tcp dport 443 counter accept comment "r-1"']),
        # addresses and ports in order, joined where they touch
        (FilterRule("r-1", D, "", targets=nets("10.0.1.0/24", "10.0.0.0/24", "10.0.0.7"), zone_in="staff", zone_out="servers"),
         ['iifname "zone-10" oifname "zone-20" ip daddr 10.0.0.0/23 counter drop comment "r-1"']),
        (FilterRule("r-1", A, "", zone_in="staff", zone_out="servers", protocol="udp", ports=((9, 9), (1, 3), (2, 5), (6, 6))),
         ['iifname "zone-10" oifname "zone-20" udp dport { 1-6, 9 } counter accept comment "r-1"']),
        (FilterRule("r-1", A, "", zone_in="staff", zone_out="servers", protocol="tcp", ports=((0, 65535),)),
         ['iifname "zone-10" oifname "zone-20" meta l4proto tcp counter accept comment "r-1"']),
        # messages by number; neighbour discovery is never new to the kernel, but untracked
        (FilterRule("r-1", A, "", zone_in="staff", zone_out=FIREWALL, protocol="icmp", ports=((8, 8),), state="new"),
         ['iifname "zone-10" ct state new icmp type 8 counter accept comment "r-1"']),
        (FilterRule("r-1", A, "", zone_in="staff", zone_out=FIREWALL, protocol="icmpv6", state="new"),
         ['iifname "zone-10" meta nfproto ipv6 ct state new,untracked meta l4proto icmpv6 counter accept comment "r-1"']),
        # a set of either family, the outside, hours, translation, refusals
        (FilterRule("r-1", A, "", zone_in="staff", zone_out=OUTSIDE, target_set="bank", family=6),
         ['iifname "zone-10" oifname @outside ip6 daddr @party-bank-6 counter accept comment "r-1"']),
        (FilterRule("r-1", A, "", zone_in="staff", zone_out="servers", window=Window((6, 0), 0, 1439)),
         ['iifname "zone-10" oifname "zone-20" meta day { "Monday", "Sunday" } counter accept comment "r-1"']),
        (FilterRule("r-1", A, "", zone_in="staff", zone_out="servers", window=Window((0, 1, 2, 3, 4, 5, 6), 510, 1079)),
         ['iifname "zone-10" oifname "zone-20" meta hour "08:30"-"17:59:59" counter accept comment "r-1"']),
        (FilterRule("r-1", A, "", zone_in=OUTSIDE, zone_out="servers", translated=True, state="new", protocol="tcp"),
         ['iifname @outside oifname "zone-20" ct state new ct status dnat meta l4proto tcp counter accept comment "r-1"']),
        # what the firewall sends into a zone is meant for the zone's networks, not for all on the link
        (FilterRule("r-1", A, "", family=4, zone_in=FIREWALL, zone_out="staff", protocol="udp", ports=((53, 53),)),
         ['oifname "zone-10" ip daddr 10.20.10.0/24 udp dport 53 counter accept comment "r-1"']),
        (FilterRule("r-1", D, "", zone_in=FIREWALL, zone_out="staff"),
         ['oifname "zone-10" ip daddr 10.20.10.0/24 counter drop comment "r-1"',
          'oifname "zone-10" ip6 daddr 2001:db8:20:10::/64 counter drop comment "r-1"']),
        (FilterRule("r-1", Verdict.REJECT, "", zone_in="staff", zone_out="servers", protocol="tcp"),
         ['iifname "zone-10" oifname "zone-20" meta l4proto tcp counter reject with tcp reset comment "r-1"']),
        (FilterRule("r-1", Verdict.REJECT, "", zone_in="staff", zone_out="servers"),
         ['iifname "zone-10" oifname "zone-20" counter reject with icmpx admin-prohibited comment "r-1"']),
    ],
)  # fmt: skip
def test_a_rule_is_written_so(rule: FilterRule, lines: list[str]) -> None:
    text = rules_text(rules(rule, sets=(("bank", (), ()),)), [])
    assert [line.strip() for line in text.splitlines() if '"r-1"' in line] == lines
    assert kernel.accepted(text) == ""


@pytest.mark.parametrize(
    ("fields", "chains"),
    [
        ({}, ("input", "forward", "output")),
        ({"zone_in": "staff"}, ("input", "forward")),
        ({"zone_out": OUTSIDE}, ("forward", "output")),
        ({"zone_in": "staff", "zone_out": "servers"}, ("forward",)),
        ({"zone_in": "staff", "zone_out": FIREWALL}, ("input",)),
        ({"zone_out": FIREWALL}, ("input",)),
        ({"zone_in": FIREWALL}, ("output",)),
        ({"zone_in": FIREWALL, "zone_out": OUTSIDE}, ("output",)),
        ({"zone_in": "staff", "early": True}, ("early",)),
    ],
)
def test_a_rule_stands_where_its_packets_pass(fields: dict[str, Any], chains: tuple[str, ...]) -> None:
    assert chains_of(FilterRule("r-1", D, "", **fields)) == chains


PUBLISHED = Translation("site", "target", OUTSIDE, Transport("tcp", 443, 443), hosts("10.20.20.8")[0])
WRONG: tuple[tuple[RuleSet, str], ...] = (
    (rules(FilterRule("R 1", D, "")), "can't be named in a file"),
    (rules(FilterRule("r-1", A, "", zone_in="staff", early=True)), "before routing it can only drop"),
    (rules(FilterRule("r-1", D, "", zone_in="staff", early=True, state="new")), "before routing it can only drop"),
    (rules(FilterRule("r-1", A, "", family=6, protocol="icmp")), "icmp belongs to IPv4, not to IPv6"),
    (rules(FilterRule("r-1", A, "", zone_in=FIREWALL, zone_out=FIREWALL)), "what the firewall says to itself is not filtered"),
    (rules(FilterRule("r-1", A, "", zone_in="attic")), "speaks of 'attic', and the firewall has no port there"),
    (rules(FilterRule("r-1", A, "", window=Window((0,), 1320, 360))), "hours can't be written"),
    (rules(FilterRule("r-1", A, "", window=Window((), 0, 360))), "hours can't be written"),
    (rules(sets=(("bank", (), ("bank.example; add rule",)),)), "is no name that a resolver could be asked for"),
    (rules(sets=(("../bank", (), ()),)), "can't be named in a file"),
    (RuleSet("office", (), (Leg("staff", "staff", 'zone"; drop'),), (Translation("m", "source", "staff"),)), "the firewall's port"),
    (RuleSet("office", (), LEGS, (replace(PUBLISHED, to=hosts("2001:db8::8")[0]),)), "it needs a protocol and an IPv4 address"),
)  # fmt: skip


@pytest.mark.parametrize(("wrong", "said"), WRONG)
def test_what_cannot_be_written_is_said(wrong: RuleSet, said: str) -> None:
    with pytest.raises(FilesError, match=said.replace("(", r"\(")):
        rules_text(wrong, [])


@pytest.mark.parametrize(
    "name", ["pay.bank.example", "Pay.Bank.Example.", "intranet", "xn--bcher-kva.example", "1.2.3.example"]
)
def test_a_name_is_asked_for_in_small_letters(name: str) -> None:
    assert host_name(name, "bank") == name.lower().rstrip(".")


@pytest.mark.parametrize(
    "name", [*EVERYTHING, "-a.example", "a..example", "a_b.example", "a" * 64, ".".join(["abcdefg"] * 32)]
)
def test_what_is_no_name_is_never_asked_for(name: str) -> None:
    if name not in {
        "0",
        "00123",
        "1e999",
        "NaN",
        "None",
        "undefined",
    }:  # odd names, but no shell or filter minds them
        with pytest.raises(FilesError):
            host_name(name, "bank")


def test_every_hostile_comment_comes_back_as_one_plain_text() -> None:
    many = rules(
        *(FilterRule(f"r-{place:03}", D, text, zone_in="staff") for place, text in enumerate(EVERYTHING, 100))
    )
    plain = rules(*(replace(rule, comment="") for rule in many.rules))
    listed = kernel.rules_of(kernel.listing(rules_text(many, [])), "forward")
    assert [rule["comment"] for rule in listed] == [
        quoted(f"{rule.slug} {rule.comment}")[1:-1] for rule in many.rules
    ]
    assert [rule["expr"] for rule in listed] == [
        rule["expr"] for rule in kernel.rules_of(kernel.listing(rules_text(plain, [])), "forward")
    ]


@pytest.mark.parametrize("text", EVERYTHING)
def test_a_hostile_name_of_the_office_stays_a_remark(text: str) -> None:
    named = rules_text(office(), head(text, "2026-11-25", ["what it is"]))
    remarks = [line for line in named.splitlines() if line.startswith("#")]
    assert remarks[0] == f"# {one_line(text)}: what it is"
    assert named.split("\n\n", 1)[1] == rules_text(office(), ["plain"]).split("\n\n", 1)[1]


@pytest.mark.parametrize("text", EVERYTHING)
def test_quoted_text_is_short_and_has_nothing_that_ends_it(text: str) -> None:
    inside = quoted(text * 3)[1:-1]
    assert len(inside.encode()) <= COMMENT_BYTES
    assert inside.isprintable()
    assert not set(inside) & {'"', "\\"}


def test_the_kernel_keeps_the_longest_comment() -> None:
    listed = kernel.rules_of(
        kernel.listing(rules_text(rules(FilterRule("r-1", D, "é" * 200, zone_in="staff")), [])), "forward"
    )
    assert listed[0]["comment"] == "r-1 " + "é" * 62


def test_the_same_rules_are_the_same_bytes_in_every_run() -> None:
    code = "import rule_samples as s; from scantling.outputs.files import packet_filter as p; print(p.rules_text(s.office(), []), end='')"
    tests = Path(__file__).parent
    runs = {
        subprocess.run(
            [sys.executable, "-c", code], check=True, capture_output=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": f"{tests}:{tests.parent / 'src'}"},
        ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    assert runs == {rules_text(office(), []).encode()}


@pytest.mark.parametrize(
    ("zone", "listed"),
    [
        ("UTC", {"range": ["08:00", "17:59:59"]}),
        ("OFFICE-2", {"range": ["06:00", "15:59:59"]}),  # two hours east of Greenwich, as POSIX writes it
    ],
)
def test_hours_are_those_of_whoever_loads_and_kept_in_utc(zone: str, listed: dict[str, Any]) -> None:
    rule = FilterRule(
        "r-1", A, "", zone_in="staff", zone_out="servers", window=Window((0, 1, 2, 3, 4, 5, 6), 480, 1079)
    )
    load = 'rules=$(cat); echo "$rules" | TZ=$ZONE nft -f - && TZ=UTC nft -j list ruleset'
    told = kernel.alone(["sh", "-c", load], rules_text(rules(rule), []), ZONE=zone)
    found = kernel.rules_of(json.loads(told.stdout)["nftables"], "forward")[0]["expr"]
    assert [
        part["match"]["right"] for part in found if part.get("match", {}).get("left") == {"meta": {"key": "hour"}}
    ] == [listed]


def test_hours_around_midnight_in_utc_lose_their_ends() -> None:
    rule = FilterRule(
        "r-1", A, "", zone_in="staff", zone_out="servers", window=Window((0, 1, 2, 3, 4, 5, 6), 480, 1079)
    )
    load = 'rules=$(cat); echo "$rules" | TZ=OFFICE-13 nft -f - && TZ=UTC nft list ruleset'
    assert 'meta hour != "04:59:59"-"19:00"' in kernel.alone(["sh", "-c", load], rules_text(rules(rule), [])).stdout
