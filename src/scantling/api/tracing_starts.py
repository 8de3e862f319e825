"""Where a tracing may start: more people, a cheaper part, a second line, or another way to build the office."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from scantling import UserError
from scantling.api.comparing import Planned
from scantling.brief.answers import slug_of, whole
from scantling.brief.scaling import shared
from scantling.figures.composing import placed
from scantling.figures.placed import Node, WrittenError
from scantling.plan.make import Plan
from scantling.plan.purchase import TOLD_IN_ORDER
from scantling.plan.options import AS_PLANNED, Variant, variants

LEAST_MORE, MOST_MORE = -99, 1000
PERSONAL = ("pc", "laptop", "tablet", "phone")
"""Kinds of devices that go with people (common practice, no source); printers, cameras and the rest go with rooms and work."""
MOST_CHEAPER = 12
"""So many cheaper options a slot are offered, the dearest of them first."""
Edits = Mapping[str, str | None]


@dataclass(frozen=True)
class Grown:
    """An answer that counts heads or devices, with the name of what it counts, before and after."""

    id: str
    name: str
    before: int
    after: int


@dataclass(frozen=True)
class Cheaper:
    """Another set of parts for one slot that costs less than the one chosen."""

    slot: str
    name: str
    option: str
    price: Decimal
    less: Decimal
    """How much less than what the plan buys there."""


def _tree(text: str) -> Node:
    try:
        return placed(text, "brief.yaml")
    except WrittenError as wrong:
        raise UserError("\n".join(map(str, wrong.mistakes))) from None


def grown(text: str, percent: float) -> tuple[Grown, ...]:
    """Heads of all roles, and what goes with people, with so many per cent more (or fewer); what stays as it is too.

    The sum of the heads is the nearest whole number, shared out by largest remainder, each role at least 1. Devices of the
    kinds PERSONAL follow in the proportion that the heads then have, each to the nearest whole number, at least 1. Raises
    UserError.
    """
    if not LEAST_MORE <= percent <= MOST_MORE or not percent:
        raise UserError(f"say how many per cent more, from {LEAST_MORE} to {MOST_MORE}, and not 0")
    tree = _tree(text)
    roles = _things(tree, "people", "roles")
    heads = {slug: whole(str(role.get("heads"))) for slug, role in roles.items()}
    if not heads:
        raise UserError("the brief names no roles, so there are no heads to change")
    before = sum(heads.values())
    wanted = max(len(heads), int(before * (1 + percent / 100) + 0.5))
    made = shared(heads, wanted)
    if made == heads:
        raise UserError(f"{percent:g} % of {before} people is nobody; say more")
    factor = sum(made.values()) / before
    told = [Grown(f"people.roles.{slug}.heads", _name(roles, slug), heads[slug], made[slug]) for slug in heads]
    return (*told, *_devices(_things(tree, "devices"), factor))


def _things(tree: Node, *steps: str) -> Mapping[str, Node]:
    """The named things of a section, those that can be read."""
    found: object = tree
    for step in steps:
        found = found.get(step) if isinstance(found, Node) else None
    return {slug: one for slug, one in found.items() if isinstance(one, Node)} if isinstance(found, Node) else {}


def _name(things: Mapping[str, Node], slug: str) -> str:
    return str(things[slug].get("name") or slug)


def _devices(things: Mapping[str, Node], factor: float) -> Iterator[Grown]:
    """Devices whose number is said, those that go with people in proportion."""
    for slug, one in things.items():
        many = whole(str(one.get("count")))
        if not many:
            continue
        personal = str(one.get("kind")) in PERSONAL
        yield Grown(
            f"devices.{slug}.count", _name(things, slug), many, max(1, int(many * factor + 0.5)) if personal else many
        )


def more_people(text: str, percent: float) -> Edits:
    """The answers that change with so many per cent more people (or fewer). Raises UserError."""
    return {one.id: str(one.after) for one in grown(text, percent) if one.after != one.before}


def cheaper(plan: Plan) -> Iterator[Cheaper]:
    """What costs less than what was chosen, slot by slot; slots that nothing is bought for have none."""
    for slot in sorted(plan.purchase.slots, key=lambda one: _place(one.id)):
        chosen = plan.purchase.chosen.options.get(slot.id)
        if chosen is None:
            continue
        options = sorted(
            (one for one in slot.options if one.price < chosen.price), key=lambda one: (-one.price, one.slug)
        )
        for one in options[:MOST_CHEAPER]:
            yield Cheaper(slot.id, slot.name or slot.id, one.slug, one.price, chosen.price - one.price)


def _place(slot: str) -> tuple[int, str]:
    """Where a slot stands in the order in which a purchase is told."""
    return (TOLD_IN_ORDER.index(slot) if slot in TOLD_IN_ORDER else len(TOLD_IN_ORDER)), slot


def pinned(plan: Plan, slot: str, option: str, because: str) -> Edits:
    """The pin that buys a cheaper set for one slot. Raises UserError where there is no such set by now."""
    if not any((one.slot, one.option) == (slot, option) for one in cheaper(plan)):
        raise UserError("that set of parts is not on offer any more, or is no longer the cheaper one; choose again")
    return {f"pins.purchase.{slot}.value": option, f"pins.purchase.{slot}.because": because}


def second_line(text: str, down: str, up: str, monthly: str = "") -> Edits:
    """A line more that stands by for when the others fail."""
    lines = _tree(text).get("lines")
    there = dict.fromkeys(lines, "") if isinstance(lines, Node) else {}
    slug = slug_of("standby", there, "line")
    answers = {"name": "Second line", "down": down, "up": up, "monthly": monthly, "standby": "yes"}
    return {f"lines.{slug}.{word}": value for word, value in answers.items() if value}


def other_ways(planned: Planned) -> tuple[Variant, ...]:
    """The firm options of the office: the firewall elsewhere, no server, two servers or one."""
    return tuple(one for one in variants(planned.inputs) if one is not AS_PLANNED)
