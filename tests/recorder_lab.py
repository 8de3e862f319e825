"""A firewall between two zones in the kernel, with a filter, a recorder, and sockets to try it with; for a test's own namespace."""

import errno
import json
import socket
import struct
from ipaddress import ip_address
from typing import Any

from scantling.figures import Host
from scantling.trials.rehearsal.loading import in_room, load
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.recorder import Recorder
from scantling.trials.rehearsal.rooms import Room, empty, here
from scantling.trials.rehearsal.settings import settings

FILTER = b"""table inet office
delete table inet office
table inet office {
	chain early {
		type filter hook prerouting priority raw; policy accept;
		iifname "zone-10" ip saddr != { 10.20.10.0/24 } counter drop comment "r-1 not behind this port"
	}
	chain input {
		type filter hook input priority filter; policy drop;
		icmpv6 type { 133-137 } counter accept comment "r-2 neighbours"
		udp dport 53 counter accept comment "r-3 names"
	}
	chain forward {
		type filter hook forward priority filter; policy drop;
		ct state established,related counter accept comment "r-4 answers"
		ct state invalid counter drop comment "r-5 strays"
		tcp dport { 80, 443, 8443 } counter accept comment "r-6 web"
		udp dport 123 counter accept comment "r-7 time"
		meta l4proto { icmp, ipv6-icmp } counter accept comment "r-8 echoes"
		meta l4proto 47 counter accept comment "r-9 tunnels"
		tcp dport 25 counter reject with tcp reset comment "r-10 mail"
	}
}
table ip office-nat
delete table ip office-nat
table ip office-nat {
	chain incoming {
		type nat hook prerouting priority dstnat; policy accept;
		ip daddr 10.20.10.1 tcp dport 8080 counter dnat to 10.20.20.9:443 comment "n-1 published"
	}
	chain leaving {
		type nat hook postrouting priority srcnat; policy accept;
		oifname "zone-20" counter masquerade comment "n-2 hidden"
	}
}
"""
ADDRESSES = {10: ("10.20.10", "2001:db8:10"), 20: ("10.20.20", "2001:db8:20")}
RESET, OPENING = 0x04, 0x02
VERSIONS, SETTLED = {4: socket.AF_INET, 6: socket.AF_INET6}, 0.05
SENT = {
    4: (ip_address("10.20.10.9"), ip_address("10.20.20.9")),
    6: (ip_address("2001:db8:10::9"), ip_address("2001:db8:20::9")),
}


def office() -> tuple[Room, dict[int, Room]]:
    """A firewall between two zones, one station in each."""
    home = here("home")
    firewall = empty("firewall", home.descriptor)
    settings(firewall, {"net/ipv4/ip_forward": "1", "net/ipv6/conf/all/forwarding": "1"})
    stations = {zone: empty(f"station-{zone}", home.descriptor) for zone in ADDRESSES}
    router = Netlink(firewall)
    router.up("lo")
    for zone, (four, six) in ADDRESSES.items():
        router.pair(f"zone-{zone}", "e0", stations[zone], f"02:16:{zone:02x}:00:00:01")
        router.address(f"zone-{zone}", ip_address(f"{four}.1"), 24)
        router.address(f"zone-{zone}", ip_address(f"{six}::1"), 64)
        with Netlink(stations[zone]) as link:
            link.up("lo")
            link.up("e0")
            link.address("e0", ip_address(f"{four}.9"), 24)
            link.address("e0", ip_address(f"{six}::9"), 64)
            link.route("0.0.0.0/0", via=ip_address(f"{four}.1"), name="e0")
            link.route("::/0", via=ip_address(f"{six}::1"), name="e0")
    router.flush()
    return firewall, stations


class Lab:
    """The office with its filter and recorder, and sockets to try it with."""

    def __init__(self) -> None:
        self.firewall, self.stations = office()
        self.run = in_room(self.firewall)
        load(self.run, FILTER)
        self.recorder = Recorder(self.firewall, self.run)
        self.recorder.install()
        self.open: list[socket.socket] = []

    def bound(self, family: int, kind: int, port: int, room: Room | None) -> socket.socket:
        """A socket of the first station or of the room told, at a port of one family alone."""
        one = (room or self.stations[10]).socket(VERSIONS[family], kind)
        if family == 6:
            one.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        one.bind(("", port))
        self.open.append(one)
        return one

    def udp(self, family: int, port: int, target: tuple[Host, int], room: Room | None = None) -> None:
        """One datagram."""
        one = self.bound(family, socket.SOCK_DGRAM, port, room)
        one.sendto(b"try", (str(target[0]), target[1]))

    def listed(self, table: str) -> Any:
        """What nft lists of an inet table."""
        return json.loads(self.run(["nft", "-j", "list", "table", "inet", table], b"").stdout)["nftables"]

    def tcp(self, family: int, port: int, target: tuple[Host, int], room: Room | None = None) -> None:
        """The first packet of a connection; nobody waits for what becomes of it."""
        one = self.bound(family, socket.SOCK_STREAM, port, room)
        one.settimeout(0)
        assert one.connect_ex((str(target[0]), target[1])) == errno.EINPROGRESS

    def raw(self, family: int, protocol: int, target: Host, content: bytes) -> None:
        """A packet of any protocol, from the first station."""
        one = self.stations[10].socket(VERSIONS[family], socket.SOCK_RAW, protocol)
        one.sendto(content, (str(target), 0))
        self.open.append(one)

    def echo(self, family: int, target: Host, number: int) -> None:
        """An echo request (RFC 792, RFC 4443); of the sixth version the kernel fills in the sum."""
        head = struct.pack("!BBHHH", 8 if family == 4 else 128, 0, 0, number, 1)
        summed_up = head[:2] + struct.pack("!H", summed(head)) + head[4:]
        self.raw(family, *((1, target, summed_up) if family == 4 else (58, target, head)))

    def segment(self, source: Host, target: Host, port: int, at: int, *, flags: int) -> None:
        """A TCP segment that belongs to nothing, in IPv4, from the first station under any source."""
        one = self.stations[10].socket(socket.AF_INET, socket.SOCK_RAW, socket.IPPROTO_RAW)
        one.sendto(with_head(source, target, segment(port, at, flags)), (str(target), 0))
        self.open.append(one)


def segment(port: int, at: int, flags: int) -> bytes:
    """A TCP head (RFC 9293 section 3.1); its sum is filled in with the rest of the packet."""
    return struct.pack("!HHIIBBHHH", port, at, 1, 1 if flags & 0x10 else 0, 0x50, flags, 1024, 0, 0)


def summed(data: bytes) -> int:
    """The sum of RFC 1071."""
    total: int = sum(struct.unpack(f"!{len(data) // 2}H", data))
    return ~((total & 0xFFFF) + (total >> 16)) & 0xFFFF


def with_head(source: Host, target: Host, tcp: bytes) -> bytes:
    """The segment with its sum, in a packet of IPv4."""
    pseudo = source.packed + target.packed + struct.pack("!BBH", 0, 6, len(tcp))
    tcp = tcp[:16] + struct.pack("!H", summed(pseudo + tcp)) + tcp[18:]
    return struct.pack("!BBHHHBBH", 0x45, 0, 20 + len(tcp), 7, 0, 64, 6, 0) + source.packed + target.packed + tcp
