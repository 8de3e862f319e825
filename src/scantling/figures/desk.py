"""A trade's desk: where its figures get their ids and its pins are laid."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Protocol, TypeVar

from scantling.figures.choosing import Candidate, Way, choose
from scantling.figures.figure import Figure
from scantling.figures.numbers import exact
from scantling.figures.spelled import WHOLE_TABLE
from scantling.figures.buying import Demand
from scantling.figures.terms import Term
from scantling.figures.units import Unit

T = TypeVar("T")
NUMBERS = (int, float, Decimal)


class Slugged(Protocol):
    """A record with a slug."""

    @property
    def slug(self) -> str:
        """Its identifier within its kind."""


R = TypeVar("R", bound=Slugged)


@dataclass(frozen=True, slots=True)
class Pin:
    """An override with its reason; `read` turns the text into a value of the figure's own unit.

    `read` raises ValueError, in a person's words, when the text is not of that unit.
    """

    text: str
    because: str
    place: str
    read: Callable[[str, Unit[Any]], Any]

    def working(self, figure: Figure[Any]) -> str:
        """Both values and the reason."""
        computed = figure.inputs["computed"]
        return f"pinned to {exact(figure)} ({self.because}; {self.place}); computed {exact(computed)}"


@dataclass(frozen=True, slots=True)
class Named:
    """A figure that carries another's value under an id of its own."""

    def working(self, figure: Figure[Any]) -> str:
        """The same value, from where."""
        source = next(figure.parents())
        return f"the same as {source.label or source.id} = {exact(source)}"


class PinError(ValueError):
    """A pin that can't be laid: its place, what is wrong."""


class Ledger:
    """All figures of a plan in the order they were made, and the pins not yet used."""

    def __init__(self, pins: Mapping[str, Pin] | None = None) -> None:
        self.pins: Mapping[str, Pin] = pins or {}
        self.used: set[str] = set()
        self.figures: dict[str, Figure[Any]] = {}

    def enter(self, id_: str, label: str, figure: Figure[T]) -> Figure[T]:
        """Give the figure its id, in place, and return it; the pinned figure where a pin is laid.

        Raises ValueError when two figures would share an id, PinError for a pin of another unit.
        """
        if id_ in self.figures:
            message = f"two figures called {id_}"
            raise ValueError(message)
        if figure.id:
            figure = Figure(figure.value, figure.unit, Named(), {"is": figure})
        figure.label = label
        pinned = self._pinned(id_, figure)
        pinned.id = id_
        self.figures[id_] = pinned
        return pinned

    def _pinned(self, id_: str, figure: Figure[T]) -> Figure[T]:
        if (pin := self.pins.get(id_)) is None:
            return figure
        self.used.add(id_)
        try:
            if figure.unit.numeric and not isinstance(figure.value, NUMBERS):
                raise ValueError(WHOLE_TABLE)  # noqa: TRY301 - told as the reader's own mistakes are
            value = pin.read(pin.text, figure.unit)
        except ValueError as wrong:
            message = f"{pin.place}: pin {id_}: {wrong}"
            raise PinError(message) from None
        return Figure(value, figure.unit, pin, {"computed": figure}, "", figure.label)


class Desk:
    """Ids are paths: the trade, then what the trade writes, then slugs."""

    def __init__(self, path: str, ledger: Ledger) -> None:
        self.path, self.ledger = path, ledger

    def figure(self, id_: str, figure: Figure[T], label: str = "") -> Figure[T]:
        """Enter a figure under this desk; without a label it takes its rule's first sentence."""
        how: Any = figure.how
        return self.ledger.enter(
            f"{self.path}.{id_}", label or getattr(how, "label", "") or figure.label or id_, figure
        )

    def kept(self, id_: str, unit: Unit[T]) -> Figure[T]:
        """A figure that this trade made before the purchase. Raises TypeError for another unit, KeyError for none."""
        figure = self.ledger.figures[f"{self.path}.{id_}"]
        if figure.unit is not unit:
            message = f"{figure.id} is in {figure.unit.symbol}, not {unit.symbol}"
            raise TypeError(message)
        return figure

    def under(self, *slugs: str) -> "Desk":
        """A desk one or more steps further down the path."""
        return Desk(".".join((self.path, *slugs)), self.ledger)

    def each(self, items: Mapping[str, T], *under: str) -> Iterator[tuple["Desk", str, T]]:
        """A desk for every named thing of the brief: its slug becomes part of the ids."""
        for slug, item in items.items():
            yield self.under(*under, slug), slug, item

    def every(self, under: str, records: Iterable[R]) -> Iterator[tuple["Desk", R]]:
        """The same for records of other trades."""
        for record in records:
            yield self.under(under, record.slug), record

    def demand(
        self,
        id_: str,
        label: str,
        what: Term[Any],
        *,
        at_least: Figure[Any] | None = None,
        at_most: Figure[Any] | None = None,
    ) -> Demand:
        """A need that the purchase must meet; it may give way if nothing fits. What it gives gets the same id."""
        return Demand(f"{self.path}.{id_}", label, what, at_least, at_most, need=True)

    def fit(self, id_: str, label: str, what: Term[bool]) -> Demand:
        """A condition of parts on each other that must be true and never gives way."""
        return Demand(f"{self.path}.{id_}", label, what)

    def choose(  # noqa: PLR0913 - a sentence: what, among which, by what, because, or else
        self,
        id_: str,
        unit: Unit[T],
        candidates: Iterable[Candidate[T]],
        by: Way,
        because: str,
        label: str = "",
        otherwise: Way | None = None,
    ) -> Figure[T]:
        """A decision inside the trade, entered under its id; `otherwise` says which end is taken when none fits."""
        return self.figure(id_, choose(candidates, by, because, unit, otherwise), label or because)
