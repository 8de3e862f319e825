"""Gives each line the plan's speeds, and measures what a station inside gets of them to somebody outside and back."""

import socket
import struct
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass

from scantling.figures import FIREWALL, OUTSIDE, Copy, Flow, Host, Line, Verdict
from scantling.figures.numbers import number
from scantling.handbook.copies import slower, transfer_time
from scantling.plan.make import Plan
from scantling.trials.probe.aims import Aims, Now
from scantling.trials.probe.choosing import Try
from scantling.trials.probe.intended import Intended
from scantling.trials.probe.probing import Kind
from scantling.trials.rehearsal.building import NEAR_GATEWAY
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.office import Way
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.session import Living
from scantling.trials.rehearsal.transfer import (
    OCTET,
    PATIENCE,
    best,
    bounded,
    held_back,
    is_short,
    unbounded,
    unshaped,
)
from scantling.trials.rehearsal.trying import is_own_alone, moment

FREE = 15  # linux/in.h: IP_FREEBIND, for which Python's socket has no name
LET_GO = struct.pack("ii", 1, 0)
FAMILIES = {4: socket.AF_INET, 6: socket.AF_INET6}
NIGHTLY, GB = "every night", 1000
UNTRIED = "The lines' speeds were not tried:"
NOBODY = f"{UNTRIED} nobody here may speak by TCP with the outside at large and be answered."
TAKEN = f"{UNTRIED} every port at which somebody outside may be spoken to is held by another."


@dataclass(frozen=True, slots=True)
class Speed:
    """A line's speeds in Mbit/s, down and up: as planned, and as a program got them."""

    line: str
    down: float
    up: float
    got_down: float
    got_up: float

    @property
    def short(self) -> bool:
        """Whether less came through than such a line lets through."""
        return is_short(self.got_down, self.down) or is_short(self.got_up, self.up)


@dataclass(frozen=True, slots=True)
class Talk:
    """Who speaks to whom in a transfer, as some intent allows."""

    station: str
    source: Host
    target: Host
    port: int


def measured(living: Living) -> list[str]:
    """Each line's speeds, and how long the nightly copy takes that goes out by one, in sentences. Raises OSError.

    To be asked once addresses are held, and before somebody answers at every port outside.
    """
    talks = [*allowed(living)]
    heard = (listening(living.built.rooms[OUTSIDE], talk) for talk in talks)
    found = next((one for one in heard if one is not None), None)
    if found is None:
        return [TAKEN if talks else NOBODY]
    ear, talk = found
    lines = {one.slug: one for one in living.plan.records(Line)}
    said: list[str] = []
    with ear:
        if lacks := unshaped(living.built.rooms[OUTSIDE]):
            return [f"{UNTRIED} {lacks}."]
        for place, way in enumerate(living.office.ways, 1):
            if way.slug in lines and has_address(living, way, talk.source.version):
                speed = tried(living, (way, f"line-{place}"), lines[way.slug], (ear, talk))
                said += [told(speed), *(nightly(living.plan, speed) if not way.standby else ())]
    return said


def allowed(living: Living) -> Iterator[Talk]:
    """What stations may say by TCP to somebody outside whom no intent names, at any hour; one of each zone and port."""
    for family in dict.fromkeys((*sorted(living.families), 4, 6)):  # machines have both
        now = Now(living.held, moment(), living.everyone, living.families, living.lent)
        aims = Aims(living.office, now, family)
        stranger = next((host for one, host in aims.stations if one.zone == OUTSIDE), None)
        if stranger is not None:
            meant = Intended(living.case, aims)
            spots = dict.fromkeys(_outward(living.case.flows))
            talks = (_first(living, meant, zone, Talk("", stranger, stranger, port)) for zone, port in spots)
            yield from (one for one in talks if one is not None)


def _outward(flows: Sequence[Flow]) -> Iterator[tuple[str, int]]:
    """Zones and ports of the intents by which somebody inside may go out by TCP."""
    for flow in flows:
        if flow.target.zone == OUTSIDE and flow.source.zone != FIREWALL and flow.verdict is Verdict.ACCEPT:
            yield from ((flow.source.zone, one.first) for one in flow.carried if one.protocol == "tcp")


def _first(living: Living, meant: Intended, zone: str, talk: Talk) -> Talk | None:
    """The same talk by the first station of a zone that may hold it."""
    for one, host in meant.aims.stations:
        if one.zone == zone and one.slug in living.built.ports and not _is_lost(living, host):
            said = meant.said(Try(one.slug, zone, host, Kind.TCP, "", talk.target, talk.port))
            if said.passes and not said.dated:
                return Talk(one.slug, host, talk.target, talk.port)
    return None


def _is_lost(living: Living, host: Host) -> bool:
    """Whether nobody outside has a way back to an address."""
    nets = (one.network6 for one in living.office.segments)
    return any(net is not None and host in net and is_own_alone(net) for net in nets)


def listening(outside: Room, talk: Talk) -> tuple[socket.socket, Talk] | None:
    """An ear where somebody outside is spoken to; nothing where another holds the port."""
    ear = outside.socket(FAMILIES[talk.target.version], socket.SOCK_STREAM)
    try:
        ear.setsockopt(socket.IPPROTO_IP, FREE, 1)
        ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        ear.settimeout(PATIENCE)
        ear.bind((str(talk.target), talk.port))
        ear.listen(1)
    except OSError:  # another holds it: the next one
        ear.close()
        return None
    return ear, talk


def has_address(living: Living, way: Way, family: int) -> bool:
    """Whether the firewall has an address of a family on a line."""
    lent = (living.lent.get(way.slug), way.lent6)
    return any(host is not None and host.version == family for host in (*way.own, *lent))


def tried(living: Living, cable: tuple[Way, str], line: Line, between: tuple[socket.socket, Talk]) -> Speed:
    """A line with its planned speeds, measured both ways; afterwards it is as it was. Raises OSError."""
    (way, far), (ear, talk) = cable, between
    down, up = float(line.down.value), float(line.up.value)
    rooms = living.built.rooms
    with ExitStack() as stack:
        for room, name, speed in ((rooms[OUTSIDE], far, down), (rooms[FIREWALL], way.interface, up)):
            bounded(room, name, speed)
            stack.callback(unbounded, room, name)
        led_by(rooms[FIREWALL], way, talk.target)
        stack.callback(unled, rooms[FIREWALL], way, talk.target)
        inside = rooms[talk.station].socket(FAMILIES[talk.target.version], socket.SOCK_STREAM)
        stack.enter_context(inside)
        held_back(inside, down)
        held_back(ear, up)
        inside.settimeout(PATIENCE)
        inside.bind((str(talk.source), 0))
        inside.connect((str(talk.target), talk.port))
        outside = stack.enter_context(ear.accept()[0])
        got_up, got_down = best(inside, outside, up), best(outside, inside, down)
        for one in (inside, outside):
            one.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, LET_GO)
    return Speed(line.name, down, up, got_down, got_up)


def led_by(firewall: Room, way: Way, host: Host) -> None:
    """What goes to somebody outside goes by a certain line, whichever is in use. Raises OSError."""
    with Netlink(firewall) as link:
        link.route(str(host), via=_gateway(way, host), name=way.interface)


def unled(firewall: Room, way: Way, host: Host) -> None:
    """And no longer so. Raises OSError."""
    with Netlink(firewall) as link:
        link.unroute(str(host), via=_gateway(way, host), name=way.interface)


def _gateway(way: Way, host: Host) -> Host:
    if host.version == way.gateway4.version:
        return way.gateway4
    return way.gateway6 if way.lent6 is None else NEAR_GATEWAY


def told(speed: Speed) -> str:
    """One line, in a sentence."""
    planned = f"{number(speed.down)} Mbit/s down and {number(speed.up)} up planned"
    got = f"{whole(speed.got_down)} and {whole(speed.got_up)}"
    more = "; this machine is too busy to pass more" if speed.short else ""
    return f"{speed.line}: {planned}, {got} came through as data, the rest being heads of packets{more}."


def whole(megabits: float) -> str:
    """To the nearest whole number; of a slow line to a tenth."""
    return number(float(round(megabits))) if megabits >= 10 else f"{megabits:.1f}"  # noqa: PLR2004 - two digits


def nightly(plan: Plan, speed: Speed) -> Iterator[str]:
    """How long the copy takes that goes out every night, at the speed that was measured; nothing where none does."""
    for copy in plan.records(Copy):
        if copy.off_site and copy.how == NIGHTLY:
            moved, window = plan.figures["backup.nightly"].value, plan.figures["backup.window"].value
            rate = slower(plan.figures[f"backup.{copy.slug}.rate"].value, speed.got_up / OCTET)
            hours = transfer_time(moved, rate)
            size = f"a night's copy of {number(float(moved * GB))} GB to the {copy.name}"
            late = f", longer than the night's window of {number(float(window))} h" if hours > window else ""
            yield f"{speed.line}: {size} needs {number(hours)} h at that speed{late}."
