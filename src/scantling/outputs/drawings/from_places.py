"""From a plan's places to what the drawing of the cabinet's front is told: every number comes from a record or a row."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from scantling.catalogue.columns import (
    BATTERY_YEARS, BAYS, BAYS_TAKEN, DEPTH, KIND, LIFT_WEIGHT, NAME, OWN_DEPTH, OWN_HEIGHT, POWERED_PORTS, SHAPE, SWITCH_PORTS,
    UPLINKS,
)  # fmt: skip
from scantling.figures import Place, Row, Site, text
from scantling.figures.units import MM
from scantling.outputs.drawings.cabinet_model import CabinetSheet, Elsewhere, Front, Kind, Part
from scantling.outputs.drawings.model import Phrase, Text, plain
from scantling.outputs.drawings.sheet_set import NUMBERING, Pencil, amount, figure_text, pencilled, title_block
from scantling.plan.make import Plan

ABOUT_PLACES = ("C-", "E-", "W-", "K-", "P-")
"""Findings that this sheet shows, by the beginning of their codes; the others are on the sheets of their own things."""
CABINET = "cabinet"


def cabinet_sheet(plan: Plan) -> CabinetSheet:
    """The cabinet from the front, or the cupboard where there is none."""
    pencil, has = pencilled(plan), plan.purchase.chosen.has(CABINET)
    (site,) = plan.records(Site)
    here = sorted((p for p in plan.records(Place) if p.lowest is not None), key=_lowest)
    parts = tuple(_part(plan, group, pencil) for group in _groups(here))
    own = plan.purchase.chosen.options[CABINET].parts[0][0] if has else None
    height = amount(own.figure(OWN_HEIGHT) if own is not None else site.height, MM)
    depth = amount(own.figure(OWN_DEPTH) if own is not None else site.depth, MM)
    findings = _shown(pencil, CABINET)
    shown = {number for part in parts for number in part.findings} | set(findings)
    away = [Elsewhere(place.name, place.place) for place in plan.records(Place) if place.lowest is None]
    return CabinetSheet(
        title_block(plan, "Cabinet, front" if has else "The server's place, front", "P-1"),
        _capital(str(own.get(NAME)) if own is not None else site.name), site.name if has else "no cabinet", has,
        int(plan.figures["places.units"].value), height, depth,
        amount(plan.figures["premises.deepest"], MM), parts, tuple(away), figure_text(plan.figures["places.weight"]),
        figure_text(own.figure(LIFT_WEIGHT)) if own is not None else Text(""), amount(plan.figures["places.centre"], MM),
        findings, pencil.on(shown), (*_notes(plan, has), *((NUMBERING,) if shown else ())),
    )  # fmt: skip


def _lowest(place: Place) -> int:
    return int(place.lowest.value) if place.lowest is not None else 0


def _capital(name: str) -> str:
    return name[:1].upper() + name[1:]


def _groups(here: Sequence[Place]) -> Iterator[list[Place]]:
    """Like things that stand on each other, from below."""
    group: list[Place] = []
    for before, place in pairwise((None, *here)):
        assert place is not None
        follows = before is not None and _lowest(before) + int(before.height.value) == _lowest(place)
        if group and not (follows and place.slot == group[-1].slot and place.name == group[-1].name and place.slot):
            yield group
            group = []
        group.append(place)
    if group:
        yield group


def _part(plan: Plan, group: Sequence[Place], pencil: Pencil) -> Part:
    first, last = group[0], group[-1]
    row = _row(plan, first)
    picked = plan.purchase.chosen.picked.get(first.slot)
    name = picked.label if picked is not None else first.name
    article = f"{len(group)} × {first.name}" if len(group) > 1 else first.name
    low, high = _lowest(first), _lowest(last) + int(last.height.value) - 1
    units = f"unit {low}" if low == high else f"units {low} to {high}"
    each = " each" if len(group) > 1 else ""
    weight = Text("") if first.set_aside else figure_text(first.weight, f"{text(first.weight)}{each}")
    fronts = tuple(_front(plan, place, row) for place in group)
    assert first.lowest is not None
    told = article if picked is not None else ""
    return Part(
        first.slug, name, told, Text(units, first.lowest.id), weight, fronts, _shown(pencil, first.slot or first.slug)
    )


def _row(plan: Plan, place: Place) -> Row | None:
    option = plan.purchase.chosen.options.get(place.slot)
    rows = option.parts if option is not None else ()
    return next((row for row, _ in rows if row.get(NAME) == place.name), None)


def _front(plan: Plan, place: Place, row: Row | None) -> Front:
    lowest, height = _lowest(place), int(place.height.value)
    if row is None:
        return Front("aside", lowest, height, slug=place.slug)
    hosts = [p for p in plan.records(Place) if p.slot == place.slot]
    taken = sum(option.get(BAYS_TAKEN) or 0 for option in plan.purchase.chosen.options.values()) // max(1, len(hosts))
    filled = min(taken, row.get(BAYS) or 0)
    return Front(
        _kind(row), lowest, height, float(row.get(DEPTH) or 0.0), row.get(BAYS) or 0, filled, row.get(SWITCH_PORTS) or 0,
        row.get(POWERED_PORTS) or 0, row.get(UPLINKS) or 0 if row.get(SWITCH_PORTS) else 0, place.slug,
    )  # fmt: skip


def _kind(row: Any) -> Kind:
    if row.get(BATTERY_YEARS) is not None:
        return "battery"
    if row.get(SWITCH_PORTS) is not None:
        return "switch"
    if row.get(BAYS) is not None:
        return "tower" if row.get(SHAPE) == "tower" else "rack"
    return "box" if row.get(KIND) == "box" else "other"


def _shown(pencil: Pencil, *slugs: str) -> tuple[int, ...]:
    """Numbers of the findings about these that belong on this sheet."""
    found = pencil.on(pencil.about(*slugs))
    return tuple(note.number for note in found if note.code.startswith(ABOUT_PLACES))


def _notes(plan: Plan, has: bool) -> Iterator[Phrase]:  # noqa: FBT001 - one of two kinds of place
    heaviest, limit, people = (plan.figures.get(f"power.{id_}") for id_ in ("heaviest", "limit", "people"))
    if heaviest is not None and limit is not None and people is not None:
        yield (
            Text("Lifting: the heaviest single piece weighs "), figure_text(heaviest), Text("; people for it: "), figure_text(people),
            Text(". One person should lift no more than "), figure_text(limit),
            Text(" here. The employer's own assessment decides."),
        )  # fmt: skip
    if has:
        yield plain("Load from the bottom up; pull out one part at a time; feet or stabiliser first.")
    yield plain("Mains and batteries: licensed hands, local codes. Leave the openings for air free.")
