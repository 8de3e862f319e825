"""Our client and our relay beside other people's: BusyBox's client and ISC's relay on the same office; and IPv6 over both relays."""

from ipaddress import IPv6Address
from pathlib import Path

from address_lab import FILES, Lab
from address_offices import SIXTH, office, stood
from offices import example
from scantling.figures import Reservation
from scantling.trials.rehearsal.asking import Given, asked4, asked6, informed6
from scantling.trials.rehearsal.office import Station

TOLD = """#!/bin/sh
[ "$1" = bound ] && env > {where}
exit 0
"""
WANTED = ("ip", "mask", "router", "dns", "ntpsrv", "domain", "lease", "serverid")


def udhcpc(one: Lab, station: Station) -> dict[str, str]:
    """What BusyBox's client was given in a station's room."""
    script, where = FILES / f"{station.slug}.sh", FILES / f"{station.slug}.env"
    script.write_text(TOLD.format(where=where), "utf-8")
    script.chmod(0o700)
    command = [
        "/usr/sbin/udhcpc",
        "-i",
        "e0",
        "-f",
        "-q",
        "-n",
        "-t",
        "5",
        "-T",
        "1",
        "-O",
        "ntpsrv",
        "-s",
        str(script),
    ]
    one.program(one.built.rooms[station.slug], command, f"udhcpc-{station.slug}", until=lambda: ended(where))
    lines = (line.partition("=") for line in where.read_text("utf-8").splitlines())
    return {name: value for name, _, value in lines if name in WANTED}


def ended(where: Path) -> bool:
    """Whether a file is there and has been written to its end (the shell ends with `_`)."""
    return where.exists() and "serverid=" in where.read_text("utf-8")


def as_udhcpc(given: Given) -> dict[str, str]:
    """What our client was given, in BusyBox's words; an empty one is not said."""
    said = {
        "ip": str(given.address), "mask": str(given.prefix), "router": str(given.router),
        "dns": " ".join(map(str, given.resolvers)), "ntpsrv": " ".join(map(str, given.times)), "domain": given.domain,
        "lease": str(given.seconds), "serverid": given.server,
    }  # fmt: skip
    return {name: value for name, value in said.items() if value}


def test_busyboxs_client_is_given_the_same() -> None:
    def work(one: Lab) -> list[tuple[dict[str, str], dict[str, str]]]:
        first: dict[str, Station] = {}
        for station, _ in one.places():
            first.setdefault(station.zone, station)
        ours = {each.station: as_udhcpc(each) for each in asked4(one.places())}
        return [(ours[station.slug], udhcpc(one, station)) for station in first.values()]

    pairs = stood(work)
    assert len(pairs) >= 4
    for ours, theirs in pairs:
        assert ours == theirs


def test_a_second_relay_brings_the_same_answers() -> None:
    def work(one: Lab) -> tuple[list[Given], list[Given]]:
        ours = asked4(one.places())
        one.relay.stop()
        heard = [word for leg in one.office.segments if leg.slug != "servers" for word in ("-id", leg.interface)]
        command = ["/usr/sbin/dhcrelay", "-4", "-d", "--no-pid", *heard, "-iu", "zone-20", "10.44.20.24"]
        log = FILES / "dhcrelay.log"
        one.program(one.firewall, command, "dhcrelay", until=lambda: "Sending on   Socket" in log.read_text("utf-8"))
        return ours, asked4(one.places())

    ours, theirs = stood(work)
    assert ours == theirs
    assert not [one.refused for one in theirs if one.refused]


# ------------------------------------------------------------------------------------------------------------ IPv6


def sixth(one: Lab) -> tuple[list[Given], list[Given]]:
    """Where addresses are given everyone asks for one, elsewhere for settings."""
    places = one.places()
    given = [place for place in places if one.office.segment(place[0].zone).given6]
    return asked6(given), informed6([place for place in places if place not in given])


def check_sixth(given: list[Given], informed: list[Given]) -> None:
    assert not [one for one in (*given, *informed) if one.refused]
    assert given
    assert informed
    kept = {
        one.hardware_address: one.address
        for one in example("millrace").records(Reservation)
        if one.address.version == 6
    }
    seen: set[str] = set()
    for one in given:
        station = office(everyone=True).station(one.station)
        network = office().segment(one.zone).network6
        assert network is not None
        assert isinstance(one.address, IPv6Address)
        assert one.address in network
        if station.hardware in kept:
            assert one.address == kept[station.hardware]
            seen.add(station.hardware)
    assert seen == set(kept)
    assert len({one.address for one in given}) == len(given)
    for one in (*given, *informed):
        segment = office().segment(one.zone)
        assert one.resolvers == tuple(host for host in segment.resolvers if host.version == 6)
        assert one.times == tuple(host for host in segment.times if host.version == 6)
        assert one.domain == segment.domain
    assert not [one for one in informed if one.address]


def test_sixth_from_the_generated_file() -> None:
    check_sixth(*stood(sixth, office(everyone=True), SIXTH))


def test_a_second_relay_brings_the_same_answers_in_ipv6() -> None:
    def work(one: Lab) -> tuple[list[list[Given]], list[list[Given]]]:
        ours = [*sixth(one)]
        one.relay.stop()
        heard = [word for leg in one.office.segments if leg.slug != "servers" for word in ("-l", leg.interface)]
        command = ["/usr/sbin/dhcrelay", "-6", "-d", "--no-pid", "-I", *heard, "-u", "2001:db8:44:20::24%zone-20"]
        log = FILES / "dhcrelay.log"
        one.program(one.firewall, command, "dhcrelay", until=lambda: "Socket/zone-20" in log.read_text("utf-8"))
        return ours, [*sixth(one)]

    ours, theirs = stood(work, None, SIXTH)
    assert ours == theirs
    assert not [one.refused for many in theirs for one in many if one.refused]
