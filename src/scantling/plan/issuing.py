"""What a plan issues and has bought, as lines of a standing file, and which of them are new."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from ipaddress import IPv4Network
from typing import Any

from scantling.figures import PRICE, Address, Lasting, Range, Subnet, Zone
from scantling.plan.make import Plan
from scantling.standing.writing import Line

ADDRESS_PLAN = "address-plan"
ZONES, ADDRESSES = ("issued", "zones"), ("issued", "addresses")
LONGEST_SLUG = 40
FREE_TO_REWORD = "purpose"
"""What a run is for may be said otherwise by hand; the plan knows it by its name."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """An answer that stands and that the plan would say otherwise."""

    path: tuple[str, ...]
    there: str
    here: str


def issued(plan: Plan) -> Iterator[Line]:
    """Block, zones, runs and single addresses of a plan, in the order of a standing file."""
    yield from (
        Line(("issued", "block"), str(one.chosen.value))
        for one in plan.records(Lasting) if one.slug == ADDRESS_PLAN
    )  # fmt: skip
    numbers = {zone.slug: zone.number.value for zone in plan.records(Zone)}
    gateways = {subnet.gateway for subnet in plan.records(Subnet)}
    for subnet in plan.records(Subnet):
        answers = {"number": numbers[subnet.slug], "network": subnet.network, "gateway": subnet.gateway}
        yield _line(("issued", "zones", subnet.slug), answers)
    for run in plan.records(Range):
        ends = {"zone": run.zone, "purpose": run.purpose, "first": run.first, "last": run.last}
        yield _line(("issued", "ranges", run.slug), ends)
    for one in plan.records(Address):
        if one.address not in gateways:
            held = {"zone": one.zone, "holder": one.holder, "address": one.address}
            yield _line(("issued", "addresses", one.slug), held)


def _line(path: tuple[str, ...], answers: Mapping[str, Any]) -> Line:
    return Line(path, {word: str(answer) for word, answer in answers.items()})


def bought(plan: Plan, on: date, taken: Sequence[str]) -> Iterator[Line]:
    """The parts to buy, slot by slot, each with count, day and price; `taken` are names that stand there already."""
    names = set(taken)
    for slot, option in plan.purchase.chosen.options.items():
        rows = {row.slug: row for row, _ in option.to_buy}
        counts: Counter[str] = Counter()
        for row, count in option.to_buy:
            counts[row.slug] += count
        for article, count in counts.items():
            name = _free(f"{slot}-{article}", names)
            names.add(name)
            price = rows[article].get(PRICE)
            answers = {"serves": slot, "article": article, "count": count, "on": on.isoformat()}
            answers |= {"price": f"{price:.2f} {plan.currency}"} if price is not None else {}
            yield _line(("bought", name), {**answers, "built": option.slug})


def _free(name: str, taken: set[str]) -> str:
    """The name, cut to what may stand there, with the first number that makes it new."""
    number, free = 1, name[:LONGEST_SLUG].rstrip("-")
    while free in taken:
        number += 1
        free = f"{name[: LONGEST_SLUG - 1 - len(str(number))].rstrip('-')}-{number}"
    return free


def new_lines(lines: Sequence[Line], tree: Mapping[str, Any]) -> tuple[list[Line], list[Conflict]]:
    """The lines that a standing file's plain answers lack, and the answers that it gives otherwise."""
    added, conflicts = [], []
    for line in (_renamed(one, tree) for one in _unheld(lines, tree)):
        there = _at(tree, line.path)
        if there is None:
            added.append(line)
        elif isinstance(line.answers, str):
            conflicts += [Conflict(line.path, str(there), line.answers)] if there != line.answers else []
        else:
            said = there if isinstance(there, Mapping) else {}
            conflicts += [
                Conflict((*line.path, word), str(said.get(word, "nothing")), answer)
                for word, answer in line.answers.items()
                if word != FREE_TO_REWORD and said.get(word) != answer
            ]
    return added, conflicts


def outside(lines: Sequence[Line], added: Sequence[Line]) -> list[str]:
    """Subnets among the new lines that lie outside the plan's block: drawn as if a wider one were given, agreed by nobody."""
    blocks = [IPv4Network(line.answers) for line in lines if isinstance(line.answers, str)]
    nets = [
        (line.path[-1], IPv4Network(line.answers["network"]))
        for line in added if line.path[:2] == ZONES and not isinstance(line.answers, str)
    ]  # fmt: skip
    return [f"{zone} {net}" for zone, net in nets if not any(block.supernet_of(net) for block in blocks)]


def _at(tree: Mapping[str, Any], path: Sequence[str]) -> Any:
    below: Any = tree
    for step in path:
        below = below.get(step) if isinstance(below, Mapping) else None
    return below


def _unheld(lines: Sequence[Line], tree: Mapping[str, Any]) -> Iterator[Line]:
    """Without addresses that somebody wrote down under a name of their own."""
    there = _at(tree, ADDRESSES) or {}
    held = {_who(answers) for answers in there.values() if isinstance(answers, Mapping)}
    yield from (line for line in lines if line.path[:2] != ADDRESSES or _who(line.answers) not in held)


def _who(answers: Any) -> tuple[Any, ...]:
    return answers.get("zone"), answers.get("holder"), answers.get("address")


def _renamed(line: Line, tree: Mapping[str, Any]) -> Line:
    """An address whose name somebody gave to something else is written under zone and holder."""
    there = _at(tree, line.path)
    if line.path[:2] != ADDRESSES or there is None or isinstance(line.answers, str):
        return line
    if isinstance(there, Mapping) and (there.get("zone"), there.get("holder")) == _who(line.answers)[:2]:
        return line
    taken = set(_at(tree, line.path[:-1]))
    return Line((*line.path[:-1], _free(f"{line.answers['zone']}-{line.answers['holder']}", taken)), line.answers)
