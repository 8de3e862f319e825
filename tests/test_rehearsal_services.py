"""The planned servers in namespaces: each real program answers from the generated files, a bad file is told, a missing one stood in for.

Referees: the zone files as dnspython reads them; the generated settings as Kea tells them back; NTP's own header (RFC 5905).
"""

import json
import socket
import struct
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from hashlib import sha256
from ipaddress import IPv4Address, ip_network
from typing import Any

import dns.message
import dns.name
import dns.rcode
import dns.query
import dns.rdatatype
import dns.zone
import pytest

from scantling.figures import FIREWALL, Host, Name, Pool, Server
from scantling.trials.rehearsal import dhcp, services
from scantling.trials.rehearsal.asking import Given, asked4
from scantling.trials.rehearsal.results import Checked, Played
from scantling.trials.rehearsal.services import kea
from scantling.trials.rehearsal.services.adapter import placed
from served_offices import ALONE, EVERYTHING, PATIENCE, Stood, files_of, plan_of, stood

OFFICES = ("millrace", "brackwater", "fold", ALONE)
REAL, MISSING = "installed", "not installed"
PROGRAMS = {
    "names": ["nsd"], "lookups": ["unbound"], "time": ["chronyd"], "addresses": ["kea-dhcp4", "kea-dhcp6"],
}  # fmt: skip
EPOCH = 2_208_988_800
CLOCK = struct.Struct("!BBbb44x")
LATE = struct.Struct("!40xII")
NEAR = 1.0


@dataclass(frozen=True)
class Seen:
    """What was seen of one office's servers."""

    checked: tuple[Checked, ...]
    played: tuple[Played, ...]
    zones: Mapping[tuple[str, str], list[str]]
    """By name and type: what the server of names itself says."""
    names: Mapping[str, tuple[str, list[str]]]
    """By what was asked: code and answers of a resolver."""
    times: Mapping[str, tuple[bytes, float]]


@cache
def seen(office: str, programs: str) -> Seen:
    """Everything up, asked, and taken down again; with the real programs or with none of them."""

    def work(there: Stood) -> Seen:
        checked = there.check()
        if programs == MISSING:
            there.hide(*EVERYTHING)
        running = there.rise()
        found = Seen(
            tuple(checked),
            tuple(one.played for one in running),
            in_zones(there),
            of_resolvers(there),
            of_clocks(there),
        )
        services.stopped(running)
        return found

    return stood(office, work)


def in_zones(there: Stood) -> dict[tuple[str, str], list[str]]:
    """What the server that holds the names says to each name and type of its zones."""
    job = there.job("nsd")
    found: dict[tuple[str, str], list[str]] = {}
    for name, kind in zone_data(job.files):
        code, told = there.ask(job.machine, job.hosts[0], name, kind, job.port)
        found[name, kind] = told if code == "NOERROR" else [code]
    return found


def zone_data(files: Any) -> dict[tuple[str, str], list[str]]:
    """Every name and type of the zone files, and its data, as dnspython reads them."""
    found: dict[tuple[str, str], list[str]] = {}
    for one in files:
        if one.path.endswith(".zone"):
            zone = dns.zone.from_text(one.content.decode("ascii"), relativize=False)
            for name, group in zone.iterate_rdatasets():
                found[name.to_text(), dns.rdatatype.to_text(group.rdtype)] = sorted(
                    data.to_text().rstrip(".") for data in group
                )
    return found


def asked_of(there: Stood) -> dict[str, tuple[str, Host, str, str]]:
    """Questions from a device in a zone that knows the office's names, and from one that must not."""
    plan, segment = there.plan, there.office.segment("staff")
    machine = next(one for one in plan.records(Name) if one.holder == "files")
    server = next(one for one in segment.resolvers if one.version == 4)
    outside = there.office.outside_names[-1][0]
    names = {
        "machine": (machine.name, "A"), "machine in IPv6": (machine.name, "AAAA"),
        "back": (machine.addresses[0].reverse_pointer, "PTR"), "back in IPv6": (machine.addresses[-1].reverse_pointer, "PTR"),
        "outside": (outside, "A"), "outside in IPv6": (outside, "AAAA"), "nobody": (f"nobody.{segment.domain}", "A"),
        "nobody outside": (f"nobody.{outside}", "A"), "nobody's address": ("77.2.0.192.in-addr.arpa", "PTR"),
    }  # fmt: skip
    questions: dict[str, tuple[str, Host, str, str]] = {
        word: ("spare-staff", server, *one) for word, one in names.items()
    }
    guests = [one for one in there.office.segments if one.slug == "guests"]
    for one in guests:
        gate = next(host for host in one.resolvers if host.version == 4)
        questions |= {
            f"guest {word}": ("spare-guests", gate, *names[word]) for word in ("machine", "back", "outside")
        }
        questions["guest elsewhere"] = ("spare-guests", server, *names["outside"])
    return questions


def of_resolvers(there: Stood) -> dict[str, tuple[str, list[str]]]:
    """Those questions asked."""
    return {word: there.ask(*question) for word, question in asked_of(there).items()}


def of_clocks(there: Stood) -> dict[str, tuple[bytes, float]]:
    """Every clock that a zone is told of, asked from that zone; and when."""
    found: dict[str, tuple[bytes, float]] = {}
    for segment in there.office.segments:
        for host in segment.times:
            found[f"{segment.slug} {host}"] = there.time(f"spare-{segment.slug}", host), time.time()
    return found


@pytest.mark.parametrize("office", OFFICES)
def test_every_file_is_taken_by_its_own_program(office: str) -> None:
    """A line for each file, with the SHA-256 of the very bytes that `written` made."""
    found = seen(office, REAL)
    files = {one.path: one for one in files_of(office)}
    assert [one for one in found.checked if one.says] == []
    for one in found.checked:
        assert one.digest == sha256(files[one.path].content).hexdigest()
        assert one.parser
    folders = ("names/", "lookups/", "time/", "addresses/kea")
    assert {one.path for one in found.checked} == {path for path in files if path.startswith(folders)}


@pytest.mark.parametrize("office", OFFICES)
def test_every_server_of_the_plan_runs(office: str) -> None:
    """One for each Server record but the relay, both families' address servers, and a clock on every other machine."""
    plan, found = plan_of(office), seen(office, REAL)
    assert all(one.real and one.program for one in found.played)
    there = {(one.program, one.machine) for one in found.played}
    wanted = {
        (program, one.holder) for one in plan.records(Server)
        for program in PROGRAMS.get(one.does, ())
    }  # fmt: skip
    assert wanted <= there
    assert {one.program for one in found.played if (one.program, one.machine) not in wanted} == {"chronyd"}
    assert len(there) == len(found.played)
    for one in found.played:
        assert all(path.startswith(("names/", "lookups/", "time/", "addresses/")) for path in one.files)
        assert bool(one.why) == (one.program in {"unbound", "chronyd"})  # what is set besides the plan's file is said


@pytest.mark.parametrize("programs", [REAL, MISSING])
@pytest.mark.parametrize("office", OFFICES)
def test_the_server_of_names_says_what_the_zones_say(office: str, programs: str) -> None:
    """Every name and type of every zone file, as dnspython reads it."""
    wanted = zone_data([placed(one) for one in files_of(office) if one.path.startswith("names/")])
    assert len(wanted) > 50
    assert seen(office, programs).zones == wanted


@pytest.mark.parametrize("programs", [REAL, MISSING])
@pytest.mark.parametrize("office", OFFICES)
def test_resolvers_tell_the_office_and_the_world(office: str, programs: str) -> None:
    """Copies of the office's zones by transfer, names outside from the world outside; what is not there is said not to be."""
    plan, names = plan_of(office), seen(office, programs).names
    machine = next(one for one in plan.records(Name) if one.holder == "files")
    assert names["machine"] == ("NOERROR", [str(machine.addresses[0])])
    assert names["machine in IPv6"] == ("NOERROR", [str(machine.addresses[-1])])
    assert names["back"] == names["back in IPv6"] == ("NOERROR", [machine.name])
    for word in ("outside", "outside in IPv6"):
        code, told = names[word]
        assert code == "NOERROR"
        assert [one.split(":")[0].split(".")[0] for one in told] == [
            {"outside": "192", "outside in IPv6": "2001"}[word]
        ]
    for word in ("nobody", "nobody outside", "nobody's address"):
        assert names[word] == ("NXDOMAIN", [])


@pytest.mark.parametrize("programs", [REAL, MISSING])
@pytest.mark.parametrize("office", ["millrace", "brackwater"])
def test_visitors_learn_nothing_of_the_office(office: str, programs: str) -> None:
    """By the firewall's own resolver they find the world alone, and another zone's resolver refuses them."""
    names = seen(office, programs).names
    assert names["guest machine"] == names["guest back"] == ("NXDOMAIN", [])
    assert names["guest outside"] == names["outside"]
    assert names["guest elsewhere"] == ("REFUSED", [])


@pytest.mark.parametrize("programs", [REAL, MISSING])
@pytest.mark.parametrize("office", OFFICES)
def test_clocks_tell_the_time_to_every_zone_that_is_told_of_them(office: str, programs: str) -> None:
    """Mode 4, set, and right: RFC 5905 section 7.3."""
    plan, times = plan_of(office), seen(office, programs).times
    opened = {str(host) for one in plan.records(Server) if one.does == "time" for host in one.addresses}
    assert len(times) >= 2 * len({one.split()[0] for one in times})
    for word, (said, now) in times.items():
        assert word.split()[1] in opened
        assert len(said) == CLOCK.size, word
        head, stratum, *_ = CLOCK.unpack(said)
        seconds, part = LATE.unpack(said)
        assert head & 7 == 4
        assert head >> 6 != 3
        assert 0 < stratum < 16
        assert abs(seconds - EPOCH + part / 2**32 - now) < NEAR


@pytest.mark.parametrize("office", OFFICES)
def test_what_stands_in_is_labelled(office: str) -> None:
    """No program, not real, and a sentence that says what isn't tried; the same servers as with the real ones."""
    played = seen(office, MISSING).played
    assert [(one.service, one.machine) for one in played] == [
        (one.service, one.machine) for one in seen(office, REAL).played
    ]
    for one in played:
        assert not one.real
        assert not one.program
        assert "isn't installed: " in one.why


def offered(there: Stood, pool: Pool, hardware: bytes) -> dhcp.Message:
    """What the address server offers to a device in a zone, through the firewall as the relay (RFC 1542)."""
    segment = next(one for one in there.office.segments if pool.first in one.network4)
    job = there.job("kea-dhcp4")
    door = IPv4Address(str(segment.gateway4))
    with there.room(FIREWALL).socket(socket.AF_INET, socket.SOCK_DGRAM) as mine:
        mine.settimeout(PATIENCE)
        mine.bind((str(door), dhcp.CALLS_AT))
        call = replace(dhcp.discover(1, hardware), relay=door, hops=1)
        mine.sendto(dhcp.written(call), (str(job.hosts[0]), dhcp.CALLS_AT))
        return dhcp.read(mine.recv(1500))


def test_the_firewall_itself_lends_addresses_too() -> None:
    """Where no machine of the server does: devices ask it straight, on its port into their zone."""

    def work(there: Stood) -> list[Given]:
        there.jobs = [one for one in there.jobs if one.program == "kea-dhcp4"]
        there.rise()
        return asked4([(one, there.room(one.slug)) for one in there.office.stations if one.asks])

    found = stood(ALONE, work)
    pools = plan_of(ALONE).records(Pool)
    assert found
    for one in found:
        assert isinstance(one.address, IPv4Address)
        assert any(pool.first <= one.address <= pool.last for pool in pools)


@pytest.mark.parametrize("office", OFFICES[:-1])
def test_the_address_servers_lend_by_the_file(office: str) -> None:
    """An offer from each pool, with the zone's door and resolvers; both programs hold every network of their file."""

    def work(there: Stood) -> tuple[list[dhcp.Message], dict[str, Any]]:
        there.jobs = [one for one in there.jobs if one.program.startswith("kea")]
        there.rise()
        offers = [
            offered(there, pool, bytes([2, 0, 0, 0, 0, n])) for n, pool in enumerate(there.plan.records(Pool), 1)
        ]
        return offers, {one.job.program: kea.told(one, "config-get")["arguments"] for one in there.running}

    plan = plan_of(office)
    offers, settings = stood(office, work)
    assert len(offers) == len(plan.records(Pool)) > 0
    files = {one.path: one for one in files_of(office)}
    zones = {one["subnet"]: one for one in json.loads(files["addresses/kea-dhcp4.conf"].content)["Dhcp4"]["subnet4"]}
    for offer, pool in zip(offers, plan.records(Pool), strict=True):
        assert offer.kind == dhcp.Kind.OFFER
        assert pool.first <= offer.given <= pool.last
        zone = next(one for net, one in zones.items() if offer.given in ip_network(net))
        told = {one["name"]: one["data"] for one in zone["option-data"]}
        assert [str(one) for one in offer.hosts(dhcp.Option.ROUTER)] == [told["routers"]]
        assert ", ".join(map(str, offer.hosts(dhcp.Option.RESOLVERS))) == told["domain-name-servers"]
    for family in (4, 6):
        generated = json.loads(files[f"addresses/kea-dhcp{family}.conf"].content)[f"Dhcp{family}"][f"subnet{family}"]
        held = settings[f"kea-dhcp{family}"][f"Dhcp{family}"][f"subnet{family}"]
        assert {(one["id"], one["subnet"]) for one in held} == {(one["id"], one["subnet"]) for one in generated}
