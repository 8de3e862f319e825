"""What a plan issues and has bought, as lines of a standing file, and which of them are new."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from ipaddress import IPv4Network
from typing import Any

from scantling.figures import PRICE, Address, Address6, Host, Lasting, Name, Prefix, Range, Reservation, Subnet, Zone
from scantling.handbook.addressing6 import GATEWAY as FIRST
from scantling.handbook.keeping import DOOR
from scantling.handbook.naming import first_label
from scantling.plan.make import Plan
from scantling.standing.writing import Line

ADDRESS_PLAN, DIRECTORY_DOMAIN = "address-plan", "directory-domain"
ZONES, ADDRESSES, ADDRESSES6 = ("issued", "zones"), ("issued", "addresses"), ("issued", "addresses6")
NAMES, DOMAIN = ("issued", "names"), "domain"
FOURTH = 4
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
    """Block, zones, runs, single addresses, IPv6 networks and names of a plan, in the order of a standing file."""
    yield from (
        Line(("issued", "block"), str(one.chosen.value))
        for one in plan.records(Lasting) if one.slug == ADDRESS_PLAN
    )  # fmt: skip
    numbers = {zone.slug: zone.number.value for zone in plan.records(Zone)}
    for subnet in plan.records(Subnet):
        answers = {"number": numbers[subnet.slug], "network": subnet.network, "gateway": subnet.gateway}
        yield _line((*ZONES, subnet.slug), answers)
    for run in plan.records(Range):
        ends = {"zone": run.zone, "purpose": run.purpose, "first": run.first, "last": run.last}
        yield _line(("issued", "ranges", run.slug), ends)
    yield from _singles(plan)
    for prefix in plan.records(Prefix):
        door = {} if prefix.gateway == prefix.network[FIRST] else {"gateway": prefix.gateway}
        yield _line(("issued", "prefixes", prefix.slug), {"prefix": prefix.network, **door})
    yield from _names(plan)


def _singles(plan: Plan) -> Iterator[Line]:
    """What was given to one thing alone, those of IPv4 first; gateways stand with their zones."""
    doors, taken = _doors(plan), {ADDRESSES: set[str](), ADDRESSES6: set[str]()}
    seen: set[tuple[str, str, Host]] = set()
    every: list[Address | Address6 | Reservation] = [*plan.records(Address), *plan.records(Address6)]
    for one in (*every, *plan.records(Reservation)):
        if one.address not in doors and (one.zone, one.holder, one.address) not in seen:
            seen.add((one.zone, one.holder, one.address))
            group = ADDRESSES if one.address.version == FOURTH else ADDRESSES6
            name = _free(one.holder if isinstance(one, Reservation) else one.slug, taken[group])
            taken[group].add(name)
            yield _line((*group, name), {"zone": one.zone, "holder": one.holder, "address": one.address})


def _names(plan: Plan) -> Iterator[Line]:
    """The directory's domain once somebody has confirmed it, and every host's own part of its name."""
    for one in plan.records(Lasting):
        if one.slug == DIRECTORY_DOMAIN and one.confirmed.value:
            yield _line((*NAMES, DOMAIN), {"holder": "directory", "name": one.chosen.value})
    doors = _doors(plan)
    for name in plan.records(Name):
        holder = DOOR if doors & set(name.addresses) else name.holder  # a machine may be called as gateways are
        yield _line((*NAMES, name.slug), {"holder": holder, "name": name.name.partition(".")[0]})


def _doors(plan: Plan) -> set[Host]:
    """The firewall's own addresses in the zones."""
    return {*(one.gateway for one in plan.records(Subnet)), *(one.gateway for one in plan.records(Prefix))}


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
                if word != FREE_TO_REWORD and not _same(line.path, word, said.get(word), answer)
            ]
    return added, conflicts


def _same(path: Sequence[str], word: str, there: Any, here: str) -> bool:
    """Whether an answer that stands says what the plan says; a name may stand there whole, or as nobody may write it."""
    if path[:2] == NAMES and word == "name" and path[-1] != DOMAIN and there is not None:
        return first_label(str(there)) == here
    return bool(there == here)


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
    there = [*(_at(tree, ADDRESSES) or {}).values(), *(_at(tree, ADDRESSES6) or {}).values()]
    held = {_who(answers) for answers in there if isinstance(answers, Mapping)}
    singles = (ADDRESSES, ADDRESSES6)
    yield from (line for line in lines if line.path[:2] not in singles or _who(line.answers) not in held)


def _who(answers: Any) -> tuple[Any, ...]:
    return answers.get("zone"), answers.get("holder"), answers.get("address")


def _renamed(line: Line, tree: Mapping[str, Any]) -> Line:
    """An address whose name somebody gave to something else is written under zone and holder."""
    there = _at(tree, line.path)
    if line.path[:2] not in (ADDRESSES, ADDRESSES6) or there is None or isinstance(line.answers, str):
        return line
    if isinstance(there, Mapping) and (there.get("zone"), there.get("holder")) == _who(line.answers)[:2]:
        return line
    taken = set(_at(tree, line.path[:-1]))
    return Line((*line.path[:-1], _free(f"{line.answers['zone']}-{line.answers['holder']}", taken)), line.answers)
