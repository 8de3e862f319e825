"""What a chart is told: values over a row of places, with the limits they are held against; no drawing, no plan.

A chart is a table before it is a picture: every series has one value for each place of the chart (an hour, a month, a demand),
so that the same numbers can be drawn, read out place by place, and set as a table.
"""

from dataclasses import dataclass
from typing import Literal

from scantling.figures.numbers import expected, with_unit
from scantling.outputs.drawings.model import PencilNote, Phrase, Text, TitleBlock

Style = Literal["heavy", "thin", "dashed"]


@dataclass(frozen=True, slots=True)
class Axis:
    """What is counted along one side, and in which unit (empty: a plain number)."""

    label: str
    unit: str = ""
    things: bool = False
    """Whether whole things or people are counted, so that a fraction is an expected number."""


@dataclass(frozen=True, slots=True)
class Across:
    """The places from left to right: where each stands, what it is called, and which are written under the plot."""

    axis: Axis
    at: tuple[float, ...]
    said: tuple[str, ...]
    """One name for each place, as it is read out: "14:15", "March 2027"."""
    ticks: tuple[tuple[float, str], ...]
    end: float
    """Where the last place ends: as far as the paper is ruled."""


@dataclass(frozen=True, slots=True)
class Series:
    """One line of values, named where it runs. In steps: each value holds until the next place."""

    name: str
    values: tuple[float, ...]
    style: Style = "heavy"
    figure: str = ""
    """Id of the figure that its highest value, or the whole line, is."""
    words: tuple[str, ...] = ()
    """What is read out at each place instead of the value and its unit."""
    drawn: bool = True
    """Whether it is drawn; else it is only read out and set in the table."""


@dataclass(frozen=True, slots=True)
class Level:
    """What the series are held against: the same at every place, as what was bought is."""

    name: str
    value: float
    figure: str = ""
    style: Style = "thin"


@dataclass(frozen=True, slots=True)
class Band:
    """A part of the height that is taken at every place, hatched: known as one amount only."""

    name: str
    low: float
    high: float
    figure: str = ""


@dataclass(frozen=True, slots=True)
class Moment:
    """A place with a name of its own, such as the month in which an array is full."""

    at: float
    name: str
    figure: str = ""


@dataclass(frozen=True, slots=True)
class Chart:
    """One plot."""

    slug: str
    title: str
    across: Across
    up: Axis
    series: tuple[Series, ...]
    told: Phrase
    """The whole plot in one or two sentences."""
    levels: tuple[Level, ...] = ()
    bands: tuple[Band, ...] = ()
    moments: tuple[Moment, ...] = ()
    stepped: bool = True
    """Whether values hold until the next place; else they are joined by straight lines."""
    wide: bool = False
    """Whether it takes a whole row of the sheet."""
    rows: bool = False
    """Whether its places are things, listed down the side, and the values run from left to right."""
    pencil: tuple[PencilNote, ...] = ()
    """The findings that tell of what is drawn here."""

    @property
    def figures(self) -> frozenset[str]:
        """The ids of every figure that is drawn or told."""
        parts: tuple[Series | Level | Band | Moment | Text, ...] = (
            *self.series, *self.levels, *self.bands, *self.moments, *self.told,
        )  # fmt: skip
        return frozenset(one.figure for one in parts if one.figure)

    @property
    def said(self) -> str:
        """The same sentences as plain words."""
        return "".join(one.text for one in self.told)

    @property
    def most(self) -> float:
        """The largest amount that is drawn."""
        drawn = [*(one.value for one in self.levels), *(one.high for one in self.bands)]
        return max([0.0, *drawn, *(max(one.values, default=0.0) for one in self.series if one.drawn)])

    @property
    def stands(self) -> tuple[float, ...]:
        """Where each place is read, from 0 at the one end to 1 at the other: in the middle of its step, on its point otherwise."""
        first, end = self.across.at[0], self.across.end
        ends = (*self.across.at[1:], end)
        places = (
            self.across.at
            if not self.stepped
            else [(at + to) / 2 for at, to in zip(self.across.at, ends, strict=True)]
        )
        return tuple((place - first) / (end - first or 1.0) for place in places)

    @property
    def peak(self) -> int:
        """The place at which the first series is highest; of things listed down the side the first."""
        values = self.series[0].values if self.series and not self.rows else (0.0,)
        return values.index(max(values))

    @property
    def heads(self) -> tuple[str, ...]:
        """Heads of the values' table."""
        fixed = [*(one.name for one in self.bands), *(one.name for one in self.levels)]
        return (self.across.axis.label, *(one.name for one in self.series), *fixed)

    @property
    def table(self) -> tuple[tuple[str, ...], ...]:
        """One row for each place: what it is called, the value of every series, and what those are held against."""
        fixed = [self.amount(one.high - one.low) for one in self.bands] + [
            self.amount(one.value) for one in self.levels
        ]
        return tuple(
            (said, *(self.worded(one, place) for one in self.series), *fixed)
            for place, said in enumerate(self.across.said)
        )

    def amount(self, value: float) -> str:
        """A value with the unit of the chart, as people read it."""
        return expected(float(value)) if self.up.things else with_unit(float(value), self.up.unit)

    def worded(self, one: Series, place: int) -> str:
        """What a series says at one place."""
        return one.words[place] if one.words else self.amount(one.values[place])


@dataclass(frozen=True, slots=True)
class ChartSheet:
    """One sheet of charts; where there is nothing to draw, `lacking` says what is missing."""

    slug: str
    letter: str
    block: TitleBlock
    charts: tuple[Chart, ...]
    notes: tuple[Phrase, ...] = ()
    lacking: tuple[str, ...] = ()

    @property
    def pencil(self) -> tuple[PencilNote, ...]:
        """The findings of all its plots, each once, by their numbers."""
        found = {note.number: note for chart in self.charts for note in chart.pencil}
        return tuple(found[number] for number in sorted(found))

    @property
    def title(self) -> str:
        """What the sheet is called."""
        return self.block.title
