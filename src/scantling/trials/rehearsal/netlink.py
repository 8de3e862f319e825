"""Builds a network in the kernel by its own language, rtnetlink (RFC 3549): links, addresses, routes, neighbours, many at once."""

import fcntl
import struct
from dataclasses import dataclass
from ipaddress import ip_network

from scantling.figures import Host
from scantling.trials.rehearsal.attributes import (
    CREATE, EXCLUSIVE, FAMILIES, REPLACE, attribute, attributes, hardware_octets, host as host_of, nest, number,
    octet, word,
)  # fmt: skip
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.talk import Talk

ROUTE = 0  # the protocol of netlink that speaks of links and routes
# linux/rtnetlink.h
NEW_LINK, DELETE_LINK, GET_LINK, SET_LINK, NEW_ADDRESS, DELETE_ADDRESS, GET_ADDRESS = 16, 17, 18, 19, 20, 21, 22
NEW_ROUTE, DELETE_ROUTE, NEW_NEIGHBOUR, DELETE_NEIGHBOUR, NEW_QUEUE = 24, 25, 28, 29, 36
# linux/if_link.h
HARDWARE, NAME, MASTER, OPERATION, ABOUT, PORT, PER_FAMILY, ROOM = 1, 3, 10, 16, 18, 12, 26, 28
SORT, DETAILS, PEER, SNOOPS, ISOLATED, GENERATION = 1, 2, 1, 23, 33, 8
# linux/if.h, linux/if_addr.h, linux/neighbour.h, linux/pkt_sched.h
UP, RUNNING, NO_CHECK, UNCHECKED, NO_ROUTE, PERMANENT = 1, 6, 0x02, 0x40, 0x200, 0x80
MAIN, BY_HAND, ANYWHERE, ON_LINK, HERE = 254, 4, 0, 253, 254
UNICAST, ROUTE_HERE, DIRECTLY = 1, 2, 4
PARAMETERS, RATE64, BURST, ETHERNET, ROOT = 1, 4, 6, 1, 0xFFFFFFFF
BRIDGES, SIXTH = 7, 10
INDEX_OF = 0x8933  # linux/sockios.h: the number of a name
NAME_OCTETS = 15


@dataclass(frozen=True, slots=True)
class Link:
    """An interface as the kernel lists it."""

    name: str
    index: int
    hardware: str
    up: bool
    """Whether it is switched on."""
    running: bool
    """Whether it carries: switched on at both ends."""
    master: int
    """Number of the bridge that it is a port of; 0: none."""


@dataclass(frozen=True, slots=True)
class Held:
    """An address that an interface bears."""

    name: str
    host: Host
    prefix: int
    """Length of its network."""
    unchecked: bool
    """Whether the kernel still finds out if somebody else has it (M)."""


class Netlink(Talk):
    """Steps in one room. They gather and are done at `flush`, in order; a `with` flushes at its end."""

    def __init__(self, room: Room) -> None:
        super().__init__(room, ROUTE)
        self.known: dict[str, int] = {}

    # ------------------------------------------------------------------------------------------------------ links

    def bridge(self, name: str) -> None:
        """A bridge that hands every announcement to everyone at once. Raises OSError at `flush`, as all steps do."""
        details = nest(ABOUT, word(SORT, "bridge"), nest(DETAILS, octet(SNOOPS, 0)))
        self.request(f"bridge {name}", NEW_LINK, CREATE | EXCLUSIVE, link() + named(name) + details)

    def pair(self, name: str, peer: str, peer_room: Room, hardware: str, bridge: str = "") -> None:
        """A cable: `name` here, up, a port of a bridge if told; `peer` in the other room, to be switched on from there."""
        # created up, the far end would meet a kernel that answers "not connected" and takes its time about it
        far = (
            link() + named(peer) + attribute(HARDWARE, hardware_octets(hardware)) + number(ROOM, peer_room.descriptor)
        )
        about = nest(ABOUT, word(SORT, "veth"), nest(DETAILS, nest(PEER, far)))
        master = number(MASTER, self.index(bridge)) if bridge else b""
        step = f"cable {name} to {peer} in {peer_room.name}"
        self.request(step, NEW_LINK, CREATE | EXCLUSIVE, link(flags=UP, change=UP) + named(name) + master + about)

    def up(self, name: str) -> None:
        """Switch it on."""
        self.request(f"{name} up", SET_LINK, 0, link(flags=UP, change=UP) + named(name))

    def down(self, name: str) -> None:
        """Switch it off."""
        self.request(f"{name} down", SET_LINK, 0, link(change=UP) + named(name))

    def hardware(self, name: str, hardware: str) -> None:
        """Give it another hardware address."""
        address = attribute(HARDWARE, hardware_octets(hardware))
        self.request(f"hardware address of {name}", SET_LINK, 0, link() + named(name) + address)

    def rename(self, name: str, other: str) -> None:
        """Call it otherwise."""
        index = self.index(name)
        self.known.pop(name)
        self.request(f"rename {name} {other}", SET_LINK, 0, link(index) + named(other))

    def delete(self, name: str) -> None:
        """Take it away; of a cable, both ends."""
        self.known.pop(name, None)
        self.request(f"delete {name}", DELETE_LINK, 0, link() + named(name))

    def master(self, name: str, bridge: str) -> None:
        """Make it a port of a bridge; without one, of none."""
        index = self.index(bridge) if bridge else 0
        self.request(
            f"{name} into {bridge or 'no bridge'}", SET_LINK, 0, link() + named(name) + number(MASTER, index)
        )

    def isolated(self, port: str, on: bool) -> None:  # noqa: FBT001 - on or off is all there is to say
        """Let a port of a bridge talk only to ports that are not isolated."""
        # heard only as this message, in the bridges' own family: as a new link it would be taken and passed over
        body = link(self.index(port), family=BRIDGES) + nest(PORT, octet(ISOLATED, int(on)))
        self.request(f"isolation of port {port}", SET_LINK, 0, body)

    def addrgenmode(self, name: str, mode: int) -> None:
        """How the kernel makes its own IPv6 addresses there: 0 from the hardware address, 1 not at all."""
        body = link() + named(name) + nest(PER_FAMILY, nest(SIXTH, octet(GENERATION, mode)))
        self.request(f"own addresses of {name}", SET_LINK, 0, body)

    def index(self, name: str) -> int:
        """Its number in this room; steps that wait are done first if it is not known yet. Raises OSError."""
        if name not in self.known:
            self.flush()
            asked = struct.pack("=16s24x", short(name).encode())
            try:
                found = fcntl.ioctl(self.socket, INDEX_OF, asked)
            except OSError as wrong:
                raise OSError(wrong.errno, f"no interface {name} in {self.room.name}") from wrong
            self.known[name] = struct.unpack_from("=i", found, 16)[0]
        return self.known[name]

    def links(self) -> tuple[Link, ...]:
        """All interfaces of the room. Raises OSError."""
        return tuple(_link(body) for body in self.listed("links", GET_LINK, link()))

    # -------------------------------------------------------------------------------------------------- addresses

    def address(self, name: str, host: Host, prefix: int, *, route: bool = True) -> None:
        """Give it an address, without asking around for others who have it; `route`: with a way to its network."""
        flags = (NO_CHECK if host.version == 6 else 0) | (0 if route else NO_ROUTE)  # noqa: PLR2004 - the version
        body = self._address(name, host, prefix) + number(8, flags)
        self.request(f"address {host} on {name}", NEW_ADDRESS, CREATE | EXCLUSIVE, body)

    def unaddress(self, name: str, host: Host, prefix: int) -> None:
        """Take an address from it."""
        self.request(f"no address {host} on {name}", DELETE_ADDRESS, 0, self._address(name, host, prefix))

    def _address(self, name: str, host: Host, prefix: int) -> bytes:
        scope = HERE if host.is_loopback else ON_LINK if host.is_link_local else ANYWHERE
        head = struct.pack("=BBBBI", FAMILIES[host.version], prefix, 0, scope, self.index(name))
        return head + attribute(1, host.packed) + attribute(2, host.packed)

    def addresses(self, name: str = "") -> tuple[Held, ...]:
        """All addresses of an interface, or of all. Raises OSError."""
        names = {self.index(name): name} if name else {one.index: one.name for one in self.links()}
        listed = self.listed("addresses", GET_ADDRESS, bytes(8))
        return tuple(_held(body, names) for body in listed if _index(body) in names)

    # ----------------------------------------------------------------------------------------------------- routes

    def route(
        self, network: str, via: Host | None = None, name: str = "", *, onlink: bool = False, local: bool = False,
        metric: int = 0,
    ) -> None:  # fmt: skip
        """A way to a network. `onlink`: the next hop is there though no address says so; `local`: taken here, but for narrower ways."""
        body = self._route(network, via, name, onlink=onlink, local=local, metric=metric)
        self.request(f"route to {network}", NEW_ROUTE, CREATE | EXCLUSIVE, body)

    def unroute(
        self, network: str, via: Host | None = None, name: str = "", *, local: bool = False, metric: int = 0
    ) -> None:
        """Take a way away."""
        body = self._route(network, via, name, onlink=False, local=local, metric=metric)
        self.request(f"no route to {network}", DELETE_ROUTE, 0, body)

    def _route(
        self, network: str, via: Host | None, name: str, *, onlink: bool, local: bool, metric: int
    ) -> bytes:  # fmt: skip
        net = ip_network(network)
        kind = ROUTE_HERE if local else UNICAST
        scope = HERE if local else ANYWHERE if via or net.version == 6 else ON_LINK  # noqa: PLR2004 - the version
        flags = DIRECTLY if onlink else 0
        head = struct.pack(
            "=BBBBBBBBI", FAMILIES[net.version], net.prefixlen, 0, 0, MAIN, BY_HAND, scope, kind, flags
        )
        parts = [
            attribute(1, net.network_address.packed) if net.prefixlen else b"",
            number(4, self.index(name)) if name else b"",
            attribute(5, via.packed) if via else b"",
            number(6, metric) if metric else b"",
        ]
        return head + b"".join(parts)

    def neighbour(self, name: str, host: Host, hardware: str) -> None:
        """A neighbour that needs no asking and never goes out of date."""
        body = self._neighbour(name, host) + attribute(2, hardware_octets(hardware))
        self.request(f"neighbour {host} on {name}", NEW_NEIGHBOUR, CREATE | REPLACE, body)

    def unneighbour(self, name: str, host: Host) -> None:
        """Forget a neighbour."""
        self.request(f"no neighbour {host} on {name}", DELETE_NEIGHBOUR, 0, self._neighbour(name, host))

    def _neighbour(self, name: str, host: Host) -> bytes:
        head = struct.pack("=BxxxiHBB", FAMILIES[host.version], self.index(name), PERMANENT, 0, 0)
        return head + attribute(1, host.packed)

    # ------------------------------------------------------------------------------------------------------ queues

    def tbf(self, name: str, bits_per_second: int, burst: int) -> None:
        """Let no more than so much leave it, by a token bucket of `burst` octets; what waits over 50 ms is dropped."""
        rate = bits_per_second // 8
        shape = struct.pack("=BBHhHI", 0, ETHERNET, 0, 0, 0, min(rate, 0xFFFFFFFF))
        limit = burst + rate // 20
        parameters = attribute(PARAMETERS, shape + bytes(12) + struct.pack("=III", limit, 0, 0))
        wide = attribute(RATE64, struct.pack("=Q", rate)) if rate > 0xFFFFFFFF else b""  # noqa: PLR2004 - 32 bits
        head = struct.pack("=BxxxiIII", 0, self.index(name), 0, ROOT, 0)
        options = nest(2, parameters, wide, number(BURST, burst))
        self.request(f"speed of {name}", NEW_QUEUE, CREATE | REPLACE, head + word(1, "tbf") + options)


def link(index: int = 0, *, flags: int = 0, change: int = 0, family: int = 0) -> bytes:
    """The fixed part of a message about a link (struct ifinfomsg)."""
    return struct.pack("=BxHiII", family, 0, index, flags, change)


def short(name: str) -> str:
    """The name, if the kernel can hold it. Raises ValueError."""
    if not 0 < len(name.encode()) <= NAME_OCTETS:
        raise ValueError(f"an interface can't be called {name!r}: the kernel takes 1 to {NAME_OCTETS} octets")
    return name


def named(name: str) -> bytes:
    """Its name, as an attribute. Raises ValueError."""
    return word(NAME, short(name))


def _link(body: bytes) -> Link:
    _, _, index, flags, _ = struct.unpack_from("=BxHiII", body)
    found = dict(attributes(body[16:]))
    return Link(
        found[NAME].rstrip(b"\0").decode(),
        index,
        found.get(HARDWARE, b"").hex(":"),
        bool(flags & UP),
        found.get(OPERATION, b"\0")[0] == RUNNING,
        struct.unpack("=I", found.get(MASTER, bytes(4)))[0],
    )


def _index(body: bytes) -> int:
    """Which interface an address is on."""
    return int(struct.unpack_from("=4xI", body)[0])


def _held(body: bytes, names: dict[int, str]) -> Held:
    _, prefix, flags, _, index = struct.unpack_from("=BBBBI", body)
    found = dict(attributes(body[8:]))
    own = found.get(2, found.get(1, b""))
    return Held(names[index], host_of(own), prefix, bool(flags & UNCHECKED))
