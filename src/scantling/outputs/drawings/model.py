"""What a drawing is told: plain frozen view models, filled from a plan by somebody else.

Everything a reader sees comes in here, numbers included, already written as people read them. A drawing only
places, measures and cuts. Where a length is drawn to scale the model carries the number (`value`) beside its
writing (`text`).

    N-1, N-2   RoomsSheet     rooms.owners_sheet(model, look), rooms.technicians_sheet(model, look)
    S-1        SectionSheet   section.section_sheet(model, look)

What the other sheets are told stands beside them: `cabinet_model`, `matrix_model`, `address_model`, `paths_model`.
"""

from dataclasses import dataclass
from typing import Literal

Weight = Literal["stop", "mend", "note"]
Paper = Literal["A3", "tabloid"]
"""A3 landscape (420 x 297 mm), or 11 x 17 in where the brief's paper is "letter"."""


@dataclass(frozen=True, slots=True)
class Text:
    """A few words; with a figure's id they are underlined with dots and lead to its working."""

    text: str
    figure: str = ""


Phrase = tuple[Text, ...]
"""One sentence or line, of plain words and figures; blanks between the parts are the writer's own."""


def plain(text: str) -> Phrase:
    """A phrase without figures."""
    return (Text(text),)


@dataclass(frozen=True, slots=True)
class Amount:
    """A number drawn to scale: the value sets the length, the text is what is printed beside it."""

    value: float
    text: str
    figure: str = ""


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """The fields of the title block; a field left empty is drawn as a dash."""

    client: str
    title: str
    planned_for: str
    """Such as "24 staff, 40 volunteers, 450 visitors"."""
    sheet: str
    """Sheet number, such as "N-1"."""
    sheet_of: str
    """Place in the set, such as "2 of 3"."""
    revision: str
    date: str
    drawn: str
    checked: str = ""
    proof: str = "not proved"
    paper: Paper = "A3"


@dataclass(frozen=True, slots=True)
class PencilNote:
    """One finding in red pencil. The number is the one in the triangle, the same on every sheet of a set."""

    number: int
    weight: Weight
    sentence: Phrase
    remedy: Phrase = ()
    code: str = ""
    """Code of the finding, such as "B-1"."""


@dataclass(frozen=True, slots=True)
class StreetLine:
    """One line to the outside, which ends at the wall of the building."""

    name: str
    lines: tuple[Phrase, ...]
    """Such as "500 down, 100 up, Mbit/s", and what still works on it when it stands by."""
    standby: bool = False
    slug: str = ""


@dataclass(frozen=True, slots=True)
class Count:
    """So many of something, in a column of numbers: number "14", label "office PCs"."""

    number: str
    label: str
    figure: str = ""


@dataclass(frozen=True, slots=True)
class RoomTechnical:
    """What a technician must know of a room. Empty text: the room has none."""

    subnet: Text
    gateway: Text
    static: Text = Text("")
    """"10.44.30.2 \u2013 10.44.30.19": first and last, an en dash between blanks; set on two rows."""
    reserved: Text = Text("")
    leased: Text = Text("")
    lease: Text = Text("")
    """Lease time."""


@dataclass(frozen=True, slots=True)
class Holder:
    """Who holds an address."""

    name: str
    address: Text


@dataclass(frozen=True, slots=True)
class Room:
    """One zone. Rooms are placed by their number, so that they keep their places between revisions."""

    slug: str
    name: str
    number: int
    size: Literal[1, 2, 3]
    """Step of width, by number of devices."""
    counts: tuple[Count, ...]
    """People first, then devices, in plain words."""
    lines: tuple[Phrase, ...] = ()
    """Other plain remarks."""
    technical: RoomTechnical | None = None
    addresses: tuple[Holder, ...] = ()
    """Machines and reserved devices of this room, one address each."""
    findings: tuple[int, ...] = ()
    """Numbers of the pencil notes about this room."""


@dataclass(frozen=True, slots=True)
class Caller:
    """One line of the door schedule: who may use a door, and for what. Hours empty: always."""

    who: str
    wants: Phrase
    hours: str = ""


@dataclass(frozen=True, slots=True)
class Passage:
    """The same for a technician: one caller and one that is called on, and which rules let them."""

    who: str
    whom: str
    wants: str
    hours: str
    carried: str
    """Protocols and ports, such as "tcp 80, 443; udp 443"."""
    rules: str
    """Numbers of the rules, without what is before them."""
    logged: str = "no"


@dataclass(frozen=True, slots=True)
class Door:
    """One door with who may use it, or a part of the schedule that has no door."""

    kind: Literal["room", "out", "in", "corridor", "never", "always"]
    """Into a room, out to the street, in from it; the firewall itself; what is forbidden; what every room needs."""
    number: str
    """That of its room; the two doors to the street have the first numbers that no room has. Empty: no door."""
    room: str
    """Slug of the room that is called on."""
    name: str
    """Whom it leads to, such as "Servers"."""
    callers: tuple[Caller, ...]
    passages: tuple[Passage, ...] = ()

    @property
    def key(self) -> str:
        """What the drawings know it by: its number, or the kind of what has no door."""
        return self.number or self.kind


@dataclass(frozen=True, slots=True)
class RoomsSheet:
    """The network by rooms. The owner's and the technician's sheets share everything but the title block."""

    block: TitleBlock
    technical_block: TitleBlock
    corridor: str
    """Name of the firewall, for the corridor."""
    street: tuple[StreetLine, ...]
    rooms: tuple[Room, ...]
    pencil: tuple[PencilNote, ...] = ()
    notes: tuple[Phrase, ...] = ()
    technical_notes: tuple[Phrase, ...] = ()
    size_note: str = ""
    """What the three widths mean, such as "up to 5, up to 20 and more devices"."""
    outside_findings: tuple[int, ...] = ()
    """Numbers of the pencil notes about the lines to the outside."""
    doors: tuple[Door, ...] | None = None
    """In the order of the schedule; None: not yet planned."""
    schedule: str = ""
    """Number of the sheet on which the technician's door schedule begins."""


@dataclass(frozen=True, slots=True)
class Host:
    """The server itself."""

    name: str
    line: Phrase
    """Such as "two processors of 12 cores, short rack"."""
    findings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Floor:
    """One virtual machine, a storey of the server."""

    slug: str
    name: str
    roles: str
    cores: Amount
    memory_floor: Amount
    memory_expected: Amount
    memory_ceiling: Amount
    findings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Joists:
    """One array of disks, carrying the floors."""

    slug: str
    name: str
    level: str
    """Such as "mirror" or "double parity"."""
    disks: Phrase
    """Such as "6 disks of 12 TB"."""
    disk_count: int
    """Disks drawn."""
    usable: Amount
    filled_now: Amount
    filled_horizon: Amount
    horizon: str = "at the horizon"
    """When, such as "in 5 years"."""
    findings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Outbuilding:
    """One copy of the data, apart from the server."""

    slug: str
    name: str
    place: str
    capacity: Phrase
    road: Phrase
    """The road to it, such as "1 Gbit/s, 3.2 h a night"."""
    note: Phrase = ()
    off_site: bool = False
    findings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Foundation:
    """What carries the server when the mains fail."""

    name: str
    line: Phrase
    """Such as "carries everything for 14 min; shutting down takes 6 min"."""
    findings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class SectionSheet:
    """The server in section."""

    block: TitleBlock
    host: Host
    floors: tuple[Floor, ...]
    memory_total: Amount
    memory_marks: tuple[tuple[str, Amount], ...]
    """Sums over all floors, drawn on the same rule as the memory fitted: ("floors", ...), ("expected", ...), ..."""
    memory_unit: str
    arrays: tuple[Joists, ...]
    copies: tuple[Outbuilding, ...]
    foundation: Foundation | None
    pencil: tuple[PencilNote, ...] = ()
    notes: tuple[Phrase, ...] = ()
