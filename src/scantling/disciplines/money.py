"""Money: the rough price, part by part, that the client hears first.

Figures:
    money.parts.<slot>           price of what is bought for a slot
    money.server                 price of the server's parts
    money.copies                 price of the backup's parts
    money.boxes                  price of boxes
    money.other                  price of switches, battery unit and cabinet
    money.labour.<task>.hours    hours of a piece of work
    money.labour.<task>.price    its price
    money.labour.total           price of all work
    money.radio.price            allowance for access points, not yet planned
    money.sum                    all of that
    money.contingency            for what nobody thought of
    money.net                    rough price before tax
    money.tax                    tax on it
    money.total                  rough price
    money.yearly                 fees a year
Findings: O-1.
Records: Task, Page.
"""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from functools import reduce

from scantling.brief import Given, Section, asked
from scantling.catalogue import Catalogue, House, Practice
from scantling.catalogue.columns import LABOUR_RATE
from scantling.figures import (
    PRICE, Chosen, Crowd, Desk, Every, Fee, Figure, Finding, Machine, Of, Origin, Page, Prose, Ruled, Switching, Task, Weight,
    count_of, text, total,
)  # fmt: skip
from scantling.figures.units import COUNT, HOUR, MONEY, MONEY_A_YEAR, SHARE, TRUTH, Money, Percent
from scantling.handbook.money import hours_where, labour_price, over_budget, price_of, share_of_price, together
from scantling.handbook.sizing import beyond, either, negated, times
from scantling.standing import Standing

SWITCH = "switch"
COPIES, OTHER = ("near", "away"), (SWITCH, "ups", "cabinet")
NONE = total((), COUNT)
MOVED = negated.of(given=Figure(True, TRUTH, Origin("standing", "bought: the office was built by an earlier plan")))  # noqa: FBT003
Whom = tuple[Every[Machine], Every[Crowd], Every[Task]]
EACH_RADIO, CONTINGENCY = Practice("money.access-point", MONEY), Practice("money.contingency", SHARE)
SERVER, BOX = "server", "box-"
ONCE = {
    "survey": Practice("money.hours-survey", HOUR), "design": Practice("money.hours-design", HOUR),
    "server": Practice("money.hours-server", HOUR), "network": Practice("money.hours-network", HOUR),
    "cut-over": Practice("money.hours-cut-over", HOUR), "handover": Practice("money.hours-handover", HOUR),
}  # fmt: skip
EACH_MACHINE, EACH_PERSON = Practice("money.hours-machine", HOUR), Practice("money.hours-person", HOUR)
NAMES = {
    "survey": "Interview and survey", "design": "Design and documents", "server": "Server, cabinet and battery unit",
    "network": "Switch, access points, zones", "cut-over": "Cut-over with a way back", "handover": "Handover and training",
    "machines": "Machines", "people": "Moving people and devices",
}  # fmt: skip


class Budget(Section):
    """What there is to spend."""

    key = "budget"
    once: Given[Money] = asked("How much may it cost, tax included?")
    tax: Given[Percent] = asked("What is the rate of tax?", most="100 %")


def design(  # noqa: PLR0913 - a sheet reads what it shows
    budget: Budget, catalogue: Catalogue, house: House, chosen: Chosen, machines: Every[Machine], crowds: Every[Crowd],
    switching: Every[Switching], fees: Every[Fee], work: Every[Task], standing: Standing, desk: Desk,
) -> Iterator[Task | Finding | Page]:  # fmt: skip
    """Parts, work, allowances, contingency, tax."""
    parts = _parts(chosen, desk)
    own = _tasks(house, (machines, crowds, work), standing, chosen, desk)
    yield from own
    tasks = [*own, *work]
    labour = _labour(catalogue, tasks, desk)
    rows = {**parts, "labour": labour, "radio": _radio(house, switching, desk)}
    sum_ = desk.figure("sum", total(rows, MONEY), "Parts, work and allowances")
    spare = desk.figure(
        "contingency", share_of_price.of(amount=sum_, share=house[CONTINGENCY]), "For what nobody thought of"
    )
    net = desk.figure("net", together.of(one=sum_, other=spare), "Rough price before tax")
    tax = desk.figure("tax", share_of_price.of(amount=net, share=budget.tax), "Tax")
    whole = desk.figure("total", together.of(one=net, other=tax), "Rough price, tax included")
    yearly = desk.figure("yearly", total({fee.slug: fee.yearly for fee in fees}, MONEY_A_YEAR), "Fees a year")
    yield Finding(
        "O-1", Weight.STOP, over_budget.of(spent=whole, budget=budget.once),
        "The rough price is {whole}; the budget is {budget}.",
        "Ask which demand may give way; the purchase page says what each one costs. Do not take it out of the backup.",
        {"whole": whole, "budget": budget.once},
    )  # fmt: skip
    sums = {"contingency": spare, "net": net, "tax": tax, "total": whole, "yearly": yearly, "budget": budget.once}
    yield _page(chosen, parts, tasks, desk, sums)


def _parts(chosen: Chosen, desk: Desk) -> dict[str, Figure[Decimal]]:
    """Each slot's price under its own id, gathered into server, copies and other."""
    prices = {
        slot: desk.figure(f"parts.{slot}", chosen.of(Of(slot, PRICE)), chosen.picked[slot].label)
        for slot, option in chosen.options.items()
        if option.get(PRICE) is not None
    }
    groups = {
        "server": {s: p for s, p in prices.items() if s not in (*COPIES, *OTHER) and not s.startswith(BOX)},
        "copies": {s: p for s, p in prices.items() if s in COPIES},
        "other": {s: p for s, p in prices.items() if s in OTHER},
    }
    if boxes := {s: p for s, p in prices.items() if s.startswith(BOX)}:
        groups["boxes"] = boxes
    labels = {
        "server": "The server's parts",
        "copies": "The backup's parts",
        "other": "Switches, battery unit and cabinet",
        "boxes": "Boxes",
    }
    return {name: desk.figure(name, total(group, MONEY), labels[name]) for name, group in groups.items()}


def _tasks(house: House, whom: Whom, standing: Standing, chosen: Chosen, desk: Desk) -> list[Task]:
    """The work of every job; no server is built where work on other things takes its place, nor what stands a second time."""
    machines, crowds, work = whom
    hours = {slug: house[practice] for slug, practice in ONCE.items() if slug != SERVER or machines or not work}
    hours["machines"] = times.of(count=count_of({m.slug: m.cores for m in machines}), each=house[EACH_MACHINE])
    heads = total({crowd.slug: crowd.heads for crowd in crowds}, COUNT)
    hours["people"] = times.of(count=heads, each=house[EACH_PERSON])
    if standing.bought:
        hours = _only_new(hours, machines, standing, chosen, house)
    return [
        Task(slug, NAMES[slug], desk.figure(f"labour.{slug}.hours", figure, f"{NAMES[slug]}, hours"))
        for slug, figure in hours.items()
    ]


def _only_new(
    hours: Mapping[str, Figure[float]], machines: Every[Machine], standing: Standing, chosen: Chosen, house: House
) -> dict[str, Figure[float]]:
    """In an office that was built by an earlier plan: work on what is new or gives way, and on nothing else."""
    issued = {text(given.holder) for given in (standing.issued.addresses or {}).values()}
    fresh = {m.slug: m.cores for m in machines if m.slug not in issued}
    of_machines = times.of(count=count_of(fresh), each=house[EACH_MACHINE])
    switches = _any(chosen.new(slot) for slot in chosen.options if slot == SWITCH)
    parts = _any(chosen.new(slot) for slot in chosen.options if slot != SWITCH)
    machine = beyond.of(have=count_of(fresh), limit=NONE)
    whole = _any((parts, switches, machine))
    wanted = {"server": parts, "network": switches, "machines": machine, "people": MOVED}
    return {
        slug: of_machines if slug == "machines" else hours_where.of(hours=figure, wanted=wanted.get(slug, whole))
        for slug, figure in hours.items()
    }


def _any(many: Iterable[Figure[bool]]) -> Figure[bool]:
    """Whether one of them is true."""
    return reduce(lambda one, other: either.of(one=one, other=other), many, MOVED)


def _labour(catalogue: Catalogue, tasks: list[Task], desk: Desk) -> Figure[Decimal]:
    rate = next(row for row in catalogue.every("labour") if row.slug == "consultant").figure(LABOUR_RATE)
    prices = {
        task.slug: desk.figure(f"labour.{task.slug}.price", labour_price.of(hours=task.hours, rate=rate), task.name)
        for task in tasks
    }
    return desk.figure("labour.total", total(prices, MONEY), "Work")


def _radio(house: House, switching: Every[Switching], desk: Desk) -> Figure[Decimal]:
    """An allowance until radio is planned: so much an access point and its fixing."""
    count = total([each.radio for each in switching], COUNT)
    price = price_of.of(count=count, each=house[EACH_RADIO])
    return desk.figure("radio.price", price, "Allowance for access points, not yet planned")


def _page(
    chosen: Chosen,
    parts: Mapping[str, Figure[Decimal]],
    tasks: list[Task],
    desk: Desk,
    sums: Mapping[str, Figure[Decimal]],
) -> Page:
    figures = desk.ledger.figures
    slots = [(f.label, f.id.rsplit(".", 1)[-1], f) for f in figures.values() if f.id.startswith("money.parts.")]
    bought = [(label, chosen.picked[slot], price) for label, slot, price in slots]
    price = [(figure.label, figure) for figure in parts.values()]
    price += [(label, figures[f"money.{id_}"]) for label, id_ in PRICE_ROWS]
    price += [(sums[name].label, sums[name]) for name in ("contingency", "net", "tax", "total")]
    work = [(task.name, task.hours, figures[f"money.labour.{task.slug}.price"]) for task in tasks]
    return Page(
        "price", "O", "Rough price",
        (
            Ruled("Rough price", ("what", "price"), [*price, ("Budget, tax included", sums["budget"]), ("Fees a year", sums["yearly"])]),
            Ruled("What to buy", ("for", "article", "price"), bought),
            Ruled("Work", ("task", "hours", "price"), work),
            Prose("A rough price from an invented catalogue: good enough to decide whether to go on, not to order from. Access points "
                  "are an allowance until radio is planned; cables, panels and cords are not in it. Tax is reckoned once, on the total."),
        ), 1,
    )  # fmt: skip


PRICE_ROWS = (
    ("Work", "labour.total"),
    ("Access points, not yet planned", "radio.price"),
)
