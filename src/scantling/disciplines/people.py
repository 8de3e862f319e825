"""People: heads by role now and at the horizon, who is at work in which hour, and the visitors of the busiest day.

Figures:
    people.roles.<slug>.horizon             heads of a role at the horizon
    people.roles.<slug>.present             heads of a role at work by hour of the week
    people.heads                            heads today, all roles
    people.horizon                          heads at the horizon, all roles
    people.present                          heads at work by hour of the week, all roles
    people.peak                             most people at work in one hour
    people.visitors.events.<slug>.devices   devices that join at one event
    people.visitors.day                     the busiest day of the week
    people.visitors.joining                 devices that join on the busiest day
    people.visitors.arrivals                devices that join in each quarter of an hour of that day
    people.visitors.stay                    how long visitors stay
    people.visitors.by-time                 visitors' devices there through the busiest day
    people.visitors.present                 visitors' devices there at the peak
    people.visitors.active                  visitors' devices using the line at the peak
Findings: H-1.
Records: Crowd, Visitors, Page.
"""

from collections.abc import Iterator, Mapping

from scantling.brief import Given, Office, Section, asked, assumed, optional
from scantling.catalogue import Catalogue
from scantling.figures import (
    Candidate, Crowd, Desk, Facts, Figure, Finding, Page, Prose, Ruled, Source, Visitors, Weight, largest, peak,
    standard, text, total,
)  # fmt: skip
from scantling.figures.calendar import WEEKDAYS, ClockSpan, ClockTime, Weekdays, WeekdaySet
from scantling.figures.spelled import titled
from scantling.figures.units import COUNT, HOUR, Count, Hours, Minutes, Percent, PercentPerYear, Ratio, Word
from scantling.handbook.days import arrivals, held, joining, joining_on, presence, together, whole
from scantling.handbook.sizing import grown_heads, heads_of, shorter

CALENDAR = Source("ISO 8601, Monday is the first day")
WEEK = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


class Role(Section):
    """One kind of work."""

    name: Given[Word] | None = optional("What is this kind of work called?")
    heads: Given[Count] = asked("How many people do this work today?", least="1", most="100000")
    growth: Given[PercentPerYear] = assumed(
        "How fast will they grow?", "people.growth", least="0 %/year", most="100 %/year"
    )
    days: Given[WeekdaySet] = assumed("On which days?", "people.days")
    hours: Given[ClockSpan] = assumed("From when to when?", "people.hours")
    present: Given[Percent] = assumed(
        "Which share of them is at work at the same time?", "people.present", least="0 %", most="100 %"
    )


class People(Section):
    """Who works there."""

    key = "people"
    roles: dict[str, Role] = asked("What kinds of work are there?")


class Event(Section):
    """Something that visitors come to."""

    name: Given[Word] | None = optional("What is it called?")
    people: Given[Count] = asked("How many come at most?", least="1", most="100000")
    days: Given[WeekdaySet] = asked("On which days?")
    doors: Given[ClockTime] = asked("When do the doors open?")
    arrive: Given[Minutes] = assumed("Over what time do they come in?", "visitors.arrive", least="1 min", most="24 h")
    stay: Given[Hours] = assumed("How long do they stay?", "visitors.stay", least="1 min", most="7 day")


class Guests(Section):
    """People who come and go and join the network with devices of their own."""

    key = "visitors"
    zone: Given[Word] = assumed("Which zone do they join?", "visitors.zone")
    join: Given[Percent] = assumed(
        "Which share of them joins the network?", "visitors.join", least="0 %", most="100 %"
    )
    active: Given[Percent] = assumed(
        "Which share of those uses it at the same time?", "visitors.active", least="0 %", most="100 %"
    )
    devices_each: Given[Ratio] = assumed("How many devices has each?", "visitors.devices-each", least="0", most="10")
    events: dict[str, Event] = asked("What do they come to, and when?")


def asks(people: People, office: Office, desk: Desk) -> Iterator[Crowd | Page | Finding]:
    """Heads at the horizon and at work by the hour, role by role."""
    crowds = [_crowd(at, slug, role, office) for at, slug, role in desk.each(people.roles, "roles")]
    yield from crowds
    now = desk.figure("heads", total({c.slug: c.heads for c in crowds}, COUNT), "People today")
    horizon = desk.figure("horizon", total({c.slug: c.horizon for c in crowds}, COUNT), "People at the horizon")
    week = desk.figure(
        "present", together.of(crowds={c.slug: c.present for c in crowds}), "At work by hour of the week"
    )
    most = desk.figure("peak", whole.of(amount=peak(week)), "Most people at work in one hour")
    yield Finding(
        "H-1", Weight.NOTE, shorter.of(have=horizon, need=now), "{horizon} people at the horizon, {now} today.",
        "Ask whether the office really shrinks; if so, a smaller server may do.", {"horizon": horizon, "now": now},
    )  # fmt: skip
    yield _page(
        people,
        crowds,
        [("People today", now), ("People at the horizon", horizon), ("Most at work in one hour", most)],
    )


def _crowd(at: Desk, slug: str, role: Role, office: Office) -> Crowd:
    horizon = grown_heads.of(heads=role.heads, growth=role.growth, years=office.horizon)
    horizon = at.figure("horizon", horizon, f"{_called(role.name, slug)} at the horizon")
    present = presence.of(heads=horizon, present=role.present, days=role.days, hours=role.hours)
    present = at.figure("present", present, f"{_called(role.name, slug)} at work by hour of the week")
    return Crowd(slug, _called(role.name, slug), role.heads, horizon, present)


def _called(name: Figure[str] | None, slug: str) -> str:
    return text(name) if name is not None else titled(slug)


def _page(people: People, crowds: list[Crowd], facts: list[tuple[str, Figure[int]]]) -> Page:
    roles = people.roles
    rows = [
        (c.name, c.heads, c.horizon, roles[c.slug].days, roles[c.slug].hours, roles[c.slug].present) for c in crowds
    ]
    return Page("people", "G", "People", (
        Facts(facts),
        Ruled("People by role", ("role", "today", "at the horizon", "days", "hours", "at work together"), rows),
    ), 2)  # fmt: skip


def asks_visitors(guests: Guests, catalogue: Catalogue, desk: Desk) -> Iterator[Visitors | Page]:
    """The busiest day of the week, quarter hour by quarter hour."""
    at = desk.under("visitors")
    devices = {slug: _devices(here, slug, event, guests) for here, slug, event in at.each(guests.events, "events")}
    day = _busiest(at, guests, devices)
    coming = arrivals.of(
        day=day, devices=devices, days=_days(guests),
        doors={slug: event.doors for slug, event in guests.events.items()},
        arrive={slug: event.arrive for slug, event in guests.events.items()},
    )  # fmt: skip
    coming = at.figure("arrivals", coming, "Visitors' devices that join, by quarter of an hour")
    stay = largest({slug: event.stay for slug, event in guests.events.items()}, HOUR)
    stay = at.figure("stay", stay, "How long visitors stay, the longest event")
    through = at.figure("by-time", held.of(arrivals=coming, hold=stay), "Visitors' devices there through the day")
    present = at.figure("present", whole.of(amount=peak(through)), "Visitors' devices there at the peak")
    active = at.figure(
        "active", heads_of.of(count=present, share=guests.active), "Visitors' devices in use at the peak"
    )
    yield Visitors("visitors", catalogue.pick("zone_kind", guests.zone).slug, coming, stay, present, active)
    yield _visitors_page(guests, devices, (day, present, active))


def _devices(at: Desk, slug: str, event: Event, guests: Guests) -> Figure[float]:
    joined = joining.of(people=event.people, join=guests.join, each=guests.devices_each)
    return at.figure("devices", joined, f"{_called(event.name, slug)}, devices that join")


def _days(guests: Guests) -> Mapping[str, Figure[Weekdays]]:
    return {slug: event.days for slug, event in guests.events.items()}


def _busiest(at: Desk, guests: Guests, devices: Mapping[str, Figure[float]]) -> Figure[Weekdays]:
    """The day on which most devices join; the first such day of the week."""
    week = [standard(Weekdays((place,)), WEEKDAYS, CALENDAR, name) for place, name in enumerate(WEEK)]
    joined = [joining_on.of(day=day, devices=devices, days=_days(guests)) for day in week]
    candidates: list[Candidate[Weekdays]] = [Candidate(day, merit) for day, merit in zip(week, joined, strict=True)]
    day = at.choose(
        "day", WEEKDAYS, candidates, by="most", because="most devices join on this day", label="The busiest day"
    )
    at.figure(
        "joining", joining_on.of(day=day, devices=devices, days=_days(guests)), "Devices that join on the busiest day"
    )
    return day


def _visitors_page(
    guests: Guests, devices: Mapping[str, Figure[float]], found: tuple[Figure[Weekdays], Figure[int], Figure[int]]
) -> Page:
    day, present, active = found
    rows = [
        (_called(event.name, slug), event.people, event.days, event.doors, event.stay, devices[slug])
        for slug, event in guests.events.items()
    ]
    return Page("visitors", "G", "Visitors", (
        Prose("Counted as if every event were full, and everybody stayed as long as the longest event lasts."),
        Facts([("Busiest day", day), ("Devices there at the peak", present), ("In use at the peak", active)]),
        Ruled("Events", ("event", "people", "days", "doors", "stay", "devices that join"), rows),
    ), 3)  # fmt: skip
