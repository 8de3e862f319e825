"""Handoff: how each line is handed over, the firewall's port to it, and what can't be reached through it.

Figures:
    handoff.ports             what the firewall's port to each line is called
    handoff.own               its own addresses there
    handoff.<slug>.shared     whether the address of a line is shared with others
    handoff.<slug>.doubled    whether a box of the provider translates before the firewall does
    handoff.wanting           lines with a fixed address that nobody has written down
    handoff.vain              lines whose address is lent and is written down all the same
Findings: L-4 L-5 L-6 L-7.
Records: Leg.
"""

from collections.abc import Iterator

from scantling.figures import (
    OUTSIDE, Desk, Every, Figure, Finding, Leg, Line, Weight, cells, count_of, text, total,
)  # fmt: skip
from scantling.figures.units import COUNT
from scantling.handbook.handoffs import (
    DYNAMIC, FIXED, behind_carrier, outside_ports, own_outside, translated_before,
)  # fmt: skip
from scantling.handbook.sizing import beyond, both, negated

NONE = total((), COUNT)


def asks(lines: Every[Line], desk: Desk) -> Iterator[Finding]:
    """Line by line, what stands between it and the outside."""
    for at, line in ((desk.under(line.slug), line) for line in lines):
        addresses = {line.slug: line.address} if line.address is not None else {}
        shared = behind_carrier.of(handoff=line.handoff, addresses=addresses)
        shared = at.figure("shared", shared, f"{line.name}: its address is shared with others")
        doubled = translated_before.of(router=line.router, addresses=addresses)
        doubled = at.figure("doubled", doubled, f"{line.name}: translated before the firewall")
        yield from _between(line, shared, doubled)
    wanting = {line.slug: line.handoff for line in lines if text(line.handoff) == FIXED and line.address is None}
    many = desk.figure("wanting", count_of(wanting), "Lines whose fixed address nobody has written down")
    yield Finding(
        "L-6", Weight.MEND, beyond.of(have=many, limit=NONE),
        "{many:line is|lines are} handed over with a fixed address, and nobody has written it down.",
        "Take it from the provider's letter and write it under address; until then the firewall's files are made as if it were lent.",
        {"many": many}, next(iter(wanting), ""),
    )  # fmt: skip
    vain = {line.slug: line.handoff for line in lines if text(line.handoff) == DYNAMIC and _written(line)}
    many = desk.figure("vain", count_of(vain), "Lines whose address is lent and is written down all the same")
    yield Finding(
        "L-7", Weight.NOTE, beyond.of(have=many, limit=NONE),
        "{many:line has|lines have} an address that the provider may change any day, and it is written down; "
        "the plan does not build on it.",
        "Ask the provider: if it is fixed, write handoff: fixed; else take the address out.", {"many": many}, next(iter(vain), ""),
    )  # fmt: skip


def _written(line: Line) -> bool:
    return line.address is not None or line.address6 is not None


def _between(line: Line, shared: Figure[bool], doubled: Figure[bool]) -> Iterator[Finding]:
    """Translation by the carrier for many clients, or by its box at this one; it harms less where a line only stands by."""
    yield Finding(
        "L-4", Weight.NOTE if line.standby else Weight.MEND, shared,
        f"The address of {line.name} is shared with other clients of the provider (RFC 6598): nothing outside can reach the office by it.",
        "Ask for an address of the office's own, in IPv4 or as an IPv6 prefix, before anything inside is to be reached from outside.",
        {"handoff": line.handoff}, line.slug,
    )  # fmt: skip
    yield Finding(
        "L-5", Weight.NOTE if line.standby else Weight.MEND, both.of(one=doubled, other=negated.of(given=shared)),
        f"On {line.name} addresses are translated twice: by a box of the provider, then by the firewall.",
        "Have the box set to bridge, so that the firewall gets the outside address itself; else every port that is let in must be led on "
        "there too, calls may lose their sound, and faults are looked for in the wrong box.", {"router": line.router}, line.slug,
    )  # fmt: skip


def design(lines: Every[Line], desk: Desk) -> Iterator[Leg]:
    """A port of the firewall for every line, in the brief's order."""
    names = desk.figure(
        "ports", outside_ports.of(lines={line.slug: line.down for line in lines}), "Ports to the outside"
    )
    own = own_outside.of(
        handoffs={line.slug: line.handoff for line in lines},
        fourth={line.slug: line.address for line in lines if line.address is not None},
        sixth={line.slug: line.address6 for line in lines if line.address6 is not None},
    )
    own = desk.figure("own", own, "The firewall's own addresses outside")
    for line in lines:
        yield Leg(line.slug, OUTSIDE, cells(names)[line.slug], (), cells(own)[line.slug])
