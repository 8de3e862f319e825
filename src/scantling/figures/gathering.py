"""Many figures into one: totals, extremes, counts; and values over time."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from scantling.figures.figure import Figure
from scantling.figures.numbers import exact, number, plain
from scantling.figures.units import COUNT, Unit, convert

T = TypeVar("T")
K = TypeVar("K")
MOST_SHOWN = 6


@dataclass(frozen=True, slots=True)
class Gathering:
    """A total, largest or smallest over many figures."""

    word: str

    def working(self, figure: Figure[Any]) -> str:
        """The parts, the long ones cut in the middle."""
        parts = [f"{name} {exact(parent)}" for name, parent in figure.addressed()]
        if len(parts) > MOST_SHOWN:
            parts = [*parts[:3], f"… {len(parts) - 4} more …", parts[-1]]
        sign = " + " if self.word == "total" else ", "
        return f"{self.word} of {sign.join(parts) or 'nothing'} = {exact(figure)}"


Gathered = Iterable[Figure[T]] | Mapping[str, Figure[T]]


def _keyed(figures: Gathered[T]) -> dict[str, Figure[T]]:
    """Each under a name that a person recognises: the given key, else the id's own ending, else its number."""
    if isinstance(figures, Mapping):
        return dict(figures)
    return {figure.id or str(place): figure for place, figure in enumerate(figures, 1)}


def _gather(word: str, fold: Callable[[list[Any], Any], Any], figures: Gathered[T], unit: Unit[T]) -> Figure[T]:
    many = _keyed(figures)
    kind: Any = unit.kind
    value = fold([convert(figure.value, figure.unit, unit) for figure in many.values()], kind())
    return Figure(value, unit, Gathering(word), many)


def total(figures: Gathered[T], unit: Unit[T]) -> Figure[T]:
    """The sum of many; of none it is nought of that unit."""
    return _gather("total", sum, figures, unit)


def largest(figures: Gathered[T], unit: Unit[T]) -> Figure[T]:
    """The largest of many (the worst case the catalogue admits); of none it is nought."""
    return _gather("largest", lambda values, nought: max(values, default=nought), figures, unit)


def smallest(figures: Gathered[T], unit: Unit[T]) -> Figure[T]:
    """The smallest of many; of none it is nought."""
    return _gather("smallest", lambda values, nought: min(values, default=nought), figures, unit)


def count_of(figures: Gathered[Any]) -> Figure[int]:
    """How many there are."""
    many = _keyed(figures)
    return Figure(len(many), COUNT, Gathering("count"), many)


@dataclass(frozen=True, slots=True)
class Series:
    """A quantity over time: evenly spaced values in the unit of the figure that holds them.

    `start` names the first moment in words, `step` is the spacing as a number of `step_unit`.
    """

    start: str
    step: float
    step_unit: Unit[Any]
    values: tuple[float, ...]

    def at_peak(self) -> float:
        """How long after the start the largest value comes, in step units."""
        return self.values.index(max(self.values)) * self.step

    def as_plain(self) -> dict[str, Any]:
        """For canonical JSON."""
        return {
            "start": self.start,
            "step": f"{number(self.step)} {self.step_unit.symbol}",
            "values": plain(self.values),
        }

    def __str__(self) -> str:
        return self.said(number)

    def said(self, written: Callable[[float], str]) -> str:
        """Its lowest and its highest value, each written so, and when the highest comes."""
        low, high = written(float(min(self.values))), written(float(max(self.values)))
        when = f"{number(self.at_peak())} {self.step_unit.symbol}"
        return f"{low} to {high}, highest {when} after {self.start}"


def peak(series: Figure[Series]) -> Figure[float]:
    """The largest value of a series, in its unit."""
    return Figure(float(max(series.value.values)), series.unit, Gathering("peak"), {"series": series})


def cells(register: Figure[Mapping[K, T]]) -> Mapping[K, T]:
    """The cells of an allocation, for record fields only; figures go through `cell`."""
    return register.value


def cell(register: Figure[Mapping[K, T]], key: K, unit: Unit[T]) -> Figure[T]:
    """One cell as a figure, when a rule goes on from it. Raises KeyError for a key that was not allocated."""
    return Figure(register.value[key], unit, Gathering(f"{key}, one cell"), {"register": register})
