"""Who is there on each day of the week: the ordinary day and the busiest one, as the charts of load draw them."""

from collections.abc import Sequence
from dataclasses import dataclass

from scantling.api.charting_lineage import amount, amounts, made_by
from scantling.figures import Figure, Series, Visitors
from scantling.figures.calendar import HOURS_A_WEEK, MINUTES_A_DAY, MINUTES_AN_HOUR, Weekdays, clock
from scantling.figures.units import COUNT, MINUTE, RATIO
from scantling.handbook.days import STEP_MINUTES, STEPS_A_DAY, arrivals, held, joining
from scantling.plan.make import Plan

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
HOURS_A_DAY, DAYS_A_WEEK = 24, 7
A_STEP = STEP_MINUTES / MINUTES_AN_HOUR
QUARTERS_AN_HOUR = MINUTES_AN_HOUR // STEP_MINUTES
NOBODY = (0.0,) * STEPS_A_DAY


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
        known: Series = plan.figures["people.visitors.by-time"].value
        return there(people), known.values
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

