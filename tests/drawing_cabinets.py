"""Invented cabinets and cupboards as view models, the smallest and the largest, and some that strain the drawing."""

from dataclasses import replace

from drawing_offices import FELL, MILL, block
from scantling.outputs.drawings.cabinet_model import CabinetSheet, Elsewhere, Front, Part
from scantling.outputs.drawings.model import Amount, PencilNote, Text, Weight, plain

NOTES = (plain("Load from the bottom up."), (Text("The heaviest piece weighs "), Text("78 kg", "power.heaviest")))


def part(slug: str, name: str, fronts: tuple[Front, ...], kilograms: float, findings: tuple[int, ...] = ()) -> Part:
    """One part with its units and weight written as people read them."""
    low, high = fronts[0].lowest, fronts[-1].lowest + fronts[-1].height - 1
    units = Text(f"unit {low}" if low == high else f"units {low} to {high}", f"places.{slug}.lowest")
    weight = Text(f"{kilograms} kg" + (" each" if len(fronts) > 1 else ""), f"places.{slug}.weight")
    return Part(slug, name, f"article of the {name.lower()}", units, weight, fronts, findings)


def switch(lowest: int, ports: int = 48, fed: int = 0) -> Front:
    """A switch of one unit."""
    return Front("switch", lowest, 1, 320, ports=ports, fed=fed, uplinks=4)


FOUND: tuple[tuple[int, Weight, str], ...] = (
    (1, "stop", "P-1"), (2, "mend", "E-2"), (3, "mend", "E-3"), (4, "note", "W-1"), (5, "note", "C-5"),
)  # fmt: skip

SMALL_CABINET = CabinetSheet(
    block=block("P-1", "4 of 4", "The server's place, front", *FELL), name="Cupboard under the stairs", place="no cabinet", cabinet=False,
    units=20, height=Amount(900, "900 mm", "brief.premises.cabinet.height"), depth=Amount(650, "650 mm", "brief.premises.cabinet.depth"),
    deepest=Amount(560, "560 mm", "premises.deepest"),
    parts=(
        part("ups", "Battery unit", (Front("battery", 1, 3, 360),), 12),
        part("host", "Server", (Front("tower", 5, 5, 560, bays=4, filled=2),), 15.4),
        part("near", "Copy at hand", (Front("box", 11, 4, 290),), 8),
        part("switch", "Switches", (switch(20, 24, 12),), 3.4, (1,)),
    ),
    elsewhere=(Elsewhere("three disks to carry, 10 TB each", "away from the premises"),),
    total=Text("38.8 kg", "places.weight"), own=Text(""), centre=Amount(321.2, "321.2 mm", "places.centre"),
    pencil=(PencilNote(1, "note", plain("One switch carries all 19 ports."), plain("Keep a spare one."), "W-3"),), notes=NOTES,
)  # fmt: skip

LARGE_CABINET = CabinetSheet(
    block=block("P-1", "4 of 4", "Cabinet, front", *MILL), name="Floor cabinet, 42 units", place="plant room, first floor", cabinet=True,
    units=42, height=Amount(2050, "2050 mm", "catalogue.cabinet.floor-42.own_height"),
    depth=Amount(1070, "1070 mm", "catalogue.cabinet.floor-42.own_depth"), deepest=Amount(740, "740 mm", "premises.deepest"),
    parts=(
        part("ups", "Battery unit", (Front("battery", 1, 5, 640),), 76, (3,)),
        part("host", "Server", (Front("rack", 7, 2, 740, bays=12, filled=9), Front("rack", 9, 2, 740, bays=8, filled=8)), 31.2, (2,)),
        part("near", "Copy at hand", (Front("box", 13, 4, 290),), 18),
        part("doors", "Door controller", (Front("other", 18, 2, 240),), 5),
        part("switch", "Switches", tuple(switch(unit, 48, 48) for unit in range(36, 40)), 6.2, (1, 4)),
        Part("panels", "Panels, not yet planned", "room set aside", Text("units 40 to 42", "places.panels.lowest"), Text(""),
             (Front("aside", 40, 3),)),
    ),
    elsewhere=(Elsewhere("ten tapes", "away from the premises"), Elsewhere("vault kept by others", "away from the premises")),
    total=Text("204.2 kg", "places.weight"), own=Text("98 kg", "catalogue.cabinet.floor-42.lift_weight"),
    centre=Amount(506.6, "506.6 mm", "places.centre"), findings=(5,),
    pencil=tuple(
        PencilNote(number, weight, plain(f"Finding {number} of the sheet."), plain("Mend it."), code)
        for number, weight, code in FOUND
    ),
    notes=NOTES,
)  # fmt: skip


def hostile_cabinet(text: str) -> CabinetSheet:
    """The small office's cupboard with one text in every place that words can reach."""
    phrase = (Text(text), Text(f" {text}", "some.figure"))
    amount = Amount(700.0, text, "a.figure")
    written = Text(text, "a.figure")
    told = replace(SMALL_CABINET.block, client=text, title=text, planned_for=text, sheet_of=text, date=text)
    return replace(
        SMALL_CABINET, block=told, name=text, place=text, height=amount, depth=amount, deepest=amount, centre=amount, total=written,
        own=written, findings=(7,), notes=(phrase,), pencil=(PencilNote(7, "mend", phrase, phrase, text),),
        parts=tuple(
            replace(one, name=text, article=text, units=written, weight=written, findings=(7,)) for one in SMALL_CABINET.parts
        ),
        elsewhere=(Elsewhere(text, text), Elsewhere(text, text)),
    )  # fmt: skip


_EACH = tuple(
    part(f"piece-{unit}", f"Piece {unit}", (Front("rack", unit, 1, 600, bays=4, filled=1),), 9.5)
    for unit in range(1, 37)
)

STRESS_CABINETS: dict[str, CabinetSheet] = {
    "nothing": replace(LARGE_CABINET, parts=(), elsewhere=(), pencil=(), findings=()),
    "nothing, no cabinet": replace(SMALL_CABINET, parts=(), elsewhere=()),
    "wall cabinet": replace(
        LARGE_CABINET, units=15, height=Amount(780, "780 mm"), depth=Amount(600, "600 mm"), parts=SMALL_CABINET.parts[:3]
    ),
    "a high space": replace(SMALL_CABINET, units=67, height=Amount(3000, "3000 mm"), depth=Amount(2000, "2000 mm")),
    "a hall": replace(SMALL_CABINET, units=224, height=Amount(10000, "10 m"), depth=Amount(10000, "10 m")),
    "a flat space": replace(SMALL_CABINET, units=4, height=Amount(200, "200 mm")),
    "full of small pieces": replace(LARGE_CABINET, parts=(*_EACH, *LARGE_CABINET.parts[-1:])),
    "higher than the cabinet": replace(
        LARGE_CABINET, units=18, height=Amount(960, "960 mm"), depth=Amount(900, "900 mm")
    ),
    "in one unit": replace(
        LARGE_CABINET,
        parts=tuple(
            replace(one, fronts=tuple(replace(each, lowest=1) for each in one.fronts)) for one in LARGE_CABINET.parts
        ),
    ),
    "many findings": replace(
        LARGE_CABINET, parts=tuple(replace(one, findings=(1, 2, 3, 4, 5)) for one in LARGE_CABINET.parts),
        findings=(1, 2, 3, 4, 5),
    ),
    "inch paper": replace(LARGE_CABINET, block=replace(LARGE_CABINET.block, paper="tabloid")),
    "inch paper, no cabinet": replace(SMALL_CABINET, block=replace(SMALL_CABINET.block, paper="tabloid")),
}  # fmt: skip
