"""A small office in the kernel for tries: two zones, a firewall with a filter written by hand, and the world outside."""

import subprocess
import time
from collections.abc import Sequence
from ipaddress import ip_address

from scantling.figures import FIREWALL, OUTSIDE, Host
from scantling.trials.probe.judging import judged
from scantling.trials.probe.ports import listeners, ports_of
from scantling.trials.probe.probing import Judgement, Kind, Probe
from scantling.trials.rehearsal.loading import in_room, load
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.prober import Manner, tried
from scantling.trials.rehearsal.recorder import Recorder
from scantling.trials.rehearsal.responders import Ports, Responders
from scantling.trials.rehearsal.rooms import Room, empty, here
from scantling.trials.rehearsal.settings import settings

FILTER = b"""table inet office
delete table inet office
table inet office {
	chain early {
		type filter hook prerouting priority raw; policy accept;
		iifname "zone-10" ip saddr != { 10.20.10.0/24 } counter drop comment "not behind this port"
		iifname "zone-10" ip6 saddr != { 2001:db8:10::/64, fe80::/10 } counter drop comment "nor of the sixth version"
	}
	chain input {
		type filter hook input priority filter; policy drop;
		ct state established,related accept
		icmpv6 type { 133-137 } counter accept comment "neighbours"
		iifname "zone-10" udp dport { 53, 123 } counter accept comment "names and time"
		iifname "zone-10" meta l4proto { icmp, ipv6-icmp } counter accept comment "echoes"
	}
	chain forward {
		type filter hook forward priority filter; policy drop;
		ct state established,related counter accept comment "answers"
		ct state invalid counter drop comment "strays"
		iifname "zone-10" oifname "zone-20" tcp dport { 80, 445, 446 } counter accept comment "web and files"
		iifname "zone-10" oifname "zone-20" udp dport { 514, 515 } counter accept comment "reports"
		iifname "zone-10" oifname "zone-20" meta l4proto { icmp, ipv6-icmp, 47, 132 } counter accept comment "others"
		iifname "zone-10" tcp dport 25 counter reject with tcp reset comment "mail"
		iifname "zone-10" udp dport 26 counter reject comment "odd"
		iifname "zone-10" tcp dport 27 counter reject with icmpx type admin-prohibited comment "forbidden"
		iifname "zone-10" meta l4proto 50 counter reject with icmpx type admin-prohibited comment "no encryption"
		iifname "zone-10" oifname "outside-1" tcp dport 443 counter accept comment "web"
		iifname "zone-10" oifname "outside-1" udp dport 443 counter accept comment "web, quick"
		iifname "outside-1" ct status dnat counter accept comment "published"
		iifname "outside-1" ip6 daddr 2001:db8:20::5 tcp dport 443 counter accept comment "published, straight"
	}
	chain output {
		type filter hook output priority filter; policy drop;
		ct state established,related accept
		icmpv6 type { 133-137 } accept
		oifname "zone-20" tcp dport 445 counter accept comment "its own"
		oifname "zone-20" udp dport 514 counter accept comment "its own reports"
	}
}
table ip office-nat
delete table ip office-nat
table ip office-nat {
	chain incoming {
		type nat hook prerouting priority dstnat; policy accept;
		iifname "outside-1" ip daddr 203.0.113.2 tcp dport 443 counter dnat to 10.20.20.5 comment "published"
		iifname "outside-1" ip daddr 203.0.113.2 tcp dport 8443 counter dnat to 10.20.20.6:443 comment "led astray"
	}
	chain leaving {
		type nat hook postrouting priority srcnat; policy accept;
		oifname "outside-1" counter masquerade comment "hidden"
	}
}
"""
PREFIXES = {10: ("10.20.10", "2001:db8:10"), 20: ("10.20.20", "2001:db8:20")}
STATIONS = {"laptop": (10, 9), "tablet": (10, 10), "cut": (10, 11), "files": (20, 5), "monitor": (20, 6)}
PUBLIC = {4: ip_address("203.0.113.2"), 6: ip_address("2001:db8:ffff::2")}
STRANGER = {4: ip_address("192.0.2.77"), 6: ip_address("2001:db8:bad::77")}
FORWARDING = {"net/ipv4/ip_forward": "1", "net/ipv6/conf/all/forwarding": "1"}
AT_ONCE = {"net/ipv6/conf/default/accept_dad": "0", "net/ipv6/conf/default/accept_ra": "0"}


USUALLY = Manner()


def at(station: str, family: int) -> Host:
    """The address of a station."""
    zone, number = STATIONS[station]
    four, six = PREFIXES[zone]
    return ip_address(f"{four}.{number}" if family == 4 else f"{six}::{number}")


def door(zone: int, family: int) -> Host:
    """The firewall's address in a zone."""
    four, six = PREFIXES[zone]
    return ip_address(f"{four}.1" if family == 4 else f"{six}::1")


class Lab:
    """The office with its filter, its recorder and, once told at what ports, its responders."""

    def __init__(self, rules: bytes = FILTER) -> None:
        home = here("home")
        self.rooms: dict[str, Room] = {
            name: empty(name, home.descriptor) for name in (FIREWALL, OUTSIDE, "switch", *STATIONS)
        }
        for room in self.rooms.values():
            settings(room, AT_ONCE)
        settings(self.rooms[FIREWALL], FORWARDING)
        self.build()
        self.run = in_room(self.rooms[FIREWALL])
        load(self.run, rules)
        self.recorder = Recorder(self.rooms[FIREWALL], self.run)
        self.recorder.install()
        self.responders: Responders | None = None

    def build(self) -> None:
        """Bridges, cables, addresses, ways out."""
        with Netlink(self.rooms["switch"]) as switch, Netlink(self.rooms[FIREWALL]) as firewall:
            firewall.up("lo")
            for zone in PREFIXES:
                switch.bridge(f"br-{zone}")
                switch.up(f"br-{zone}")
                switch.pair(
                    f"fw-{zone}", f"zone-{zone}", self.rooms[FIREWALL], f"02:16:00:00:00:{zone}", bridge=f"br-{zone}"
                )
                switch.flush()
                firewall.up(f"zone-{zone}")
                firewall.address(f"zone-{zone}", door(zone, 4), 24)
                firewall.address(f"zone-{zone}", door(zone, 6), 64)
            for name, (zone, number) in STATIONS.items():
                switch.pair(
                    f"p-{name}", "e0", self.rooms[name], f"02:16:00:{zone}:00:{number:02x}", bridge=f"br-{zone}"
                )
            switch.flush()
        for name in STATIONS:
            self.connect(name)
        self.outside()
        for name in (FIREWALL, OUTSIDE, *STATIONS):
            self.carried(name)

    def carried(self, name: str) -> None:
        """Wait until the kernel has told itself that a room's cables carry: before it knows no way of the sixth version."""
        end = time.monotonic() + 5
        with Netlink(self.rooms[name]) as link:
            while not all(one.running for one in link.links() if one.up and one.name != "lo"):
                assert time.monotonic() < end, f"a cable of {name} does not carry"
                time.sleep(0.005)

    def connect(self, name: str) -> None:
        """A station's own side."""
        zone, _ = STATIONS[name]
        with Netlink(self.rooms[name]) as link:
            link.up("lo")
            link.up("e0")
            link.address("e0", at(name, 4), 24)
            link.address("e0", at(name, 6), 64)
            link.route("0.0.0.0/0", via=door(zone, 4), name="e0")
            link.route("::/0", via=door(zone, 6), name="e0")

    def outside(self) -> None:
        """One room that takes every address for its own, but for the line to the firewall and what lies behind it."""
        with Netlink(self.rooms[OUTSIDE]) as far, Netlink(self.rooms[FIREWALL]) as firewall:
            far.up("lo")
            far.pair("line-1", "outside-1", self.rooms[FIREWALL], "02:16:00:00:00:80")
            far.up("line-1")
            far.flush()
            for host, length, everything in (
                (ip_address("203.0.113.1"), 30, "0.0.0.0/0"),
                (ip_address("2001:db8:ffff::1"), 64, "::/0"),
            ):
                far.address("line-1", host, length)
                far.flush()
                self.takes(everything)
                firewall.up("outside-1")
                firewall.address("outside-1", PUBLIC[host.version], length)
                firewall.route(everything, via=host, name="outside-1")
            for line in ("203.0.113.2/32", "2001:db8:ffff::2/128"):
                far.route(line, name="line-1")
            far.flush()
            for network in ("10.20.0.0/16", "2001:db8:10::/64", "2001:db8:20::/64"):
                far.route(network, via=PUBLIC[6 if ":" in network else 4], name="line-1")

    def takes(self, everything: str) -> None:
        """The outside takes for its own what it knows no way to; asked last, in the main table, in both versions alike."""
        version = "-6" if ":" in everything else "-4"
        command = ["ip", version, "route", "add", "local", everything, "dev", "lo", "table", "main"]
        with self.rooms[OUTSIDE].entered():
            subprocess.run(command, check=True)

    def answering(self, ports: Ports) -> None:
        """Responders at some ports."""
        self.responders = Responders(self.rooms, ports, dict.fromkeys(STRANGER.values(), "stranger"))
        self.responders.start()

    def tried(
        self, probes: Sequence[Probe], closed: Sequence[tuple[str, Kind, int]] = (), manner: Manner = USUALLY
    ) -> list[Judgement]:
        """Make tries with somebody listening wherever one goes, but at closed ports."""
        if self.responders is None:
            wanted = listeners(probes)
            for station, kind, port in closed:
                wanted[station].discard((kind, port))
            self.answering(
                {station: many for station, many in wanted.items() if station in self.rooms or station == "stranger"}
            )
        seen = tried(probes, self.rooms, ports_of(probes), self.recorder, lambda done, many: None, manner)
        return judged(probes, seen)
