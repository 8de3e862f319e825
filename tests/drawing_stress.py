"""View models that strain the drawings: few rooms, many, long names, hostile text, the inch paper, odd servers."""

from dataclasses import replace

from scantling.outputs.drawings.model import Amount, Count, Holder, PencilNote, Room, Text, plain
from test_drawings_offices import LARGE_ROOMS, LARGE_SECTION, SMALL_ROOMS, SMALL_SECTION, technical

HOSTILE = (
    "<script>alert(1)</script>",
    "Fish & Chips \"Ltd\" 'Co' ]]> <!-- -->",
    "right\u202eto left override\u202c",
    "control \x00\x01\x08\x0b\x1b[31m\x7f\x85 characters",
    "emoji \U0001f600 and \U0001f9d1\u200d\U0001f680 and \ud83d alone",
    "नमस्ते Ωμέγα Жук 漢字 עברית العربية",
    "line\nbreak\ttab\r\n\u2028sep",
    "\ufffe\uffff\U0001ffff",
    "Zoë Łukasz e\u0301" + "\u0301" * 30,
    "W" * 300,
    "a name of many words " * 15,
    "&lt;already&amp;escaped&gt; &#x41;",
    "#{typst} $math$ \\command @ref `raw`",
    "   ",
    "",
)


def hostile_rooms(text: str):
    """The small office with one text in every place a client can type in."""
    phrase = (Text(text), Text(f" {text}", "some.figure"))
    note = PencilNote(12, "stop", phrase, phrase, text)
    rooms = tuple(
        Room(
            f"room-{number}",
            text,
            number,
            1,
            (Count(text, text, "a.figure"), Count("3", text)),
            (phrase,),
            technical(number, 24, text),
            tuple(Holder(text, Text(f"10.44.{number}.{last}")) for last in range(9)),
            (12,),
        )
        for number in (10, 20, 30, 60)
    )
    block = replace(
        SMALL_ROOMS.block,
        client=text,
        title=text,
        planned_for=text,
        revision=text,
        date=text,
        drawn=text,
        checked=text,
        proof=text,
    )
    street = (
        replace(SMALL_ROOMS.street[0], name=text, lines=(phrase,)),
        replace(SMALL_ROOMS.street[0], name=text, standby=True),
    )
    return replace(
        SMALL_ROOMS,
        block=block,
        technical_block=replace(block, sheet="N-2"),
        corridor=text,
        street=street,
        rooms=rooms,
        pencil=(note,),
        notes=(phrase, phrase),
        technical_notes=(phrase,),
        size_note=text,
        outside_findings=(12,),
    )


def hostile_section(text: str):
    """The small server with one text in every place a client can type in."""
    phrase = (Text(text), Text(f" {text}", "some.figure"))
    amount = Amount(3.0, text, "a.figure")
    floors = tuple(
        replace(
            each,
            name=text,
            roles=text,
            cores=amount,
            memory_floor=amount,
            memory_expected=amount,
            memory_ceiling=amount,
            findings=(7,),
        )
        for each in SMALL_SECTION.floors
    )
    arrays = tuple(
        replace(
            each,
            name=text,
            level=text,
            disks=phrase,
            usable=amount,
            filled_now=amount,
            filled_horizon=amount,
            horizon=text,
            findings=(7,),
        )
        for each in SMALL_SECTION.arrays
    )
    copies = tuple(
        replace(each, name=text, place=text, capacity=phrase, road=phrase, note=phrase, findings=(7,))
        for each in SMALL_SECTION.copies
    )
    assert SMALL_SECTION.foundation
    return replace(
        SMALL_SECTION,
        block=replace(SMALL_SECTION.block, client=text, title=text),
        host=replace(SMALL_SECTION.host, name=text, line=phrase, findings=(7,)),
        floors=floors,
        memory_total=amount,
        memory_marks=((text, amount), (text, amount), (text, amount)),
        memory_unit=text,
        arrays=arrays,
        copies=copies,
        foundation=replace(SMALL_SECTION.foundation, name=text, line=phrase, findings=(7,)),
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
    )  # type: ignore[arg-type]
    for number in range(1, 26)
)
_LONG = "The long room of the volunteers and their guests"
_US = {
    "block": replace(LARGE_ROOMS.block, paper="tabloid"),
    "technical_block": replace(LARGE_ROOMS.technical_block, paper="tabloid"),
}

STRESS_ROOMS = {
    "one room": replace(SMALL_ROOMS, rooms=SMALL_ROOMS.rooms[:1]),
    "three rooms": replace(SMALL_ROOMS, rooms=SMALL_ROOMS.rooms[1:]),
    "no rooms": replace(SMALL_ROOMS, rooms=(), street=()),
    "eleven wide rooms": replace(LARGE_ROOMS, rooms=tuple(replace(room, size=3) for room in LARGE_ROOMS.rooms)),
    "long names": replace(
        LARGE_ROOMS, rooms=tuple(replace(room, name=f"{_LONG} {room.number}") for room in LARGE_ROOMS.rooms)
    ),
    "inch paper": replace(LARGE_ROOMS, **_US),
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
    **{f"hostile {place}": hostile_rooms(text) for place, text in enumerate(HOSTILE)},
}

_TEXTS = {"block": replace(LARGE_SECTION.block, paper="tabloid")}
STRESS_SECTIONS = {
    "inch paper": replace(LARGE_SECTION, **_TEXTS),
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
    **{f"hostile {place}": hostile_section(text) for place, text in enumerate(HOSTILE)},
}
