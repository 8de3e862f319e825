"""Days of the week and spans of the clock, as values of figures."""

from dataclasses import dataclass
from typing import Annotated

from scantling.figures.units import closed

DAY_NAMES = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MINUTES_A_DAY, MINUTES_AN_HOUR, HOURS_A_WEEK = 1440, 60, 168


@dataclass(frozen=True, slots=True)
class Weekdays:
    """A set of weekdays, Monday is 0."""

    days: tuple[int, ...]

    def __str__(self) -> str:
        return " ".join(DAY_NAMES[day] for day in self.days)

    def as_plain(self) -> str:
        """For canonical JSON."""
        return str(self)


@dataclass(frozen=True, slots=True)
class Span:
    """From one time of day to another, in minutes after midnight; past midnight when `end` is not after `start`."""

    start: int
    end: int

    @property
    def minutes(self) -> int:
        """How long it lasts."""
        return (self.end - self.start) % MINUTES_A_DAY or MINUTES_A_DAY

    def __str__(self) -> str:
        return f"{clock(self.start)}-{clock(self.end)}"

    def as_plain(self) -> str:
        """For canonical JSON."""
        return str(self)


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of day, in minutes after midnight."""

    minute: int

    def __str__(self) -> str:
        return clock(self.minute)

    def as_plain(self) -> str:
        """For canonical JSON."""
        return str(self)


def clock(minute: int) -> str:
    """`19:30`."""
    hour, rest = divmod(minute % MINUTES_A_DAY, MINUTES_AN_HOUR)
    return f"{hour:02d}:{rest:02d}"


WEEKDAYS, SPAN, CLOCK = closed(Weekdays), closed(Span), closed(Clock)
WeekdaySet = Annotated[Weekdays, WEEKDAYS]
ClockSpan = Annotated[Span, SPAN]
ClockTime = Annotated[Clock, CLOCK]
