"""Services kept by others: the room that comes with them and what they cost a year."""

from scantling.figures import Source, rule
from scantling.figures.units import Count, Gigabytes, Money, MoneyAYear, PaidTerabytes, Terabytes
from scantling.handbook.money import to_minor_unit

ARITHMETIC = Source("arithmetic", "common practice")
MONTHS_A_YEAR, GIGABYTES_A_TERABYTE = 12, 1000


@rule(ARITHMETIC, rises="size", falls="each users")
def beyond_included(size: Terabytes, each: Gigabytes, users: Count) -> Terabytes:
    """Data beyond the room that comes with every user."""
    return max(size - each * users / GIGABYTES_A_TERABYTE, 0)


@rule(ARITHMETIC, rises="users each fixed room extra")
def rent(users: Count, each: Money, fixed: Money, room: Money, extra: PaidTerabytes) -> MoneyAYear:
    """A year's rent: so much a month for every user, so much for all, so much for each further terabyte; to the cent."""
    return to_minor_unit((users * each + fixed + room * extra) * MONTHS_A_YEAR)
