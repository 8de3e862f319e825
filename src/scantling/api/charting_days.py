"""Who is there on each day of the week: the ordinary day and the busiest one, as the charts of load draw them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scantling.api.charting_lineage import amount, amounts, made_by
from scantling.figures import Figure, Visitors
from scantling.figures.calendar import HOURS_A_WEEK, MINUTES_A_DAY, MINUTES_AN_HOUR, Weekdays, clock
from scantling.figures.units import COUNT, MINUTE, RATIO
from scantling.handbook.days import STEP_MINUTES, STEPS_A_DAY, arrivals, held, joining
from scantling.outputs.drawings.charts.model import Across, Axis, Series
from scantling.plan.make import Plan

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
HOURS_A_DAY, DAYS_A_WEEK = 24, 7
A_STEP = STEP_MINUTES / MINUTES_AN_HOUR
QUARTERS_AN_HOUR = MINUTES_AN_HOUR // STEP_MINUTES
NOBODY = (0.0,) * STEPS_A_DAY
TICK_HOURS = 3
Values = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Day:
    """One day of the week, quarter hour by quarter hour."""

    place: int
    """Monday is 0."""
    staff: tuple[float, ...]
    """People at work."""
    guests: tuple[float, ...]
    """Visitors."""
    joined: tuple[float, ...]
    """Visitors' devices on the network."""

    @property
    def name(self) -> str:
        """What the day is called."""
        return DAYS[self.place]

    @property
    def people(self) -> tuple[float, ...]:
        """All who are there."""
        return tuple(map(sum, zip(self.staff, self.guests, strict=True)))

    @property
    def alike(self) -> tuple[tuple[float, ...], ...]:
        """What makes one day like another."""
        return self.staff, self.guests, self.joined

    def busier(self, other: "Day") -> bool:
        """Whether more are there at once, or as many for longer."""
        return (max(self.people), sum(self.people)) > (max(other.people), sum(other.people))


def days_of(plan: Plan) -> tuple[Day, ...]:
    """The seven days of a week of a plan; empty where nobody works there and nobody visits."""
    week = plan.figures.get("people.present")
    if week is None and not plan.records(Visitors):
        return ()
    hours = week.value.values if week is not None else (0.0,) * HOURS_A_WEEK
    return tuple(_day(plan, place, hours) for place in range(DAYS_A_WEEK))


def _day(plan: Plan, place: int, hours: Sequence[float]) -> Day:
    own = hours[place * HOURS_A_DAY : (place + 1) * HOURS_A_DAY]
    staff = tuple(value for value in own for _ in range(QUARTERS_AN_HOUR))
    guests, joined = visiting(plan, place)
    return Day(place, staff, guests, joined)


def visiting(plan: Plan, place: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Visitors and their devices on one day of the week, by the rules of the plan's busiest day and with its amounts.

    On the busiest day the devices are the plan's own figure.
    """
    coming = made_by(plan.figures.get("people.visitors.arrivals"), arrivals)
    if coming is None:
        return NOBODY, NOBODY
    given, stay = coming.inputs, float(plan.figures["people.visitors.stay"].value)
    devices = amounts(given["devices"], RATIO)
    people = {event: _people(figure, devices[event]) for event, figure in given["devices"].items()}

    def there(counts: dict[str, float]) -> tuple[float, ...]:
        when = {event: figure.value for event, figure in given["days"].items()}
        doors = {event: figure.value for event, figure in given["doors"].items()}
        minutes = amounts(given["arrive"], MINUTE)
        return held(arrivals(Weekdays((place,)), counts, when, doors, minutes), stay).values

    if place in plan.figures["people.visitors.day"].value.days:
        known: Values = plan.figures["people.visitors.by-time"].value.values
        return there(people), known
    return there(people), there(devices)


def _people(devices: Figure[float], otherwise: float) -> float:
    """How many come to an event; as many as have devices where that was set by hand."""
    joined = made_by(devices, joining)
    return amount(joined.inputs["people"], COUNT) if joined is not None else otherwise


def busiest(days: Sequence[Day]) -> Day:
    """The day on which most people are there at once; of equal ones that on which they are there longest, then the first."""
    found = days[0]
    for day in days[1:]:
        found = day if day.busier(found) else found
    return found


def ordinary(days: Sequence[Day]) -> Day:
    """The middle one of the days on which anybody is there, by the hours that all of them together spend; of two the lesser."""
    used = sorted((day for day in days if any(day.people)), key=lambda day: (sum(day.people), day.place))
    return used[(len(used) - 1) // 2] if used else days[0]


def hours(values: Sequence[float]) -> float:
    """Person-hours, or device-hours, of a day."""
    return sum(values) * A_STEP


def span(quarter: int) -> str:
    """A quarter of an hour as people read it: "19:30 to 19:45"."""
    start = quarter * STEP_MINUTES
    return f"{clock(start)} to {clock((start + STEP_MINUTES) % MINUTES_A_DAY)}"


@dataclass(frozen=True, slots=True)
class Days:
    """The two days that are drawn; one where all working days are alike."""

    busy: Day
    usual: Day
    every: bool
    """Whether all days on which anybody is there are alike."""

    @property
    def alike(self) -> bool:
        """Whether one line shows both."""
        return self.busy.alike == self.usual.alike

    @property
    def busiest(self) -> str:
        """What the busiest day is called on its line."""
        same = ", and an ordinary day" if self.alike else ""
        return "every working day" if self.every else f"{self.busy.name}, busiest{same}"

    @property
    def quarters(self) -> bool:
        """Whether anything changes within an hour: visitors come by the quarter, people at work by the hour."""
        return any(any(day.guests) or any(day.joined) for day in (self.busy, self.usual))

    @property
    def across(self) -> Across:
        """The hours of a day from left to right."""
        each = 1 if self.quarters else QUARTERS_AN_HOUR
        places = range(0, STEPS_A_DAY, each)
        said = tuple(
            span(place) if each == 1 else f"{clock(place * STEP_MINUTES)} to {_clock_after(place)}"
            for place in places
        )
        at = tuple(place * STEP_MINUTES / MINUTES_AN_HOUR for place in places)
        ticks = tuple((float(hour), f"{hour:02d}:00") for hour in range(0, HOURS_A_DAY + 1, TICK_HOURS))
        return Across(Axis("hour of the day"), at, said, ticks, float(HOURS_A_DAY))

    def thinned(self, values: Values) -> Values:
        """Of quarters, those that are drawn."""
        return values if self.quarters else values[::QUARTERS_AN_HOUR]

    def both(self, of: Callable[[Day], Values], figure: str = "") -> tuple[Series, ...]:
        """A line for each of the two days."""
        busy = self.thinned(of(self.busy))
        first = Series(self.busiest, busy, figure=figure)
        if self.alike:
            return (first,)
        return first, Series(f"{self.usual.name}, ordinary", self.thinned(of(self.usual)), "dashed")


def _clock_after(place: int) -> str:
    return clock((place + QUARTERS_AN_HOUR) * STEP_MINUTES)


def two_days(plan: Plan) -> Days | None:
    """The ordinary and the busiest day of a plan; None where nobody is ever there."""
    days = days_of(plan)
    used = [day for day in days if any(day.people)]
    if not used:
        return None
    busy, usual = busiest(used), ordinary(used)
    return Days(busy, usual, all(day.alike == busy.alike for day in used))
