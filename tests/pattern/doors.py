"""Door access: readers fed over their cables, locks, and a controller that holds the locks in a power cut.

Figures:
    doors.<slug>.watts    power of one lock
    doors.watts           power of all locks
    doors.count           doors with a reader
    doors.spare           doors that could still be added
Demands: doors.served doors.held
Findings: D-1.
Records: Device, Draw, Slot, Demand, Cost, Port, Page.
"""

from collections.abc import Iterator

from scantling.brief import Given, Section, asked, assumed
from scantling.catalogue import Catalogue, House, Practice
from scantling.catalogue.columns import DEPTH, HEIGHT, NAME, NOISE, POWERED_CLASS, RAILS, WATTS, WEIGHT
from scantling.figures import (
    PRICE, Attribute, Chosen, Cost, Demand, Desk, Device, Draw, Finding, Of, Page, Port, Ruled, Slot, Source, Sum, Weight, count_of,
    rule, total,
)  # fmt: skip
from scantling.figures.units import COUNT, HOUR, MONEY, SHARE, WATT, WH, Hours, Percent, Ratio, WattHours, Watts
from scantling.handbook.money import price_of
from scantling.handbook.sizing import left_over, shorter
from scantling.handbook.switching import CLASS_WATTS

LOCKS = Source("common practice, no source", "common practice")
DOORS, BATTERY = Attribute("doors", COUNT, sums=True), Attribute("battery", WH)
READER, FEE = Attribute("reader_watts", WATT), Attribute("key_fee", MONEY)
COLUMNS = {
    "controller": (NAME, PRICE, DOORS, BATTERY, WATTS, HEIGHT, DEPTH, WEIGHT, NOISE, RAILS),
    "reader": (NAME, READER, POWERED_CLASS, FEE),
}
ZONE = "doors"
HOLD, SPARE, HELD = Practice("doors.hold", HOUR), Practice("doors.spare", COUNT), Practice("doors.held", SHARE)


class Door(Section):
    """One door with a reader."""

    lock: Given[Watts] = asked("How much does its lock draw?")
    held: Given[Percent] = assumed("How much of the time is it under current?", "doors.held")


class Doors(Section):
    """Doors that open by card."""

    key = "doors"
    list: dict[str, Door] = asked("Which doors have readers?")


@rule(LOCKS)
def lock_watts(lock: Watts, held: Ratio) -> Watts:
    """Power of one lock."""
    return lock * held


@rule(LOCKS, rises="battery", falls="watts")
def holding(battery: WattHours, watts: Watts) -> Hours:
    """How long a battery holds the locks."""
    return battery / watts


def asks(
    doors: Doors, catalogue: Catalogue, house: House, desk: Desk
) -> Iterator[Slot | Demand | Cost | Draw | Device | Port]:
    """A controller for every door, current for the locks, an address and a port that feeds it for each reader."""
    reader, draws = catalogue.only("reader"), []
    for at, slug, door in desk.each(doors.list):
        watts = lock_watts.of(lock=door.lock, held=door.held)
        draws.append(Draw(slug, at.figure("watts", watts)))
    yield from draws
    count = desk.figure("count", count_of({draw.slug: draw.watts for draw in draws}), "Doors with a reader")
    watts = desk.figure("watts", total({draw.slug: draw.watts for draw in draws}, WATT), "Power of all locks")
    yield Slot("door-controller", catalogue.options("controller", counts=(1, 2, 3)), "Door controller")
    yield desk.demand("served", "Doors served", Sum(DOORS), at_least=count)
    holds = holding.over(battery=Of("door-controller", BATTERY), watts=watts)
    yield desk.demand("held", "Locks held in a power cut", holds, at_least=house[HOLD])
    yield Cost("doors.keys", "Keys", price_of.over(count=Sum(DOORS), each=reader.figure(FEE)))
    yield Device("readers", "Door readers", "reader", ZONE, count, count, wired=True, fixed=True)
    yield Port("readers", ZONE, count, CLASS_WATTS.of(reader.figure(POWERED_CLASS)), reader.figure(READER))


def design(house: House, chosen: Chosen, desk: Desk) -> Iterator[Finding | Page]:
    """What the controller leaves free."""
    if not chosen.has("door-controller"):
        return
    spare = desk.figure("spare", left_over.of(offered=chosen.of(Sum(DOORS)), taken=desk.kept("count", COUNT)))
    full = shorter.of(have=spare, need=house[SPARE])
    yield Finding("D-1", Weight.NOTE, full, "No door can be added to this controller.", "Take the next size up.")
    rows = [("Door controller", chosen.picked["door-controller"], spare)]
    yield Page("doors", "A", "Doors", (Ruled("Door access", ("for", "article", "doors left"), rows),))
