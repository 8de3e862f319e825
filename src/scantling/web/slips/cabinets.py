"""The slip of a part in the cabinet: what it is, what it takes, which finding it has, and moving it."""

from collections.abc import Iterator, Mapping
from typing import Any

from scantling.catalogue.columns import (
    BAYS, NAME, POWER_BUDGET, POWERED_PORTS, SHAPE, SWITCH_PORTS, UPLINKS, UPS_WATTS, VA, WATTS,
)  # fmt: skip
from scantling.figures import Place, Row
from scantling.figures.pages import Block, Caution, Facts
from scantling.plan.make import Plan
from scantling.web.slips.slip import TECHNICIAN, Asks, Slip, cell_of, facts, filled, of_figures, red_pencil

CABINET = "cabinet"
SHOWN: tuple[tuple[str, Any], ...] = (
    ("power it draws", WATTS), ("disk bays", BAYS), ("switch ports", SWITCH_PORTS),
    ("ports that feed", POWERED_PORTS), ("power to feed", POWER_BUDGET), ("fast ports", UPLINKS), ("rating", VA), ("rating", UPS_WATTS),
)  # fmt: skip
LOADING = (
    "Heavy parts go in first and lowest, with two people where one should not lift them alone. Only one part on rails is pulled out at a "
    "time. Mains and batteries are for licensed hands."
)


def names(plan: Plan) -> Mapping[str, str]:
    """Every part that stands in the cabinet, by its slug."""
    return {place.slug: f"{_called(plan, place)}, {_units(place)}" for place in standing(plan)}


def standing(plan: Plan) -> list[Place]:
    """What stands there in height units."""
    return [place for place in plan.records(Place) if place.lowest is not None]


def units(plan: Plan) -> int:
    """Height units that there are."""
    return int(plan.figures["places.units"].value)


def _units(place: Place) -> str:
    low = int(place.lowest.value) if place.lowest is not None else 0
    high = low + int(place.height.value) - 1
    return f"unit {low}" if low == high else f"units {low} to {high}"


def _called(plan: Plan, place: Place) -> str:
    picked = plan.purchase.chosen.picked.get(place.slot)
    own = picked.label if picked is not None else place.name
    return f"{own} ({place.slug})" if place.slug != place.slot and place.slot else own


def slip(plan: Plan, slug: str, layer: str) -> Slip:
    """What is told of a part."""
    place = next(one for one in standing(plan) if one.slug == slug)
    about = facts(
        "The part", ("article", place.name), ("lowest unit", place.lowest), ("height", place.height),
        ("weight as it stands", None if place.set_aside else place.weight), ("depth", place.depth), ("noise", place.noise),
    )  # fmt: skip
    whole = of_figures(
        plan,
        "All that stands there",
        ("places.free", "places.weight", "places.centre", "places.high", "places.wrong"),
    )
    blocks: list[Block] = [
        about,
        *_article(plan, place, layer),
        whole,
        *red_pencil(plan, place.slot or slug, CABINET),
    ]
    if not place.set_aside:
        blocks.append(Caution("Lifting", LOADING))
    assert place.lowest is not None
    most = max(1, units(plan) - int(place.height.value) + 1)
    given = {
        "part": slug,
        "unit": str(int(place.lowest.value)),
        "most": str(most),
        "pinned": "yes" if place.lowest.id in plan.pins else "",
    }
    return Slip(_called(plan, place), filled(blocks), Asks("move", given))


def row_of(plan: Plan, place: Place) -> Row | None:
    """The catalogue's row of a part."""
    option = plan.purchase.chosen.options.get(place.slot)
    return next((row for row, _ in option.parts if row.get(NAME) == place.name), None) if option is not None else None


def _article(plan: Plan, place: Place, layer: str) -> Iterator[Block]:
    """What the catalogue says of it: power, ports, bays."""
    row = row_of(plan, place)
    if row is None:
        return
    rows = [(label, cell_of(plan, row.figure(column))) for label, column in SHOWN if row.get(column) is not None]
    yield Facts(rows, "What it draws and carries")
    if layer == TECHNICIAN and row.get(SHAPE) is not None:
        yield facts("Made as", ("shape", str(row.get(SHAPE))))
