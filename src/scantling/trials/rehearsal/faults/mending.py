"""What faults do alike: end a server and start it anew, have neighbours forgotten, change settings while they are used."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from scantling.figures import FIREWALL, OUTSIDE
from scantling.trials.rehearsal.attributes import attribute, attributes, host as host_of
from scantling.trials.rehearsal.netlink import DELETE_NEIGHBOUR, Netlink
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.services import adapter_of, awaited, started
from scantling.trials.rehearsal.services.adapter import Running
from scantling.trials.rehearsal.session import Living

GET_NEIGHBOUR, HEAD, STATE_AT = 30, 12, 8
"""linux/rtnetlink.h, and struct ndmsg of linux/neighbour.h."""
FOR_GOOD = 0xC0
"""Neighbours that are written down by hand, or never asked for (NUD_NOARP, NUD_PERMANENT)."""


def running_of(living: Living, program: str, machine: str = "") -> Running | None:
    """A server that runs, or what stands in for it."""
    found = (one for one in living.running if one.job.program == program and machine in {"", one.job.machine})
    return next((one for one in found if one.process is not None or one.attendant is not None), None)


@contextmanager
def ended_for_a_while(living: Living, running: Running) -> Iterator[None]:
    """A server has ended; afterwards it is started anew, and answers again."""
    adapter_of(running.job).stop(running)
    try:
        yield
    finally:
        fresh = started(running.job, running.tree, running.room)
        living.running[living.running.index(running)] = fresh
        awaited([fresh])


def forget_neighbours(living: Living, more: Sequence[str] = ()) -> None:
    """The firewall, the provider and some stations ask anew who is where: the kernel may wait a second before it does so itself."""
    for slug in (FIREWALL, OUTSIDE, *more):
        forget(living.built.rooms[slug])


def forget(room: Room) -> None:
    """All neighbours of a room but those that are known for good. Raises OSError."""
    with Netlink(room) as link:
        for body in [*link.listed("neighbours", GET_NEIGHBOUR, bytes(HEAD))]:
            state = int.from_bytes(body[STATE_AT : STATE_AT + 2], "little")
            at = dict(attributes(body[HEAD:])).get(1)
            if at is not None and not state & FOR_GOOD:
                link.request(f"no neighbour {host_of(at)}", DELETE_NEIGHBOUR, 0, body[:HEAD] + attribute(1, at))
