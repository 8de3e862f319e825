"""Builds the office in the kernel: a room for each station, a bridge for each zone, cables between them, addresses set by hand."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from ipaddress import IPv4Address, IPv6Address

from scantling.figures import FIREWALL, OUTSIDE, Host
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.office import Office, Segment, Sort, Station, Way
from scantling.trials.rehearsal.rooms import Room, empty, here
from scantling.trials.rehearsal.settings import known, settings
from scantling.trials.rehearsal.stations import hardware

SWITCH, PORT = "switch", "e0"
SIXTH, FIRST_DOOR = 6, 0x10
MOST_PORTS = 1000
"""Of one bridge; the kernel takes 1,023 (BR_MAX_PORTS), and some are for the firewall and for further bridges."""
NEAR_GATEWAY = IPv6Address("fe80::1")
"""The provider's router on each line's link."""
PRIMARY, STANDBY = 100, 200
EVERYTHING4, EVERYTHING6 = "0.0.0.0/0", "::/0"
QUICK: Mapping[str, str] = {
    # nobody else can have the address, so nothing waits to find that out (RFC 4862 section 5.4)
    "net/ipv6/conf/default/accept_dad": "0",
    "net/ipv6/conf/default/dad_transmits": "0",
    "net/ipv6/conf/default/router_solicitation_delay": "0",
    "net/ipv6/conf/default/router_solicitation_interval": "1",
}
MUTE: Mapping[str, str] = {"net/ipv6/conf/default/accept_ra": "0"}
NONE: Mapping[str, str] = {"net/ipv6/conf/all/disable_ipv6": "1"}
"""For what is there and what is still to come, as the kernel takes it."""
UNFILTERED: Mapping[str, str] = {
    f"net/bridge/bridge-nf-call-{what}": "0" for what in ("iptables", "ip6tables", "arptables")
}
"""A switch lets the packet filter see nothing; only a kernel that has the bridge's filter loaded knows these settings."""


@dataclass(frozen=True, slots=True)
class Built:
    """The office as it stands in the kernel."""

    office: Office
    rooms: dict[str, Room]
    """By slug of the station; "switch" and "outside" too."""
    home: Room
    families: tuple[int, ...] = (4, 6)
    ports: dict[str, str] = field(default_factory=dict)
    """By slug of a station inside: the port of the switch that it hangs on."""
    interfaces: dict[str, str] = field(default_factory=dict)
    """By slug: what its own port is called."""
    crowded: bool = False
    """Whether there are so many stations that the kernel would forget who is where."""
    taken: dict[int, int] = field(default_factory=dict)
    """By number of a zone: how many ports of its bridges are taken."""

    @property
    def sixth(self) -> bool:
        """Whether devices have IPv6; machines and the firewall always have, since their files name its addresses."""
        return SIXTH in self.families

    def room(self, slug: str) -> Room:
        """The room of a station; all those outside share one."""
        return self.rooms[slug] if slug in self.rooms else self.rooms[OUTSIDE]


def begun(
    office: Office, called: Mapping[str, str], families: Sequence[int] = (4, 6), *, crowded: bool = False
) -> Built:
    """The switch, the firewall, the lines and the machines. `called`: machines whose port must bear a certain name.

    Raises OSError with the step that failed.
    """
    home = here("home")
    rooms = {name: empty(name, home.descriptor) for name in (SWITCH, FIREWALL, OUTSIDE)}
    made = Built(office, rooms, home, tuple(families), crowded=crowded)
    for name in (FIREWALL, OUTSIDE):
        settings(made.rooms[name], {**QUICK, **MUTE})
    settings(made.rooms[SWITCH], {**NONE, **known(made.rooms[SWITCH], UNFILTERED)})  # a switch has no addresses
    with_bridges(made)
    with_lines(made)
    joined(made, [one for one in office.stations if one.sort is Sort.MACHINE], called)
    return made


def furnished(made: Built) -> None:
    """Everything else that has a port inside. Raises OSError with the step that failed."""
    joined(made, [one for one in made.office.stations if one.sort in {Sort.DEVICE, Sort.VISITOR, Sort.KIT}], {})


def joined(made: Built, stations: Sequence[Station], called: Mapping[str, str]) -> None:
    """A room for each, a cable to the switch, and what is set by hand."""
    for station in stations:
        room = empty(station.slug, made.home.descriptor)
        listens = station.sort is not Sort.MACHINE
        settings(room, {**QUICK, **MUTE} if not listens else QUICK if made.sixth else NONE)
        made.rooms[station.slug] = room
    with_ports(made, stations, called)
    if made.crowded:
        introduced(made, stations, {})
    for station in stations:
        at_hand(made, station)


def with_bridges(made: Built) -> None:
    """A bridge for each zone, and the firewall's port on it; the tag of its VLAN is kept as data only."""
    switch, firewall = Netlink(made.rooms[SWITCH]), Netlink(made.rooms[FIREWALL])
    for segment in made.office.segments:
        switch.bridge(f"br-{segment.number}")
        switch.up(f"br-{segment.number}")
    switch.flush()
    for place, segment in enumerate(made.office.segments, 1):
        near, bridge = f"fw-{segment.number}", f"br-{segment.number}"
        switch.pair(near, segment.interface, made.rooms[FIREWALL], hardware(0, FIRST_DOOR + place), bridge=bridge)
    switch.flush()
    firewall.up("lo")
    for segment in made.office.segments:
        firewall.up(segment.interface)
    firewall.flush()
    switch.close()
    firewall.close()


def with_lines(made: Built) -> None:
    """A cable to the provider for each line; the provider's room bears every address there is."""
    outside, firewall = Netlink(made.rooms[OUTSIDE]), Netlink(made.rooms[FIREWALL])
    outside.up("lo")
    for place, way in enumerate(made.office.ways, 1):
        near = f"line-{place}"
        outside.pair(near, way.interface, made.rooms[FIREWALL], hardware(0, 0x80 + place))
        outside.up(near)
    outside.flush()
    for place, way in enumerate(made.office.ways, 1):
        outside.address(f"line-{place}", way.gateway4, way.network4.prefixlen)
        outside.address(f"line-{place}", NEAR_GATEWAY, 64)
        if way.lent6 is None:
            outside.address(f"line-{place}", way.gateway6, way.network6.prefixlen)
        else:  # whoever is lent an address sees nothing of the provider's router but its address on the link
            outside.route(str(way.network6), name=f"line-{place}")
    for everything in (EVERYTHING4, EVERYTHING6):
        outside.route(everything, name="lo", local=True)
    outside.flush()
    for way in made.office.ways:
        firewall.up(way.interface)
    firewall.flush()
    for segment in made.office.segments:
        for host, length in own_of(made.office, segment):
            firewall.address(segment.interface, host, length)
    for way in made.office.ways:
        for host in way.own:
            connected(firewall, way, host)
    firewall.flush()
    outside.close()
    firewall.close()


def connected(firewall: Netlink, way: Way, host: Host) -> None:
    """The firewall has an address on a line, and goes out by it."""
    fourth = isinstance(host, IPv4Address)
    near = (
        NEAR_GATEWAY if host not in way.own else way.gateway6
    )  # whose address is lent hears of a router on its link
    network, gateway = (way.network4, way.gateway4) if fourth else (way.network6, near)
    firewall.address(way.interface, host, network.prefixlen)
    firewall.route(
        EVERYTHING4 if fourth else EVERYTHING6,
        via=gateway,
        name=way.interface,
        metric=STANDBY if way.standby else PRIMARY,
    )


def own_of(office: Office, segment: Segment) -> list[tuple[Host, int]]:
    """The firewall's own addresses in a zone, with the length of its network."""
    leg = next(one for one in office.legs if one.slug == segment.slug and one.zone == segment.slug)
    lengths = {network.version: network.prefixlen for network in leg.networks}
    return [(host, lengths[host.version]) for host in leg.own]


def with_ports(made: Built, stations: Sequence[Station], called: Mapping[str, str]) -> None:
    """A port of the switch for every station inside, up at that end."""
    numbers = {segment.slug: segment.number for segment in made.office.segments}
    with Netlink(made.rooms[SWITCH]) as switch:
        for station in stations:
            port, name = f"p{len(made.ports) + 1}", called.get(station.slug, PORT)
            made.ports[station.slug], made.interfaces[station.slug] = port, name
            bridge = free_bridge(made, switch, numbers[station.zone])
            switch.pair(port, name, made.rooms[station.slug], station.hardware, bridge=bridge)


def introduced(made: Built, stations: Sequence[Station], held: Mapping[str, Sequence[Host]]) -> None:
    """Write down for good who is where: at the firewall each station's addresses, at each station the firewall's; `held` by slug."""
    doors = door_addresses(made.office)
    with Netlink(made.rooms[FIREWALL]) as firewall:
        for station in stations:
            segment = made.office.segment(station.zone)
            for host in (on_link(station.hardware), *held.get(station.slug, ())):
                firewall.neighbour(segment.interface, host, station.hardware)
            _with_doors(made, station, doors[station.zone])


def _with_doors(made: Built, station: Station, door: str) -> None:
    """A station knows the firewall's port by its hardware address."""
    segment = made.office.segment(station.zone)
    hosts = (segment.gateway4, *((segment.gateway6, on_link(door)) if has_sixth(made, station) else ()))
    with Netlink(made.rooms[station.slug]) as link:
        for host in (host for host in hosts if host is not None):
            link.neighbour(made.interfaces[station.slug], host, door)


def door_addresses(office: Office) -> Mapping[str, str]:
    """Hardware addresses of the firewall's ports into the zones, by slug of the zone."""
    return {segment.slug: hardware(0, FIRST_DOOR + place) for place, segment in enumerate(office.segments, 1)}


def on_link(hardware: str) -> IPv6Address:
    """The address that an interface makes for its link from its hardware address (RFC 4291 appendix A)."""
    octets = bytes.fromhex(hardware.replace(":", ""))
    made = bytes([octets[0] ^ 2, *octets[1:3], 0xFF, 0xFE, *octets[3:]])
    return IPv6Address(b"\xfe\x80" + bytes(6) + made)


def has_sixth(made: Built, station: Station) -> bool:
    """Whether a station has IPv6."""
    return made.sixth or station.sort is Sort.MACHINE


def free_bridge(made: Built, switch: Netlink, number: int) -> str:
    """The bridge of a zone that has a port left; where one is full a further one is joined to it, as switches are."""
    taken = made.taken[number] = made.taken.get(number, 0) + 1
    place = taken // MOST_PORTS
    name = f"br-{number}" if not place else f"br-{number}-{place}"
    if place and not taken % MOST_PORTS:
        switch.bridge(name)
        switch.up(name)
        switch.pair(
            f"up-{number}-{place}",
            f"dn-{number}-{place}",
            made.rooms[SWITCH],
            hardware(number, 0xF000 + place),
            bridge=name,
        )
        switch.master(f"dn-{number}-{place}", f"br-{number}")
        switch.up(f"dn-{number}-{place}")
    return name


def at_hand(made: Built, station: Station) -> None:
    """A station's own side: its port up, and what is set by hand."""
    link = Netlink(made.rooms[station.slug])
    name, segment = made.interfaces[station.slug], made.office.segment(station.zone)
    link.up("lo")
    link.up(name)
    link.flush()
    for host in station.fixed:
        if station.sort is Sort.MACHINE or host.version in made.families:
            addressed(link, name, segment, host)
    link.flush()
    link.close()


def addressed(link: Netlink, name: str, segment: Segment, host: Host) -> None:
    """An address in a zone, and the firewall as the way out."""
    fourth = isinstance(host, IPv4Address)
    network, gateway = (segment.network4, segment.gateway4) if fourth else (segment.network6, segment.gateway6)
    assert network is not None
    link.address(name, host, network.prefixlen)
    if gateway is not None:
        # a metric of its own: an announcement may have led here already
        link.route(EVERYTHING4 if fourth else EVERYTHING6, via=gateway, name=name, metric=PRIMARY)
