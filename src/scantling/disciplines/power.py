"""Power: the load, the battery that carries it, the heat it makes, the circuit it hangs on, the lifts.

Figures:
    power.standing          load that is not bought by choice, such as what the switches feed
    power.stop              time to stop all in good order
    power.needed            battery time wanted
    power.load              load on the battery as bought
    power.apparent          the same as apparent power
    power.heat              heat the room must lose
    power.weight            weight of all parts
    power.shared            share of the battery unit's rating in use
    power.first             the circuit with the most power left
    power.limit             weight one person may lift here
    power.heaviest          the heaviest single piece
    power.people            people the heaviest piece wants
Demands: power.lasts power.watts power.apparent-room power.circuit
Findings: E-1 E-2 E-3 C-4.
Records: Slot, Demand, Page.
"""

from collections.abc import Iterator

from scantling.brief import Given, Section, assumed
from scantling.catalogue import Catalogue, House, Practice
from scantling.catalogue.columns import LIFT_WEIGHT, RUN_25, RUN_50, RUN_75, RUN_100, UPS_WATTS, VA, WATTS
from scantling.catalogue.columns import WEIGHT as WEIGHT_KG
from scantling.figures import (
    Box, Caution, Chosen, Circuit, Demand, Desk, Draw, Every, Facts, Figure, Finding, Machine, Most, Of, Over, Page, Slot, Sum, Weight,
    largest, total,
)  # fmt: skip
from scantling.figures.units import CM, COUNT, KILOGRAM, MINUTE, RATIO, SHARE, WATT, Minutes
from scantling.handbook.electrics import battery_needed, battery_time, heat, load, shutdown_time, volt_amperes
from scantling.handbook.lifting import (
    distance_multiplier, horizontal_multiplier, people_to_lift, turning_multiplier, vertical_multiplier, weight_limit,
)  # fmt: skip
from scantling.handbook.sizing import beyond, enough, part_of, shorter, used_share

AGEING, MOST_LOADED = Practice("power.ageing", SHARE), Practice("power.most-loaded", SHARE)
FACTOR, ROUNDS = Practice("power.factor", RATIO), Practice("power.rounds", COUNT)
HOST_STOP = Practice("power.host-stop", MINUTE)
REACH, FROM_HEIGHT = Practice("power.reach", CM), Practice("power.from-height", CM)
TRAVEL, TURN = Practice("power.travel", CM), Practice("power.turn", RATIO)
ONE_PERSON = Practice("power.one-person", COUNT)


class Power(Section):
    """How long it should last without mains."""

    key = "power"
    default_whole = True
    hold: Given[Minutes] = assumed("How long should it carry on before it shuts down?", "power.hold", most="1440 min")


def asks(  # noqa: PLR0913 - a trade's signature is what it reads
    power: Power,
    catalogue: Catalogue,
    house: House,
    machines: Every[Machine],
    boxes: Every[Box],
    circuits: Every[Circuit],
    draws: Every[Draw],
    desk: Desk,
) -> Iterator[Slot | Demand]:
    """A battery that lasts through the shutdown, at the end of its life."""
    if not machines and not boxes:
        return
    loads = total([draw.watts for draw in draws], WATT)
    standing = desk.figure("standing", loads, "Load that is not bought by choice")
    slowest = largest({m.slug: m.stop for m in machines}, MINUTE)
    stop = shutdown_time.of(machines=slowest, host=house[HOST_STOP], rounds=house[ROUNDS])
    if not machines:  # a box is just left to go out: nothing has to be stopped before
        stop = total((), MINUTE)
    needed = battery_needed.of(hold=power.hold, shutdown=desk.figure("stop", stop, "Time to stop all in good order"))
    wanted = desk.figure("needed", needed, "Battery time wanted")
    all_load = load.over(bought=Sum(WATTS), standing=standing)
    yield Slot("ups", catalogue.options("ups"), "Battery unit")
    yield desk.demand("lasts", "Battery time at the end of its life", _lasts(all_load, house), at_least=wanted)
    rating = part_of.over(amount=Of("ups", UPS_WATTS), share=house[MOST_LOADED])
    yield desk.fit("watts", "Load within the battery unit's rating", enough.over(offered=rating, taken=all_load))
    apparent = volt_amperes.over(watts=all_load, factor=house[FACTOR])
    yield desk.fit(
        "apparent-room", "Apparent power within its rating", enough.over(offered=Of("ups", VA), taken=apparent)
    )
    if circuits:
        best = desk.figure(
            "first", largest({c.slug: c.free for c in circuits}, WATT), "The circuit with the most power left"
        )
        yield desk.demand("circuit", "Load on the circuit", all_load, at_most=best)


def _lasts(all_load: Over[float], house: House) -> Over[float]:
    points = {"quarter": RUN_25, "half": RUN_50, "three_quarters": RUN_75, "whole": RUN_100}
    curve = {name: Of("ups", column) for name, column in points.items()}
    return battery_time.over(load=all_load, rating=Of("ups", UPS_WATTS), **curve, ageing=house[AGEING])


def design(
    power: Power, house: House, chosen: Chosen, circuits: Every[Circuit], draws: Every[Draw], desk: Desk
) -> Iterator[Finding | Page]:
    """The load as bought, and what the battery, the circuit and the back make of it."""
    if not chosen.has("ups"):
        return
    standing = total([draw.watts for draw in draws], WATT)
    whole = desk.figure("load", load.of(bought=chosen.of(Sum(WATTS)), standing=standing), "Load on the battery")
    apparent = desk.figure(
        "apparent", volt_amperes.of(watts=whole, factor=house[FACTOR]), "Apparent power of the load"
    )
    warm = desk.figure("heat", heat.of(watts=whole), "Heat the room must lose")
    shared = desk.figure(
        "shared", used_share.of(whole=chosen.of(Of("ups", UPS_WATTS)), used=whole), "Share of its rating in use"
    )
    lasts, needed, stop = chosen.met("power.lasts"), desk.kept("needed", MINUTE), desk.kept("stop", MINUTE)
    yield Finding(
        "E-1", Weight.STOP, shorter.of(have=lasts, need=stop),
        "The battery is flat before all is shut down: {lasts} at the end of its life, {stop} to shut down.",
        "Take a larger battery unit, or fewer machines on it.", {"lasts": lasts, "stop": stop}, "ups",
    )  # fmt: skip
    yield Finding(
        "E-3", Weight.MEND, shorter.of(have=lasts, need=needed),
        "The battery holds {lasts} at the end of its life; {needed} was asked for.",
        "Take a larger battery unit, or agree a shorter time before it shuts down.", {"lasts": lasts, "needed": needed}, "ups",
    )  # fmt: skip
    if circuits:
        most = desk.kept("first", WATT)
        yield Finding(
            "C-4", Weight.STOP, beyond.of(have=whole, limit=most),
            "The circuit can't carry it: {load} for hours, {most} left on it.",
            "Have a licensed electrician bring a circuit of its own.", {"load": whole, "most": most}, "ups",
        )  # fmt: skip
    weight = _weight(chosen, desk)
    yield from _lifts(house, chosen, desk)
    facts = [
        ("Load", whole), ("Weight of all parts and the cabinet", weight),
        ("Apparent power", apparent), ("Heat", warm), ("Share of the rating in use", shared),
        ("Lasts at the end of its life", lasts), ("Wanted", needed), ("Shutdown takes", stop), ("Asked to carry on", power.hold),
    ]  # fmt: skip
    yield _page(facts)


def _weight(chosen: Chosen, desk: Desk) -> Figure[float]:
    """What all parts weigh together, the cabinet they stand in included."""
    weights = {"parts": chosen.of(Sum(WEIGHT_KG))}
    if chosen.has("cabinet"):
        weights["cabinet"] = chosen.of(Of("cabinet", LIFT_WEIGHT))
    return desk.figure("weight", total(weights, KILOGRAM), "Weight of all parts and the cabinet")


def _lifts(house: House, chosen: Chosen, desk: Desk) -> Iterator[Finding]:
    """The heaviest piece against what one person may lift into place (E-2)."""
    limit = weight_limit.of(
        horizontal=horizontal_multiplier.of(reach=house[REACH]), vertical=vertical_multiplier.of(height=house[FROM_HEIGHT]),
        distance=distance_multiplier.of(travel=house[TRAVEL]), turning=turning_multiplier.of(angle=house[TURN]),
    )  # fmt: skip
    one = desk.figure("limit", limit, "Weight one person may lift here")
    heaviest = desk.figure("heaviest", chosen.of(Most(LIFT_WEIGHT)), "The heaviest single piece")
    people = desk.figure("people", people_to_lift.of(weight=heaviest, limit=one), "People the heaviest piece wants")
    yield Finding(
        "E-2", Weight.NOTE, beyond.of(have=people, limit=house[ONE_PERSON]),
        "Two people or a lift: the heaviest piece weighs {heaviest}; one person should not lift more than {limit} here.",
        "Ask for a second pair of hands or a lift. Take disks and supplies out of a server first, and load a cabinet from the bottom.",
        {"heaviest": heaviest, "limit": one}, "cabinet",
    )  # fmt: skip


def _page(facts: list[tuple[str, Figure[float]]]) -> Page:
    return Page(
        "power", "P", "Power, heat and lifting",
        (
            Facts(facts, "On the battery"),
            Caution("Mains", "Work on circuits is for licensed electricians, under the local wiring code. Isolate before a cover is "
                    "opened, and never open a battery unit or a power supply."),
            Caution("Batteries", "A battery stays live when it is unplugged. No rings or watches, insulated tools, ventilation; old "
                    "ones go to a recycler. Expect to change them every three to five years."),
            Caution("Lifting", "These numbers only say when to ask for a second pair of hands. The employer's own assessment decides."),
        ), 1,
    )  # fmt: skip
