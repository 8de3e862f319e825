"""Firm options side by side: one row a question, one column an option; every number is a figure of its option's plan."""

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from scantling.catalogue.columns import CAPACITY, CORES, WATTS
from scantling.figures import (
    BOXED, IN_CLOUD, PRICE, Attribute, Box, Copy, Figure, Hosts, Lasting, Line, Machine, Rented, Service, Sum, text,
)  # fmt: skip
from scantling.figures.numbers import in_currency, plain
from scantling.handbook.copies import over_years
from scantling.handbook.money import together
from scantling.outputs.summary import Sheet
from scantling.plan.make import Plan
from scantling.plan.options import OptionPlan

TITLE = "The options side by side"
NOTHING = "–"
FIREWALL = "firewall"
MOST_NAMED = 8
MISSED = ("B-3", "F-8")
"""Findings that a time down which somebody tolerates is missed."""


@dataclass(frozen=True)
class Cell:
    """What one option says to one question: words, and the figure behind them where there is one."""

    words: str
    figure: Figure[Any] | None = None


@dataclass(frozen=True)
class Row:
    """One question."""

    id: str
    label: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class SideBySide:
    """All of it: the options in order and the rows over them."""

    options: tuple[OptionPlan, ...]
    rows: tuple[Row, ...]

    def sheet(self) -> Sheet:
        """As a table of plain text, for a terminal."""
        heads = ("", *(option.name for option in self.options))
        return Sheet(TITLE, heads, [(row.label, *(cell.words for cell in row.cells)) for row in self.rows])

    def as_json(self) -> str:
        """Canonical JSON: the same options give the same bytes."""
        told = {
            "options": [_told(option) for option in self.options],
            "rows": [{"id": row.id, "label": row.label, "cells": [_cell(cell) for cell in row.cells]} for row in self.rows],
        }  # fmt: skip
        return json.dumps(told, sort_keys=True, ensure_ascii=False, indent=1) + "\n"


def _told(option: OptionPlan) -> dict[str, Any]:
    made = option.plan
    return {
        "slug": option.variant.slug, "name": option.name, "changes": option.what_changes, "edits": dict(option.variant.edits),
        "left_out": list(option.left_out), "why_not": option.why_not, "provisional": made is not None and made.provisional,
        "stops": [] if made is None else [told.finding.code for told in made.stops],
    }  # fmt: skip


def _cell(cell: Cell) -> dict[str, Any]:
    if cell.figure is None:
        return {"text": cell.words}
    return {"text": cell.words, "figure": cell.figure.id, "value": plain(cell.figure.value)}


def side_by_side(options: Sequence[OptionPlan]) -> SideBySide:
    """Every question asked of every option; one that could not be planned says so in its first row and is silent below."""
    rows = [Row("changes", "What it changes", tuple(Cell(option.what_changes) for option in options))]
    rows.append(Row("fits", "Against the brief", tuple(Cell(_against(option)) for option in options)))
    for id_, label, ask in QUESTIONS:
        cells = tuple(Cell(NOTHING) if option.plan is None else ask(option.plan) for option in options)
        rows.append(Row(id_, label, cells))
    if any(option.left_out for option in options):
        told = tuple(Cell(", ".join(option.left_out) or NOTHING) for option in options)
        rows.append(Row("left-out", "Pins and declined advice it has no use for", told))
    return SideBySide(tuple(options), tuple(rows))


def _against(option: OptionPlan) -> str:
    if option.plan is None:
        return f"can't be planned: {option.why_not}"
    codes = list(dict.fromkeys(told.finding.code for told in option.plan.stops))
    gave = "; provisional: a need had to give way" if option.plan.provisional else ""
    return f"breaks it: {', '.join(codes)}{gave}" if codes else f"keeps it{gave}"


def _said(plan: Plan, figure: Figure[Any] | None) -> Cell:
    return Cell(NOTHING) if figure is None else Cell(in_currency(text(figure), plan.currency), figure)


def _by_id(*ids: str) -> Callable[[Plan], Cell]:
    """The first of these figures that the plan has."""
    return lambda plan: _said(plan, next((plan.figures[id_] for id_ in ids if id_ in plan.figures), None))


def _bought(attribute: Attribute[Any]) -> Callable[[Plan], Cell]:
    """One column summed over all that is bought."""
    return lambda plan: _said(plan, plan.purchase.chosen.of(Sum(attribute)))


def _over_the_years(plan: Plan) -> Cell:
    once, yearly = plan.figures.get("money.total"), plan.figures.get("money.yearly")
    if once is None or yearly is None:
        return Cell(NOTHING)
    return _said(plan, together.of(one=once, other=over_years.of(yearly=yearly, years=plan.office.horizon)))


def _one_lost(plan: Plan) -> Cell:
    """How long all is down when a server is lost: started on the other, or brought back to a new one."""
    if not plan.records(Machine):
        return Cell("there is no server")
    if (ready := plan.figures.get("hosts.ready")) is not None:
        return Cell(f"{text(ready)}, on the other one", ready)
    hours = _longest(plan)
    return Cell(NOTHING) if hours is None else Cell(f"{text(hours)} and the delivery of a new one", hours)


def _longest(plan: Plan) -> Figure[Any] | None:
    """The longest that a service of the server takes to come back from the copy."""
    here = [service for service in plan.records(Service) if service.machine not in (BOXED, IN_CLOUD)]
    hours = [plan.figures.get(f"restore.{service.slug}.hours") for service in here]
    return max((one for one in hours if one is not None), key=lambda one: one.value, default=None)


def _all_lost(plan: Plan) -> Cell:
    copies = plan.records(Copy)
    return _said(plan, copies[0].restore) if copies else Cell("nothing comes back: there is no copy")


def _missed(plan: Plan) -> Cell:
    """The longest time down that the client tolerates and that this plan passes."""
    limits = [
        told.finding.shown["down"] for told in plan.findings if told.finding.code in MISSED and not told.declined
    ]
    worst = max(limits, key=lambda one: one.value, default=None)
    return Cell("none is missed") if worst is None else _said(plan, worst)


def _weighed(weight: str) -> Callable[[Plan], Cell]:
    """How many findings of a weight stand, declined ones left out."""
    return lambda plan: Cell(str(sum(1 for told in plan.findings if told.weight == weight and not told.declined)))


def _names(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _server_out(plan: Plan) -> Cell:
    here = [service for service in plan.records(Service) if service.machine not in (BOXED, IN_CLOUD)]
    if not here:
        return Cell("there is no server")
    if plan.records(Hosts):
        return Cell("half of the machines, until they run on the other one")
    gate = "; with the firewall every way out" if any(service.profile == FIREWALL for service in here) else ""
    return Cell(f"{_names([service.name for service in here])}{gate}")


def _box_out(plan: Plan) -> Cell:
    names, profiles = _services(plan)
    told = []
    for box in plan.records(Box):
        gate = ", every way out" if FIREWALL in {profiles[role] for role in box.roles} else ""
        told.append(f"{box.name}: {_names([names[role] for role in box.roles])}{gate}")
    return Cell("; ".join(told) or "there is no box")


def _services(plan: Plan) -> tuple[dict[str, str], dict[str, str]]:
    services = plan.records(Service)
    return {one.slug: one.name for one in services}, {one.slug: one.profile for one in services}


def _line_out(plan: Plan) -> Cell:
    rented = _names([one.name for one in plan.records(Rented)])
    lines = plan.records(Line)
    if not lines:
        return Cell("no line is planned")
    spare = [line.name for line in lines if line.standby]
    if spare:
        return Cell(f"all goes on by {_names(spare)}, slower")
    return Cell(
        f"{rented}, and all else outside" if rented else "all that is outside; the server's services go on inside"
    )


def _lasting(plan: Plan) -> Cell:
    choices = list(dict.fromkeys(entry.what for entry in plan.records(Lasting)))
    if plan.records(Rented):
        choices.append("data and ways of work moved to others")
    return Cell("; ".join(choices) or "none")


QUESTIONS: tuple[tuple[str, str, Callable[[Plan], Cell]], ...] = (
    ("parts", "Price of the parts, before tax", _bought(PRICE)),
    ("work", "Price of the work, before tax", _by_id("money.labour.total")),
    ("total", "Rough price once, tax included", _by_id("money.total")),
    ("yearly", "Fees a year, as priced", _by_id("money.yearly")),
    ("horizon", "Once and all fees over the horizon", _over_the_years),
    ("cores", "Real cores bought", _bought(CORES)),
    ("memory", "Memory bought", _bought(CAPACITY)),
    ("watts", "Power drawn by what is bought", _bought(WATTS)),
    ("noise", "Noise where people sit", _by_id("premises.noise.heard")),
    ("one-lost", "Back after one server is lost", _one_lost),
    ("all-lost", "Everything back from the copy at hand", _all_lost),
    ("missed", "Longest tolerated time down that is missed", _missed),
    ("stops", "Stop findings", _weighed("stop")),
    ("mends", "Findings to mend", _weighed("mend")),
    ("notes", "Notes", _weighed("note")),
    ("server-out", "When the server stops, so do", _server_out),
    ("box-out", "When a box stops, so do", _box_out),
    ("line-out", "When the line stops", _line_out),
    ("lasting", "Hard to change later", _lasting),
)  # fmt: skip


def blocks(options: Sequence[OptionPlan]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The rows for a printed page: the first option's figures stand in this book, so only words are set for the others."""
    for row in side_by_side(options).rows:
        yield row.label, tuple(cell.words for cell in row.cells)
