"""What a slip is: what the margin tells of a thing that was touched, in the blocks that every sheet is made of."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from scantling.figures.figure import Figure
from scantling.figures import Address, Address6, text
from scantling.figures.pages import Block, Cell, Facts, Ruled
from scantling.outputs.drawings.from_traffic import Traffic, traffic
from scantling.outputs.drawings.model import Door, PencilNote
from scantling.outputs.drawings.from_traffic import doors as hung_doors
from scantling.outputs.drawings.sheet_set import Pencil, pencilled
from scantling.plan.make import Plan
from scantling.plan.telling import everything
from scantling.plan.same import Same

OWNER, TECHNICIAN = "owner", "technician"


class NoSuchThingError(LookupError):
    """Nothing of that name is on this plan."""


@dataclass(frozen=True)
class Asks:
    """A small form under a slip: its kind (packet, move) and what stands in it at first."""

    kind: str
    given: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Slip:
    """What is told of one thing."""

    title: str
    blocks: Sequence[Block]
    asks: Asks | None = None


@lru_cache(8)
def told_traffic(plan: Same) -> Traffic:
    """Intents, rules and zones, gathered once a plan."""
    return traffic(plan.plan)


@lru_cache(8)
def told_doors(plan: Same) -> tuple[Door, ...]:
    """Doors in the order of the schedule; none where no traffic is planned."""
    return hung_doors(plan.plan) or ()


@lru_cache(8)
def told_pencil(plan: Same) -> Pencil:
    """The findings, numbered."""
    return pencilled(plan.plan)


def facts(title: str, *rows: tuple[str, Cell | None]) -> Facts:
    """Labels with values; a row without a value is left out."""
    return Facts([(label, value) for label, value in rows if isinstance(value, Figure) or value], title)


def of_figures(plan: Plan, title: str, ids: Iterable[str]) -> Facts:
    """Those figures that the plan has, under their own labels."""
    return Facts([(plan.figures[id_].label, plan.figures[id_]) for id_ in ids if id_ in plan.figures], title)


@lru_cache(8)
def _known(plan: Same) -> frozenset[str]:
    return frozenset(everything(plan.plan))


def cell_of(plan: Plan, figure: Figure[Any]) -> Cell:
    """A figure whose working can be opened; one that the plan does not rest on as words only."""
    return figure if figure.id in _known(Same(plan)) else text(figure)


def filled(blocks: Iterable[Block | None]) -> list[Block]:
    """The blocks that say something."""
    kept = [block for block in blocks if block is not None]
    return [block for block in kept if not isinstance(block, Facts | Ruled) or block.rows]


def red_pencil(plan: Plan, *about: str) -> Iterator[Block]:
    """What is found about these, in plain words."""
    pencil = told_pencil(Same(plan))
    numbers = pencil.about(*about)
    if numbers:
        yield Facts([(f"{note.number} {note.weight}", sentence(note)) for note in pencil.on(numbers)], "Red pencil")


def sentence(note: PencilNote) -> str:
    """A finding in one line."""
    return "".join(part.text for part in note.sentence)


def held(plan: Plan) -> Iterator[Address | Address6]:
    """Every address that is given to one thing, both families."""
    yield from plan.records(Address)
    yield from plan.records(Address6)
