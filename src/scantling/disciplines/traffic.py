"""Traffic: what the brief itself says of who may reach whom, where the office is managed from, and how names may be looked up.

Figures:
    traffic.allow.<slug>      what a line of the brief allows
    traffic.forbid.<slug>     what a line of the brief forbids
    traffic.manage            what management is carried by
    traffic.lookups.<slug>    encrypted lookups of a zone
    traffic.discovery.<slug>  what is found across zones
    traffic.found             discoveries across zones
Findings: T-12 T-13 T-14 T-15 T-16.
Records: Flow.
"""

from collections.abc import Iterator, Mapping
from enum import StrEnum
from itertools import product
from typing import TYPE_CHECKING, Any

from pydantic import create_model

from scantling.brief import Given, Section, asked, assumed, optional
from scantling.catalogue import House, Practice
from scantling.figures import (
    FIREWALL, OUTSIDE, Address, Address6, Box, Desk, Device, End, Every, Figure, Finding, Flow, Leg, Machine, Party, Range,
    Service, Source, Verdict, Visitors, Weight, Zone, count_of, standard, text, total,
)  # fmt: skip
from scantling.figures.spelled import titled
from scantling.figures.units import COUNT, WORD, Word
from scantling.handbook.discovery import ASKED, repeated
from scantling.handbook.intents import chosen_for, managed_by
from scantling.handbook.sizing import beyond
from scantling.handbook.spoken import read_carried
from scantling.handbook.whereabouts import Whereabouts, together
from scantling.handbook.wishes import FROM, HOURS, TO, WHAT, Wish, read_ends, read_wish

MANAGE, LOOKUPS = Practice("traffic.manage", WORD), Practice("traffic.lookups", WORD)
MANAGEMENT, LOOKED_AFTER = "management", frozenset({"printer", "switch", "access-point", "box"})
TLS, RESOLVING = Source("RFC 7858, RFC 9250"), Source("RFC 1035, RFC 7858, RFC 9250")
ENCRYPTED = standard("tcp 853, udp 853", WORD, TLS, "lookups in a channel of their own")
PAST = standard("tcp 53, udp 53, tcp 853, udp 853", WORD, RESOLVING, "lookups of any kind")
UNREAD = (
    (
        "T-12",
        (FROM, TO),
        "Write the word that the brief has for a zone, a machine, a service, devices (zone/devices) or a party.",
    ),
    ("T-13", (WHAT,), "Write protocols with their ports, parted by commas, like tcp 443, udp 5060-5061."),
    ("T-14", (HOURS,), "Write days and one span of the day, like mon-fri 08:00-18:00."),
)
NONE = total((), COUNT)


class Lookups(StrEnum):
    """Whether a zone may look names up encrypted, past the office's resolver."""

    BLOCK = "block"
    ALLOW = "allow"
    EXEMPT = "exempt"


class Seen(StrEnum):
    """What is to be found from another zone."""

    PRINTING = "printing"
    CASTING = "casting"


FOUND = {Seen.PRINTING: Practice("traffic.printing", WORD), Seen.CASTING: Practice("traffic.casting", WORD)}
WHO, WHOM = "Who begins, by its word in the brief, several parted by commas?", "To whom?"

if TYPE_CHECKING:

    class Line(Section):
        """One line on who may, or may not, reach whom."""

        to: Given[Word]
        what: Given[Word]
        hours: Given[Word] | None
        why: Given[Word] | None

    class Across(Section):
        """One thing to be found across zones."""

        to: Given[Word]
        what: Given[Seen]

else:  # the client writes from, which no class of Python may declare
    Line = create_model(
        "Line", __base__=Section, __module__=__name__, __doc__="One line on who may, or may not, reach whom.",
        **{
            FROM: (Given[Word], asked(WHO)), TO: (Given[Word], asked(WHOM)),
            WHAT: (Given[Word], asked("By which protocols and ports, such as tcp 443, udp 5060-5061?")),
            HOURS: (Given[Word] | None, optional("In which hours only, such as mon-fri 08:00-18:00?")),
            "why": (Given[Word] | None, optional("What for?")),
        },
    )  # fmt: skip
    Across = create_model(
        "Across", __base__=Section, __module__=__name__, __doc__="One thing to be found across zones.",
        **{
            FROM: (Given[Word], asked("From which zone?")), TO: (Given[Word], asked("In which zone is it?")),
            WHAT: (Given[Seen], asked("Is it printing or casting?")),
        },
    )  # fmt: skip


class Traffic(Section):
    """Who may reach whom, beyond what services and devices need by themselves."""

    key = "traffic"
    default_whole = True
    allow: dict[str, Line] | None = optional("Who may reach whom besides?")
    forbid: dict[str, Line] | None = optional("Who may not reach whom, whatever else allows it?")
    lookups: dict[str, Given[Lookups]] | None = optional(
        "Which zones may look names up encrypted, past the office's resolver?"
    )
    discovery: dict[str, Across] | None = optional("What is to be found from another zone?")
    manage_from: Given[Word] = assumed(
        "From where is the office managed, by zones or devices?", "traffic.manage-from"
    )


def design(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    traffic: Traffic,
    house: House,
    zones: Every[Zone],
    devices: Every[Device],
    machines: Every[Machine],
    services: Every[Service],
    boxes: Every[Box],
    visitors: Every[Visitors],
    addresses: Every[Address],
    addresses6: Every[Address6],
    ranges: Every[Range],
    parties: Every[Party],
    legs: Every[Leg],
    desk: Desk,
) -> Iterator[Flow | Finding]:
    """The brief's own lines as intents, and what is wrong with them."""
    where = Whereabouts(
        zones, devices, machines, services, boxes, visitors, addresses, addresses6, ranges, parties, legs
    )
    wishes = {key: read_wish(_words(line), where) for key, line in _lines(traffic).items()}
    for key, line in _lines(traffic).items():
        yield from _said(key, line, wishes[key], desk)
    yield from _managed(traffic, house, where, desk)
    yield from _encrypted(traffic, house, where, desk)
    yield from _discovered(traffic, house, where, desk)
    yield from _misread(traffic, wishes, where)


def _lines(traffic: Traffic) -> dict[tuple[str, str], Line]:
    """Every line by allow or forbid and its own word."""
    both = (("allow", traffic.allow), ("forbid", traffic.forbid))
    return {(kind, slug): line for kind, lines in both for slug, line in (lines or {}).items()}


def _from(line: Line | Across) -> Figure[str]:
    given: Figure[str] = getattr(line, FROM)
    return given


def _words(line: Line) -> dict[str, str]:
    hours = {HOURS: text(line.hours)} if line.hours is not None else {}
    return {FROM: text(_from(line)), TO: text(line.to), WHAT: text(line.what), **hours}


def _said(key: tuple[str, str], line: Line, wish: Wish, desk: Desk) -> Iterator[Flow]:
    """A line of the brief, once for every pair of its ends and every span of its hours."""
    kind, slug = key
    cause = desk.under(kind).figure(slug, line.what, f"{'Allowed' if kind == 'allow' else 'Forbidden'}: {slug}")
    verdict = Verdict.ACCEPT if kind == "allow" else Verdict.DROP
    many = list(product(wish.pairs, wish.windows))
    for place, ((source, target), window) in enumerate(many, 1):
        called = f"{kind}-{slug}" if len(many) == 1 else f"{kind}-{slug}-{place}"
        why = text(line.why) if line.why is not None else "the brief says so"
        name = titled(slug)
        yield Flow(called, name, source, target, wish.carried, why, cause, "brief", verdict, window)


def _managed(traffic: Traffic, house: House, where: Whereabouts, desk: Desk) -> Iterator[Flow]:
    """From the places named to the firewall, the machines, the zone of switches and the like, printers and boxes."""
    carried = desk.figure("manage", managed_by.of(carried=house[MANAGE], places=traffic.manage_from))
    why = "the office is looked after from here and from nowhere else"
    devices = [where.device(one) for one in where.devices if one.kind in LOOKED_AFTER and one.zone != MANAGEMENT]
    kept = {where.key(end): end for zone in where.zones if zone.slug != MANAGEMENT for end in where.hosted(zone.slug)}
    kept |= {end.holder or f"{end.zone}-devices": end for end in together(devices, "printers and boxes")}
    for source in read_ends(text(traffic.manage_from), where).ends:
        for word, target in {**kept, MANAGEMENT: where.zone(MANAGEMENT), FIREWALL: where.door(source.zone)}.items():
            if target.zone != source.zone:
                slug, transports = f"manage-{where.key(source)}-to-{word}", read_carried(text(carried)).transports
                yield Flow(slug, "Management", source, target, transports, why, carried, "management")


def _encrypted(traffic: Traffic, house: House, where: Whereabouts, desk: Desk) -> Iterator[Flow]:
    """Lookups past the resolver: shut, or open, for every zone that may speak to the outside or that the brief names."""
    given, usual = traffic.lookups or {}, house[LOOKUPS]
    for slug in [zone.slug for zone in where.zones if zone.slug in {*given, *where.people(), *where.guests()}]:
        choice = given.get(slug, usual)
        open_ = text(choice) != Lookups.BLOCK
        ports = PAST if text(choice) == Lookups.EXEMPT else ENCRYPTED
        cause = desk.under("lookups").figure(
            slug, chosen_for.of(carried=ports, choice=choice), f"Lookups past the resolver: {slug}"
        )
        why = "this zone may ask whom it likes" if open_ else "who asks past the resolver asks past the filter"
        verdict = Verdict.ACCEPT if open_ else Verdict.DROP
        yield Flow(
            f"encrypted-{slug}", "Lookups past the resolver", where.zone(slug), where.zone(OUTSIDE), read_carried(text(cause)).transports,
            why, cause, "lookups", verdict,
        )  # fmt: skip


def _discovered(traffic: Traffic, house: House, where: Whereabouts, desk: Desk) -> Iterator[Flow | Finding]:
    """Printers and screens found from another zone: the firewall says their calls again, and lets through what follows."""
    wanted = traffic.discovery or {}
    many = desk.figure("found", count_of({slug: one.what for slug, one in wanted.items()}), "Finds across zones")
    calls: dict[str, tuple[End, End, Figure[str]]] = {}
    for slug, one in wanted.items():
        ports = house[FOUND[Seen(text(one.what))]]
        cause = desk.under("discovery").figure(
            slug, chosen_for.of(carried=ports, choice=one.what), f"Found across zones: {slug}"
        )
        words = {FROM: text(_from(one)), TO: text(one.to), WHAT: text(ports)}
        wish = read_wish(words, where)
        for place, (source, target) in enumerate(wish.pairs, 1):
            called = f"found-{slug}" if len(wish.pairs) == 1 else f"found-{slug}-{place}"
            name, why = titled(slug), f"{text(one.what)} across zones"
            yield Flow(called, name, source, target, wish.carried, why, cause, "discovery")
            calls |= {word: (who, whom, cause) for word, who, whom in repeated((source, target)) if word not in calls}
    for word, (who, whom, cause) in calls.items():
        name, why = "Calls to find printers and screens", "devices are found by them"
        yield Flow(f"calls-{word}", name, who, whom, ASKED, why, cause, "discovery")
    yield Finding(
        "T-16", Weight.MEND, beyond.of(have=many, limit=NONE),
        "Kinds of thing to be found from another zone: {many}. That works only while the firewall says calls to all again there.",
        "Switch on the firewall's repeater for multicast names (RFC 6762) between these zones and no others, and try it from a device.",
        {"many": many}, next(iter(wanted), ""),
    )  # fmt: skip


def _misread(traffic: Traffic, wishes: Mapping[tuple[str, str], Wish], where: Whereabouts) -> Iterator[Finding]:
    """Words that mean nothing, protocols and hours that can't be read, lines within one zone."""
    lines = {key: f"traffic.{key[0]}.{key[1]}" for key in wishes}
    given = _lines(traffic)
    for code, words, remedy in UNREAD:
        told = {
            f"{lines[key]}.{word}": (wish.wrong[word], given[key].what)
            for key, wish in wishes.items() for word in words if word in wish.wrong
        }  # fmt: skip
        yield from _each(code, Weight.STOP, {**told, **(_strange(traffic, where) if TO in words else {})}, remedy)
    within = {
        lines[key]: (f"both ends lie in {', '.join(wish.inside)}", given[key].what)
        for key, wish in wishes.items()
        if wish.inside
    }
    yield from _each(
        "T-15",
        Weight.NOTE,
        within,
        "The firewall stands between zones only: use the machine's own filter, or another zone.",
    )


def _strange(traffic: Traffic, where: Whereabouts) -> dict[str, tuple[str, Figure[Any]]]:
    """The same for where the office is managed from, zones that look names up, and finds across zones."""
    found: dict[str, tuple[str, Figure[Any]]] = {}
    if wrong := read_ends(text(traffic.manage_from), where).wrong:
        found["traffic.manage_from"] = "; ".join(wrong), traffic.manage_from
    for slug, one in (traffic.discovery or {}).items():
        for word, given in ((FROM, _from(one)), (TO, one.to)):
            if wrong := read_ends(text(given), where).wrong:
                found[f"traffic.discovery.{slug}.{word}"] = "; ".join(wrong), given
    for slug, choice in (traffic.lookups or {}).items():
        if slug not in {zone.slug for zone in where.zones}:
            found[f"traffic.lookups.{slug}"] = "; ".join(read_ends(slug, where).wrong) or f"{slug} is no zone", choice
    return found


def _each(code: str, weight: Weight, told: Mapping[str, tuple[str, Figure[Any]]], remedy: str) -> Iterator[Finding]:
    """One for each line; one that does not hold where there is none."""
    for path, (says, figure) in told.items():
        one, sentence = count_of({path: figure}), f"{path}: {says}{'' if says.endswith('?') else '.'}"
        about = path.split(".")[2] if path.count(".") > 1 else path
        yield Finding(code, weight, beyond.of(have=one, limit=NONE), sentence, remedy, {"line": figure}, about)
    if not told:
        yield Finding(code, weight, beyond.of(have=NONE, limit=NONE), "Every line on traffic is understood.", remedy)
