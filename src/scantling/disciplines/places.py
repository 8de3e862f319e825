"""Places: which height units each part fills, what stands elsewhere, and what the stack weighs.

Figures:
    places.units            height units of the cabinet, or of the space where there is none
    places.stack            the units of what stands from below
    places.head             the units of what hangs from above
    places.<slug>.lowest    the lowest unit of a part
    places.<slug>.weight    what it weighs as it stands there
    places.taken            height units that parts take
    places.free             height units that nothing takes
    places.weight           weight of all that stands there
    places.centre           height of the centre of gravity
    places.high             the heaviest part above the shoulder
    places.wrong            height units that are filled twice, or are not there
Findings: C-5 C-6 C-7.
Records: Place, Page.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scantling.catalogue import House, Practice
from scantling.catalogue.columns import (
    BATTERY_YEARS, BAYS, DEPTH, HEIGHT, NAME, NOISE, OFF_SITE, SWITCH_PORTS, UNITS_HIGH,
)  # fmt: skip
from scantling.catalogue.columns import WEIGHT as WEIGHT_KG  # fmt: skip
from scantling.figures import (
    Caution, Chosen, Desk, Every, Facts, Figure, Finding, Of, Page, Place, Row, Ruled, Site, Weight, cell, cells, count_of, text,
    total,
)  # fmt: skip
from scantling.figures.units import COUNT, HEIGHT_UNIT, KILOGRAM, MM
from scantling.handbook.sizing import beyond, shorter
from scantling.handbook.space import (
    centre_height, heaviest_above, hung, laden, stacked, units_in, units_left, wrongly_filled,
)  # fmt: skip
from scantling.standing import Part, Standing

WARM_GAP, LEAST_FREE = Practice("places.warm-gap", HEIGHT_UNIT), Practice("places.least-free", COUNT)
SHOULDER, HIGH_WEIGHT = Practice("places.shoulder", MM), Practice("places.high-weight", KILOGRAM)
PANELS, AWAY = "panels", "away from the premises"
NONE = total((), COUNT)


@dataclass(frozen=True)
class _Piece:
    """One thing that takes height, or stands elsewhere."""

    slug: str
    slot: str
    row: Row
    height: Figure[int]
    weight: Figure[float]

    @property
    def group(self) -> str:
        """Where it belongs: batteries at the foot, switches at the head, what takes no height elsewhere."""
        if not self.row.get(HEIGHT):
            return "elsewhere"
        if self.row.get(BATTERY_YEARS) is not None:
            return "foot"
        return "head" if self.row.get(SWITCH_PORTS) is not None else "body"


def design(
    house: House, standing: Standing, sites: Every[Site], chosen: Chosen, desk: Desk
) -> Iterator[Place | Finding | Page]:
    """Where every part stands, what it all weighs and what is left free."""
    for site in sites:
        pieces = list(_pieces(chosen, desk))
        places = [*_standing(pieces, site, (house, standing, chosen), desk), *_elsewhere(pieces, site)]
        yield from places
        here = [place for place in places if place.lowest is not None]
        _sums(house, here, desk)
        yield from _findings(house, desk)
        yield _page(places, desk)


def _pieces(chosen: Chosen, desk: Desk) -> Iterator[_Piece]:
    """Every single thing with a height, nought included; what has a weight and no height rides in what has bays."""
    carried = {
        slot: chosen.of(Of(slot, WEIGHT_KG))
        for slot, option in chosen.options.items()
        if option.get(HEIGHT) is None and option.get(WEIGHT_KG) is not None
    }
    for slot, option in chosen.options.items():
        rows = [row for row, count in option.parts if row.get(HEIGHT) is not None for _ in range(count)]
        hosts = count_of({f"{slot} {place}": row.figure(HEIGHT) for place, row in enumerate(rows, 1)})
        for place, row in enumerate(rows, 1):
            slug = slot if len(rows) == 1 else f"{slot}-{place}"
            weight = row.figure(WEIGHT_KG)
            if row.get(BAYS) is not None:
                weight = laden.of(own=weight, carried=total(carried, KILOGRAM), hosts=hosts)
            weight = desk.under(slug).figure("weight", weight, f"{row.get(NAME)}: weight as it stands")
            yield _Piece(slug, slot, row, row.figure(HEIGHT), weight)


def _standing(
    pieces: Sequence[_Piece], site: Site, given: tuple[House, Standing, Chosen], desk: Desk
) -> Iterator[Place]:
    """Each piece in its units: batteries lowest, then the heaviest, switches at the top under the panels to come."""
    house, standing, chosen = given
    foot, body, head = ({p.slug: p for p in pieces if p.group == group} for group in ("foot", "body", "head"))
    fixed, aside = _fixed(pieces, standing), {PANELS: site.set_aside}
    if not chosen.has("cabinet"):  # nothing hangs from above: the lightest stand highest
        body, head, aside = {**body, **head}, {}, {}
    units = _units(chosen, site, desk)
    above = {**aside, **_heights(head)}
    room = units_left.of(offered=units, taken=total(above, HEIGHT_UNIT))
    weights = {slug: piece.weight for slug, piece in {**foot, **body}.items()}
    stack = stacked.of(
        foot=_heights(foot), body=_heights(body), weights=weights, fixed=fixed, gap=house[WARM_GAP], room=room
    )
    registers = [desk.figure("stack", stack, "What stands from below, by unit")]
    if above:
        top = hung.of(head=above, fixed=fixed, offered=units)
        registers.append(desk.figure("head", top, "What hangs from above, by unit"))
    by_slug = {**foot, **body, **head}
    for register in registers:
        for slug in cells(register):
            lowest = desk.under(slug).figure("lowest", cell(register, slug, COUNT), f"{slug}: lowest unit")
            if slug in aside:
                name = "Panels and cable guides, not yet planned"
                yield Place(slug, name, site.name, aside[slug], total((), KILOGRAM), "", lowest, set_aside=True)
            else:
                yield _place(by_slug[slug], site.name, lowest)


def _units(chosen: Chosen, site: Site, desk: Desk) -> Figure[int]:
    if chosen.has("cabinet"):
        return desk.figure("units", chosen.of(Of("cabinet", UNITS_HIGH)), "Height units of the cabinet")
    return desk.figure("units", units_in.of(height=site.height), "Height units of the space")


def _elsewhere(pieces: Sequence[_Piece], site: Site) -> Iterator[Place]:
    """What takes no height: carried away, kept by others, or lying about."""
    for piece in [piece for piece in pieces if piece.group == "elsewhere"]:
        yield _place(piece, AWAY if piece.row.get(OFF_SITE) else site.name, None)


def _heights(pieces: Mapping[str, _Piece]) -> dict[str, Figure[int]]:
    return {slug: piece.height for slug, piece in pieces.items()}


def _place(piece: _Piece, where: str, lowest: Figure[int] | None) -> Place:
    row = piece.row
    return Place(
        piece.slug, str(row.get(NAME)), where, piece.height, piece.weight, piece.slot, lowest, row.figure(DEPTH), row.figure(NOISE)
    )  # fmt: skip


def _fixed(pieces: Sequence[_Piece], standing: Standing) -> dict[str, Figure[int]]:
    """Units that a survey found parts in, where the part is kept."""
    found: dict[str, Figure[int]] = {}
    for _, part in standing.parts():
        stands_for = part.stands_for if isinstance(part, Part) else None
        article = stands_for if stands_for is not None else part.article
        if part.unit is None or article is None or part.serves is None:
            continue
        fitting = [p for p in pieces if p.slot == text(part.serves) and p.row.slug == text(article)]
        free = [piece.slug for piece in fitting if piece.slug not in found]
        found |= dict.fromkeys(free[:1], part.unit)
    return found


def _sums(house: House, here: Sequence[Place], desk: Desk) -> None:
    """What the stack weighs, how high its weight lies, what is left free."""
    lowest = {place.slug: place.lowest for place in here if place.lowest is not None}
    heights, weights = {place.slug: place.height for place in here}, {place.slug: place.weight for place in here}
    units = desk.kept("units", COUNT)
    taken = desk.figure("taken", total(heights, HEIGHT_UNIT), "Height units that parts take")
    desk.figure("free", units_left.of(offered=units, taken=taken), "Height units that nothing takes")
    desk.figure("weight", total(weights, KILOGRAM), "Weight of all that stands there")
    centre = centre_height.of(lowest=lowest, heights=heights, weights=weights)
    desk.figure("centre", centre, "Height of the centre of gravity over the lowest unit")
    high = heaviest_above.of(lowest=lowest, weights=weights, above=house[SHOULDER])
    desk.figure("high", high, "The heaviest part above the shoulder")
    wrong = wrongly_filled.of(lowest=lowest, heights=heights, offered=units)
    desk.figure("wrong", wrong, "Height units filled twice, or not there")


def _findings(house: House, desk: Desk) -> Iterator[Finding]:
    high, limit, wrong = desk.kept("high", KILOGRAM), house[HIGH_WEIGHT], desk.kept("wrong", COUNT)
    yield Finding(
        "C-5", Weight.MEND, beyond.of(have=high, limit=limit),
        "Too heavy so high up: {high} above the shoulder; {limit} is the most that one person should lift there.",
        "Put it lower, or lift it with two and a platform. Heavy things belong at the bottom.",
        {"high": high, "limit": limit}, "cabinet",
    )  # fmt: skip
    free = desk.kept("free", COUNT)
    yield Finding(
        "C-6", Weight.MEND, shorter.of(have=free, need=house[LEAST_FREE]),
        "Nothing is left free: the parts take {taken} of {units} units.",
        "Take a higher cabinet, or let something stand elsewhere. Without a free unit there is no air and no next part.",
        {"taken": desk.kept("taken", HEIGHT_UNIT), "units": desk.kept("units", COUNT)}, "cabinet",
    )  # fmt: skip
    yield Finding(
        "C-7", Weight.STOP, beyond.of(have=wrong, limit=NONE),
        "The parts can't stand as written down: {wrong} height units are filled twice, or are not there.",
        "Look again at which unit each part stands in, and correct the survey or the pin.", {"wrong": wrong}, "cabinet",
    )  # fmt: skip


def _page(places: Sequence[Place], desk: Desk) -> Page:
    rows = [
        (place.slug, place.name, "" if place.lowest is None else place.lowest, place.height, place.weight,
         "" if place.depth is None else place.depth, "" if place.noise is None else place.noise, place.place)
        for place in sorted(places, key=lambda place: place.lowest is None)
    ]  # fmt: skip
    kept = (("units", COUNT), ("taken", HEIGHT_UNIT), ("free", COUNT), ("weight", KILOGRAM), ("centre", MM))
    facts = [(figure.label, figure) for figure in (desk.kept(id_, unit) for id_, unit in kept)]
    heads = ("part", "article", "lowest unit", "height", "weight", "depth", "noise", "place")
    return Page("places", "P", "Register of places", (
        Facts(facts, "What stands there"), Ruled("Places, from below", heads, rows),
        Caution("Loading a cabinet", "Heavy parts go in first and lowest, with two people. Only one part on rails is pulled out at a "
                "time, and a cabinet that is not fixed gets its feet or stabiliser out before anything is."),
    ), 3)  # fmt: skip
