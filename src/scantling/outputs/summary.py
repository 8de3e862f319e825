"""A plan in a screenful: what to buy, machines, networks, storage, copies, rough price, findings; as plain rows."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from scantling.figures import (
    PRICE, Array, Copy, Figure, Machine, Pool, Ruled, Subnet, Zone,
)  # fmt: skip
from scantling.figures.numbers import counted, in_currency, text, with_unit
from scantling.figures.pages import Cell
from scantling.plan.evidence import Evidence
from scantling.plan.make import Plan
from scantling.plan.pinned import PinPrice


@dataclass(frozen=True)
class Sheet:
    """One table; `right` are the columns of numbers, `whole` those whose words are never broken."""

    title: str
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]
    right: frozenset[int] = frozenset()
    whole: frozenset[int] = frozenset()


def cell(given: Cell, currency: str) -> str:
    """A cell as text in the plan's currency."""
    return in_currency(text(given) if isinstance(given, Figure) else given, currency)


def heading(plan: Plan) -> str:
    """Who it is for, whether a need had to give way, what a second solver says, and the proof of the firewall's rules."""
    told = [_heading(plan)]
    told += [f"The cheapest set: {plan.confirmed.says}"] if plan.confirmed is not None else []
    if plan.proof is not None:
        proof = plan.proof
        told.append(f"The firewall's rules: {proof.says}; {_holding(proof)}")
    return "\n".join(told)


def _holding(proof: Evidence) -> str:
    return f"{proof.holding} of {counted(proof.intents, 'intent holds', 'intents hold')} in {counted(proof.rules, 'rule')}"


def _heading(plan: Plan) -> str:
    who = f"{text(plan.office.name)}, planned {text(plan.office.as_of)} for {text(plan.office.horizon)}"
    if plan.purchase.easing is not None:
        easing = plan.purchase.easing
        bounds = " / ".join(text(bound) for bound in easing.demand.bounds)
        reached = with_unit(easing.reached, easing.demand.what.unit.symbol)
        return f"{who}\nPROVISIONAL: nothing meets every need. {easing.demand.label} gave way: {reached} instead of {bounds}."
    if plan.purchase.given_up:
        return f"{who}\nPROVISIONAL: no single need is enough to ease; given up: {', '.join(plan.purchase.given_up)}."
    return who


def pinned(plan: Plan) -> Iterator[str]:
    """What was set by hand, why, and what it costs where that was asked."""
    prices = {price.id: price for price in plan.pin_prices}
    for id_, pin in sorted(plan.pins.items()):
        told = f": {_pin_price(prices[id_], plan.currency)}" if id_ in prices else ""
        yield f"pinned: {id_} = {pin.text} ({pin.because}){told}"


def _pin_price(price: PinPrice, currency: str) -> str:
    if price.unpriced:
        return f"there is no plan without it ({price.unpriced})"
    without = f" (there it is {price.otherwise})" if price.otherwise else ""
    told = f"costs {_dearer(price.purchase, currency)} than without{without}"
    if price.whole is not None and price.whole != price.purchase:
        told += f", in the whole price {_dearer(price.whole, currency)}, work and tax included"
    return told + "".join(f"; breaks: {says}" for says in price.breaks)


def _dearer(amount: Decimal, currency: str) -> str:
    if not amount:
        return "no more"
    return f"{with_unit(abs(amount), currency)} {'more' if amount > 0 else 'less'}"


def sheets(plan: Plan) -> Iterator[Sheet]:
    """The tables in the order a client asks for them."""
    yield _purchase(plan)
    if machines := plan.records(Machine):
        rows = [
            (m.slug, ", ".join(m.roles), text(m.cores), text(m.floor), text(m.expected), text(m.ceiling))
            for m in machines
        ]
        heads = ("machine", "does", "cores", "floor", "expected", "ceiling")
        yield Sheet("Machines", heads, rows, frozenset({2, 3, 4, 5}))
    if zones := plan.records(Zone):
        yield _networks(plan, zones)
    if arrays := plan.records(Array):
        rows_ = [
            (a.name, a.level, text(a.disks), text(a.usable), text(a.filled_now), text(a.filled_horizon))
            for a in arrays
        ]
        heads = ("array", "level", "disks", "room", "filled today", "at the horizon")
        yield Sheet("Storage", heads, rows_, frozenset({2, 3, 4, 5}))
    if copies := plan.records(Copy):
        told = [
            (
                c.name,
                "off site" if c.off_site else "at hand",
                text(c.capacity),
                text(c.needed),
                c.how,
                text(c.window),
                text(c.restore),
            )
            for c in copies
        ]
        said = ("copy", "where", "room", "needed", "written", "a run takes", "everything back")
        yield Sheet("Copies", said, told, frozenset({2, 3, 5, 6}))
    yield from _price(plan)


def _purchase(plan: Plan) -> Sheet:
    chosen = plan.purchase.chosen
    rows = []
    for slot, figure in chosen.picked.items():
        option = chosen.options[slot]
        what = ", ".join(f"{count} × {row.slug}" for row, count in option.parts) or "none"
        price = with_unit(option.price, plan.currency) if option.get(PRICE) is not None else ""
        rows.append((figure.label, what, price))
    return Sheet("What to buy", ("for", "article", "price"), rows, frozenset({2}))


def _networks(plan: Plan, zones: Sequence[Zone]) -> Sheet:
    subnets = {subnet.slug: subnet for subnet in plan.records(Subnet)}
    pools = {pool.slug: pool for pool in plan.records(Pool)}
    rows = []
    ends = [f"rules.{zone.slug}.{way}" in plan.figures for zone in zones for way in ("in", "out")]
    doors = all(ends)
    for zone in sorted(zones, key=lambda zone: int(zone.number.value)):
        subnet, pool = subnets.get(zone.slug), pools.get(zone.slug)
        network = (str(subnet.network), str(subnet.gateway)) if subnet is not None else ("", "")
        lent = (text(pool.size), text(pool.lease)) if pool is not None else ("", "")
        ways = [text(plan.figures[f"rules.{zone.slug}.{way}"]) for way in ("in", "out")] if doors else []
        rows.append((zone.name, text(zone.number), text(zone.devices), *network, *lent, *ways))
    heads = (
        "zone",
        "number",
        "devices",
        "network",
        "gateway",
        "lent",
        "for",
        *(("called on by", "calls on") if doors else ()),
    )
    return Sheet("Networks", heads, rows, frozenset({1, 2, 5, 6, *((7, 8) if doors else ())}))


def _price(plan: Plan) -> Iterator[Sheet]:
    """The first table of the sheet whose letter is O: the rough price."""
    blocks = [block for page in plan.pages() if page.letter == "O" for block in page.blocks]
    for block in [block for block in blocks if isinstance(block, Ruled)][:1]:
        rows = [tuple(cell(one, plan.currency) for one in row) for row in block.rows]
        yield Sheet(block.caption, block.heads, rows, frozenset({len(block.heads) - 1}))


def findings(plan: Plan) -> Sheet:
    """What would go wrong, heaviest first."""
    rows = [
        ((t.declined and "declined") or t.weight, t.finding.code, t.says, t.declined or t.finding.remedy)
        for t in plan.findings
    ]
    return Sheet("Findings", ("weight", "code", "what", "remedy"), rows)
