"""What is supposed about an office where nobody has said anything yet, so that a price can be shown at any moment.

Each is marked "assumed, ask" wherever it is printed; all numbers are common practice, no source, unless one is named.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from scantling.brief import rough
from scantling.brief.answers import two_digits, whole
from scantling.brief.meeting import BASICS
from scantling.figures.quantities import parse
from scantling.figures.spelled import nearest
from scantling.figures.units import TB

FEW_HEADS, USUAL_HEADS, PRINTER_HEADS = 15, 6, 12
GB_A_HEAD, ONCE, ONCE_A_HEAD = 60, 12_000, 1_500
MEGABYTES_A_FILE: Mapping[str, float] = {
    "documents": 2, "images": 8, "video": 300, "database": 150, "mail": 0.1, "recording": 70, "system": 5,
}  # fmt: skip
ZONES: Mapping[str, str] = {
    "payment terminal": "payments", "camera": "cameras", "phone": "phones", "control": "workshop",
    "access point": "management", "switch": "management",
}  # fmt: skip
INCHES = frozenset({"US", "CA", "MX"})  # countries of letter paper and of 120 V: a choice from memory
SLUGS: Mapping[str, str] = {
    **{profile: slug for slug, profile in BASICS.items()}, "wireless controller": "wireless", "network monitor": "monitor",
    "content filter": "filter", "business application": "application", "camera recorder": "recorder",
    "remote access": "remote",
}  # fmt: skip
PREFERRED: Mapping[str, tuple[str, ...]] = {
    "database": ("database", "business application"), "recording": ("camera recorder",),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Supposed:
    """A text, why it is supposed, and whether an empty answer takes it."""

    text: str
    why: str = ""
    offered: bool = True
    said: bool = False
    """Whether the client said it, in an answer that holds for several."""


class Known(Protocol):
    """The office as far as it is known (scantling.brief.picture); rules read nothing else."""

    @property
    def currency(self) -> str:
        """Three letters."""

    @property
    def today(self) -> str:
        """A date, as it is written."""

    @property
    def profiles(self) -> Sequence[str]:
        """Service profiles of the catalogue."""

    @property
    def kinds(self) -> Sequence[str]:
        """Kinds of devices of the catalogue."""

    def told(self, id_: str) -> str:
        """What was said, or nothing."""

    def value(self, id_: str) -> str:
        """What was said or is supposed, or nothing."""

    def things(self, list_: str) -> Mapping[str, str]:
        """Slugs and names of a list."""

    def name(self, list_: str, slug: str) -> str:
        """What a thing is called."""

    @property
    def heads(self) -> int:
        """People as far as known."""


Rule = Callable[[Known, str], Supposed | None]


def picked(known: Known) -> dict[str, str]:
    """Services of the rough answers, or the one that every office has."""
    told = known.told("rough.services")
    found = rough.profiles(told, known.profiles) if told else ["files"]
    if "business application" in found and "database" not in found:
        found.append("database")
    return {SLUGS.get(profile, profile.replace(" ", "-")): "" for profile in found}


def _devices(known: Known) -> dict[str, str]:
    told = known.told("rough.machines")
    pcs, laptops = rough.machines(told) if told else (known.heads, 0)
    made = {"pcs": "PCs"} if pcs else {}
    made |= {"laptops": "Laptops"} if laptops else {}
    made |= {"printers": "Printers"}
    return made | ({"cameras": "Cameras"} if "recorder" in known.things("services") else {})


def _count(known: Known, slug: str) -> Supposed:
    told = known.told("rough.machines")
    pcs, laptops = rough.machines(told) if told else (known.heads, 0)
    many = {"pcs": pcs, "laptops": laptops, "printers": 1 + known.heads // PRINTER_HEADS, "cameras": 4}
    text, said = str(max(many.get(slug, 1), 1)), bool(told) and slug in {"pcs", "laptops"}
    return Supposed(text, "one PC a head, a printer for a dozen", offered=False, said=said)


def _device_kind(known: Known, slug: str) -> Supposed | None:
    called = [*known.name("devices", slug).lower().split(), *slug.split("-"), slug.replace("-", " ")]
    words = {**{kind: kind for kind in known.kinds}, "telephone": "phone", "handset": "phone", "computer": "pc"}
    near = [words[found] for word in called if (found := nearest(word.rstrip("s"), words, 0.8))]
    return Supposed(near[0] if near else "pc", "by its name", offered=bool(near))


def _zone(known: Known, slug: str) -> Supposed:
    kind = known.value(f"devices.{slug}.kind")
    return Supposed(ZONES.get(kind, "staff"), "by its kind")


def _profile(known: Known, slug: str) -> Supposed | None:
    by_slug = {short: profile for profile, short in SLUGS.items()}
    called = known.name("services", slug).lower()
    if slug in by_slug or slug in known.profiles:
        return Supposed(by_slug.get(slug, slug), "by its name", said=slug in BASICS)
    near = nearest(called, known.profiles, 0.75)
    usual = "business application" if "business application" in known.profiles else known.profiles[0]
    return Supposed(near or usual, "by its name" if near else "a program with a name of its own")


def _usual(which: str, fall_back: str) -> Rule:
    def rule(known: Known, _: str) -> Supposed | None:
        told = known.told(which) or known.told(fall_back)
        return Supposed(told, "as all services", said=True) if told else None

    return rule


def _size(known: Known, slug: str) -> Supposed:
    told = known.told("rough.data")
    if told and slug == "shared":
        return Supposed(told, "all in one body", said=True)
    return Supposed(f"{max(known.heads, 1) * GB_A_HEAD} GB", f"{GB_A_HEAD} GB a head", offered=False)


def _files(known: Known, slug: str) -> Supposed | None:
    kind, size = known.value(f"data.sets.{slug}.kind"), known.value(f"data.sets.{slug}.size")
    try:
        value, unit = parse(size, TB)
    except ValueError:
        return Supposed("10000", "its size is not known")
    each = MEGABYTES_A_FILE.get(kind, 2)
    files = max(1.0, float(value * unit.scale / TB.scale) * 1e6 / each)
    return Supposed(str(min(int(float(two_digits(files))), 1_000_000_000)), f"files of {each:g} MB")


def _service(known: Known, slug: str) -> Supposed | None:
    wanted = PREFERRED.get(known.value(f"data.sets.{slug}.kind"), ())
    services = list(known.things("services"))
    for profile in (*wanted, "files", "database", "business application"):
        for one in services:
            if known.value(f"services.{one}.profile") == profile:
                return Supposed(one, "by its kind")
    return Supposed(services[0], "the first service") if services else None


def _growth(which: int) -> Rule:
    def rule(known: Known, _: str) -> Supposed | None:
        told = known.told("rough.growth")
        if not told:
            return None
        share, amount = rough.growth(told)
        return Supposed((share or "0 %/year") if which == 0 else (amount or "0 TB/year"), said=True)

    return rule


def _place(pick: Callable[[rough.Standing], str], few: str, many: str) -> Callable[[Known, str], Supposed]:
    def rule(known: Known, _: str) -> Supposed:
        if told := known.told("rough.place"):
            return Supposed(pick(rough.PLACES[rough.place(told)[0]]), "usual for such a place")
        cabinet = known.told("premises.cabinet.wanted") or ("yes" if known.heads > FEW_HEADS else "no")
        return Supposed(many if cabinet == "yes" else few, "usual for so many people")

    return rule


def _noise(known: Known, _: str) -> Supposed | None:
    told = known.told("rough.place")
    if not told:
        return None
    word, noise = rough.place(told)
    return Supposed(noise, said=True) if noise else Supposed(rough.PLACES[word].noise, "usual for such a place")


def _where(known: Known, _: str) -> Supposed:
    told = known.told("rough.place")
    return Supposed(rough.place(told)[0], said=True) if told else Supposed("not yet known")


def _line(which: int) -> Callable[[Known, str], Supposed]:
    def rule(known: Known, slug: str) -> Supposed:
        if told := known.told("rough.line"):
            return Supposed(rough.line(told)[which], said=True)
        down = known.told(f"lines.{slug}.down")
        fifth = rough.line(down)[1] if down and which else "20 Mbit/s"
        return Supposed(fifth, "a fifth of the other way") if which else Supposed("100 Mbit/s", offered=False)

    return rule


def _country(known: Known, _: str) -> Supposed:
    told = known.told("rough.country")
    word = rough.country(told, known.currency)[0] if told else "IE"
    return Supposed(word, offered=bool(told), said=bool(told))


def _budget(known: Known, _: str) -> Supposed:
    told = known.told("rough.country")
    if told and (budget := rough.country(told, known.currency)[1]):
        return Supposed(budget, said=True)
    once = ONCE + ONCE_A_HEAD * known.heads
    return Supposed(f"{min(once, 10_000_000)} {known.currency}", "so much a head; invented")


def _name(known: Known, _: str) -> Supposed:
    return Supposed(f"An office of {known.heads}", "no name yet", offered=False)


def _heads(known: Known, slug: str) -> Supposed:
    if told := known.told("rough.people"):
        return Supposed(told, said=True)
    return Supposed(str(USUAL_HEADS) if slug == "people" else "1", "not yet told", offered=False)


def _fixed(text: str, why: str = "usual", *, offered: bool = True) -> Callable[[Known, str], Supposed]:
    return lambda _, __: Supposed(text, why, offered)


def _by_country(countries: frozenset[str], text: str) -> Rule:
    return lambda known, _: (
        Supposed(text, "usual in that country") if known.value("office.country") in countries else None
    )


def _event(known: Known, _: str) -> Supposed:
    told = known.told("rough.visitors")
    return Supposed(told, said=True) if told else Supposed("1", "not yet told", offered=False)


THINGS: Mapping[str, Callable[[Known], dict[str, str]]] = {
    "people.roles": lambda _: {"people": "People"},
    "devices": _devices,
    "visitors.events": lambda known: {"visitors": "Visitors"} if whole(known.told("rough.visitors")) else {},
    "premises.circuits": lambda _: {"circuit": ""},
    "lines": lambda _: {"line": "Line"},
    "data.sets": lambda _: {"shared": "Shared documents"},
}
"""Named things that are supposed until others are named."""
RULES: Mapping[str, Rule] = {
    "office.name": _name,
    "office.country": _country,
    "office.currency": lambda known, _: Supposed(known.currency, "the catalogue's prices are in it"),
    "office.as_of": lambda known, _: Supposed(known.today, "today", offered=bool(known.today)),
    "office.paper": _by_country(INCHES, "letter"),
    "office.mains": _by_country(INCHES, "120 V"),
    "people.roles.*.heads": _heads,
    "devices.*.kind": _device_kind,
    "devices.*.count": _count,
    "devices.*.zone": _zone,
    "visitors.events.*.people": _event,
    "visitors.events.*.days": _fixed("mon-fri"),
    "visitors.events.*.doors": _fixed("10:00"),
    "premises.noise": _noise,
    "premises.cabinet.place": _where,
    "premises.cabinet.wanted": _place(lambda at: at.cabinet, "no", "yes"),
    "premises.cabinet.depth": _place(lambda at: at.depth, "700 mm", "1000 mm"),
    "premises.cabinet.height": _place(lambda at: at.height, "1200 mm", "2000 mm"),
    "premises.circuits.*.rating": _fixed("16 A", "a usual breaker"),
    "lines.*.down": _line(0),
    "lines.*.up": _line(1),
    "usual.down": _usual("rough.down", ""),
    "usual.basics": _fixed("yes", "nothing can be looked after without them"),
    "services.*.profile": _profile,
    "services.*.down": _usual("usual.down", "rough.down"),
    "services.*.lost": _usual("usual.lost", ""),
    "data.sets.*.kind": _fixed("documents"),
    "data.sets.*.size": _size,
    "data.sets.*.files": _files,
    "data.sets.*.growth": _growth(0),
    "data.sets.*.adds": _growth(1),
    "data.sets.*.service": _service,
    "budget.once": _budget,
    "budget.tax": _fixed("20 %", "of the usual size; it differs by country"),
}
"""By id, names as *: what is supposed; every answer that a brief must have stands here."""
