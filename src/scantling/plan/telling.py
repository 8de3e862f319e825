"""A figure's working as a tree, and every figure as canonical JSON."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from difflib import get_close_matches
from hashlib import sha256
from typing import Any

from scantling.figures import Choosing, Figure, Origin, Page, Pin
from scantling.figures.chosen import Taken
from scantling.figures.desk import Named
from scantling.figures.gathering import Gathering
from scantling.figures.numbers import in_currency, plain, text
from scantling.figures.spelled import shown
from scantling.handbook.money import to_minor_unit
from scantling.plan.make import Plan, Told
from scantling.plan.pinned import PinPrice

MOST_NAMED = 12


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a working: how deep, the figure's address, its value, how it came about."""

    depth: int
    address: str
    label: str
    value: str
    working: str


def why(plan: Plan, figure: Figure[Any], address: str = "") -> Iterator[Line]:
    """The working as a tree: each named figure told once, and no further than a choice (ask for that by its own id).

    `address` is what an unnamed figure is called.
    """
    yield from _why(plan, figure, figure.id or address or figure.label, 0, set())


def _why(plan: Plan, figure: Figure[Any], address: str, depth: int, told: set[str]) -> Iterator[Line]:
    name = figure.id or address
    value = in_currency(text(figure), plan.currency)
    if figure.id and figure.id in told:
        yield Line(depth, name, figure.label, value, "told above")
        return
    told.add(figure.id)
    stop = depth > 0 and isinstance(figure.how, Choosing)
    working = in_currency(figure.how.working(figure), plan.currency)
    yield Line(depth, name, figure.label, value, f"{working} (ask: why {name})" if stop else working)
    if not stop:
        for argument, parent in figure.addressed():
            yield from _why(plan, parent, f"{name}/{argument}", depth + 1, told)


class NoSuchFigureError(LookupError):
    """An id that the plan does not have, with the nearest it has."""


def find(plan: Plan, id_: str) -> Figure[Any]:
    """A figure by its id, or an unnamed input by `parent/argument`. Raises NoSuchFigureError naming the nearest ids."""
    head, *steps = id_.split("/")
    known = {**everything(plan), **plan.figures}
    figure = known.get(head)
    if figure is None:
        raise NoSuchFigureError(_no_such(id_, [*plan.figures, *known]))
    for step in steps:
        inputs = dict(figure.addressed())
        if step not in inputs:
            rests = f"it rests on {', '.join(list(inputs)[:MOST_NAMED])}" if inputs else "it rests on nothing further"
            raise NoSuchFigureError(f"{head}: no input called {shown(step)} at that place; {rests}")
        figure = inputs[step]
    return figure


def _no_such(id_: str, names: Sequence[str]) -> str:
    last = id_.rsplit(".", maxsplit=1)[-1]
    near = get_close_matches(id_, names, 3, 0.5) or [name for name in names if last and last in name][:3]
    hint = f"did you mean {', '.join(dict.fromkeys(near))}?" if near else "plan --json lists every figure with its id"
    return f"no figure called {shown(id_)}; {hint}"


def everything(plan: Plan) -> dict[str, Figure[Any]]:
    """Every figure with an id that the plan rests on, its findings and records tell of, leaves included."""
    found: dict[str, Figure[Any]] = {}
    findings = [*(told.finding for told in plan.findings), *plan.checked]
    waiting = [figure for finding in findings for figure in (finding.when, *finding.shown.values())]
    waiting += [
        value
        for entries in plan.entries.values()
        for _, record in entries
        for field in fields(record)
        if isinstance(value := getattr(record, field.name), Figure)
    ]
    waiting += plan.figures.values()
    seen: set[int] = set()
    while waiting:
        figure = waiting.pop()
        if id(figure) in seen:
            continue
        seen.add(id(figure))
        if figure.id:
            found.setdefault(figure.id, figure)
        waiting.extend(figure.parents())
    return found


MADE: tuple[tuple[type[Any], str], ...] = (
    (Choosing, "a choice of this plan: its working names reason and runners-up"),
    (Pin, "pinned in the brief: its working names reason and line"),
    (Gathering, "gathered from its inputs (arithmetic)"),
    (Named, "another figure of this plan under its own name"),
    (Taken, "what was bought: catalogue rows and their counts"),
)
"""What stands behind figures that neither a leaf nor a rule made; the last resort is an error, not an empty word."""


def source_of(figure: Figure[Any]) -> str:
    """Where the figure comes from: the leaf's place, or the source of its rule."""
    if isinstance(figure.how, Origin):
        return f"{figure.how.kind}: {figure.how.where}"
    source = getattr(figure.how, "source", None)
    if source is not None:
        return f"{source.name} ({source.kind})"
    return next(words for kind, words in MADE if isinstance(figure.how, kind))


def as_json(plan: Plan, *, places: bool = True) -> dict[str, Any]:
    """The plan as plain data; without `places` (file and line) it is the plan's identity."""
    figures = [_figure(plan, id_, figure, places) for id_, figure in sorted(plan.figures.items())]
    behind = [_figure(plan, id_, figure, places) for id_, figure in sorted(_behind(plan).items())]
    return {
        "client": plan.office.name.value,
        "as_of": plain(plan.office.as_of.value),
        "currency": plan.currency,
        "provisional": plan.provisional,
        "figures": figures,
        "behind": behind,
        "findings": [_finding(told) for told in plan.findings],
        "choices": _choices(plan),
        "pins": _pins(plan, places),
        "confirmed": _confirmed(plan) if places else None,
        "records": _records(plan),
    }


def _behind(plan: Plan) -> dict[str, Figure[Any]]:
    """Whatever figures rest on that has no figure's name of its own: brief lines, rows, house rules, unnamed steps."""
    found: dict[str, Figure[Any]] = {}
    waiting = list(plan.figures.items())
    while waiting:
        id_, figure = waiting.pop()
        for argument, parent in figure.addressed():
            address = parent.id or f"{id_}/{argument}"
            if address not in plan.figures and address not in found:
                found[address] = parent
                waiting.append((address, parent))
    return found


def _figure(plan: Plan, id_: str, figure: Figure[Any], places: bool) -> dict[str, Any]:  # noqa: FBT001 - as as_json asks
    working = in_currency(figure.how.working(figure), plan.currency)
    return {
        "id": id_,
        "label": figure.label,
        "value": plain(figure.value),
        "unit": in_currency(figure.unit.symbol, plan.currency),
        "working": working if places else "",
        "source": source_of(figure),
        "inputs": [parent.id or f"{id_}/{argument}" for argument, parent in figure.addressed()],
    }


def _finding(told: Told) -> dict[str, Any]:
    finding = told.finding
    figures = [figure.id for figure in finding.shown.values() if figure.id]
    return {
        "code": finding.code, "weight": told.weight, "says": told.says, "remedy": finding.remedy,
        "about": finding.about, "declined": told.declined, "figures": figures,
    }  # fmt: skip


def _choices(plan: Plan) -> list[dict[str, Any]]:
    chosen = plan.purchase.chosen
    return [
        {"id": f"purchase.{slot}", "name": figure.label, "chosen": figure.value,
         "parts": [{"row": row, "count": count} for row, count in chosen.parts(slot)],
         "why": in_currency(figure.how.working(figure), plan.currency)}
        for slot, figure in sorted(chosen.picked.items())
    ]  # fmt: skip


def _pins(plan: Plan, places: bool) -> list[dict[str, Any]]:  # noqa: FBT001 - as as_json asks
    """What was set by hand and why; what it costs is no part of the plan's identity, since it is asked apart."""
    prices = {price.id: price for price in plan.pin_prices} if places else {}
    return [
        {"id": id_, "value": pin.text, "because": pin.because, **(_priced(prices[id_]) if id_ in prices else {})}
        for id_, pin in sorted(plan.pins.items())
    ]


def _confirmed(plan: Plan) -> dict[str, Any] | None:
    """What a second solver says of the purchase; no part of the plan's identity, since it is asked apart."""
    said = plan.confirmed
    if said is None:
        return None
    price = plain(to_minor_unit(said.price / 100)) if said.price is not None else None
    return {"agrees": said.agrees, "finished": said.finished, "says": said.says, "price": price}


def _priced(price: PinPrice) -> dict[str, Any]:
    if price.unpriced:
        return {"unpriced": price.unpriced}
    whole = plain(price.whole) if price.whole is not None else None
    return {
        "otherwise": price.otherwise,
        "purchase": plain(price.purchase),
        "whole": whole,
        "breaks": list(price.breaks),
    }


def _records(plan: Plan) -> dict[str, list[dict[str, Any]]]:
    kept = {
        kind: entries for kind, entries in plan.entries.items() if kind.__name__ not in LEFT_OUT and kind is not Page
    }
    return {
        kind.__name__: [{"trade": trade, **_record(record, plan.currency)} for trade, record in entries]
        for kind, entries in sorted(kept.items(), key=lambda item: item[0].__name__)
    }


LEFT_OUT = frozenset({"Slot", "Demand", "Cost"})


def _record(record: Any, currency: str) -> dict[str, Any]:
    assert is_dataclass(record)
    return {field.name: plain_field(getattr(record, field.name), currency) for field in fields(record)}


def plain_field(value: Any, currency: str) -> Any:
    """A field of a record as plain data."""
    if isinstance(value, Figure):
        unit = in_currency(value.unit.symbol, currency)
        return {"figure": value.id, "value": plain(value.value), "unit": unit} if value.id else plain(value.value)
    if isinstance(value, Mapping):
        return {str(key): plain_field(item, currency) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain_field(item, currency) for item in value]
    return plain(value)


def canonical(plan: Plan, *, places: bool = True) -> str:
    """The same plan gives the same bytes."""
    return json.dumps(as_json(plan, places=places), sort_keys=True, ensure_ascii=False, indent=1) + "\n"


def identity(plan: Plan) -> str:
    """A hash that ignores line numbers and comments of the brief."""
    return sha256(canonical(plan, places=False).encode()).hexdigest()
