"""Zone files and settings of names, lookups and time: taken by the real programs, and every address <-> name both ways."""

from collections.abc import Callable
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network
from pathlib import Path

import dns.name
import dns.reversename
import dns.zone
import pytest
from names_files import Answers, files, judged, put
from offices import changed, example, fold, millrace, planned

import generated_offices
from conftest import Scale
from option_samples import other_ways
from scantling.figures import FIREWALL, Asking, Flow, Name, NameRecord, NameZone, Net, OutsideName, Server, Subnet
from scantling.handbook.name_zones import reverse_records, reversed_owner, service_records
from scantling.outputs.files import lookups
from scantling.outputs.files.name_zones import zone_text
from scantling.plan.make import Plan

OFFICES = ("millrace", "brackwater", "fold")
WAYS: dict[str, Callable[[], Plan]] = {
    **{name: lambda name=name: example(name) for name in OFFICES},  # type: ignore[misc]
    "boxed": lambda: planned(changed(fold(), "firewall:  {profile: firewall,", "firewall:  {profile: firewall, stands: box,")),
    "unnamed": lambda: planned(changed(fold(), "  names:     {profile: names and addresses, down: 8 h, lost: 24 h}\n", "")),
    "bare": lambda: planned(changed(millrace(), "names:\n", "names:\n  domain: millrace.example\n")),
}  # fmt: skip
each_way = pytest.mark.parametrize("way", WAYS)


@each_way
def test_every_file_is_taken_by_its_program(way: str, tmp_path: Path) -> None:
    """named-checkzone -i full, nsd-checkzone, nsd-checkconf, unbound-checkconf, chronyd -p."""
    given = files(WAYS[way]())
    assert judged(put(given, tmp_path)) == []
    assert all(one.what and one.goes and one.load and one.undo and one.checked_by for one in given.values())


@pytest.mark.parametrize("heads", [5, 15, 24, 50, 120])
def test_files_of_other_offices_are_taken(heads: int, tmp_path: Path) -> None:
    assert judged(put(files(planned(generated_offices.brief(heads))), tmp_path)) == []


def test_every_file_of_a_size_between_is_taken(scale: Scale, tmp_path: Path) -> None:
    for heads in generated_offices.HEADS[:: scale(short=10, full=1)]:
        assert judged(put(files(planned(generated_offices.brief(heads))), tmp_path / str(heads))) == []


def test_every_file_of_other_ways_to_build_is_taken(tmp_path: Path) -> None:
    """Firewall in a box, no server, two servers: whatever an option changes."""
    for place, plan in enumerate(other_ways()):
        assert judged(put(files(plan), tmp_path / str(place))) == []


@each_way
def test_the_checkers_are_real(way: str, tmp_path: Path) -> None:
    """A planted mistake in each kind of file is told."""
    broken = {"zone": b"\nx IN A 10.0.0.999\n", "conf": b"\nno-such-word: yes\n"}
    for one, path in put(files(WAYS[way]()), tmp_path):
        path.write_bytes(one.content + broken[path.suffix[1:]])
        assert judged([(one, path)]), one.path


@each_way
def test_every_name_leads_to_its_address_and_back(way: str) -> None:
    """By dnspython, aliases of RFC 2317 followed; what is published leads to the same machine by its inside name."""
    plan = WAYS[way]()
    answers = Answers(files(plan))
    given = {address: one for one in plan.records(Name) for address in one.addresses}
    assert given
    for address, one in given.items():
        assert str(address) in answers.ask(one.name, "A" if isinstance(address, IPv4Address) else "AAAA")
        assert answers.ask(dns.reversename.from_address(str(address)), "PTR") == [f"{one.name}."]
        for alias in one.aliases:
            assert answers.ask(alias, "A") == answers.ask(one.name, "A")


@each_way
def test_the_zones_hold_nothing_else(way: str) -> None:
    """Every address in a zone is one of a name; every reverse name is one that leads there."""
    plan = WAYS[way]()
    answers = Answers(files(plan))
    given = {(f"{one.name}.", str(address)) for one in plan.records(Name) for address in one.addresses}
    published = {f"{one.name}." for one in plan.records(OutsideName) if one.holder}
    assert {pair for pair in answers.addresses() if pair[0] not in published} == given
    assert {(name, address) for address, name in answers.pointed()} == given


@each_way
def test_one_serial_and_the_advised_times(way: str) -> None:
    """RFC 1912 section 2.2, RFC 2308 section 5; the primary is a name with an address."""
    answers = Answers(files(WAYS[way]()))
    for zone in answers.zones.values():
        soa = zone.get_soa()
        assert soa.serial == 2026112501
        assert 1200 <= soa.refresh <= 43200
        assert 120 <= soa.retry < soa.refresh
        assert 1209600 <= soa.expire <= 2419200
        assert 3600 <= soa.minimum <= 10800
        assert answers.ask(soa.mname, "A")
        assert soa.rname.to_text().startswith("hostmaster.")


def test_directory_and_time_are_found_by_service() -> None:
    """RFC 2782 with RFC 4120: where the directory answers, by protocol; ports as the registry has them (RFC 6335)."""
    answers = Answers(files(example("millrace")))
    machine = "directory.ad.millrace.example."
    wanted = {
        "_ldap._tcp": 389, "_kerberos._tcp": 88, "_kerberos._udp": 88, "_kpasswd._tcp": 464, "_kpasswd._udp": 464, "_ntp._udp": 123,
    }  # fmt: skip
    for service, port in wanted.items():
        assert answers.ask(f"{service}.ad.millrace.example", "SRV") == [f"0 100 {port} {machine}"]


def test_a_zone_without_a_directory_names_none() -> None:
    assert service_records("a.example", "", []) == []


NETS: tuple[tuple[str, str, str], ...] = (
    ("192.0.2.0/25", "192.0.2.1", "1.0-25.2.0.192.in-addr.arpa"),
    ("192.0.2.128/26", "192.0.2.129", "129.128-26.2.0.192.in-addr.arpa"),
    ("192.0.2.192/26", "192.0.2.193", "193.192-26.2.0.192.in-addr.arpa"),
)
"""The example of RFC 2317 section 4, with the hyphen that it advises instead of the stroke."""


@pytest.mark.parametrize(("network", "address", "owner"), NETS)
def test_the_example_of_rfc_2317(network: str, address: str, owner: str) -> None:
    """Section 4: a zone a subnet, and in the zone of all 256 an alias for each host, such as 129 -> 129.128/26."""
    net, host = IPv4Network(network), IPv4Address(address)
    assert reversed_owner(host, net) == (owner.partition(".")[2], owner)
    made = reverse_records([Name("a", "a.example", "a", (host,))], [net], "ns.example")
    parent = made["2.0.192.in-addr.arpa"]
    assert NameRecord(owner.partition(".")[2], "NS", "ns.example.") in parent
    assert NameRecord(host.reverse_pointer, "CNAME", f"{owner}.") in parent
    assert made[owner.partition(".")[2]] == [NameRecord(owner, "PTR", "a.example.")]


SHORTER: tuple[tuple[Net, str, str], ...] = (
    (IPv4Network("10.44.60.0/23"), "10.44.61.7", "61.44.10.in-addr.arpa"),
    (IPv4Network("10.44.20.0/24"), "10.44.20.7", "20.44.10.in-addr.arpa"),
    (IPv4Network("10.44.0.0/16"), "10.44.20.7", "44.10.in-addr.arpa"),
    (IPv4Network("10.0.0.0/12"), "10.4.20.7", "4.10.in-addr.arpa"),
    (IPv4Network("10.0.0.0/8"), "10.4.20.7", "10.in-addr.arpa"),
    (IPv6Network("2001:db8:1:30::/64"), "2001:db8:1:30::21", "0.3.0.0.1.0.0.0.8.b.d.0.1.0.0.2.ip6.arpa"),
    (IPv6Network("2001:db8:1:30::/62"), "2001:db8:1:31::21", "1.3.0.0.1.0.0.0.8.b.d.0.1.0.0.2.ip6.arpa"),
)


@pytest.mark.parametrize(("network", "address", "origin"), SHORTER)
def test_whole_octets_and_nibbles(network: Net, address: str, origin: str) -> None:
    """RFC 1035 section 3.5 and RFC 3596 section 2.5; dnspython says the same of the whole name."""
    host = IPv4Address(address) if "." in address else IPv6Address(address)
    found, owner = reversed_owner(host, network)
    assert found == origin
    assert dns.reversename.from_address(address) == dns.name.from_text(owner)
    assert dns.name.from_text(owner).is_subdomain(dns.name.from_text(found))


RFC_2782 = """\
$ORIGIN example.com.
@               SOA server.example.com. root.example.com. (
                    1995032001 3600 3600 604800 86400 )
                NS  server.example.com.
                NS  ns1.ip-provider.net.
                NS  ns2.ip-provider.net.
_foobar._tcp    SRV 0 1 9 old-slow-box.example.com.
                 SRV 0 3 9 new-fast-box.example.com.
                 SRV 1 0 9 sysadmins-box.example.com.
                 SRV 1 0 9 server.example.com.
server           A   172.30.79.10
old-slow-box     A   172.30.79.11
sysadmins-box    A   172.30.79.12
new-fast-box     A   172.30.79.13
*._tcp          SRV  0 0 0 .
*._udp          SRV  0 0 0 .
"""
"""The zone that RFC 2782 prints as its example (from memory, without its remarks; the lifetime is added below)."""


def test_the_zone_of_rfc_2782_written_by_us_reads_the_same() -> None:
    """Our writer from records; dnspython reads both texts as equal zones."""
    printed = dns.zone.from_text("$TTL 86400\n" + RFC_2782, relativize=False)
    zone = NameZone(
        "example", "example.com", reverse=False, serial=1995032001, primary="server.example.com", contact="root.example.com",
        times=(3600, 3600, 604800, 86400), ttl=86400, records=_records(printed),
    )  # fmt: skip
    ours = dns.zone.from_text(zone_text(zone, ("an example",)), relativize=False)
    assert ours == printed


def _records(zone: dns.zone.Zone) -> tuple[NameRecord, ...]:
    """All but the head."""
    return tuple(
        NameRecord(name.to_text(omit_final_dot=True), one.rdtype.name, one.to_text())
        for name, _, one in zone.iterate_rdatas() if one.rdtype.name != "SOA"
    )  # fmt: skip


def text_of(plan: Plan, path: str) -> str:
    """One file's text."""
    return files(plan)[path].content.decode("ascii")


def lines_of(plan: Plan, path: str, word: str) -> list[str]:
    """What stands behind one word of a file of settings, line by line."""
    return [
        line.split(maxsplit=1)[1] for line in text_of(plan, path).splitlines() if line.strip().startswith(f"{word} ")
    ]


@each_way
def test_only_the_resolver_may_copy_a_zone(way: str) -> None:
    plan = WAYS[way]()
    server = next(one for one in plan.records(Server) if one.does == "names")
    holder = next(one for one in plan.records(Server) if one.does == "lookups")
    allowed = {one.split()[0] for one in lines_of(plan, "names/nsd.conf", "provide-xfr:")}
    assert allowed == ({"127.0.0.1"} if server.holder == FIREWALL else set(server.upstream))
    assert server.holder == FIREWALL or allowed <= set(map(str, holder.addresses))
    assert {one.split()[0] for one in lines_of(plan, "names/nsd.conf", "notify:")} == allowed
    copies = lines_of(plan, f"lookups/{holder.holder}/unbound.conf", "zonefile:")
    assert len(copies) == len(plan.records(NameZone)) == len(lines_of(plan, "names/nsd.conf", "zonefile:"))


@each_way
def test_a_resolver_listens_on_its_own_addresses_and_answers_who_asks_it(way: str) -> None:
    plan = WAYS[way]()
    nets = {one.slug: str(one.network) for one in plan.records(Subnet)}
    for server in (one for one in plan.records(Server) if one.does == "lookups"):
        path = f"lookups/{server.holder}/unbound.conf"
        assert set(lines_of(plan, path, "interface:")) == {*map(str, server.addresses), "127.0.0.1"}
        allowed = {
            one.removesuffix(" allow") for one in lines_of(plan, path, "access-control:") if one.endswith(" allow")
        }
        asking = {nets[one.slug] for one in plan.records(Asking) if set(one.resolvers) & set(server.addresses)}
        others = {nets[one.slug] for one in plan.records(Asking)} - asking
        assert asking <= allowed
        assert not others & allowed


def test_the_firewall_that_asks_the_filter_is_told_no_office_name() -> None:
    """Its clients are guests and payments; the filter knows it by its address there."""
    plan = example("millrace")
    gate = next(one.gateway for one in plan.records(Subnet) if one.slug == "servers")
    assert f'{gate}/32 "without-domain"' in lines_of(plan, "lookups/filter/unbound.conf", "access-control-view:")
    assert "auth-zone:" not in text_of(plan, "lookups/firewall/unbound.conf")


def test_the_canary_is_answered_no_where_an_intent_keeps_lookups_here() -> None:
    plan = example("millrace")
    kept = {one.slug for one in plan.records(Asking) if one.domain and lookups.blocked(plan, one.slug)}
    views = lines_of(plan, "lookups/filter/unbound.conf", "access-control-view:")
    assert len([one for one in views if "stays-here" in one]) >= len(kept)
    assert bool(kept) == ("use-application-dns.net" in text_of(plan, "lookups/filter/unbound.conf"))
    assert plan.records(Flow)


def test_clocks_are_asked_by_those_zones_that_ask_them() -> None:
    plan = example("millrace")
    nets = {one.slug: str(one.network) for one in plan.records(Subnet)}
    allowed = set(lines_of(plan, "time/directory/chrony.conf", "allow"))
    assert {nets[zone] for zone in ("staff", "servers", "management")} <= allowed
    assert not {nets[zone] for zone in ("guests", "payments", "stage")} & allowed
    assert set(nets.values()) <= set(lines_of(plan, "time/firewall/chrony.conf", "allow"))
    sources = lines_of(plan, "time/firewall/chrony.conf", "server")
    assert sources == ["ntp.harbourline.example iburst", "clock.college.example iburst"]


def test_the_server_itself_takes_the_time_too() -> None:
    """Machines and host must not go by each other alone; the file says where it goes."""
    goes = files(example("millrace"))["time/machines-management/chrony.conf"].goes
    assert "controller, monitor, the server itself" in goes.replace("firewall, ", "")


def test_the_clocks_are_found_before_the_clock_is_right() -> None:
    """A signature is dated (RFC 4034 section 3.1.5): with a wrong clock no signed name would be found, the clocks' neither."""
    for path in ("lookups/filter/unbound.conf", "lookups/firewall/unbound.conf"):
        unsigned = lines_of(example("millrace"), path, "domain-insecure:")
        assert {'"ntp.harbourline.example"', '"clock.college.example"'} <= set(unsigned)


@each_way
def test_no_machine_goes_by_its_own_clock(way: str) -> None:
    """Every file has a source that is not the machine itself; the one that gives the time also asks outside."""
    plan = WAYS[way]()
    own = {one.holder: set(map(str, one.addresses)) for one in plan.records(Server) if one.does == "time"}
    for path in (one for one in files(plan) if one.startswith("time/")):
        sources = {one.split()[0] for one in lines_of(plan, path, "server")}
        assert len(sources) >= 2
        assert not sources & own.get(path.split("/")[1], set())
