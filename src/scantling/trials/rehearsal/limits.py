"""What this machine sets bounds to or lacks: open files, neighbours, and the kernel's parts that an office is built from."""

import resource
from collections.abc import Callable, Collection
from dataclasses import dataclass
from ipaddress import ip_address
from pathlib import Path

from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.refusals import setting
from scantling.trials.rehearsal.rooms import Room, empty
from scantling.trials.rehearsal.talk import Talk

ALWAYS, EACH, AT_LEAST = 400, 8, 200
"""Open files of the office itself, of each station (its room and what it listens on), and of tries at one time."""
USUAL_NEIGHBOURS = 1024
"""gc_thresh3 as the kernel has it unless told otherwise: arp(7)."""
A_STATION = {4: 4, 6: 8}
"""Neighbours for each station, as counted in offices that ran: seen from both ends; in IPv6 on the link, too, with groups of all."""
BOUNDS = {4: "net/ipv4/neigh/default/gc_thresh3", 6: "net/ipv6/neigh/default/gc_thresh3"}
TABLES = {4: Path("/proc/net/stat/arp_cache"), 6: Path("/proc/net/stat/ndisc_cache")}
"""Of all namespaces together; how many neighbours there are stands first in each line, hexadecimal (net/core/neighbour.c)."""
NETFILTER, GENERATION = 12, 0x0A10
"""Netlink family, and the packet filter's message that asks which state of the rules stands (NFT_MSG_GETGEN)."""


@dataclass(frozen=True, slots=True)
class Limits:
    """The bounds of this machine."""

    files: int
    """That one process may hold open."""
    neighbours: int
    """That the kernel would remember of its own accord, beside those that it has of all namespaces together."""
    lacking: tuple[str, ...] = ()
    """Parts of the kernel that are missing, each with what the kernel says."""

    def tries_at_once(self, stations: int) -> int:
        """How many probes may be under way with so many stations; 0 or less: none."""
        return self.files - ALWAYS - EACH * stations

    def against(self, stations: int) -> tuple[str, ...]:
        """Why an office of so many stations can't be stood up here, each a sentence; empty: it can."""
        lacks = "this kernel lacks what an office is built from (an administrator may load it as a module)"
        said = [f"{lacks}: {'; '.join(self.lacking)}"] if self.lacking else []
        if self.tries_at_once(stations) < AT_LEAST:
            needed = ALWAYS + EACH * stations + AT_LEAST
            said.append(
                f"one process may hold {self.files} files open here, {stations} stations need {needed}: "
                "raise the hard limit of open files (ulimit -Hn), or rehearse fewer stations"
            )
        return tuple(said)

    def crowded(self, stations: int, families: Collection[int] = (4, 6)) -> bool:
        """Whether neighbours must be written down for good, since the kernel would forget some of so many."""
        return max(A_STATION[one] for one in families) * stations > self.neighbours  # each family has a table


def room_for_neighbours() -> int:
    """How many more the kernel would remember, in the family that has fewer left; 0: it doesn't say. To be asked outside."""
    left = [int(bound) - _neighbours(family) for family, name in BOUNDS.items() if (bound := setting(name))]
    return max(1, min(left)) if left else 0


def _neighbours(family: int) -> int:
    """How many there are by now, those of other rehearsals too; none where the kernel doesn't say."""
    try:
        lines = TABLES[family].read_text("utf-8").splitlines()
    except OSError:
        return 0
    return int(lines[1].split()[0], 16) if len(lines) > 1 else 0


def limits(home: Room, neighbours: int = 0) -> Limits:
    """Find them out inside the sandbox, by trying. `neighbours`: as counted outside, where alone they are told; 0: not known."""
    trial = empty("trial", home.descriptor)
    far = empty("far end", home.descriptor)
    try:
        lacking = [said for said in (wanting(name, step, trial, far) for name, step in PARTS.items()) if said]
    finally:
        trial.close()
        far.close()
    files, _ = resource.getrlimit(resource.RLIMIT_NOFILE)
    return Limits(files, neighbours or USUAL_NEIGHBOURS, tuple(lacking))


def wanting(name: str, step: Callable[[Room, Room], None], trial: Room, far: Room) -> str:
    """Try one part. Returns what it is and what the kernel says against it, or nothing."""
    try:
        step(trial, far)
    except OSError as wrong:
        return f"{name} ({wrong.strerror})"
    return ""


def _bridge(trial: Room, _far: Room) -> None:
    with Netlink(trial) as talk:
        talk.bridge("try-bridge")


def _cable(trial: Room, far: Room) -> None:
    with Netlink(trial) as talk:
        talk.pair("try-cable", "e0", far, "02:16:00:00:00:01")


def _sixth(trial: Room, _far: Room) -> None:
    with trial.entered():
        Path("/proc/sys/net/ipv6/conf/all/disable_ipv6").write_text("0", "utf-8")
    with Netlink(trial) as talk:
        talk.up("lo")
        talk.address("lo", ip_address("2001:db8::1"), 128)


def _filter(trial: Room, _far: Room) -> None:
    talk = Talk(trial, NETFILTER)
    try:
        talk.one("packet filter", GENERATION, 0, bytes(4))
    finally:
        talk.close()


PARTS: dict[str, Callable[[Room, Room], None]] = {
    "bridges, which stand for switches": _bridge,
    "veth, which stands for cables": _cable,
    "IPv6": _sixth,
    "nf_tables, the packet filter": _filter,
}
