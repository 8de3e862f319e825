"""Premises: the space, the cabinet, the noise, the circuits, and what they ask of every part.

Figures:
    premises.circuits.<slug>.free  power a circuit may still carry
    premises.deepest               the deepest part bought
Demands: premises.depth premises.noise.heard premises.height premises.load premises.door premises.cabinet-height
    premises.rails
Findings: C-1 C-2 C-3.
Records: Slot, Demand, Circuit, Site, Page.
"""

from collections.abc import Iterator

from scantling.brief import Given, Office, Section, asked, assumed
from scantling.catalogue import Catalogue, House, Practice
from scantling.catalogue.columns import (
    DAMPING, DEPTH, HEIGHT, LOAD, NOISE, OWN_DEPTH, OWN_HEIGHT, RAILS, UNITS_HIGH, USABLE_DEPTH,
)  # fmt: skip
from scantling.catalogue.columns import WEIGHT as WEIGHT_KG  # fmt: skip
from scantling.figures import (
    Caution, Chosen, Circuit, Demand, Desk, Facts, Figure, Finding, Levels, Most, Of, Page, Site, Slot, Sum, Weight, text,
)  # fmt: skip
from scantling.figures.units import (
    COUNT, HEIGHT_UNIT, MM, SHARE, Amperes, Decibels, Millimetres, Truth, Watts, Word,
)  # fmt: skip
from scantling.handbook.electrics import circuit_power
from scantling.handbook.sizing import beyond, enough, left_over, negated
from scantling.handbook.space import damped, deep_enough, high_enough

CABLES, FREE_HEIGHT = Practice("premises.cables", MM), Practice("premises.free-height", SHARE)
CONTINUOUS = Practice("premises.continuous", SHARE)
NO_RAILS, OTHER_UNITS = Practice("premises.no-rails", COUNT), Practice("premises.other-units", HEIGHT_UNIT)


class Space(Section):
    """Where the server is to stand."""

    wanted: Given[Truth] = assumed("Is there to be a cabinet?", "premises.cabinet")
    depth: Given[Millimetres] = asked("How deep is the space, wall to door?", least="200 mm", most="10 m")
    height: Given[Millimetres] = asked("How high is it?", least="200 mm", most="10 m")
    place: Given[Word] = asked("Where is it?")
    ventilated: Given[Truth] = assumed("Does air move through it?", "premises.ventilated")


class SupplyCircuit(Section):
    """One circuit that reaches the space."""

    rating: Given[Amperes] = asked("What is its breaker rated at?", least="1 A", most="400 A")
    already: Given[Watts] = assumed("How much already hangs on it?", "premises.already")


class Premises(Section):
    """The space, the noise and the circuits."""

    key = "premises"
    noise: Given[Decibels] = assumed(
        "How loud may it be where people sit?", "premises.noise", least="10 dB", most="90 dB"
    )
    cabinet: Space = asked("Where is the server to stand?")
    circuits: dict[str, SupplyCircuit] = asked("Which circuits reach it?")


def asks(
    premises: Premises, office: Office, catalogue: Catalogue, house: House, desk: Desk
) -> Iterator[Slot | Demand | Circuit | Site]:
    """What the space asks of all that is put into it."""
    for at, slug, circuit in desk.each(premises.circuits, "circuits"):
        most = circuit_power.of(rating=circuit.rating, volts=office.mains, share=house[CONTINUOUS])
        free = at.figure(
            "free", left_over.of(offered=most, taken=circuit.already), "Power the circuit may still carry"
        )
        yield Circuit(slug, free, circuit.rating)
    space = premises.cabinet
    yield Site("server", text(space.place), space.depth, space.height, house[OTHER_UNITS])
    if text(space.wanted) == "yes":
        yield Slot("cabinet", catalogue.options("cabinet"), "Cabinet")
        yield from _in_cabinet(premises, space, house, desk)
        return
    yield desk.demand("depth", "Depth of the deepest part", Most(DEPTH), at_most=space.depth)
    yield desk.demand("noise.heard", "Noise of all parts", Levels(NOISE), at_most=premises.noise)
    yield desk.demand("rails", "Parts that can only hang on rails", Sum(RAILS), at_most=house[NO_RAILS])


def _in_cabinet(premises: Premises, space: Space, house: House, desk: Desk) -> Iterator[Demand]:
    """The cabinet in the space, the parts in the cabinet."""
    yield desk.demand("door", "Depth of the cabinet itself", Of("cabinet", OWN_DEPTH), at_most=space.depth)
    yield desk.demand(
        "cabinet-height", "Height of the cabinet itself", Of("cabinet", OWN_HEIGHT), at_most=space.height
    )
    heard = damped.over(level=Levels(NOISE), damping=Of("cabinet", DAMPING))
    yield desk.demand("noise.heard", "Noise of all parts through the cabinet", heard, at_most=premises.noise)
    deep = deep_enough.over(usable=Of("cabinet", USABLE_DEPTH), deepest=Most(DEPTH), cables=house[CABLES])
    yield desk.fit("depth", "Depth for the deepest part and its cables", deep)
    high = high_enough.over(
        offered=Of("cabinet", UNITS_HIGH), taken=Sum(HEIGHT), other=house[OTHER_UNITS], free=house[FREE_HEIGHT]
    )
    yield desk.fit("height", "Height for all parts, the network's and what stays free", high)
    yield desk.fit(
        "load", "Weight the cabinet carries", enough.over(offered=Of("cabinet", LOAD), taken=Sum(WEIGHT_KG))
    )


def design(premises: Premises, chosen: Chosen, desk: Desk) -> Iterator[Finding | Page]:
    """What the space has against the parts as bought: depth, sound and air."""
    space = premises.cabinet
    deepest = desk.figure("deepest", chosen.of(Most(DEPTH)), "The deepest part")
    depth = chosen.of(Of("cabinet", OWN_DEPTH)) if chosen.has("cabinet") else deepest
    heard = chosen.met("premises.noise.heard")
    yield Finding(
        "C-1", Weight.STOP, beyond.of(have=depth, limit=space.depth),
        "The space is too shallow: {space} deep, {have} needed.",
        "Find another place, or ask for shorter parts; measure wall to door with the handle.",
        {"space": space.depth, "have": depth}, "cabinet",
    )  # fmt: skip
    yield Finding(
        "C-2", Weight.MEND, beyond.of(have=heard, limit=premises.noise),
        "It will be heard: {heard} where {limit} is wanted.",
        "Choose quieter parts, a damped cabinet, or another room. Never close a cupboard up to keep the sound in.",
        {"heard": heard, "limit": premises.noise}, "cabinet",
    )  # fmt: skip
    yield Finding(
        "C-3", Weight.MEND, negated.of(given=space.ventilated), "No air moves through the place where the server stands.",
        "Give it an opening below and above, or a fan, and keep the inlet between 18 and 27 °C.", {}, "cabinet",
    )  # fmt: skip
    facts = [
        ("Place", space.place), ("Cabinet wanted", space.wanted), ("Depth of the space", space.depth), ("Deepest part", deepest),
        ("Noise of all parts", heard), ("Noise allowed", premises.noise),
    ]  # fmt: skip
    yield _page(facts)


def _page(facts: list[tuple[str, Figure[object]]]) -> Page:
    return Page(
        "premises", "P", "The place",
        (
            Facts(facts, "The space"),
            Caution("Fixing and drilling", "Fix a cabinet to the building only where somebody who knows the wall says so: cables and "
                    "pipes run behind it. Local building codes and the landlord's consent come first."),
        ), 2,
    )  # fmt: skip
