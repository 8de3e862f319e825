"""Every declared direction of every rule is true: what is said to rise never falls, and the other way round.

The purchase rests on this: a bound taken from a false direction would throw away the cheapest set unseen.
"""

from collections.abc import Callable, Mapping
from decimal import Decimal
from types import ModuleType
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from conftest import costly

from scantling.figures import Rule, Source, rule
from scantling.figures.units import (
    COUNT, DAILY, HEIGHT_UNIT, MINUTE, MONEY, MONEY_A_YEAR, MONEY_AN_HOUR, PAID_HOUR, PAID_SHARE, PAID_TB, PAID_YEAR, RATIO, SHARE,
    TRUTH, YEAR, YEARLY, Ratio, Unit,
)  # fmt: skip
from scantling.handbook import arrays, copies, electrics, lifting, money, over_time, sharing, sizing, space

MODULES = (arrays, copies, electrics, lifting, money, over_time, sharing, sizing, space)
MOST_SHARE = 0.95
SHARES = st.floats(0, MOST_SHARE)
ABOVE_ONE = st.floats(1, 20)
PAID = st.decimals(0, 100_000, places=2)
HERE = Source("arithmetic", "common practice")

BY_UNIT: Mapping[Unit[Any], st.SearchStrategy[Any]] = {
    COUNT: st.integers(0, 300), HEIGHT_UNIT: st.integers(0, 48), TRUTH: st.booleans(), RATIO: SHARES, SHARE: st.floats(0, 95),
    YEAR: st.floats(0, 25), YEARLY: st.floats(0, 0.9), DAILY: st.floats(0, 1), MINUTE: st.floats(0.5, 500),
    MONEY: PAID, MONEY_A_YEAR: PAID, MONEY_AN_HOUR: PAID, PAID_HOUR: PAID, PAID_SHARE: st.decimals(0, 100, places=1),
    PAID_TB: st.decimals(0, 500, places=3), PAID_YEAR: st.decimals(0, 25, places=1),
}  # fmt: skip
"""By unit; every other unit takes any amount above nought."""
ANY_AMOUNT = st.floats(0.01, 10_000)
BY_NAME: Mapping[str, st.SearchStrategy[Any]] = {
    "compression": ABOVE_ONE, "ratio": ABOVE_ONE, "sharing": ABOVE_ONE, "factor": st.floats(0.1, 3), "wanted": st.floats(0, 90),
    "host": st.floats(0, 16), "angle": st.floats(0, 180), "errors": st.floats(1e-17, 1e-13), "disks": st.integers(3, 12),
    "parity": st.integers(0, 3), "penalty": st.integers(1, 6), "chips": st.integers(1, 4), "each": st.integers(1, 300),
}  # fmt: skip
"""Where the name tells a narrower domain than the unit."""


def falling_curve(drawn: Mapping[str, Any]) -> bool:
    """A maker's run times fall as the load rises; that is the curve's domain."""
    points = [drawn[name] for name in ("quarter", "half", "three_quarters", "whole")]
    return points == sorted(points, reverse=True)


def everywhere(drawn: Mapping[str, Any]) -> bool:
    """Most rules hold for whatever their units and names allow."""
    return bool(drawn)


DOMAINS: Mapping[str, Callable[[Mapping[str, Any]], bool]] = {
    "battery_time": falling_curve, "rebuild_time": lambda drawn: bool(drawn["share"] >= 0.001),
}  # fmt: skip


def directed(module: ModuleType) -> list[Rule[..., Any]]:
    """Its rules that declare a direction."""
    return [
        one
        for one in vars(module).values()
        if isinstance(one, Rule) and one.module == module.__name__ and one.direction
    ]


def strategy(name: str, unit: Unit[Any]) -> st.SearchStrategy[Any]:
    """Values of one argument within its domain."""
    named = BY_NAME.get(name)
    fits = named is not None and unit in (COUNT, RATIO) and not (name == "host" and unit is COUNT)
    return named if named is not None and fits else BY_UNIT.get(unit, ANY_AMOUNT)


def arguments(rule: Rule[..., Any], data: st.DataObject) -> dict[str, Any]:
    """A value for each argument."""
    drawn = {
        name: data.draw(
            st.sampled_from(arrays.Level) if one.unit is arrays.LEVEL_UNIT else strategy(name, one.unit), name
        )
        for name, one in rule.parameters.items()
    }
    if rule.name == "battery_time":
        names = ("quarter", "half", "three_quarters", "whole")
        drawn |= dict(zip(names, sorted((drawn[name] for name in names), reverse=True), strict=True))
    return drawn


def raised(rule: Rule[..., Any], value: Any, name: str, data: st.DataObject) -> Any:
    """The same argument, a little or a lot larger, still within its domain."""
    if isinstance(value, bool):
        return True
    if isinstance(value, int):
        return value + data.draw(st.integers(1, 12), f"{name} more")
    if isinstance(value, Decimal):
        return value + data.draw(st.decimals("0.01", 5000, places=2), f"{name} more")
    part = data.draw(st.sampled_from((1e-6, 0.01, 0.2, 1.0)), f"{name} more")
    room = MOST_SHARE - value if strategy(name, rule.parameters[name].unit) is SHARES else value
    return value + room * part


def agrees(rule: Rule[..., Any], drawn: Mapping[str, Any], name: str, more: Any) -> bool:
    """Whether the result goes no other way than declared; the last binary digits of a float are let pass."""
    way = rule.direction[name]
    low, high = rule(**drawn), rule(**{**drawn, name: more})
    step = float(high - low) * way if high != low else 0.0
    noise = 1e-12 * max(abs(float(low)), abs(float(high))) if isinstance(low, float) else 0.0
    return step >= -noise


RULES = [
    pytest.param(one, id=f"{module.__name__.rpartition('.')[2]}.{one.name}")
    for module in MODULES
    for one in directed(module)
]


@pytest.mark.parametrize("rule", RULES)
@costly
@given(st.data())
def test_declared_directions_are_true(rule: Rule[..., Any], data: st.DataObject) -> None:
    drawn = arguments(rule, data)
    within = DOMAINS.get(rule.name, everywhere)
    assume(within(drawn))
    for name in rule.direction:
        more = raised(rule, drawn[name], name, data)
        if within({**drawn, name: more}):
            assert agrees(rule, drawn, name, more), (name, drawn, more)


def test_every_subject_declares_directions() -> None:
    assert all(directed(module) for module in MODULES)
    assert len(RULES) > 60


@rule(HERE, rises="share")
def wrongly(share: Ratio) -> Ratio:
    """Rises at first, then falls."""
    return share * (1 - share)


def test_a_false_direction_is_found() -> None:
    assert agrees(wrongly, {"share": 0.1}, "share", 0.2)
    assert not agrees(wrongly, {"share": 0.6}, "share", 0.9)


@given(st.floats(0.25, 1), st.floats(1.0, 1.5), st.floats(1, 1000))
def test_a_battery_that_keeps_to_the_law_comes_back_between_its_points(
    share: float, exponent: float, whole: float
) -> None:
    """Peukert: time goes with the load to the minus k; four points of such a curve give it back from a quarter up."""
    points = {
        name: whole * at**-exponent
        for name, at in zip(("quarter", "half", "three_quarters"), (0.25, 0.5, 0.75), strict=True)
    }
    found = electrics.battery_time(load=1000 * share, rating=1000, **points, whole=whole, ageing=0)
    assert found == pytest.approx(whole * share**-exponent, rel=1e-9)
