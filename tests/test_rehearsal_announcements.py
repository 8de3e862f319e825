"""What the firewall announces is what the generated note says, and the kernel believes it; the hunt finds every address server."""

from collections.abc import Callable
from ipaddress import IPv4Address, IPv6Address
from time import monotonic

import address_lab
from address_lab import Lab
from address_offices import files, office, stood
from scantling.trials.rehearsal import announcements, dhcp, relay4
from scantling.trials.rehearsal.announcements import Announcement
from scantling.trials.rehearsal.announcing import Announcer, said_in
from scantling.trials.rehearsal.aside import Aside
from scantling.trials.rehearsal.hunt import Offer, hunted, offers
from scantling.trials.rehearsal.netlink import Netlink


def noted() -> dict[str, tuple[str, dict[str, str]]]:
    """The generated note: by interface, the prefix and what else is said."""
    found: dict[str, tuple[str, dict[str, str]]] = {}
    for block in files()["addresses/router-advertisements.txt"].decode("ascii").split("\n\n")[2:]:
        head, *lines = block.splitlines()
        said = {line[:23].strip(): line[23:].strip() for line in lines}
        found[head.partition(" ")[0]] = (said.pop("prefix"), said)
    return found


def listed(words: str) -> list[str]:
    return [] if words == "none" else words.split(", ")


def heard_in(one: Lab, zone: str, act: Callable[[], None]) -> list[Announcement]:
    """What a station of a zone hears of the router, when something is done."""
    room = next(room for station, room in one.places(zone))
    with address_lab.announced(room) as ear:
        act()
        return [announcements.read(data) for data in ear(0.3)]


def test_what_is_announced_is_what_the_note_says() -> None:
    def work(one: Lab) -> dict[str, tuple[list[Announcement], list[str]]]:
        announcer = Announcer(one.firewall, one.office)
        found = {}
        for segment in one.office.segments:
            stations = one.places(segment.slug)
            if stations:
                said = heard_in(one, segment.slug, announcer.start)
                announcer.stop()
                found[segment.interface] = (said, address_lab.own6(stations[0][1]))
        return found

    found = stood(work)
    assert len(found) >= 4
    for interface, (said, own) in found.items():
        prefix, note = noted()[interface]
        assert said
        for one in said:
            assert str(one.prefix) == prefix
            yes = {True: "yes", False: "no"}
            assert note["on-link (L)"] == yes[one.on_link]
            assert note["own address (A)"] == yes[one.own]
            assert note["given address (M)"] == yes[one.given]
            assert note["other settings (O)"] == yes[one.other]
            assert [str(host) for host in one.resolvers] == listed(note["resolvers (RDNSS)"])
            assert [*one.domains] == listed(note["search list (DNSSL)"])
        assert [host for host in own if IPv6Address(host) in said[0].prefix], "the kernel took the announcement"


def test_who_asks_is_told_and_a_frozen_announcer_tells_nothing() -> None:
    def work(one: Lab) -> list[int]:
        announcer = Announcer(one.firewall, one.office)
        announcer.start()
        room = one.places("staff")[0][1]
        ask = lambda: address_lab.solicit(room)  # noqa: E731 - said thrice
        asked = len(heard_in(one, "staff", ask))
        announcer.pause()
        frozen = len(heard_in(one, "staff", ask))
        after = len(heard_in(one, "staff", announcer.go_on))
        announcer.stop()
        return [asked, frozen, after, len(heard_in(one, "staff", ask))]

    assert stood(work) == [1, 0, 1, 0]


def test_every_zone_of_the_note_is_announced() -> None:
    told = {one.interface: said_in(one) for one in office().segments}
    assert {name: str(said.prefix) for name, said in told.items() if said} == {
        name: prefix for name, (prefix, _) in noted().items()
    }


# ---------------------------------------------------------------------------------------------------------------- hunt


def rogue(one: Lab, zone: str) -> Aside:
    """Somebody in a zone who offers addresses too."""
    station, room = one.places(zone)[-1]
    near = relay4.at_port(room, one.built.interfaces[station.slug], dhcp.CALLS_AT)
    own = IPv4Address("192.0.2.1")

    def serve() -> None:
        near.settimeout(None)
        while True:
            call = dhcp.read(near.recv(4096))
            if call.kind == dhcp.Kind.DISCOVER:
                said: dict[int, bytes] = {dhcp.Option.KIND: bytes([dhcp.Kind.OFFER]), dhcp.Option.SERVER: own.packed}
                answer = dhcp.Message(
                    dhcp.ANSWER,
                    call.serial,
                    call.hardware,
                    said,
                    dhcp.TO_ALL,
                    given=IPv4Address("192.0.2.77"),
                )
                near.sendto(dhcp.written(answer), ("255.255.255.255", dhcp.ANSWERS_AT))

    return Aside("a server that shouldn't be", serve)


def test_the_hunt_finds_every_server_every_time() -> None:
    def work(one: Lab) -> tuple[list[list[Offer]], list[list[list[Offer]]], str]:
        places = [
            next((room, station.hardware) for station, room in one.places(zone)) for zone in ("staff", "guests")
        ]
        before = hunted(places)
        link = Netlink(one.places("guests")[-1][1])
        link.address("e0", IPv4Address("192.0.2.1"), 24)
        link.flush()
        other = rogue(one, "guests")
        other.start()
        found = [hunted(places) for _ in range(10)]
        other.stop()
        assert [len(many) for many in hunted(places)] == [1, 1]
        assert len(offers(*places[0])) == 1
        return before, found, one.places("guests")[-1][0].hardware

    before, found, bad = stood(work)
    assert [[one.server for one in many] for many in before] == [["10.44.20.24"], ["10.44.20.24"]]
    for staff, guests in found:
        assert [one.server for one in staff] == ["10.44.20.24"]
        assert sorted(one.server for one in guests) == ["10.44.20.24", "192.0.2.1"]
        assert {one.hardware for one in guests if one.server == "192.0.2.1"} == {bad}


def test_a_hunt_where_nobody_answers_is_empty_and_short() -> None:
    """The shortest of a few hunts: a busy machine wakes late."""

    def work(one: Lab) -> list[tuple[list[Offer], float]]:
        one.relay.stop()
        station, room = one.places("guests")[0]
        hunts = []
        for _ in range(4):
            begun = monotonic()
            hunts.append((offers(room, station.hardware), monotonic() - begun))
        return hunts

    hunts = stood(work)
    assert [found for found, _ in hunts] == [[]] * 4
    assert min(seconds for _, seconds in hunts) < 1.0
