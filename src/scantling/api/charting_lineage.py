"""Finds, behind a figure of a plan, the rule it came from and what went in, so that a chart reckons with the plan's own amounts."""

import re
from collections import deque
from collections.abc import Mapping
from datetime import date
from typing import Any

from scantling.figures import Figure, Rule
from scantling.figures.numbers import text
from scantling.figures.units import Unit, convert
from scantling.outputs.drawings.model import Phrase, Text

MONTHS_A_YEAR = 12
MOST_STEPS = 400
PLACE = re.compile(r"\{(\w+)\}")
MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def made_by(figure: Figure[Any] | None, rule: Rule[..., Any]) -> Figure[Any] | None:
    """The nearest figure behind this one, itself included, that the rule made; None where there is none.

    A figure that was pinned by hand has lost its rule: behind it nothing is looked for, since it no longer counts.
    """
    waiting = deque([figure] if figure is not None else [])
    for _ in range(MOST_STEPS):
        if not waiting:
            return None
        one = waiting.popleft()
        if one.how is rule or (
            isinstance(one.how, Rule) and (one.how.module, one.how.name) == (rule.module, rule.name)
        ):
            return one
        if "computed" not in one.inputs:
            waiting.extend(one.parents())
    return None


def amount(figure: Figure[Any], unit: Unit[Any]) -> float:
    """A figure's value in a unit."""
    return float(convert(figure.value, figure.unit, unit))


def amounts(figures: Mapping[str, Figure[Any]], unit: Unit[Any]) -> dict[str, float]:
    """The values of many in a unit."""
    return {key: amount(figure, unit) for key, figure in figures.items()}


def sentence(says: str, **told: Figure[Any] | Text | str) -> Phrase:
    """A sentence with figures and words put in where it says {name}; a figure leads to its working."""
    parts = PLACE.split(says)
    return tuple(_told(told[part]) if place % 2 else Text(part) for place, part in enumerate(parts) if part)


def _told(one: Figure[Any] | Text | str) -> Text:
    if isinstance(one, Figure):
        return Text(text(one), one.id)
    return one if isinstance(one, Text) else Text(one)


def month_after(start: date, months: int) -> str:
    """The month that comes so many months after a day, in words: "March 2027"."""
    year, month = divmod(start.year * MONTHS_A_YEAR + start.month - 1 + months, MONTHS_A_YEAR)
    return f"{MONTH_NAMES[month]} {year}"
