"""The price of every pin: the plan with it against the plan without it, one make each."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

from scantling.catalogue import CatalogueError
from scantling.figures import PinError
from scantling.figures.numbers import in_currency, text
from scantling.plan.make import Inputs, Plan, make
from scantling.plan.pinned import PinPrice
from scantling.plan.spine import PlanError

NOUGHT = Decimal(0)
WHOLE_PRICE = "money.total"
MISSED = "P-1"


def price_of_pins(inputs: Inputs, plan: Plan, tell: Callable[[int], None] = lambda _: None) -> tuple[PinPrice, ...]:
    """What each pin costs and which demands it breaks; `plan` is made from `inputs`, all pins laid."""
    return tuple(_price(id_, inputs, plan, tell) for id_ in sorted(inputs.pins))


def _price(id_: str, inputs: Inputs, plan: Plan, tell: Callable[[int], None]) -> PinPrice:
    pin = inputs.pins[id_]
    others = {other: kept for other, kept in inputs.pins.items() if other != id_}
    try:
        without = make(replace(inputs, pins=others), tell)
    except (PlanError, PinError, CatalogueError) as wrong:
        return PinPrice(id_, pin.text, pin.because, "", NOUGHT, None, (), str(wrong))
    figure = without.figures.get(id_)
    otherwise = in_currency(text(figure), plan.currency) if figure is not None else ""
    whole = _whole(plan, without)
    breaks = sorted(_missed(plan) - _missed(without))
    return PinPrice(id_, pin.text, pin.because, otherwise, bought(plan) - bought(without), whole, tuple(breaks))


def bought(plan: Plan) -> Decimal:
    """What all that is to buy costs together."""
    return sum((option.price for option in plan.purchase.chosen.options.values()), NOUGHT)


def _whole(plan: Plan, without: Plan) -> Decimal | None:
    both = plan.figures.get(WHOLE_PRICE), without.figures.get(WHOLE_PRICE)
    if both[0] is None or both[1] is None:
        return None
    difference: Decimal = both[0].value - both[1].value
    return difference


def _missed(plan: Plan) -> set[str]:
    """Demands that are not met."""
    return {told.says for told in plan.findings if told.finding.code == MISSED}
