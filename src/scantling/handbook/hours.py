"""Hours as people write them for traffic: days, a span of the day, or both; read into windows, and written again."""

from collections.abc import Iterator

from scantling.figures import Window
from scantling.figures.calendar import DAY_NAMES, MINUTES_A_DAY, Span, Weekdays, clock
from scantling.figures.spelled import quoted, spelled

EVERY_DAY = tuple(range(len(DAY_NAMES)))
LAST_MINUTE = MINUTES_A_DAY - 1
LIKE = 'write them like "mon-fri 08:00-18:00"'


def read_hours(text: str) -> tuple[Window, ...]:
    """Windows of days and a span; a span past midnight becomes two. Raises ValueError in a person's words."""
    words = text.replace(",", " ").split()
    spans = [word for word in words if ":" in word]
    days = " ".join(word for word in words if ":" not in word)
    if not words or len(spans) > 1:
        raise ValueError(f"the hours {quoted(text)} are not understood; {LIKE}, with one span of the day")
    try:
        chosen: Weekdays = spelled(days, Weekdays) if days else Weekdays(EVERY_DAY)
        span: Span = spelled(spans[0], Span) if spans else Span(0, 0)
    except ValueError:
        raise ValueError(f"the hours {quoted(text)} are not understood; {LIKE}") from None
    return tuple(_windows(chosen.days, span))


def _windows(days: tuple[int, ...], span: Span) -> Iterator[Window]:
    """The last minute is the one before the end."""
    if span.start < span.end:
        yield Window(days, span.start, span.end - 1)
        return
    yield Window(days, span.start, LAST_MINUTE)
    if span.end:
        yield Window(tuple(sorted((day + 1) % len(DAY_NAMES) for day in days)), 0, span.end - 1)


def written_hours(window: Window | None) -> str:
    """As people read them; always where there is no window."""
    if window is None:
        return "always"
    days = "" if window.days == EVERY_DAY else _days(window.days)
    whole = (window.first, window.last) == (0, LAST_MINUTE)
    last = "24:00" if window.last == LAST_MINUTE else clock(window.last + 1)
    return f"{days} {'' if whole else f'{clock(window.first)}-{last}'}".strip() or "always"


def _days(days: tuple[int, ...]) -> str:
    """Runs of three days and more with a hyphen."""
    runs: list[list[int]] = []
    for day in days:
        if runs and day == runs[-1][-1] + 1:
            runs[-1].append(day)
        else:
            runs.append([day])
    return " ".join(_run(run) for run in runs)


def _run(run: list[int]) -> str:
    first, *between, _ = *run, run[-1]
    return f"{DAY_NAMES[first]}-{DAY_NAMES[run[-1]]}" if between[1:] else " ".join(DAY_NAMES[day] for day in run)
