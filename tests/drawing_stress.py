"""View models that strain the drawings: few rooms, many, long names, hostile text, the inch paper, odd servers."""

from dataclasses import replace

from drawing_offices import LARGE_ROOMS, SMALL_ROOMS, technical
from drawing_servers import LARGE_SECTION, SMALL_SECTION
from hostile import EVERYTHING
from scantling.outputs.drawings.model import (
    Amount,
    Count,
    Floor,
    Foundation,
    Holder,
    Host,
    Joists,
    Outbuilding,
    PencilNote,
    Room,
    RoomsSheet,
    SectionSheet,
    StreetLine,
    Text,
    TitleBlock,
    plain,
)

STRANGE = (
    "Fish & Chips \"Ltd\" 'Co' ]]> <!-- -->",
    "right\u202eto left override\u202c",
    "control \x00\x01\x08\x0b\x1b[31m\x7f\x85 characters",
    "emoji \U0001f600 and \U0001f9d1\u200d\U0001f680 and \ud83d alone",
    "\u0928\u092e\u0938\u094d\u0924\u0947 \u03a9\u03bc\u03ad\u03b3\u03b1 \u0416\u0443\u043a \u6f22\u5b57",
    "\u05e2\u05d1\u05e8\u05d9\u05ea \u0627\u0644\u0639",
    "line\nbreak\ttab\r\n\u2028sep",
    "\ufffe\uffff\U0001ffff",
    "Zo\u00eb \u0141ukasz e" + "\u0301" * 30,
    "W" * 300,
    "a name of many words " * 15,
    "   ",
    "",
)
"""Texts that strain the lettering; the list that all outputs share comes on top."""
HOSTILE = (*STRANGE, *EVERYTHING)


def hostile_block(block: TitleBlock, text: str) -> TitleBlock:
    """Every field of a title block but the sheet's number."""
    return TitleBlock(text, text, text, block.sheet, text, text, text, text, text, text)


def hostile_room(text: str, number: int) -> Room:
    """A room with the text in every place."""
    phrase = (Text(text), Text(f" {text}", "some.figure"))
    counts = (Count(text, text, "a.figure"), Count("3", text))
    held = tuple(Holder(text, Text(f"10.44.{number}.{last}")) for last in range(9))
    return Room(f"room-{number}", text, number, 1, counts, (phrase,), technical(number, 24, text), held, (12,))


def hostile_rooms(text: str) -> RoomsSheet:
    """The small office with one text in every place a client can type in."""
    phrase = (Text(text), Text(f" {text}", "some.figure"))
    block = hostile_block(SMALL_ROOMS.block, text)
    return replace(
        SMALL_ROOMS,
        block=block,
        technical_block=replace(block, sheet="N-2"),
        corridor=text,
        street=(StreetLine(text, (phrase,)), StreetLine(text, (phrase,), standby=True)),
        rooms=tuple(hostile_room(text, number) for number in (10, 20, 30, 60)),
        pencil=(PencilNote(12, "stop", phrase, phrase, text),),
        notes=(phrase, phrase),
        technical_notes=(phrase,),
        size_note=text,
        outside_findings=(12,),
    )


def hostile_floor(text: str, number: int) -> Floor:
    """A machine with the text in every place."""
    amount = Amount(3.0, text, "a.figure")
    return Floor(f"floor-{number}", text, text, amount, amount, amount, amount, (7,))


def hostile_joists(text: str, number: int) -> Joists:
    """An array with the text in every place."""
    phrase = (Text(text), Text(f" {text}", "some.figure"))
    amount = Amount(3.0, text, "a.figure")
    return Joists(f"array-{number}", text, text, phrase, 4, amount, amount, amount, text, (7,))


def hostile_copy(text: str, *, off_site: bool) -> Outbuilding:
    """A copy with the text in every place."""
    phrase = (Text(text), Text(f" {text}", "some.figure"))
    return Outbuilding("copy", text, text, phrase, phrase, phrase, off_site, (7,))


def hostile_section(text: str) -> SectionSheet:
    """The small server with one text in every place a client can type in."""
    phrase = (Text(text), Text(f" {text}", "some.figure"))
    amount = Amount(3.0, text, "a.figure")
    return SectionSheet(
        block=hostile_block(SMALL_SECTION.block, text),
        host=Host(text, phrase, (7,)),
        floors=tuple(hostile_floor(text, number) for number in range(4)),
        memory_total=amount,
        memory_marks=((text, amount), (text, amount), (text, amount)),
        memory_unit=text,
        arrays=tuple(hostile_joists(text, number) for number in range(2)),
        copies=(hostile_copy(text, off_site=False), hostile_copy(text, off_site=True)),
        foundation=Foundation(text, phrase, (7,)),
        pencil=(PencilNote(7, "mend", phrase, phrase, text),),
        notes=(phrase,),
    )


_MANY_NOTES = tuple(
    PencilNote(
        number,
        ("stop", "mend", "note")[number % 3],
        plain(f"Finding {number}: " + "something is not as it should be here. " * 3),
        plain("Do this. " * 6),
        f"X-{number}",
    )
    for number in range(1, 26)
)
_LONG = "The long room of the volunteers and their guests"

STRESS_ROOMS: dict[str, RoomsSheet] = {
    "one room": replace(SMALL_ROOMS, rooms=SMALL_ROOMS.rooms[:1]),
    "three rooms": replace(SMALL_ROOMS, rooms=SMALL_ROOMS.rooms[1:]),
    "no rooms": replace(SMALL_ROOMS, rooms=(), street=()),
    "eleven wide rooms": replace(LARGE_ROOMS, rooms=tuple(replace(room, size=3) for room in LARGE_ROOMS.rooms)),
    "long names": replace(
        LARGE_ROOMS, rooms=tuple(replace(room, name=f"{_LONG} {room.number}") for room in LARGE_ROOMS.rooms)
    ),
    "inch paper": replace(
        LARGE_ROOMS,
        block=replace(LARGE_ROOMS.block, paper="tabloid"),
        technical_block=replace(LARGE_ROOMS.technical_block, paper="tabloid"),
    ),
    "all findings": replace(
        LARGE_ROOMS,
        pencil=_MANY_NOTES,
        rooms=tuple(replace(room, findings=tuple(range(1, 26))) for room in LARGE_ROOMS.rooms),
        outside_findings=(1, 2, 3),
    ),
    "many addresses": replace(
        LARGE_ROOMS,
        rooms=tuple(
            replace(
                room,
                addresses=tuple(
                    Holder(f"{room.slug}-{place}", Text(f"10.44.{room.number}.{place}")) for place in range(20, 36)
                ),
            )
            for room in LARGE_ROOMS.rooms
        ),
    ),
    "many counts": replace(
        LARGE_ROOMS,
        rooms=tuple(
            replace(room, counts=tuple(Count(str(place), "kinds of things with a long name") for place in range(20)))
            for room in LARGE_ROOMS.rooms
        ),
    ),
    "four lines": replace(SMALL_ROOMS, street=(*LARGE_ROOMS.street, *LARGE_ROOMS.street)),
    "zones of one ten": replace(
        SMALL_ROOMS, rooms=tuple(replace(room, number=20 + place) for place, room in enumerate(SMALL_ROOMS.rooms))
    ),
    **{f"strange {place}": hostile_rooms(text) for place, text in enumerate(STRANGE)},
}

STRESS_SECTIONS: dict[str, SectionSheet] = {
    "inch paper": replace(LARGE_SECTION, block=replace(LARGE_SECTION.block, paper="tabloid")),
    "one machine": replace(
        SMALL_SECTION, floors=SMALL_SECTION.floors[:1], arrays=SMALL_SECTION.arrays[:1], copies=()
    ),
    "nothing": replace(SMALL_SECTION, floors=(), arrays=(), copies=(), foundation=None, memory_marks=()),
    "twelve machines": replace(LARGE_SECTION, floors=(*LARGE_SECTION.floors, *SMALL_SECTION.floors[:3])),
    "four copies": replace(LARGE_SECTION, copies=(*LARGE_SECTION.copies, *SMALL_SECTION.copies)),
    "only near copies": replace(SMALL_SECTION, copies=SMALL_SECTION.copies[:1]),
    "only away copies": replace(SMALL_SECTION, copies=SMALL_SECTION.copies[1:]),
    "many cores and disks": replace(
        LARGE_SECTION,
        floors=tuple(replace(each, cores=Amount(24, "24")) for each in LARGE_SECTION.floors),
        arrays=tuple(replace(each, disk_count=24) for each in LARGE_SECTION.arrays),
    ),
    "marks close together": replace(
        LARGE_SECTION,
        memory_marks=tuple(
            (name, Amount(60 + place, str(60 + place))) for place, (name, _) in enumerate(LARGE_SECTION.memory_marks)
        ),
    ),
    "expected over ceiling": replace(
        SMALL_SECTION, floors=tuple(replace(each, memory_expected=Amount(40, "40")) for each in SMALL_SECTION.floors)
    ),
    "nought": replace(
        SMALL_SECTION,
        memory_total=Amount(0, "0"),
        floors=tuple(
            replace(each, memory_ceiling=Amount(0, "0"), memory_expected=Amount(0, "0"), memory_floor=Amount(0, "0"))
            for each in SMALL_SECTION.floors
        ),
        arrays=tuple(
            replace(each, usable=Amount(0, "0"), filled_now=Amount(0, "0"), filled_horizon=Amount(0, "0"))
            for each in SMALL_SECTION.arrays
        ),
    ),
    "all findings": replace(
        LARGE_SECTION,
        pencil=_MANY_NOTES,
        floors=tuple(replace(each, findings=tuple(range(1, 26))) for each in LARGE_SECTION.floors),
        arrays=tuple(replace(each, findings=tuple(range(1, 26))) for each in LARGE_SECTION.arrays),
        copies=tuple(replace(each, findings=(1, 2, 3, 4, 5, 6)) for each in LARGE_SECTION.copies),
    ),
    **{f"strange {place}": hostile_section(text) for place, text in enumerate(STRANGE)},
}
