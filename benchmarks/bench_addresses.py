"""Addresses for many stations at once through the relay from the real server, against one process of BusyBox's client for each."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from time import perf_counter

sys.path.append(str(Path(__file__).parent.parent / "tests"))

from address_lab import FILES, Lab
from address_offices import SIXTH, office, stood
from measuring import Row
from scantling.trials.rehearsal.asking import asked4, asked6
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.office import Office, Sort, Station
from scantling.trials.rehearsal.stations import hardware

SIZES = (60, 200, 440)
"""The last is nearly all that the example's pools hold."""
SHARES = (("staff", 40), ("phones", 25), ("guests", 388))
REPEATS = 3


def _crowded(many: int) -> Office:
    """The example with so many devices that ask: in the zones that lend, each up to what its pool holds, visitors last."""
    bare = [one for one in office().stations if not one.asks]
    places = [zone for zone, most in SHARES for _ in range(most)][:many]
    more = [
        Station(
            f"more-{n:03}", f"more {n}", Sort.DEVICE, zone, "more", hardware(office().segment(zone).number, 0x400 + n)
        )
        for n, zone in enumerate(places)
    ]
    return replace(office(), stations=(*bare, *more))


def _apart(one: Lab) -> None:
    """Visitors don't hear each other, as on site."""
    with Netlink(one.built.rooms["switch"]) as link:
        for station, _ in one.places("guests"):
            link.isolated(one.built.ports[station.slug], on=True)


def _ours(one: Lab) -> float:
    """Seconds until all have theirs, the best of some."""
    places, times = one.places(), []
    for _ in range(REPEATS):
        began = perf_counter()
        found = asked4(places)
        times.append(perf_counter() - began)
        assert not [each.refused for each in found if each.refused]
    return min(times)


def _by_processes(one: Lab) -> float:
    """The same, a process for each; its script does nothing."""
    script = FILES / "nothing.sh"
    script.write_bytes(b"#!/bin/sh\nexit 0\n")
    script.chmod(0o700)
    command = ["/usr/sbin/udhcpc", "-i", "e0", "-f", "-q", "-n", "-t", "5", "-T", "1", "-s", str(script)]
    began = perf_counter()
    many = [room.started(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) for _, room in one.places()]
    assert not [each.returncode for each in many if each.wait()]
    return perf_counter() - began


def bench_fourth() -> list[Row]:
    """IPv4."""

    def work(one: Lab) -> tuple[float, float]:
        _apart(one)
        return _ours(one), _by_processes(one)

    rows = []
    for many in SIZES:
        ours, theirs = stood(work, _crowded(many))
        rows.append(Row(f"addresses for {many} stations", ours, "udhcpc, a process for each", theirs))
    return rows


def bench_sixth() -> list[Row]:
    """IPv6, where addresses are given."""

    def work(one: Lab) -> tuple[int, float]:
        places = [place for place in one.places() if one.office.segment(place[0].zone).given6]
        began = perf_counter()
        found = asked6(places)
        assert not [each.refused for each in found if each.refused]
        return len(places), perf_counter() - began

    many, seconds = stood(work, _crowded(65), SIXTH)
    return [Row(f"IPv6 addresses for {many} stations", seconds)]
