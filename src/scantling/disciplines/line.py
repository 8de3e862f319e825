"""Line: whether the lines to the outside are fast enough in the busiest hour.

Figures:
    line.lines.<slug>.yearly    what a line costs a year
    line.people                 most people at work in one hour at the horizon
    line.visitors               visitors' devices in use at the peak
    line.telephones             telephones planned for
    line.calls                  calls at the same time
    line.call                   speed of one call
    line.down                   speed of all lines in use, to the office
    line.up                     speed of all lines in use, from the office
    line.down-needed            speed needed in the busiest hour, to the office
    line.up-needed              speed needed in the busiest hour, from the office
    line.up-remote              what people who work from elsewhere fetch, from the office
    line.up-together            both of them
    line.standby                lines that stand by
    line.standby-down           speed of the lines that stand by, to the office
    line.standby-needed         what they must carry
    line.night                  data that the lines can send in one night
Findings: L-1 L-2 L-3 L-12.
Records: Line, Fee, Page.
"""

from collections.abc import Iterator
from enum import StrEnum

from scantling.brief import Given, Mapped, Section, asked, assumed, optional
from scantling.catalogue import House, Practice
from scantling.figures import (
    Crowd, Desk, Device, Every, Facts, Fee, Figure, Finding, Line, Page, Prose, RemoteAccess, Rented, Ruled, Source,
    Visitors, Weight, peak, standard, text, total,
)  # fmt: skip
from scantling.figures.spelled import titled
from scantling.figures.units import (
    COUNT, HOUR, KBIT_PER_S, MBIT_PER_S, MILLISECOND, RATIO, Address, Address6, Date, MegabitsPerSecond, Money, Months, Truth, Word,
)  # fmt: skip
from scantling.handbook.days import together, whole
from scantling.handbook.lines import busiest_hour, call_speed, counted, sent_in, standing_speed, working_speed
from scantling.handbook.money import a_year
from scantling.handbook.sizing import added, beyond, both, heads_of, negated, part_of, shorter, times

DOWN_PERSON, UP_PERSON = Practice("line.down-person", MBIT_PER_S), Practice("line.up-person", MBIT_PER_S)
DOWN_VISITOR, UP_VISITOR = Practice("line.down-visitor", MBIT_PER_S), Practice("line.up-visitor", MBIT_PER_S)
CALLING, STANDBY_SHARE = Practice("line.calling", RATIO), Practice("line.standby-share", RATIO)
UP_REMOTE = Practice("line.up-remote", MBIT_PER_S)
NIGHT, NIGHT_SHARE = Practice("line.night", HOUR), Practice("line.night-share", RATIO)
RTP = Source("RFC 3551")
NONE, PHONE = total((), COUNT), "phone"


class Handoff(StrEnum):
    """How a line is handed over."""

    BRIDGE = "bridge"
    LOGIN = "login"
    FIXED = "fixed"
    DYNAMIC = "dynamic"
    SHARED = "shared"


class Road(StrEnum):
    """What a line comes by."""

    FIBRE = "fibre"
    COPPER = "copper"
    CABLE = "cable"
    RADIO = "radio"
    SATELLITE = "satellite"


class Outside(Section):
    """One line to the outside."""

    name: Given[Word] | None = optional("What is it called?")
    down: Given[MegabitsPerSecond] = asked("How fast is it to the office?")
    up: Given[MegabitsPerSecond] = asked("How fast is it from the office?")
    monthly: Given[Money] | None = optional("What does it cost a month?")
    standby: Given[Truth] = assumed("Does it stand by for when the others fail?", "line.standby")
    handoff: Given[Handoff] = assumed(
        "Is it handed over as a bridge, by login, with a fixed, a dynamic or a shared address?", "line.handoff"
    )
    router: Given[Truth] = assumed(
        "Does a box of the provider translate addresses before the firewall does?", "line.router"
    )
    address: Given[Address] | None = optional("Which address does it give the firewall?", like="203.0.113.10")
    address6: Given[Address6] | None = optional("Which IPv6 address?", like="2001:db8:44::1")
    road: Given[Road] | None = optional("What does it come by?")
    provider: Given[Word] | None = optional("Who provides it?")
    contact: Given[Word] | None = optional("How is the provider reached when it is down?")
    contract_end: Given[Date] | None = optional("On which day does its contract end?")
    term: Given[Months] = assumed(
        "How many months does a contract bind at least?", "line.term", least="0 month", most="120 month"
    )
    notice: Given[Months] = assumed(
        "How many months before its end must it be cancelled?", "line.notice", least="0 month", most="24 month"
    )


class Lines(Mapped[Outside]):
    """Lines to the outside."""

    key = "lines"


def asks(  # noqa: PLR0913 - what is offered against what people, visitors, telephones and rented services want
    lines: Lines,
    house: House,
    crowds: Every[Crowd],
    visitors: Every[Visitors],
    devices: Every[Device],
    rented: Every[Rented],
    accesses: Every[RemoteAccess],
    desk: Desk,
) -> Iterator[Line | Fee | Finding | Page]:
    """Speed wanted in the busiest hour against the lines given."""
    yield from _outside(lines, desk)
    crowd = together.of(crowds={crowd.slug: crowd.present for crowd in crowds})
    people = desk.figure("people", whole.of(amount=peak(crowd)), "Most people at work in one hour")
    guests = desk.figure("visitors", total({v.slug: v.active for v in visitors}, COUNT), "Visitors' devices in use")
    calls, call = _calls(devices, house, desk), _call(desk)
    down = busiest_hour.of(
        people=people, person=house[DOWN_PERSON], visitors=guests, visitor=house[DOWN_VISITOR], calls=calls, call=call
    )
    up = busiest_hour.of(
        people=people, person=house[UP_PERSON], visitors=guests, visitor=house[UP_VISITOR], calls=calls, call=call
    )
    down, up = _with_rented(down, up, rented)
    down = desk.figure("down-needed", down, "Speed needed to the office")
    up = desk.figure("up-needed", up, "Speed needed from the office")
    has_down, has_up = _offered(lines, desk)
    night = sent_in.of(speed=has_up, time=house[NIGHT], share=house[NIGHT_SHARE])
    night = desk.figure("night", night, "Data that the lines can send in one night")
    yield _slow(has_down, down, "to")
    yield _slow(has_up, up, "from")
    remote = _from_elsewhere(house, accesses, desk)
    yield _too_much(has_up, up, remote, desk)
    yield from _standby(lines, down, house, desk)
    yield _page(lines, [
        ("Most people at work in one hour", people), ("Visitors' devices in use", guests),
        ("Calls at the same time", calls),
        ("Needed to the office", down), ("There is to the office", has_down), ("Needed from the office", up),
        ("Fetched from elsewhere besides", remote), ("There is from the office", has_up),
        ("Can be sent in one night", night),
    ])  # fmt: skip


def _calls(devices: Every[Device], house: House, desk: Desk) -> Figure[int]:
    phones = total({device.slug: device.count for device in devices if device.kind == PHONE}, COUNT)
    phones = desk.figure("telephones", phones, "Telephones")
    return desk.figure("calls", heads_of.of(count=phones, share=house[CALLING]), "Calls at the same time")


def _call(desk: Desk) -> Figure[float]:
    voice = standard(64.0, KBIT_PER_S, RTP, "coded voice")
    interval = standard(20.0, MILLISECOND, RTP, "one packet every")
    return desk.figure("call", call_speed.of(voice=voice, interval=interval), "Speed of one call")


def _with_rented(
    down: Figure[float], up: Figure[float], rented: Every[Rented]
) -> tuple[Figure[float], Figure[float]]:
    """What is left with others comes and goes by the line, on top of all else."""
    if not rented:
        return down, up
    return (
        added.of(one=down, other=total({one.slug: one.down for one in rented}, MBIT_PER_S)),
        added.of(one=up, other=total({one.slug: one.up for one in rented}, MBIT_PER_S)),
    )


def _offered(lines: Lines, desk: Desk) -> tuple[Figure[float], Figure[float]]:
    """The lines in use together, to and from the office."""
    down = {slug: working_speed.of(speed=line.down, standby=line.standby) for slug, line in lines.items.items()}
    up = {slug: working_speed.of(speed=line.up, standby=line.standby) for slug, line in lines.items.items()}
    has_down = desk.figure("down", total(down, MBIT_PER_S), "Lines in use, to the office")
    return has_down, desk.figure("up", total(up, MBIT_PER_S), "Lines in use, from the office")


def _outside(lines: Lines, desk: Desk) -> Iterator[Line | Fee]:
    """Each line as given, and what it costs a year."""
    for slug, line in lines.items.items():
        yield Line(
            slug, _called(slug, line), line.down, line.up, text(line.standby) == "yes", line.handoff, line.router,
            line.term, line.notice, line.monthly, line.address, line.address6, line.road, line.provider, line.contact,
            line.contract_end,
        )  # fmt: skip
        if line.monthly is not None:
            fee = desk.under("lines", slug).figure(
                "yearly", a_year.of(monthly=line.monthly), f"{_called(slug, line)}, a year"
            )
            yield Fee(slug, _called(slug, line), fee)


def _called(slug: str, line: Outside) -> str:
    return text(line.name) if line.name is not None else titled(slug)


def _slow(have: Figure[float], need: Figure[float], way: str) -> Finding:
    return Finding(
        "L-1", Weight.MEND, shorter.of(have=have, need=need),
        f"The lines carry {{have}} {way} the office; the busiest hour wants {{need}}.",
        "Order a faster line, or hold visitors to less each. Count at least eight weeks from order to hand-over.",
        {"have": have, "need": need},
    )  # fmt: skip


def _from_elsewhere(house: House, accesses: Every[RemoteAccess], desk: Desk) -> Figure[float]:
    """What all who work from elsewhere fetch at once; it leaves the office by its lines."""
    people = total({one.slug: one.people for one in accesses}, COUNT)
    return desk.figure("up-remote", times.of(count=people, each=house[UP_REMOTE]), "Fetched from elsewhere")


def _too_much(have: Figure[float], up: Figure[float], remote: Figure[float], desk: Desk) -> Finding:
    """The office alone may have enough, and not with those who work from elsewhere."""
    both_ways = desk.figure("up-together", added.of(one=up, other=remote), "Needed from the office, with them")
    some = beyond.of(have=remote, limit=total((), MBIT_PER_S))
    return Finding(
        "L-12", Weight.MEND, both.of(one=some, other=shorter.of(have=have, need=both_ways)),
        "People who work from elsewhere fetch {remote} on top of the {up} that the office sends; the lines carry {have} from the office.",
        "Order a line that is faster from the office, or let them work on a screen of a machine inside instead of fetching files.",
        {"remote": remote, "up": up, "have": have},
    )  # fmt: skip


def _standby(lines: Lines, down: Figure[float], house: House, desk: Desk) -> Iterator[Finding]:
    """What is left when the line in use fails."""
    many = total({slug: counted.of(given=line.standby) for slug, line in lines.items.items()}, COUNT)
    many = desk.figure("standby", many, "Lines that stand by")
    speeds = {slug: standing_speed.of(speed=line.down, standby=line.standby) for slug, line in lines.items.items()}
    have = desk.figure("standby-down", total(speeds, MBIT_PER_S), "Lines that stand by, to the office")
    need = desk.figure(
        "standby-needed", part_of.of(amount=down, share=house[STANDBY_SHARE]), "Needed when the line fails"
    )
    some = beyond.of(have=many, limit=NONE)
    yield Finding(
        "L-2", Weight.NOTE, negated.of(given=some), "No line stands by: when the line fails, the office is cut off.",
        "Offer a second line of another kind, best by radio from another firm.", {"standby": many},
    )  # fmt: skip
    yield Finding(
        "L-3", Weight.NOTE, both.of(one=some, other=shorter.of(have=have, need=need)),
        "The line that stands by carries {have}; {need} are wanted so that tills and telephones go on.",
        "Take a faster one, or say before which zones stay cut off.", {"have": have, "need": need},
    )  # fmt: skip


def _page(lines: Lines, facts: list[tuple[str, Figure[object]]]) -> Page:
    rows = [
        (
            _called(slug, line),
            line.down,
            line.up,
            "stands by" if text(line.standby) == "yes" else "in use",
            _known(line.monthly),
        )
        for slug, line in lines.items.items()
    ]
    return Page("lines", "N", "Lines to the outside", (
        Ruled("Lines", ("line", "to the office", "from the office", "use", "a month"), rows),
        Facts(facts, "The busiest hour"),
        Prose("Cameras are taken to send nothing outside. People and visitors are counted as if both were at their "
              "most together."),
        *_handed_over(lines),
    ), 2)  # fmt: skip


def _handed_over(lines: Lines) -> Iterator[Ruled]:
    """How each gets here, whose it is, and whom to call."""
    called = {slug: _called(slug, line) for slug, line in lines.items.items()}
    yield Ruled("Hand-over", ("line", "hand-off", "translated before", "address", "IPv6 address", "comes by"), [
        (called[slug], one.handoff, one.router, _known(one.address), _known(one.address6), _known(one.road))
        for slug, one in lines.items.items()
    ])  # fmt: skip
    yield Ruled("Contracts", ("line", "provider", "when it is down", "contract ends", "binds", "notice"), [
        (called[slug], _known(one.provider), _known(one.contact), _known(one.contract_end), one.term, one.notice)
        for slug, one in lines.items.items()
    ])  # fmt: skip


def _known(given: "Figure[object] | None") -> "Figure[object] | str":
    return given if given is not None else "not given"
