"""From a plan to what the sheets of its network are told: the door schedule, the matrix, the address map, names and time."""

from collections.abc import Iterator
from itertools import product

from scantling.figures import FIREWALL, OUTSIDE, Flow, Verdict
from scantling.figures.numbers import counted
from scantling.outputs.drawings.door_schedule import DoorsSheet, paged
from scantling.outputs.drawings.from_traffic import HOUSEKEEPING, Traffic, doors, many_rules, numbered, small, traffic
from scantling.outputs.drawings.matrix_model import Crossing, Matrix, Whereabout
from scantling.outputs.drawings.model import PencilNote, Phrase, Text, plain
from scantling.outputs.drawings.sheet_set import figure_text, pencilled, schedule_numbers, title_block
from scantling.plan.make import Plan


LOOKUPS = "lookups"
PROOF_CODE = "proof"


def matrix_sheet(plan: Plan) -> Matrix:
    """Who may reach whom: what is meant, and where the proof found the rules to do something else."""
    told = traffic(plan)
    places = [Whereabout(zone.slug, zone.name, str(int(zone.number.value))) for zone in told.zones]
    places += [Whereabout(OUTSIDE, "Outside"), Whereabout(FIREWALL, "Firewall")]
    pencil, where = _differences(plan)
    crossings = tuple(
        crossing
        for who, whom in product(places, places)
        if who.slug != whom.slug
        and (crossing := _crossing(told, (who.slug, whom.slug), where.get((who.slug, whom.slug), ()))) is not None
    )
    return Matrix(
        title_block(plan, "Who may reach whom", "N-3"), tuple(places), crossings, tuple(_totals(plan)),
        tuple(_matrix_notes(plan)), pencil,
    )  # fmt: skip


def _crossing(told: Traffic, pair: tuple[str, str], differs: tuple[int, ...]) -> Crossing | None:
    """What is meant to pass from one place to another; None where nothing is said of it."""
    mine = [flow for flow in told.flows if (flow.source.zone, flow.target.zone) == pair]
    passing = [flow for flow in mine if flow.verdict is Verdict.ACCEPT]
    if not mine and not differs:
        return None
    words = dict.fromkeys(_short(flow) for flow in sorted(passing, key=lambda flow: flow.group == HOUSEKEEPING))
    rules = {slug for flow in passing for slug in told.rules.get(flow.slug, ())}
    return Crossing(
        *pair, len(passing), tuple(words), numbered(rules), many_rules(rules),
        len(mine) - len(passing), differs,
    )  # fmt: skip


def _short(flow: Flow) -> str:
    """An intent in as few words as tell it from others."""
    if flow.group == HOUSEKEEPING:
        return HOUSEKEEPING
    name = small(flow.name)
    return name.split(" ")[0] if flow.group == LOOKUPS else name


def _differences(plan: Plan) -> tuple[tuple[PencilNote, ...], dict[tuple[str, str], tuple[int, ...]]]:
    """What the proof found, numbered on from the findings, and between which places."""
    if plan.proof is None or plan.proof.proved:
        return (), {}
    flows = {flow.slug: flow for flow in plan.records(Flow)}
    first = len(pencilled(plan).notes) + 1
    notes: list[PencilNote] = []
    where: dict[tuple[str, str], tuple[int, ...]] = {}
    for number, difference in enumerate(plan.proof.differences, first):
        remedy = f'Try it: scantling prove --packet "{difference.packet}"' if difference.packet else ""
        notes.append(PencilNote(number, "stop", plain(difference.says), plain(remedy), PROOF_CODE))
        flow = flows.get(difference.intent)
        pairs = {(flow.source.zone, flow.target.zone)} if flow is not None else set()
        for pair in pairs:
            where[pair] = (*where.get(pair, ()), number)
    unasked = {(door.source, door.target) for door in plan.proof.doors if not door.asked}
    stray = tuple(
        note.number for note, told in zip(notes, plan.proof.differences, strict=True) if told.intent not in flows
    )
    where |= {pair: (*where.get(pair, ()), *stray[:1]) for pair in unasked if stray}
    return tuple(notes), where


def _totals(plan: Plan) -> Iterator[Text]:
    """How many pairs are open of how many there are, as the plan counts them."""
    totals = [plan.figures.get(f"rules.{name}") for name in ("open", "pairs", "intents", "list")]
    if all(figure is not None for figure in totals):
        open_, pairs, intents, rules = (figure_text(figure) for figure in totals if figure is not None)
        yield from (open_, Text(" of "), pairs, Text(" pairs of rooms and the outside are open; "), intents)
        said = (" intent" if intents.text == "1" else " intents", " rule." if rules.text == "1" else " rules.")
        yield from (Text(f"{said[0]} in all, housekeeping with them, "), rules, Text(said[1]))


def _matrix_notes(plan: Plan) -> Iterator[Phrase]:
    yield plain(
        "Rows begin to speak, columns answer. Rooms stand in the order of their numbers, as on the floor plan."
    )
    yield plain(f"{HOUSEKEEPING.capitalize()}: addresses, neighbours and whether the gateway is there.")
    if plan.proof is None:
        yield plain("Not proved: drawn as meant.")
        return
    yield plain(
        f"Proof: {plan.proof.holding} of {counted(plan.proof.intents, 'intent holds', 'intents hold')}, "
        f"{counted(len(plan.proof.differences), 'difference')}, {counted(plan.proof.rules, 'rule')}."
    )


def schedule_sheets(plan: Plan) -> dict[str, DoorsSheet]:
    """The technician's door schedule by sheet number; nothing where no traffic is planned."""
    hung = doors(plan)
    if hung is None:
        return {}
    pages = dict(zip(schedule_numbers(plan), paged(hung), strict=True))
    title = "Door schedule for the technician"
    return {
        number: DoorsSheet(title_block(plan, title, number), part, tuple(_schedule_notes(plan)))
        for number, part in pages.items()
    }


def _schedule_notes(plan: Plan) -> Iterator[Phrase]:
    """How the schedule is read."""
    logged = traffic(plan).logged
    yield plain(
        "One line a caller and whom it calls on. Replies always pass. Both families, unless a rule can hold for one only."
    )
    yield plain(
        "Rules bear the numbers of the rule list and of its files. A dash: the rule of another line takes this one in."
    )
    if logged:
        yield plain(f"Logged: what no rule lets through (rule {numbered(logged)}), and lines that say so.")
    yield plain("What passes between two things in one room meets no rule: the firewall never sees it.")
