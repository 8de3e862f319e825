"""A decision between candidates, with its reason and its runners-up."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Generic, Literal, TypeVar

from scantling.figures.figure import Figure
from scantling.figures.numbers import number, text
from scantling.figures.units import Unit, convert

T = TypeVar("T")
RUNNERS_UP = 3
Way = Literal["least", "most"]


@dataclass(frozen=True, slots=True)
class Candidate(Generic[T]):
    """Something that could be chosen: its merit, and whether it is good enough."""

    what: T | Figure[T]
    merit: Figure[Any]
    fits: Figure[bool] | None = None


@dataclass(frozen=True, slots=True)
class Choosing:
    """Why this one, and who came next."""

    because: str
    runners_up: tuple[tuple[str, str], ...] = ()
    others: str = ""
    next_called: str = "Next"

    def working(self, figure: Figure[Any]) -> str:
        """The choice, its reason, the next best."""
        after = "; ".join(f"{what} ({merit})" for what, merit in self.runners_up)
        return f"{text(figure)}: {self.because}. " + (
            f"{self.next_called}: {after}" if after else self.others or "No other fits"
        )


def choose(
    candidates: Iterable[Candidate[T]], by: Way, because: str, unit: Unit[T], otherwise: Way | None = None
) -> Figure[T]:
    """The fitting candidate of least (or most) merit; ties to the first named.

    When none fits, the one of least (or most) merit of all: `otherwise` says which, else `by` does.
    Raises ValueError when there is no candidate at all.
    """
    many = list(candidates)
    if not many:
        message = f"nothing to choose from ({because})"
        raise ValueError(message)
    fitting = [c for c in many if c.fits is None or c.fits.value]
    way = by if fitting else otherwise or by
    ranked = sorted(fitting or many, key=lambda c: c.merit.value, reverse=way == "most")
    values: list[Any] = [_plain_value(c.what, unit) for c in ranked]
    runners = tuple((number(v), text(c.merit)) for v, c in zip(values[1:], ranked[1:], strict=True))[:RUNNERS_UP]
    inputs: dict[str, Any] = {f"merit {place}": c.merit for place, c in enumerate(many, 1)}
    inputs |= {f"fits {place}": c.fits for place, c in enumerate(many, 1) if c.fits is not None}
    reason = because if fitting else f"{because}; none fits, so the nearest"
    return Figure(values[0], unit, Choosing(reason, runners), inputs)


def _plain_value(what: Any, unit: Unit[Any]) -> Any:
    return convert(what.value, what.unit, unit) if isinstance(what, Figure) else what
