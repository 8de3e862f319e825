"""Rounding up to whole things, deaf to the noise of binary fractions."""

from math import ceil

NOISE = 9  # places kept: a thousand-millionth of a thing is no thing


def whole_up(amount: float) -> int:
    """The next whole number, unless the amount is whole but for binary noise: 100 times 1.1 is 110, not 111."""
    return ceil(round(amount, NOISE))
