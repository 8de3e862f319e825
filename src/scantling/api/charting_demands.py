"""The chart of what each demand costs: at which nearest value the cheapest set is cheaper, and what is saved there."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from scantling.figures.numbers import in_currency, with_unit
from scantling.outputs.drawings.charts.model import Across, Axis, Chart, Series
from scantling.outputs.drawings.model import plain
from scantling.plan.make import Plan
from scantling.plan.weighing import DemandPrice, Weighed, as_met

MOST_ROWS = 24
FREE = "nothing"


def demand_charts(plan: Plan, weighed: Weighed) -> tuple[Chart, ...]:
    """One chart of all demands that cost anything, dearest first; none where no demand does."""
    dear = [one for one in weighed.prices if one.dropped > 0 or (one.easier is not None and one.easier.moves < 0)]
    shown = dear[:MOST_ROWS]
    if not shown:
        return ()
    saved = tuple(_saved(one) for one in shown)
    without = tuple(float(one.dropped) for one in shown)
    harder = tuple(_harder(plan, one) for one in shown)
    series = (
        Series("saved at the nearest easier value", saved, "heavy", words=tuple(_easier(plan, one) for one in shown)),
        Series("saved without the demand", without, "thin", words=tuple(_money(plan, one.dropped) for one in shown)),
        Series("more, by one other part", (0.0,) * len(shown), "dashed", words=harder, drawn=False),
    )
    said = tuple(f"{one.demand.label}: {_asked(plan, one)}" for one in shown)
    across = Across(Axis("demand"), tuple(map(float, range(len(shown)))), said, (), float(len(shown)))
    told = plain(f"{_counted(len(dear))} something. The dearest is {_dearest(plan, shown[0])}.")
    axis = Axis("saved on the cheapest set", plan.currency)
    return (
        Chart(
            "demands", "Saved when a demand is eased, or dropped", across, axis, series, told, wide=True, rows=True
        ),
    )


def _counted(many: int) -> str:
    return "1 demand costs" if many == 1 else f"{many} demands cost"


def _dearest(plan: Plan, one: DemandPrice) -> str:
    return f"{one.demand.label.lower()}: without it {_money(plan, one.dropped)} less"


def _money(plan: Plan, amount: Decimal) -> str:
    return with_unit(amount, plan.currency)


def _unit(plan: Plan, one: DemandPrice) -> str:
    return in_currency(one.demand.what.unit.symbol, plan.currency)


def _value(plan: Plan, one: DemandPrice, value: Any) -> str:
    return with_unit(value, _unit(plan, one))


def _asked(plan: Plan, one: DemandPrice) -> str:
    """What was asked and what is bought."""
    bound = "at least" if one.demand.at_least is not None else "at most"
    return f"asked {bound} {_value(plan, one, one.asked)}, bought {_value(plan, one, one.given)}"


def _saved(one: DemandPrice) -> float:
    return float(-one.easier.moves) if one.easier is not None else 0.0


def _easier(plan: Plan, one: DemandPrice) -> str:
    if one.easier is None:
        return "cheaper at no value"
    return f"at {_value(plan, one, one.easier.value)}: {_money(plan, -one.easier.moves)}"


def _harder(plan: Plan, one: DemandPrice) -> str:
    if one.harder is None:
        return "no one part gives more"
    return f"{_value(plan, one, one.harder.value)} for {_money(plan, one.harder.moves)} more"


def waiting(plan: Plan) -> Sequence[str]:
    """The demands that could be weighed, in words."""
    return [demand.label for demand in as_met(plan.purchase) if demand.need and demand.bounds]


def left_out(weighed: Weighed) -> Sequence[str]:
    """Which demands are not drawn, and how the chart is read."""
    free = [
        one.demand.label.lower()
        for one in weighed.prices
        if not one.dropped and (one.easier is None or not one.easier.moves)
    ]
    dear = len(weighed.prices) - len(free)
    told = [
        "Each demand is let go alone, all others kept, and the cheapest whole set is sought again: savings do not add up.",
        "Upper step: the nearest easier value at which a cheaper set fits. Lower step: without the demand.",
    ]
    if free:
        told.append(f"These cost {FREE}: {'; '.join(free)}.")
    if dear > MOST_ROWS:
        told.append(f"The {MOST_ROWS} dearest of {dear} are drawn.")
    return told
