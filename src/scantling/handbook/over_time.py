"""What an office asks of its server hour by hour, and how an array fills month by month: for the charts."""

from collections.abc import Mapping

from scantling.figures import Source, method, rule
from scantling.figures.units import Count, Percent, Quantity, Ratio, Terabytes, TerabytesPerYear, Yearly
from scantling.handbook.arrays import MOST_MONTHS

ARITHMETIC = Source("arithmetic", "common practice")
LITTLE = Source("Little's law, L = λ W: as many requests as there are people who ask")
MONTHS_A_YEAR, HUNDRED = 12, 100


@rule(LITTLE, rises="busy present", falls="heads")
def busy_with(busy: Ratio, present: Ratio, heads: Count) -> Ratio:
    """Cores kept busy while so many of all heads are at work; an office of nobody has nobody present either."""
    return busy * present / max(heads, 1)


@rule(ARITHMETIC, rises="usable", falls="free")
def fillable(usable: Quantity, free: Percent) -> Quantity:
    """What may be filled so that the free share stays free."""
    return usable * (1 - free / HUNDRED)


@method(
    Source("growth (1 + g)^(m / 12) and additions each month, all bodies of data added, searched month by month", "own derivation"),
    says="first month in which all that lies on the array no longer fits it, at most ten years on",
)  # fmt: skip
def array_full_in(
    sizes: Mapping[str, Terabytes],
    growths: Mapping[str, Yearly],
    adds: Mapping[str, TerabytesPerYear],
    room: Terabytes,
) -> Count:
    """Months from now until an array is full; 120 when it is not full within ten years.

    A body of data without growth or additions stays as large as it is.
    """
    for month in range(MOST_MONTHS):
        years = month / MONTHS_A_YEAR
        filled = sum(
            size * (1 + growths.get(slug, 0.0)) ** years + adds.get(slug, 0.0) * years for slug, size in sizes.items()
        )
        if filled > room:
            return month
    return MOST_MONTHS
