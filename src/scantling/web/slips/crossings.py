"""The slips of doors and of the matrix's fields: what may pass, why, and what the proof says of it."""

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from itertools import product

from scantling.figures import FIREWALL, OUTSIDE, Figure, Flow, Verdict, Zone
from scantling.figures.pages import Block, Facts, Prose, Ruled
from scantling.outputs.drawings.door_schedule import headline
from scantling.outputs.drawings.from_traffic import carried_text, hours, numbered
from scantling.outputs.drawings.model import Door
from scantling.plan.evidence import Evidence, Passing
from scantling.plan.evidence import Door as ProvedDoor
from scantling.plan.make import Plan
from scantling.trials.proof.telling import rests_on
from scantling.plan.same import Same
from scantling.web.slips.slip import TECHNICIAN, Asks, Slip, filled, red_pencil, told_doors, told_traffic

FEW_LINES, FEW_FLOWS = 3, 40
FAMILIES = {(4,): "IPv4", (6,): "IPv6", (4, 6): "both"}
AS_ASKED = "nothing gets through that no intent asks for"


def door_names(plan: Plan) -> Mapping[str, str]:
    """Every door by its number, and the parts of the schedule that have none by their kind."""
    return {
        door.key: f"Door {door.number}: {headline(door)}" if door.number else headline(door)
        for door in told_doors(Same(plan))
    }


def door(plan: Plan, key: str, layer: str) -> Slip:
    """What is told of a door."""
    one = next(each for each in told_doors(Same(plan)) if each.key == key)
    blocks = [*(_passages(one) if layer == TECHNICIAN or not one.callers else _callers(one))]
    flows = _through(plan, one)
    blocks += [*_why(flows, layer), *_proof_of_door(plan, flows)]
    return Slip(door_names(plan)[key], filled([*blocks, *red_pencil(plan, *([one.room] if one.room else []))]))


def _callers(door_: Door) -> Iterator[Block]:
    """Owner's layer: who may use it and for what."""
    rows = [
        (one.who, "".join(part.text for part in one.wants) + (f", {one.hours}" if one.hours else ""))
        for one in door_.callers
    ]
    yield Facts(rows, "Who may use it, and for what")


def _passages(door_: Door) -> Iterator[Block]:
    """Technician's layer: one line a caller and whom it calls on."""
    heads = ("who, to whom", "for what", "protocol and ports", "rules", "logged")
    rows = [
        (
            f"{one.who} \u2192 {one.whom}",
            one.wants + (f", {one.hours}" if one.hours else ""),
            one.carried,
            one.rules,
            one.logged,
        )
        for one in door_.passages
    ]
    yield Ruled("Flows", heads, rows)


def _through(plan: Plan, door_: Door) -> list[Flow]:
    """The intents that use a door."""
    told = told_traffic(Same(plan))
    kinds = {
        "room": lambda flow: flow.target.zone == door_.room, "out": lambda flow: flow.target.zone == OUTSIDE,
        "in": lambda flow: flow.source.zone == OUTSIDE, "corridor": lambda flow: flow.target.zone == FIREWALL,
    }  # fmt: skip
    if door_.kind == "never":
        return [flow for flow in told.flows if flow.verdict is not Verdict.ACCEPT]
    return [flow for flow in told.accepted if door_.kind in kinds and kinds[door_.kind](flow)]


def _why(flows: Iterable[Flow], layer: str) -> Iterator[Block]:
    """Why each flow is meant, and the lines of the brief that it rests on."""
    rows = [
        (f"{one.source.label} to {one.target.label}", _reason(one) if layer == TECHNICIAN else one.why)
        for one in flows
    ][:FEW_FLOWS]
    yield Facts(list(dict.fromkeys(rows)), "Why")


def _reason(flow: Flow) -> str:
    lines = _brief_lines(flow.cause)
    more = f" and {len(lines) - FEW_LINES} more lines" if len(lines) > FEW_LINES else ""
    return f"{flow.why}: {', '.join(lines[:FEW_LINES])}{more}" if lines else flow.why


@lru_cache(2048)
def _lines_of(cause: "_One") -> tuple[str, ...]:
    return tuple(rests_on(cause.figure))


class _One:
    """A figure as the key of a cache, told apart by being the same object."""

    def __init__(self, figure: Figure[object]) -> None:
        self.figure = figure

    def __hash__(self) -> int:
        return id(self.figure)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _One) and other.figure is self.figure


def _brief_lines(cause: Figure[object]) -> tuple[str, ...]:
    return _lines_of(_One(cause))


def _proof_of_door(plan: Plan, flows: Iterable[Flow]) -> Iterator[Block]:
    """What the proof says of every pair of places that this door joins."""
    proof = plan.proof
    if proof is None:
        yield Prose("The proof: not proved yet.")
        return
    told = told_traffic(Same(plan))
    pairs = sorted(
        {(flow.source.zone, flow.target.zone) for flow in flows},
        key=lambda pair: (told.place(pair[0]), told.place(pair[1])),
    )
    rows = [(f"{told.name(who)} to {told.name(whom)}", _verdict(proof, who, whom)) for who, whom in pairs]
    yield Facts(rows, "What the proof says")
    yield from _differences(proof, {flow.slug for flow in flows})


def _proved_door(proof: Evidence, who: str, whom: str) -> ProvedDoor | None:
    return next((one for one in proof.doors if (one.source, one.target) == (who, whom)), None)


def _verdict(proof: Evidence, who: str, whom: str) -> str:
    """Of one ordered pair of places."""
    found = _proved_door(proof, who, whom)
    if found is None or not found.passing:
        return "shut: nothing gets through"
    kinds = len(found.passing)
    unasked = sum(not one.flows for one in found.passing)
    open_ = f"open for {kinds} kind{'s' if kinds != 1 else ''} of traffic"
    return f"{open_}, {unasked} of them asked for by nobody" if unasked else f"{open_}; {AS_ASKED}"


def _differences(proof: Evidence, flows: set[str]) -> Iterator[Block]:
    rows = [(one.kind, one.says) for one in proof.differences if one.intent in flows]
    yield Facts(rows, "Differences that the proof found")


# -------------------------------------------------------------------------------------------------- the matrix's fields


def places(plan: Plan) -> Mapping[str, str]:
    """Rooms by their slugs, the outside and the firewall last, as the matrix names them."""
    return {zone.slug: zone.name for zone in plan.records(Zone)} | {OUTSIDE: "the outside", FIREWALL: "the firewall"}


def cell_names(plan: Plan) -> Mapping[str, str]:
    """Every ordered pair of places, as "who/whom"."""
    if not plan.records(Flow):
        return {}
    known = places(plan)
    open_: dict[tuple[str, str], int] = {}
    for flow in plan.records(Flow):
        if flow.verdict is Verdict.ACCEPT:
            pair = flow.source.zone, flow.target.zone
            open_[pair] = open_.get(pair, 0) + 1
    return {
        f"{who}/{whom}": f"{known[who]} to {known[whom]}: {_many(open_.get((who, whom), 0))}"
        for who, whom in product(known, known)
        if who != whom
    }


def _many(intents: int) -> str:
    return f"{intents} intent{'s' if intents != 1 else ''}" if intents else "shut"


def cell(plan: Plan, slug: str, layer: str) -> Slip:
    """What is told of one field of the matrix; a packet can be tried there."""
    who, whom = slug.split("/")
    told = told_traffic(Same(plan))
    mine = [flow for flow in told.flows if (flow.source.zone, flow.target.zone) == (who, whom)]
    blocks: list[Block] = [*_intents(plan, mine, layer), *_proof_of_pair(plan, (who, whom), mine, layer)]
    given = {"source": who, "target": whom, "protocol": "tcp", "port": "443"}
    return Slip(f"{told.name(who)} to {told.name(whom)}", filled(blocks), Asks("packet", given))


def _intents(plan: Plan, mine: list[Flow], layer: str) -> Iterator[Block]:
    passing = [flow for flow in mine if flow.verdict is Verdict.ACCEPT]
    forbidden = [flow for flow in mine if flow.verdict is not Verdict.ACCEPT]
    if not passing:
        yield Prose("Nothing is meant to pass here.")
    if layer == TECHNICIAN:
        rules = told_traffic(Same(plan)).rules
        rows = [(flow.name, f"{flow.source.label} \u2192 {flow.target.label}", carried_text(flow.carried),
                 numbered(rules.get(flow.slug, ())), hours(flow)) for flow in passing]  # fmt: skip
        yield Ruled(
            f"Intents: {len(passing)}", ("name", "who, to whom", "protocol and ports", "rules", "hours"), rows
        )
    else:
        rows_ = dict.fromkeys(
            (flow.name, f"{flow.source.label} to {flow.target.label}{_at(flow)}") for flow in passing
        )
        yield Facts(list(rows_), f"Intents: {len(passing)}")
    yield Facts([(flow.name, flow.why) for flow in forbidden], "Forbidden")
    yield from _why(passing, layer)


def _at(flow: Flow) -> str:
    return f", {hours(flow)}" if flow.window is not None else ""


def _proof_of_pair(plan: Plan, pair: tuple[str, str], mine: list[Flow], layer: str) -> Iterator[Block]:
    proof = plan.proof
    if proof is None:
        yield Prose("The proof: not proved yet.")
        return
    yield Facts([(proof.says, _verdict(proof, *pair))], "What the proof says")
    found = _proved_door(proof, *pair)
    if layer == TECHNICIAN and found is not None:
        names = {flow.slug: flow.name for flow in plan.records(Flow)}
        rows = [
            (str(one.carried), FAMILIES.get(one.families, ""), _asked(one, names), "all" if one.whole else "some")
            for one in found.passing
        ]
        yield Ruled("What gets through", ("what", "family", "asked for by", "of whom"), rows)
    yield from _differences(proof, {flow.slug for flow in mine})


def _asked(one: Passing, names: Mapping[str, str]) -> str:
    return ", ".join(dict.fromkeys(names.get(slug, slug) for slug in one.flows)) or "nobody"
