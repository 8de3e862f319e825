"""What the margin tells of a thing on a drawing that was touched: one module for each kind of thing."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from scantling.figures.figure import Figure
from scantling.plan.make import Plan
from scantling.plan.telling import everything
from scantling.web.interactive import WITH_FIGURE
from scantling.plan.same import Same
from scantling.web.slips import addressed, cabinets, crossings, noted, rooms, storages
from scantling.web.slips.slip import OWNER, Asks, NoSuchThingError, Slip


BRIEF = "brief."


@dataclass(frozen=True)
class Kind:
    """Things of one kind: their names by slug, and the slip of one of them in a layer."""

    names: Callable[[Plan], Mapping[str, str]]
    slip: Callable[[Plan, str, str], Slip]


KINDS: Mapping[str, Kind] = {
    "room": Kind(rooms.names, rooms.slip),
    "door": Kind(crossings.door_names, crossings.door),
    "cell": Kind(crossings.cell_names, crossings.cell),
    "part": Kind(cabinets.names, cabinets.slip),
    "machine": Kind(storages.machine_names, storages.machine),
    "array": Kind(storages.array_names, storages.array),
    "copy": Kind(storages.copy_names, storages.copy),
    "line": Kind(storages.line_names, storages.line),
    "host": Kind(storages.host_names, storages.host),
    "battery": Kind(storages.battery_names, storages.battery),
    "zone": Kind(addressed.names, addressed.slip),
    "finding": Kind(noted.names, noted.slip),
}


def slip(plan: Plan, kind: str, slug: str, layer: str = OWNER) -> Slip:
    """What is told of one thing. Raises NoSuchThingError for one that this plan has not."""
    if kind not in KINDS or slug not in KINDS[kind].names(plan):
        raise NoSuchThingError(f"{kind}/{slug}")
    return KINDS[kind].slip(plan, slug, layer)


def names(plan: Plan) -> Mapping[str, str]:
    """Accessible names of all things by kind/slug, and the labels of figures by figure/id."""
    return _names(Same(plan))


@lru_cache(4)
def _names(plan: Same) -> Mapping[str, str]:
    found = {f"{word}/{slug}": name for word, kind in KINDS.items() for slug, name in kind.names(plan.plan).items()}
    return found | {f"{WITH_FIGURE}{id_}": _label(id_, figure) for id_, figure in everything(plan.plan).items()}


def _label(id_: str, figure: Figure[Any]) -> str:
    """A figure as a listener knows it: an answer of the brief by its whole address, since its own label is one word of it."""
    return id_.removeprefix(BRIEF).replace(".", " ") if id_.startswith(BRIEF) else figure.label


__all__ = ["KINDS", "OWNER", "Asks", "Kind", "NoSuchThingError", "Slip", "names", "slip"]
