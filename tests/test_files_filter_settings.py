"""What stands beside the rules: each setting is one that a kernel has, and the relay listens where it should."""

from dataclasses import replace

import pytest

import kernel
from hostile import EVERYTHING
from rule_samples import LEGS, hosts
from scantling.figures.traffic import OUTSIDE
from scantling.outputs.files.firewall_settings import notes, settings
from scantling.outputs.files.packet_filter_text import head, one_line

SET = """
for port in {ports}; do ip link add name $port type veth peer name p$port; done
lines=$(cat)
path() {{ echo /proc/sys/$(echo $1 | tr . /); }}
echo "$lines" | while read -r key is value; do echo $value >$(path $key); done
echo "$lines" | while read -r key is value; do echo "$key $is $(cat $(path $key))"; done
"""
"""One setting can change another, so they are read when all are made."""


def test_a_kernel_takes_every_setting() -> None:
    lines = [line for line in settings(LEGS) if not line.startswith("#")]
    told = kernel.alone(
        ["sh", "-c", SET.format(ports=" ".join(leg.interface for leg in LEGS))], "\n".join(lines) + "\n"
    )
    assert told.stderr == ""
    assert told.stdout.splitlines() == lines
    assert len(lines) > 40


def test_packets_pass_only_after_all_else_is_set() -> None:
    assert list(settings(LEGS))[-2:] == ["net.ipv4.ip_forward = 1", "net.ipv6.conf.all.forwarding = 1"]


def test_ways_back_and_routers_are_told_by_the_lines() -> None:
    two = list(settings(LEGS))
    assert "net.ipv4.conf.outside-1.rp_filter = 2" in two
    assert "net.ipv4.conf.zone-10.rp_filter = 1" in two
    assert "net.ipv6.conf.outside-1.accept_ra = 2" in two
    assert "net.ipv6.conf.zone-10.accept_ra = 0" in two
    fixed = replace(LEGS[-2], own=hosts("198.51.100.2", "2001:db8::2"))
    one = list(settings((*LEGS[:-2], fixed)))
    assert "net.ipv4.conf.outside-1.rp_filter = 1" in one
    assert "net.ipv6.conf.outside-1.accept_ra = 0" in one


def test_the_relay_is_told_port_by_port() -> None:
    found = list(notes([leg for leg in LEGS if leg.zone != OUTSIDE], ["10.20.20.5"], {"staff": "Staff"}))
    assert found[0] == "Address server: 10.20.20.5."
    assert "  zone-10          Staff            10.20.10.1, 2001:db8:20:10::1" in found


@pytest.mark.parametrize("text", EVERYTHING)
def test_a_hostile_name_of_a_zone_stays_on_its_line(text: str) -> None:
    found = list(notes(LEGS[:1], ["10.20.20.5"], {"staff": one_line(text)}))
    assert all(line.isprintable() for line in (*found, *head(text, "2026-11-25", ["x"])))
