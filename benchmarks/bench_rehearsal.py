"""Our own words to the kernel against the tools that say the same, one call a step, in the same run and an own namespace."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

sys.path.append(str(Path(__file__).parent.parent / "tests"))

from measuring import Row
from own_namespace import apart
from recorder_lab import SENT, Lab
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.recorder import TABLE
from scantling.trials.rehearsal.rooms import Room, empty, here

CABLES, TRIES, REPEATS = 100, 2_000, 3


def _rooms() -> tuple[Room, list[Room]]:
    home = here("home").descriptor
    return empty("switch", home), [empty(f"station-{place}", home) for place in range(CABLES)]


def _by_words(switch: Room, stations: list[Room]) -> None:
    """A bridge, and a cable from it to every station; far ends up from inside."""
    with Netlink(switch) as link:
        link.bridge("br-30")
        link.up("br-30")
        for place, station in enumerate(stations):
            link.pair(f"p{place}", "e0", station, f"02:16:0a:00:00:{place:02x}", bridge="br-30")
    for station in stations:
        with Netlink(station) as link:
            link.up("lo")
            link.up("e0")


def _by_tool(switch: Room, stations: list[Room]) -> None:
    """The same by the ip tool, one call a step."""
    _ip(switch, "link add br-30 type bridge mcast_snooping 0")
    _ip(switch, "link set br-30 up")
    for place, station in enumerate(stations):
        far = f"peer name e0 address 02:16:0a:00:00:{place:02x} netns /proc/self/fd/{station.descriptor}"
        _ip(switch, f"link add p{place} type veth {far}", station.descriptor)
        _ip(switch, f"link set p{place} master br-30 up")
    for station in stations:
        _ip(station, "link set lo up")
        _ip(station, "link set e0 up")


def _ip(room: Room, words: str, *keep: int) -> None:
    with room.entered():
        subprocess.run(["ip", *words.split()], check=True, pass_fds=keep)  # noqa: S607


def _timed(work: Callable[[Room, list[Room]], None]) -> float:
    """The best of some, each in rooms of its own."""
    times = []
    for _ in range(REPEATS):
        switch, stations = _rooms()
        began = perf_counter()
        work(switch, stations)
        times.append(perf_counter() - began)
        for room in (switch, *stations):
            room.close()
    return min(times)


def bench_cables() -> list[Row]:
    """A hundred stations on a switch."""
    words, tool = apart(lambda: (_timed(_by_words), _timed(_by_tool)))
    return [Row("100 cables, both ends up, our own words", words, "ip, one call a step", tool, "reported")]


def _read() -> tuple[float, float]:
    """Reading some thousand tries off the recorder, by our own words and by nft."""
    lab = Lab()
    _, far = SENT[4]
    for place in range(TRIES):
        with lab.bound(4, 2, 20_000 + place, None) as one:  # datagrams
            one.sendto(b"try", (str(far), 123))
        lab.open.clear()
    return min(_once(lab.recorder.read) for _ in range(REPEATS)), min(
        _once(lambda: lab.run(["nft", "-j", "list", "table", "inet", TABLE], b"")) for _ in range(REPEATS)
    )


def _once(call: Callable[[], object]) -> float:
    began = perf_counter()
    call()
    return perf_counter() - began


def bench_recorder() -> list[Row]:
    """The recorder after two thousand tries that all passed: four thousand notes."""
    words, tool = apart(_read)
    return [Row("4,000 notes read, our own words", words, "nft -j list table", tool, "under 5 ms")]
