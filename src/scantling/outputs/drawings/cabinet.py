"""Sheet P-1, the cabinet from the front: every part to scale in its units, its weight beside it, depths from the side."""

from scantling.outputs.drawings import dimensions, fronts, pencil
from scantling.outputs.drawings.cabinet_model import CabinetSheet, Part
from scantling.outputs.drawings.elevation import UNIT, Elevation, arranged, filled_twice, free, spread
from scantling.outputs.drawings.floorplan import WALL, outer_face
from scantling.outputs.drawings.lettering import BOOK, LABEL, SIGN, STRONG, Hand, cut
from scantling.outputs.drawings.model import Text, plain
from scantling.outputs.drawings.paper import DAY, Box, Look, field_box
from scantling.outputs.drawings.pen import Pen, Point, course
from scantling.outputs.drawings.sheet import Margin, page
from scantling.outputs.drawings.svg import Element, element

NAME, PLACE = Hand(SIGN, 7.0), Hand(BOOK, 4.2, "quiet")
TITLE, READING = Hand(SIGN, 7.0), Hand(BOOK, 4.0, "quiet")
PART, ARTICLE, WEIGHT = Hand(SIGN, 4.2), Hand(BOOK, 3.6, "quiet"), Hand(STRONG, 3.8)
HEAD, MARK = Hand(LABEL, 3.1, "quiet"), Hand(LABEL, 2.6, "quiet")
SUM = Hand(BOOK, 3.8)
LEADER, WEIGHTS, STRIP = 14.0, 22.0, 4.0
"""Millimetres between the front and its labels, for the column of weights, for unit numbers beside a rail at least."""
TALL, LOW = 10.8, 5.6
"""A label of two rows and one of one row."""
RULED = 100
"""Millimetres between two height marks of a space without rails."""
READ = (
    "Numbers at the rails are height units of 44.45 mm, from below. A filled square is a port that feeds its device, a grip a disk that is "
    "there. Lightly hatched: free, closed by a blank panel. Dashed: kept for what is not planned yet. Heights to scale; things on "
    "boards are drawn narrower, their widths are not known."
)
READ_WITHOUT = (
    "Each thing stands on a board of its own, the heaviest lowest. Marks at both sides are millimetres over the floor, units are of "
    "44.45 mm. A filled square is a port that feeds its device, a grip a disk that is there. Heights to scale; the widths of the "
    "space and of the things in it are not known."
)


def cabinet_sheet(model: CabinetSheet, look: Look) -> str:
    """Sheet P-1 as SVG text."""
    pen, at = Pen(look), arranged(model)
    parts = (
        _name(pen, model, at), _case(pen, model, at), _marks(pen, model, at), *_parts(pen, model, at),
        _height(pen, model, at), *_labels(pen, model, at), _sums(pen, model, at), _side(pen, model, at),
        _centre(pen, model, at), _under_title(pen, model, at),
    )  # fmt: skip
    told = ", ".join(f"{part.name} in {part.units.text}" for part in reversed(model.parts)) or "nothing"
    return page(
        model.block, look, parts, Margin(model.notes, model.pencil), f"Front of {model.name}, from above: {told}."
    )


def _name(pen: Pen, model: CabinetSheet, at: Elevation) -> Element:
    """The cabinet's name and place over it, in a cloud where something is wrong with it."""
    field = field_box(model.block.paper)
    beside = _triangles_wide(model.findings, 60.0)
    room = field.right - 20 - at.front.left - beside
    rows = cut(model.name, NAME, room), cut(model.place, PLACE, room)
    wide = max(sum(piece.width for piece in row) for row in rows) + beside + 6
    box = Box(at.front.left - 3, at.crown - 18.5, at.front.left - 3 + wide, at.crown - 4.5)
    words = [*pen.words(model.name, (box.left + 3, box.top + 6.9), NAME, room)]
    words += pen.words(model.place, (box.left + 3, box.top + 12.0), PLACE, room)
    if model.findings:
        words.append(pencil.cloud(pen, box, 0.8))
        words += pencil.triangles(pen, model.pencil, model.findings, (box.right - 3, box.top + 8.2), beside)
    return element("g", *words, data_part="name")


def _triangles_wide(findings: tuple[int, ...], most: float) -> float:
    """Room for a triangle for each finding, as far as there is room."""
    return min(len(findings) * pencil.PITCH + 1.8, most) if findings else 0.0


def _case(pen: Pen, model: CabinetSheet, at: Elevation) -> Element:
    """The cabinet's frame and rails, or the walls of the space; the floor under it."""
    box, field = at.front, field_box(model.block.paper)
    corners = ((box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom))
    floor = pen.line((box.left - 12, box.bottom), (box.right + 8, box.bottom), "outer", data_part="ground")
    parts = [
        floor,
        pen.line((at.side.left - 6, box.bottom), (field.right - 7, box.bottom), "outer", data_part="ground"),
    ]
    if not model.cabinet:
        thick = WALL * pen.look.outer / DAY.outer
        both = f"{course(outer_face(corners, thick))} {course(corners)}"
        return element(
            "g", *parts, element("path", d=both, fill=pen.colour("ink"), fill_rule="evenodd", data_part="outer-wall")
        )
    parts.append(pen.box(box, "outer", data_part="wall"))
    rails = at.face(1, model.units)
    parts += [
        pen.line((x, rails.top), (x, rails.bottom), "door", data_part="rail") for x in (rails.left, rails.right)
    ]
    parts += [pen.line((rails.left, y), (rails.right, y), "door") for y in (rails.top, rails.bottom)]
    return element("g", *parts, data_part="case")


def _marks(pen: Pen, model: CabinetSheet, at: Elevation) -> Element:
    """Unit numbers on both rails; where there is no cabinet, millimetres over the floor on both walls."""
    face, pitch = at.face(1, model.units), UNIT / at.front_scale
    left, right = (at.front.left + face.left) / 2, (at.front.right + face.right) / 2
    parts: list[Element] = []
    if model.cabinet:
        each = 1 if pitch >= MARK.size * 1.05 else 5
        if face.left - at.front.left < STRIP:  # too narrow for numbers: they stand outside
            left, right = at.front.left - 2.4, at.front.right + 2.4
        for unit in [unit for unit in range(1, model.units + 1) if unit % each == 0 or each == 1]:
            level = (at.level(unit) + at.level(unit + 1)) / 2 + MARK.capital / 2
            for x in (left, right):
                parts += pen.words(str(unit), (x, level), MARK, STRIP, "middle")
        return element("g", *parts, data_part="units")
    each = next((RULED * n for n in (1, 2, 5, 10, 50) if RULED * n / at.front_scale >= MARK.size * 1.3), RULED * 100)
    for mark in range(RULED, int(model.height.value), RULED):
        height = at.front.bottom - mark / at.front_scale
        for x, way in ((at.front.left, 1), (at.front.right, -1)):
            parts.append(pen.line((x, height), (x + way * 1.4, height), "rule"))
        for x in (left + 0.9, right - 0.9) if mark % each == 0 else ():
            parts += pen.words(
                str(mark), (x, height + MARK.capital / 2), MARK, face.left - at.front.left - 2, "middle"
            )
    return element("g", *parts, data_part="units")


def _parts(pen: Pen, model: CabinetSheet, at: Elevation) -> list[Element]:
    """Blank panels first, then every front in its units, then the clouds round what is found wrong."""
    drawn = [fronts.blank(pen, at.face(low, high - low + 1)) for low, high in free(model)] if model.cabinet else []
    for part in model.parts:
        for one in part.fronts:
            face = at.face(one.lowest, one.height)
            drawn.append(fronts.front(pen, one, face))
            if one.kind in ("tower", "box") or not model.cabinet:
                drawn.append(_board(pen, face, 0.0 if model.cabinet else 3.0))
    for part in [part for part in model.parts if part.findings]:
        box = _round(part, at)
        drawn.append(pencil.cloud(pen, Box(box.left + 1.0, box.top - 0.4, box.right - 1.0, box.bottom + 0.4), 0.8))
    return [*drawn, *(fronts.twice(pen, at.face(low, high - low + 1)) for low, high in filled_twice(model))]


def _board(pen: Pen, face: Box, over: float) -> Element:
    """The board that a thing stands on, so much wider than the face on both sides."""
    ends = (face.left - over, face.bottom), (face.right + over, face.bottom)
    return pen.line(*ends, "partition", data_part="board")


def _round(part: Part, at: Elevation) -> Box:
    """The box round all fronts of a part."""
    faces = [at.face(one.lowest, one.height) for one in part.fronts]
    return Box(faces[0].left, min(face.top for face in faces), faces[0].right, max(face.bottom for face in faces))


def _height(pen: Pen, model: CabinetSheet, at: Elevation) -> Element:
    box, field = at.front, field_box(model.block.paper)
    x = box.left - 12.0
    return dimensions.upright(pen, model.height, ((box.left, box.bottom), (box.left, box.top)), x, x - field.left - 8)


def _column(at: Elevation) -> Box:
    """Where labels and weights stand: between the two views."""
    return Box(at.front.right + LEADER, at.crown - 1.8, at.side.left - 9.0, at.front.bottom - 1.5)


def _labels(pen: Pen, model: CabinetSheet, at: Elevation) -> list[Element]:
    """What each part is, in which units, how heavy; level with it, or as near as the others let it."""
    column = _column(at)
    box = Box(column.left, column.top + 5.0, column.right, column.bottom)
    order = sorted(model.parts, key=lambda part: _middle(part, at))
    tall = TALL if len(order) * TALL <= box.height else LOW
    holds = max(1, int(box.height / tall))
    shown = order if len(order) <= holds else order[: holds - 1]
    if len(shown) < len(order):
        box = Box(box.left, box.top, box.right, box.bottom - LOW)
    tops = spread([_middle(part, at) for part in shown], [tall] * len(shown), box.top, box.bottom)
    drawn: list[Element] = []
    if shown:
        drawn += pen.words("weight", (box.right, tops[0] - 2.4), HEAD, WEIGHTS, "end")
    for part, top in zip(shown, tops, strict=True):
        drawn.append(_label(pen, model, part, Box(box.left, top, box.right, top + tall)))
        start, end = (at.front.right + 4.6, _middle(part, at)), (box.left - 1.6, top + LOW / 2 + 0.4)
        drawn.append(_leader(pen, start, end))
    if len(shown) < len(order):
        more = f"{len(order) - len(shown)} more in the register of places"
        drawn += pen.words(more, (box.left, box.bottom + 4.3), ARTICLE, box.width)
    return drawn


def _middle(part: Part, at: Elevation) -> float:
    box = _round(part, at)
    return (box.top + box.bottom) / 2


def _label(pen: Pen, model: CabinetSheet, part: Part, box: Box) -> Element:
    beside = _triangles_wide(part.findings, box.width * 0.4)
    room = box.width - WEIGHTS - beside
    base = box.top + 4.3
    words = [*pen.words(part.weight, (box.right, base), WEIGHT, WEIGHTS - 1, "end")] if part.weight.text else []
    if box.height > LOW + 1:
        words += pen.words(part.name, (box.left, base), PART, room)
        told = (Text(f"{part.article}, " if part.article else ""), part.units)
        words += pen.words(told, (box.left, base + 4.5), ARTICLE, box.width - 0.5)
    else:
        words += pen.words((Text(f"{part.name}, "), part.units), (box.left, base), ARTICLE.inked("ink"), room)
    if part.findings:
        right = (box.right - WEIGHTS - 0.5, box.top + 3.6)
        words += pencil.triangles(pen, model.pencil, part.findings, right, beside)
    return element(
        "g",
        *words,
        data_part="label",
        data_slug=part.slug,
        data_box=Box(box.left, box.top - 0.3, box.right, box.bottom).written,
    )


def _leader(pen: Pen, start: Point, end: Point) -> Element:
    """From a part to its label: level first, then slanting."""
    return pen.path((start, (start[0] + 1.6, start[1]), end), "rule", "quiet", data_part="leader")


def _sums(pen: Pen, model: CabinetSheet, at: Elevation) -> Element:
    """Under the floor: what all weighs, where its centre of gravity lies, what stands elsewhere."""
    box = _column(at)
    base = at.front.bottom + 6.6
    rows: list[tuple[Text, Text]] = [(Text("all that stands there"), model.total)]
    rows += [(Text("the empty cabinet"), model.own)] if model.own.text else []
    rows.append((Text("centre of gravity, over the foot"), Text(model.centre.text, model.centre.figure)))
    drawn: list[Element] = [pen.line((box.right - WEIGHTS, base - 4.4), (box.right, base - 4.4), "door")]
    for label, value in rows:
        if value is rows[-1][1]:
            drawn.append(dimensions.centre_of_gravity(pen, (box.left + 1.7, base - 1.2), 1.6))
        row = cut(value, WEIGHT, WEIGHTS - 1)
        room = box.width - 7 - sum(piece.width for piece in row)
        drawn += [
            *pen.words(label, (box.left + 5.0, base), SUM, room),
            *pen.row(row, (box.right, base), WEIGHT, "end"),
        ]
        base += 5.2
    if model.elsewhere:
        told = "; ".join(f"{one.name}: {one.place}" for one in model.elsewhere)
        drawn += pen.paragraph(plain(f"Elsewhere: {told}"), (box.left + 5.0, base + 1.0), SUM, box.width - 5, 2)[0]
    return element("g", *drawn, data_part="sums")


def _centre(pen: Pen, model: CabinetSheet, at: Elevation) -> Element:
    """The sign of the centre of gravity on the axis of the front."""
    level = at.foot - model.centre.value / at.front_scale
    middle = (at.front.left + at.front.right) / 2
    level = min(max(level, at.front.top), at.front.bottom)
    return element(
        "g", *([dimensions.centre_of_gravity(pen, (middle, level), 2.2)] if model.parts else []), data_part="centre"
    )


def _side(pen: Pen, model: CabinetSheet, at: Elevation) -> Element:
    """The same from the side, the front at the left: how deep each part is, and the deepest."""
    box = at.side
    deep = [one for part in model.parts for one in part.fronts if one.depth > 0]
    drawn = [pen.box(box, "partition", data_part="wall")]
    drawn += [pen.box(at.profile(one), "rule", fill=pen.colour("paper"), data_part="profile") for one in deep]
    ends = ((box.left, box.bottom), (box.left + model.deepest.value / at.side_scale, box.bottom))
    drawn.append(dimensions.level(pen, model.deepest, ends, box.bottom + 7.0, 22))
    drawn.append(
        dimensions.level(pen, model.depth, ((box.left, box.bottom), (box.right, box.bottom)), box.bottom + 14.0, 22)
    )
    head = "from the side, door left"
    drawn += pen.words(head, (box.left, box.top - 3.0), HEAD, field_box(model.block.paper).right - 4 - box.left)
    return element("g", *drawn, data_part="side")


def _under_title(pen: Pen, model: CabinetSheet, at: Elevation) -> Element:
    field = field_box(model.block.paper)
    left, right = field.left + 9.0, field.right - 9
    base = at.front.bottom + BELOW_TITLE
    scales = f"front 1:{at.front_scale}, side 1:{at.side_scale}"
    words = [
        *pen.words(model.block.title, (left, base), TITLE, 90),
        *pen.words(scales, (right, base), HEAD, 60, "end"),
    ]
    told, _ = pen.paragraph(
        plain(READ if model.cabinet else READ_WITHOUT), (left, base + 5.6), READING, right - left, 2
    )
    return element("g", *words, *told, data_part="plan-title")


BELOW_TITLE = 31.0
