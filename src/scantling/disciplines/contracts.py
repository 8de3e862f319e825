"""Contracts: with whom each line is had, until when it binds, whom to call, and what lines share that should not.

Figures:
    contracts.<slug>.left     days until the contract of a line ends
    contracts.<slug>.bound    what a line costs for as long as a contract binds at least
    contracts.alike           lines that share their provider or their road with a line before them
    contracts.silent          lines whose provider nobody knows how to reach
Findings: L-8 L-9 L-10 L-11.
"""

from collections.abc import Iterator

from scantling.brief import Office
from scantling.figures import Desk, Every, Finding, Line, Weight, count_of, text, total
from scantling.figures.units import COUNT
from scantling.handbook.copies import over_years
from scantling.handbook.handoffs import alike, shared_with
from scantling.handbook.money import a_year
from scantling.handbook.naming import days_left
from scantling.handbook.sizing import beyond, both, negated, shorter

NONE = total((), COUNT)


def asks(lines: Every[Line], office: Office, desk: Desk) -> Iterator[Finding]:
    """Line by line, then what they have in common."""
    for at, line in ((desk.under(line.slug), line) for line in lines):
        if line.monthly is not None:
            bound = over_years.of(yearly=a_year.of(monthly=line.monthly), years=line.term)
            at.figure("bound", bound, f"{line.name}: for as long as a contract binds")
        if line.ends is not None:
            yield from _ending(line, office, at)
    yield _shared(lines, desk)
    mute = {line.slug: line.down for line in lines if line.contact is None}
    many = desk.figure("silent", count_of(mute), "Lines whose provider nobody knows how to reach")
    names = ", ".join(line.name for line in lines if line.slug in mute)
    yield Finding(
        "L-11", Weight.NOTE, beyond.of(have=many, limit=NONE),
        f"Nobody has said how to reach the provider when a line is down; that is so of {{many}}: {names}.",
        "Write the number for faults and the client's number with them under contact; when the line is down, nobody looks it up.",
        {"many": many}, next(iter(mute), ""),
    )  # fmt: skip


def _ending(line: Line, office: Office, at: Desk) -> Iterator[Finding]:
    """Within the notice, or later but before the horizon."""
    assert line.ends is not None
    left = at.figure("left", days_left.of(since=office.as_of, until=line.ends), f"{line.name}: contract ends in")
    near = shorter.of(have=left, need=line.notice)
    shown = {"day": line.ends, "left": left, "notice": line.notice, "term": line.term}
    yield Finding(
        "L-9", Weight.MEND, near,
        f"The contract of {line.name} ends on {{day}}, {{left}} from now: less than the {{notice}} in which it must be cancelled.",
        "Find out today whether it goes on by itself and for how long; renew it, or order another line now: that takes weeks.",
        shown, line.slug,
    )  # fmt: skip
    later = both.of(one=negated.of(given=near), other=shorter.of(have=left, need=office.horizon))
    yield Finding(
        "L-10", Weight.NOTE, later, f"The contract of {line.name} ends on {{day}}, before the horizon; a new one binds {{term}}.",
        "Put the day, less the notice, into the calendar of whoever pays. A new provider may mean other addresses.", shown, line.slug,
    )  # fmt: skip


def _shared(lines: Every[Line], desk: Desk) -> Finding:
    """Lines that fail together."""
    providers = {line.slug: line.provider for line in lines if line.provider is not None}
    roads = {line.slug: line.road for line in lines if line.road is not None}
    many = alike.of(providers=providers, roads=roads)
    many = desk.figure("alike", many, "Lines that share their provider or their road with another")
    told = shared_with(
        {slug: text(one) for slug, one in providers.items()}, {slug: text(one) for slug, one in roads.items()}
    )
    names = {line.slug: line.name for line in lines}
    says = "; ".join(f"{names[mine]} and {names[other]} {what}" for mine, other, what in told)
    return Finding(
        "L-8", Weight.NOTE, beyond.of(have=many, limit=NONE), f"Lines that may fail together: {says}.",
        "Take the second line from another firm and by another road, best one in the ground and one by radio: what cuts one, or stops its "
        "firm, then leaves the other.", {"many": many}, told[0][0] if told else "",
    )  # fmt: skip
