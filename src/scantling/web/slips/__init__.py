"""What the margin tells of a thing on a drawing that was touched: one module for each kind of thing."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
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
    things = {f"{word}/{slug}": name for word, kind in KINDS.items() for slug, name in kind.names(plan.plan).items()}
    return Names(things, plan.plan)


class Names(Mapping[str, str]):
    """The names of things, and of every figure that the plan rests on; a figure is looked for when its label is asked for."""

    def __init__(self, things: Mapping[str, str], plan: Plan) -> None:
        self._things, self._plan = things, plan

    @cached_property
    def _all(self) -> Mapping[str, Figure[Any]]:
        return everything(self._plan)

    def __getitem__(self, key: str) -> str:
        """The name of a thing, the label of a figure, the address of an answer of the brief. Raises KeyError."""
        if not key.startswith(WITH_FIGURE):
            return self._things[key]
        id_ = key.removeprefix(WITH_FIGURE)
        if id_.startswith(BRIEF):
            return answer(id_)
        known = self._plan.figures if id_ in self._plan.figures else self._all
        return known[id_].label

    def __iter__(self) -> Iterator[str]:
        """Every thing, then every figure."""
        yield from self._things
        yield from (f"{WITH_FIGURE}{id_}" for id_ in self._all)

    def __len__(self) -> int:
        """How many there are."""
        return len(self._things) + len(self._all)


def answer(id_: str) -> str:
    """An answer of the brief as a listener knows it: by its whole address, since its own label is one word of it."""
    return id_.removeprefix(BRIEF).replace(".", " ")


__all__ = ["KINDS", "OWNER", "Asks", "Kind", "NoSuchThingError", "Slip", "names", "slip"]
