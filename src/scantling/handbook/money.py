"""Money: exact decimals, rounded once, half up, to the currency's minor unit."""

from decimal import ROUND_HALF_UP, Decimal

from scantling.figures import Source, rule
from scantling.figures.units import Count, Hours, Money, MoneyAnHour, MoneyAYear, PaidHours, PaidShare, Truth

HALF_UP = Source("commercial rounding, half up to the minor unit, tax on the total", "common practice")
ARITHMETIC = Source("arithmetic", "common practice")
MONTHS_A_YEAR = 12
CENT, HUNDRED = Decimal("0.01"), Decimal(100)


def to_minor_unit(amount: Decimal) -> Decimal:
    """Half up to two places; said explicitly, since decimals round half to even by themselves."""
    return amount.quantize(CENT, ROUND_HALF_UP)


@rule(ARITHMETIC, rises="hours rate")
def labour_price(hours: PaidHours, rate: MoneyAnHour) -> Money:
    """Price of work."""
    return to_minor_unit(hours * rate)


@rule(ARITHMETIC, rises="hours wanted")
def hours_where(hours: Hours, wanted: Truth) -> Hours:
    """Hours of a piece of work; none where there is nothing to do."""
    return hours if wanted else 0


@rule(ARITHMETIC, rises="monthly")
def a_year(monthly: Money) -> MoneyAYear:
    """What a monthly fee comes to in a year."""
    return monthly * MONTHS_A_YEAR


@rule(ARITHMETIC, rises="count each")
def price_of(count: Count, each: Money) -> Money:
    """Price of so many."""
    return to_minor_unit(count * each)


@rule(HALF_UP, rises="amount share")
def share_of_price(amount: Money, share: PaidShare) -> Money:
    """A share of an amount, in whole cents."""
    return to_minor_unit(amount * share / HUNDRED)


@rule(ARITHMETIC, rises="one other")
def together(one: Money, other: Money) -> Money:
    """Two amounts together."""
    return one + other


@rule(ARITHMETIC, rises="spent", falls="budget")
def over_budget(spent: Money, budget: Money) -> Truth:
    """More is spent than there is."""
    return spent > budget
