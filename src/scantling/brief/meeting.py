"""What is asked at the first meeting, in which order and in a client's words; nothing is computed here."""

from collections.abc import Mapping
from dataclasses import dataclass

from scantling.brief.sections import Given, Section, asked, assumed, optional
from scantling.figures.units import Count, Hours, Terabytes, Truth, Word


@dataclass(frozen=True, slots=True)
class One:
    """One answer, by its id in the brief."""

    id: str


@dataclass(frozen=True, slots=True)
class Many:
    """Named things, each a small form: what the naming is called, and which answers follow each name."""

    id: str
    first: str
    again: str
    each: tuple[str, ...]
    named: bool = True
    """Whether things are named here; otherwise those named before are asked about once more."""


@dataclass(frozen=True, slots=True)
class Group:
    """Questions under one title."""

    title: str
    parts: tuple[One | Many, ...]


@dataclass(frozen=True, slots=True)
class Wording:
    """How a question is put to a client, why it is asked, and an example; empty where the trade's own words do."""

    text: str = ""
    why: str = ""
    like: str = ""


class Usual(Section):
    """Answers that hold for all services unless one is answered by itself; they stand in no brief."""

    key = "usual"
    basics: Given[Truth] | None = optional("Shall all four be planned?")
    down: Given[Hours] = assumed("How long may they be down?", "machines.down", least="0.25 h", most="720 h")
    lost: Given[Hours] = assumed("How much work may be lost?", "machines.lost", least="0.25 h", most="720 h")


class Rough(Section):
    """The ten answers of a rough price; they stand in no brief."""

    key = "rough"
    people: Given[Count] = asked("How many people work there?", least="1", most="1000", like="12")
    machines: Given[Word] = asked("How many PCs, and how many laptops?", like="12 PCs, 5 laptops")
    visitors: Given[Count] = asked("How many visitors at most at one time? 0 for none.", most="100000", like="30")
    services: Given[Word] = asked("What shall the server do? Several, with commas.", like="files, print")
    data: Given[Terabytes] = asked("How much data is there today, all together?", like="1.5 TB")
    growth: Given[Word] = asked("How fast does it grow: a share a year, or so much a year?", like="15 %/year")
    down: Given[Hours] = asked("How long may the server be down?", least="0.25 h", most="720 h", like="8 h")
    place: Given[Word] = asked(
        "Where will it stand: room, cupboard or office? And how loud may it be?", like="cupboard, 40 dB"
    )
    line: Given[Word] = asked("How fast is the line, to and from the office?", like="200/40 Mbit/s")
    country: Given[Word] = asked("In which country, and with which budget, if there is one?", like="IE, 20000 EUR")


GROUPS: tuple[Group, ...] = (
    Group(
        "Who you are",
        (
            One("office.name"), One("office.country"), One("office.currency"), One("office.as_of"), One("office.horizon"),
            One("office.mains"), One("office.paper"), One("support.who"), One("support.on_site"), One("support.reach"),
        ),
    ),
    Group(
        "People",
        (
            Many(
                "people.roles", "Which kinds of work are there? Name the first.", "The next kind of work?",
                ("heads", "growth", "days", "hours", "present"),
            ),
        ),
    ),
    Group(
        "Things that plug in",
        (
            Many(
                "devices", "What plugs in or joins by radio? Name the first, such as office PCs.", "The next kind of thing?",
                ("kind", "count", "zone"),
            ),
            One("compliance.payment_cards"),
        ),
    ),
    Group(
        "Visitors",
        (
            Many(
                "visitors.events", "Do visitors join your network? Name what they come to.", "Anything else they come to?",
                ("people", "days", "doors", "stay"),
            ),
            One("visitors.join"),
        ),
    ),
    Group(
        "The room",
        (
            One("premises.cabinet.place"), One("premises.cabinet.wanted"), One("premises.cabinet.depth"),
            One("premises.cabinet.height"), One("premises.cabinet.ventilated"), One("premises.noise"),
            Many(
                "premises.circuits", "Which circuits reach it? Name the first, such as the room it serves.",
                "Another circuit?", ("rating", "already"),
            ),
        ),
    ),
    Group(
        "The line",
        (
            Many(
                "lines", "Which line have you to the outside? Name it, such as fibre.", "Another line?",
                ("down", "up", "monthly", "standby"),
            ),
        ),
    ),
    Group(
        "What you do with computers",
        (
            One("usual.basics"),
            Many(
                "services", "What else shall the server do? Several of the words below with commas, or the name of a program.",
                "Anything else it shall do?", ("profile", "users"),
            ),
        ),
    ),
    Group(
        "Your data",
        (
            Many(
                "data.sets", "What do you keep? Name the first body of data, such as shared documents.",
                "Another body of data?", ("kind", "size", "files", "growth", "adds", "service", "copied"),
            ),
            One("compliance.personal_data"),
        ),
    ),
    Group(
        "If it stops",
        (
            One("usual.down"), One("usual.lost"), Many("services", "", "", ("down", "lost"), named=False),
            One("backup.away"), One("power.hold"),
        ),
    ),
    Group("Money", (One("budget.once"), One("budget.tax"))),
)  # fmt: skip

LATER = ("lasting", "declined", "pins", "domains", "parties", "traffic")
"""Sections about a plan that is already there, or that want papers at hand: not for the first meeting."""
PERSONAL = (
    "office.name", "office.country", "office.as_of", "support.who", "support.on_site", "support.reach", "budget.once",
    "budget.tax",
)  # fmt: skip
"""What a similar office can't answer."""
ROUGH: Group = Group("Rough price in ten answers", tuple(One(f"rough.{name}") for name in Rough.model_fields))
ORDER = (
    "office", "support", "people", "devices", "visitors", "compliance", "premises", "power", "lines", "network", "services",
    "data", "backup", "budget",
)  # fmt: skip
"""Sections in the order of the meeting; others follow in their own."""
ON_THEIR_OWN = ("business application", "database", "files")
"""Services that people wait for: asked by themselves how long they may be down."""
FOR_SOME = ("business application", "database", "remote access", "camera recorder")
"""Services that often only some people use."""

BASICS: Mapping[str, str] = {
    "firewall": "firewall", "directory": "directory", "names": "names and addresses", "copies": "backup",
}  # fmt: skip
"""What every office of this kind gets: slug and profile."""
PLAIN: Mapping[str, str] = {
    "files": "shared files", "print": "printing", "business application": "a program of your trade",
    "database": "a database", "remote access": "work from home", "camera recorder": "camera pictures",
    "wireless controller": "looking after the radio", "network monitor": "an eye on the network",
    "content filter": "keeping bad pages out", "firewall": "a guard at the line", "directory": "signing in",
    "names and addresses": "names and addresses", "backup": "copies",
}  # fmt: skip
"""Service profiles in plain words."""

WORDING: Mapping[str, Wording] = {
    "office.name": Wording(why="It stands on every sheet."),
    "office.country": Wording("In which country is the office (two letters)?", "Mains, paper and tax differ."),
    "office.currency": Wording("In which currency do you pay (three letters)?", "Prices are in it."),
    "office.as_of": Wording(why="Warranties and growth are counted from this day."),
    "office.horizon": Wording("For how many years should it last?", "Disks and memory are sized for the last day."),
    "office.mains": Wording(why="Watts and amperes of the circuit follow from it."),
    "office.paper": Wording("Which paper do you print on, A4 or letter?", "The book is printed on it."),
    "support.who": Wording("Who will look after the server?", "A server that nobody looks after is a finding by itself.",
                           "Orla Quinn, consultant"),
    "support.on_site": Wording("Who in the house knows where it stands?", "Somebody must let the technician in.",
                               "Tom Farrell, house manager"),
    "support.reach": Wording("How soon can whoever looks after it be there?", "A repair begins when somebody is there."),
    "people.roles": Wording(why="Different work has different hours; heads, devices and licences follow.", like="Office"),
    "people.roles.*.heads": Wording(why="Nearly everything is sized by it."),
    "people.roles.*.growth": Wording("How fast will they become more?", "The server must do until the last year."),
    "people.roles.*.days": Wording("On which days do they work?", "Copies and repairs keep clear of them."),
    "people.roles.*.hours": Wording(why="The busiest hour sizes the server; copies run outside it."),
    "people.roles.*.present": Wording("Which share of them is there at the same time?", "Shifts and days off make it less."),
    "devices": Wording(why="Each needs a socket or radio, an address and a zone.", like="Office PCs"),
    "devices.*.kind": Wording("What kind of thing is it?", "Some are powered over their cable, some must stay apart."),
    "devices.*.zone": Wording("Which network do they belong in?", "Things that must not see each other are kept apart."),
    "compliance.payment_cards": Wording("Do you take payment cards?", "Card rules ask for a network of their own."),
    "visitors.events": Wording(why="Visitors' telephones need addresses and radio.", like="Evening show"),
    "visitors.events.*.stay": Wording(why="It says how long an address is in use."),
    "visitors.join": Wording("How many of them join the network?", "Not everybody does."),
    "premises.cabinet.place": Wording("Where will the server stand?", "Noise, heat and locks depend on it.", "store room"),
    "premises.cabinet.wanted": Wording("Shall it stand in a cabinet?", "A cabinet can be locked; it needs depth."),
    "premises.cabinet.depth": Wording("How deep is that space, from wall to door?", "Servers are deeper than they look."),
    "premises.cabinet.height": Wording("How high is that space?", "A cabinet must stand upright in it."),
    "premises.noise": Wording(why="A quiet server costs more, a loud one costs nerves."),
    "premises.circuits": Wording(why="Server and battery hang on it.", like="Store room"),
    "premises.circuits.*.rating": Wording("What is written on its breaker?", "It says how much may hang on it.", "16 A"),
    "lines": Wording(why="Visitors, copies elsewhere and people at home share it.", like="Fibre"),
    "lines.*.down": Wording("How fast is it to you?", "It is on the contract."),
    "lines.*.up": Wording("And from you?", "Copies elsewhere go this way."),
    "lines.*.monthly": Wording("What do you pay a month for it?", "It stands among the fees.", "45.00 EUR"),
    "lines.*.standby": Wording("Is it only for when the other fails?", "Then it does not count every day."),
    "usual.basics": Wording("Every office gets a firewall, signing in, names and addresses, and copies. Shall all four be planned?",
                            "Without them nothing else can be looked after."),
    "services": Wording(why="Each needs cores, memory and disk.", like="files, print"),
    "services.*.profile": Wording("Which of these is it most like?", "The profile says how much it needs."),
    "services.*.users": Wording("How many people use it, if not all?", "Fewer people need less."),
    "services.*.down": Wording("How long may it be down, if not as the others?", "It decides about spare parts and copies."),
    "services.*.lost": Wording("How much of its work may be lost, if not as the others?", "It decides how often it is copied."),
    "data.sets": Wording(why="It must fit today and in the last year, and be copied.", like="Shared documents"),
    "data.sets.*.kind": Wording(why="Some shrink when copied, some change every day."),
    "data.sets.*.size": Wording(why="Disks are sized by it."),
    "data.sets.*.files": Wording(why="Many small files take longer to copy than a few large ones."),
    "data.sets.*.service": Wording(why="It says which machine holds it."),
    "compliance.personal_data": Wording("Do you keep data about people?", "Law then asks who may see them."),
    "usual.down": Wording("How long could you work without the server?", "The shorter, the dearer."),
    "usual.lost": Wording("How many hours of work could you lose?", "It decides how often copies are made."),
    "backup.away": Wording("How shall the copy outside the house be kept?", "Fire and thieves take what is at hand."),
    "power.hold": Wording("How long should it carry on without mains?", "The battery is sized by it."),
    "budget.once": Wording("How much may it cost once, tax included?", "It is compared with the rough price."),
    "budget.tax": Wording("What is the rate of tax?", "Prices are shown with it."),
}  # fmt: skip
