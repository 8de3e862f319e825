"""What a pin does to a plan, as plain data: the price of a wish."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class PinPrice:
    """A pin, and how the plan with it differs from the plan without it and with all other pins.

    Money in the plan's currency; above nought the pin makes it dearer. `whole` counts work and tax too, None where a
    plan has no whole price. `breaks` are the stop findings on demands (P-1) that only the pin brings.
    """

    id: str
    value: str
    because: str
    otherwise: str
    """What stands there without the pin, in words; empty where there is no such figure without it."""
    purchase: Decimal
    whole: Decimal | None
    breaks: tuple[str, ...] = ()
    unpriced: str = ""
    """Why there is no plan without it; then the amounts say nothing."""
