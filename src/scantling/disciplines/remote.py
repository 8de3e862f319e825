"""Remote: who comes in from elsewhere and how, and how the consultant gets in when the firewall itself is down.

Figures:
    remote.people      people who may come in from elsewhere
    remote.ends        where remote access ends
    remote.homeless    remote access that is to end on a machine, and none does it
    remote.reached     lines in use by which the outside reaches the office
    remote.kept        lines in use whose address stays the same
    remote.way-in      how the consultant gets in when the firewall is down
    remote.gateways    lines that a gateway of its own could stand on
Findings: L-13 L-14 L-15 L-16 L-17 L-18 L-19.
Records: RemoteAccess, Page.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from scantling.brief import Given, Section, Support, assumed, optional
from scantling.catalogue import House, Practice
from scantling.figures import (
    BOXED, FIREWALL, IN_CLOUD, Box, Candidate, Crowd, Desk, Every, Facts, Figure, Finding, Line, Page, Prose, RemoteAccess, Service,
    Source, Weight, count_of, missing, standard, text, total,
)  # fmt: skip
from scantling.figures.pages import Cell
from scantling.figures.units import COUNT, HOUR, WORD, Truth, Word
from scantling.handbook.coming_in import ends_at, keeps_address, misnamed, people_meant
from scantling.handbook.handoffs import behind_carrier
from scantling.handbook.lines import counted
from scantling.handbook.naming import NAME
from scantling.handbook.sizing import beyond, both, negated, same
from scantling.handbook.spoken import read_carried

PROFILE, GATE, YES = "remote-access", "firewall", "yes"
GATEWAY_TIME, LED_TIME = Practice("remote.gateway-time", HOUR), Practice("remote.led-time", HOUR)
NONE = total((), COUNT)
TRAVEL, LED, STAYS = (
    "the consultant goes there",
    "somebody on site, led by telephone",
    "through the firewall, a box of its own",
)
OWN_GATEWAY = "a gateway of its own on a line"
HABIT = Source("what is left when the firewall is down", "common practice")
UNNAMED = "nobody has said"


class EndsOn(StrEnum):
    """Where remote access ends."""

    MACHINE = "machine"
    FIREWALL = "firewall"


class WayIn(StrEnum):
    """How the consultant gets in when the firewall is down."""

    GATEWAY = "own gateway"
    NONE = "none"


class Remote(Section):
    """People who come in from elsewhere, and the consultant when the firewall is down."""

    key = "remote"
    default_whole = True
    who: Given[Word] | None = optional(
        "Which roles work from elsewhere, by their words, or how many people?", like="8"
    )
    second_factor: Given[Truth] = assumed("Must they show something besides a password?", "remote.second-factor")
    ends_on: Given[EndsOn] | None = optional("Does it end on a machine of its own, or on the firewall?")
    ways: Given[Word] = assumed("By which protocols and ports do they come in?", "remote.ways", like="udp 51820")
    found_as: Given[Word] | None = optional(
        "Under which name do they find the office?", form=NAME, like="office.client.example"
    )
    way_in: Given[WayIn] = assumed(
        "Has the consultant a gateway of its own to the server for when the firewall is down?", "remote.way-in"
    )
    by_line: Given[Word] | None = optional("On which line is that gateway, by its word in the brief?")


@dataclass(frozen=True)
class _Ending:
    """Where remote access ends: a machine, a box, or the firewall, and its zone."""

    machine: str
    zone: str


def asks(
    remote: Remote, services: Every[Service], boxes: Every[Box], crowds: Every[Crowd], desk: Desk
) -> Iterator[RemoteAccess | Finding]:
    """One way in for everybody who works from elsewhere; none where nobody does."""
    mine = [one for one in services if one.profile == PROFILE and one.machine != IN_CLOUD]
    roles = {crowd.slug: crowd.horizon for crowd in crowds}
    carried = read_carried(text(remote.ways))
    homeless = {}
    if mine or remote.who is not None:
        people, ends = _figures(remote, mine, roles, desk)
        on_machine = text(ends) == EndsOn.MACHINE
        homeless = {"ends_on": people} if on_machine and not mine else {}
        if carried.transports and not homeless:
            ending = _ending(mine[0], boxes, services) if on_machine else _Ending(FIREWALL, FIREWALL)
            second = text(remote.second_factor) == YES
            yield RemoteAccess("people", ending.machine, ending.zone, carried.transports, second, people)
    wrong = misnamed(text(remote.who), roles) if remote.who is not None else ()
    yield from _misread(remote, wrong, carried.wrong)
    many = desk.figure("homeless", count_of(homeless), "Remote access that no machine does")
    yield Finding(
        "L-18", Weight.STOP, beyond.of(have=many, limit=NONE),
        "remote.ends_on: remote access is to end on a machine, and no service of the profile remote access is planned.",
        "Add such a service, or write ends_on: firewall.", {"many": many}, "ends_on",
    )  # fmt: skip


def _figures(
    remote: Remote, mine: list[Service], roles: Mapping[str, Figure[int]], desk: Desk
) -> tuple[Figure[int], Figure[str]]:
    """How many people, and where it ends."""
    users = {one.slug: one.users for one in mine}
    who = {"who": remote.who} if remote.who is not None else {}
    people = people_meant.of(who=who, roles=roles, users=users)
    given = {"ends_on": remote.ends_on} if remote.ends_on is not None else {}
    return (
        desk.figure("people", people, "People who may come in from elsewhere"),
        desk.figure("ends", ends_at.of(given=given, holders=users), "Where remote access ends"),
    )


def _ending(service: Service, boxes: Every[Box], services: Every[Service]) -> _Ending:
    """The machine, or the box; a box that is the firewall too is the firewall."""
    gates = {one.slug for one in services if one.profile == GATE}
    if service.machine != BOXED:
        return _Ending(service.machine, service.zone)
    box = next((box for box in boxes if service.slug in box.roles), None)
    if box is None or gates & set(box.roles):
        return _Ending(FIREWALL, FIREWALL)
    return _Ending(box.slug, service.zone)


def _misread(remote: Remote, wrong: tuple[str, ...], bad: tuple[str, ...]) -> Iterator[Finding]:
    """Words that are no role and no number; protocols that can't be read."""
    said = {"who": (wrong, remote.who), "ways": (bad, remote.ways)}
    for word, (faults, figure) in said.items():
        if faults and figure is not None:
            yield Finding(
                "L-18", Weight.STOP, beyond.of(have=count_of({word: figure}), limit=NONE), f"remote.{word}: {'; '.join(faults)}.",
                "Write roles by their words in the brief, or one number; protocols with ports like tcp 443, udp 51820.",
                {"line": figure}, word,
            )  # fmt: skip


def asks_judged(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    remote: Remote,
    support: Support,
    house: House,
    accesses: Every[RemoteAccess],
    lines: Every[Line],
    services: Every[Service],
    desk: Desk,
) -> Iterator[Finding | Page]:
    """Whether they find and reach the office, with what they show, and the way in when the firewall is down."""
    reaches = {line.slug: _reaches(line) for line in lines if not line.standby}
    reached = desk.figure("reached", _so(reaches), "Lines in use by which the outside reaches the office")
    keeps = {
        line.slug: keeps_address.of(handoff=line.handoff, addresses=_at(line)) for line in lines if not line.standby
    }
    kept = desk.figure("kept", _so(keeps), "Lines in use whose address stays the same")
    some = count_of({access.slug: access.people for access in accesses})
    yield from _coming(remote, beyond.of(have=some, limit=NONE), reached, kept)
    bare = count_of({access.slug: access.people for access in accesses if access.machine == FIREWALL})
    yield Finding(
        "L-19", Weight.MEND, beyond.of(have=bare, limit=NONE),
        "Whoever comes in on the firewall reaches nothing yet: the tunnel is let in, and no rule lets anything out of it.",
        "Let it end on a machine (a service of the profile remote access); or write by hand, for the tunnel's own port on the firewall, "
        "the rules of those who work inside.", {"many": bare},
    )  # fmt: skip
    gate = next((service for service in services if service.profile == GATE), None)
    way = None
    if gate is not None:
        may = {line.slug: _reaches(line) for line in lines if _may_stand(line, remote)}
        many = desk.figure("gateways", _so(may), "Lines that a gateway of its own could stand on")
        ways = _ways(remote, support, house, gate, any(text(one) == YES for one in may.values()))
        because = "the soonest way to the server when the firewall is down"
        label = "How the consultant gets in when the firewall is down"
        way = desk.choose("way-in", WORD, ways, "least", because, label)
        yield from _down(remote, support, way, many)
    if way is not None or accesses:
        yield _page(remote, accesses, way, desk)


def _at(line: Line) -> dict[str, Figure[Any]]:
    return {line.slug: line.address} if line.address is not None else {}


def _reaches(line: Line) -> Figure[bool]:
    """Whether the outside can reach what stands on a line."""
    return negated.of(given=behind_carrier.of(handoff=line.handoff, addresses=_at(line)))


def _may_stand(line: Line, remote: Remote) -> bool:
    """Whether a gateway of its own may stand on a line: the one that is named, else one that stands by."""
    return line.standby if remote.by_line is None else line.slug == text(remote.by_line)


def _so(given: Mapping[str, Figure[bool]]) -> Figure[int]:
    """How many of them are so."""
    return total({slug: counted.of(given=one) for slug, one in given.items()}, COUNT)


def _coming(remote: Remote, some: Figure[bool], reached: Figure[int], kept: Figure[int]) -> Iterator[Finding]:
    """What those who come in show, and whether they find and reach the office."""
    yield Finding(
        "L-13", Weight.STOP, both.of(one=some, other=negated.of(given=remote.second_factor)),
        "Whoever knows or guesses one password gets into the office from anywhere: remote access is planned without a second factor.",
        "Ask for something besides the password: a code, a key or a certificate on the device. Write second_factor: yes.",
        {"second_factor": remote.second_factor},
    )  # fmt: skip
    lost = both.of(
        one=negated.of(given=beyond.of(have=kept, limit=NONE)), other=missing(remote.found_as, "remote.found_as")
    )
    yield Finding(
        "L-14", Weight.MEND, both.of(one=some, other=lost),
        "The address of the lines in use changes, and people from elsewhere have no name by which they find the office.",
        "Take a fixed address, or a name that follows the address, kept up to date by the firewall; write it under remote.found_as.",
        {"kept": kept},
    )  # fmt: skip
    yield Finding(
        "L-15", Weight.STOP, both.of(one=some, other=negated.of(given=beyond.of(have=reached, limit=NONE))),
        "Nobody can come in from elsewhere: none of the lines in use has an address that the outside reaches.",
        "Order an address of the office's own, or have remote access end with a service outside that the office dials to.",
        {"reached": reached},
    )  # fmt: skip


def _ways(
    remote: Remote,
    support: Support,
    house: House,
    gate: Service,
    standing: bool,  # noqa: FBT001 - whether a line is there for it
) -> list[Candidate[str]]:
    """Those that there are, with the time that each takes."""
    ways = [Candidate(STAYS, house[GATEWAY_TIME])] if gate.machine == BOXED else []
    if standing and text(remote.way_in) == WayIn.GATEWAY:
        ways.append(Candidate(OWN_GATEWAY, house[GATEWAY_TIME]))
    if support.on_site is not None:
        ways.append(Candidate(LED, house[LED_TIME]))
    return [*ways, Candidate(TRAVEL, support.reach)]


def _down(remote: Remote, support: Support, way: Figure[str], gateways: Figure[int]) -> Iterator[Finding]:
    """No way but to go there; only somebody on site; a gateway without a line."""
    shown = {"way": way, "reach": support.reach}
    yield Finding(
        "L-16", Weight.MEND, same.of(one=way, other=standard(TRAVEL, WORD, HABIT, "no way in")),
        "When the firewall or the server under it is down, nobody gets in from outside: {way}, which takes {reach}.",
        "Put a small gateway of its own on a second line, best by radio, that leads to the server's lights-out port on the management zone "
        "and nowhere else, with a second factor; or name somebody on site and leave the steps in writing.", shown,
    )  # fmt: skip
    yield Finding(
        "L-17", Weight.NOTE, same.of(one=way, other=standard(LED, WORD, HABIT, "hands on site")),
        "When the firewall is down the consultant gets in by somebody on site alone, led by telephone.",
        "Leave the steps in writing beside the server, with the numbers to call, and try them once a year with whoever is there.", shown,
    )  # fmt: skip
    wanted = same.of(one=remote.way_in, other=standard(str(WayIn.GATEWAY), WORD, HABIT, "a gateway of its own"))
    yield Finding(
        "L-18", Weight.STOP, both.of(one=wanted, other=negated.of(given=beyond.of(have=gateways, limit=NONE))),
        f"remote.way_in: a gateway of its own is wanted, and {_no_line(remote)}.",
        "Write under by_line the word of a line in this brief whose address the outside reaches, or plan such a line to stand by.",
        {"many": gateways}, "way_in",
    )  # fmt: skip


def _no_line(remote: Remote) -> str:
    called = f"called {text(remote.by_line)}" if remote.by_line is not None else "that stands by"
    return f"no line {called} is reached from outside"


def _page(remote: Remote, accesses: Every[RemoteAccess], way: Figure[str] | None, desk: Desk) -> Page:
    rows: list[tuple[str, Cell]] = []
    if accesses:
        rows += [
            ("People who may come in", desk.kept("people", COUNT)), ("It ends on", desk.kept("ends", WORD)),
            ("Carried by", remote.ways), ("A second factor is asked for", remote.second_factor),
            ("Found under", remote.found_as if remote.found_as is not None else UNNAMED),
            ("Lines by which the outside reaches the office", desk.kept("reached", COUNT)),
            ("Lines whose address stays the same", desk.kept("kept", COUNT)),
        ]  # fmt: skip
    if way is not None:
        rows.append(("When the firewall is down", way))
    return Page("ways-in", "N", "Ways in from elsewhere", (
        Prose("Who comes in from elsewhere, and the way that is left when the firewall, which carries all of this, is down itself. A "
              "gateway of its own is a way past the firewall: it leads to the server's lights-out port and nowhere else, for named people, "
              "with a second factor, and it is tried once a year."),
        Facts(rows),
    ), 2)  # fmt: skip
