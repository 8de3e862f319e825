"""Which figures of a plan rest on a given one: the plan's web of figures turned round, once a plan."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any
from weakref import ref

from scantling.figures import Figure
from scantling.plan.causes import side
from scantling.plan.make import Plan, Told

MOST_NEAR = 12


@dataclass(frozen=True)
class Resting:
    """What rests on one figure: the nearest named figures, and how many named ones in all."""

    nearest: tuple[Figure[Any], ...]
    count: int


class Web:
    """All figures of one plan by their address, and what rests on each."""

    def __init__(self, plan: Plan) -> None:
        found = side(plan, {})
        self.nodes: Mapping[str, Figure[Any]] = found.nodes
        self._named = frozenset(plan.figures)
        self._below = found.below
        self._told = plan.findings

    @cached_property
    def _above(self) -> Mapping[str, tuple[str, ...]]:
        """For each address those that have it as an input."""
        above: dict[str, list[str]] = {}
        for address, parents in self._below.items():
            for parent in parents:
                above.setdefault(parent, []).append(address)
        return {parent: tuple(dict.fromkeys(many)) for parent, many in above.items()}

    @cached_property
    def _findings(self) -> Mapping[str, tuple[tuple[int, Told], ...]]:
        """Findings with their numbers, by the id of each figure that they show."""
        shown: dict[str, list[tuple[int, Told]]] = {}
        for place, told in enumerate(self._told, 1):
            for id_ in dict.fromkeys(figure.id for figure in told.finding.shown.values() if figure.id):
                shown.setdefault(id_, []).append((place, told))
        return {id_: tuple(many) for id_, many in shown.items()}

    def resting_on(self, address: str, most: int = MOST_NEAR) -> Resting:
        """The figures that rest on one. Steps without a name are passed through; nearest first, then by id."""
        layers = list(self._layers(address))
        named = [id_ for layer in layers for id_ in sorted(layer) if id_ in self._named]
        return Resting(tuple(self.nodes[id_] for id_ in named[:most]), len(named))

    def _layers(self, address: str) -> Iterator[tuple[str, ...]]:
        """What rests on it directly, then what rests on those, each once."""
        seen = {address}
        layer: tuple[str, ...] = (address,)
        while layer:
            layer = tuple(dict.fromkeys(up for one in layer for up in self._above.get(one, ()) if up not in seen))
            seen.update(layer)
            if layer:
                yield layer

    def shown_by(self, id_: str) -> tuple[tuple[int, Told], ...]:
        """The findings of the plan that show a figure, each with its number in the plan."""
        return self._findings.get(id_, ())


_KEPT: dict[int, tuple[ref[Plan], Web]] = {}
"""By the plan's identity, for as long as the plan lives."""


def web_of(plan: Plan) -> Web:
    """The web of a plan, made once a plan."""
    kept = _KEPT.get(id(plan))
    if kept is not None and kept[0]() is plan:
        return kept[1]
    web, key = Web(plan), id(plan)
    _KEPT[key] = ref(plan, lambda _: _KEPT.pop(key, None)), web
    return web
