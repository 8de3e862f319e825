"""Growth, sharing and supply: the small formulas that every trade uses."""

from math import pow  # noqa: A004 - the rules' grammar has pow, whose type the checker knows

from scantling.figures import Source, rule
from scantling.figures.rounding import whole_up
from scantling.figures.units import (
    Count,
    Daily,
    Percent,
    Quantity,
    Ratio,
    Terabytes,
    TerabytesPerYear,
    Truth,
    Word,
    Yearly,
    Years,
)

HABIT = Source("common practice, no source", "common practice")
ARITHMETIC = Source("arithmetic", "common practice")
HUNDRED = 100
COMPOUND = Source("compound growth, (1 + g) to the n")


@rule(COMPOUND, rises="heads growth years")
def grown_heads(heads: Count, growth: Yearly, years: Years) -> Count:
    """People at the horizon, rounded up to whole people."""
    return whole_up(heads * pow(1 + growth, years))


@rule(COMPOUND, rises="size growth adds years")
def grown_data(size: Terabytes, growth: Yearly, adds: TerabytesPerYear, years: Years) -> Terabytes:
    """Data at the horizon: what is there grows, and so much is added each year."""
    return size * pow(1 + growth, years) + adds * years


@rule(HABIT, rises="size free")
def with_free_space(size: Quantity, free: Ratio) -> Quantity:
    """Room needed so that the free share stays free."""
    return size / (1 - free)


@rule(ARITHMETIC, rises="count each")
def times(count: Count, each: Quantity) -> Quantity:
    """So many of each."""
    return count * each


@rule(ARITHMETIC, rises="amount share")
def part_of(amount: Quantity, share: Ratio) -> Quantity:
    """A share of an amount."""
    return amount * share


@rule(ARITHMETIC, rises="count share")
def heads_of(count: Count, share: Ratio) -> Count:
    """A share of a number of people or things, rounded up to whole ones."""
    return whole_up(count * share)


@rule(HABIT, rises="amount headroom")
def with_headroom(amount: Quantity, headroom: Ratio) -> Quantity:
    """An amount and the room above it."""
    return amount * (1 + headroom)


@rule(HABIT, rises="count spare")
def with_spare(count: Count, spare: Ratio) -> Count:
    """A count and its spares, rounded up to whole ones."""
    return whole_up(count * (1 + spare))


@rule(ARITHMETIC, rises="fixed each users")
def with_users(fixed: Quantity, each: Quantity, users: Count) -> Quantity:
    """What something needs by itself and for each user."""
    return fixed + each * users


@rule(ARITHMETIC, rises="one other")
def added(one: Quantity, other: Quantity) -> Quantity:
    """Two amounts together."""
    return one + other


@rule(ARITHMETIC, rises="offered", falls="taken")
def left_over(offered: Quantity, taken: Quantity) -> Quantity:
    """What a provider has left; below nought when too much is taken."""
    return offered - taken


@rule(ARITHMETIC, rises="used", falls="whole")
def used_share(whole: Quantity, used: Quantity) -> Percent:
    """Share of the whole that is used, in percent."""
    return HUNDRED * used / whole if whole > 0 else 0


@rule(ARITHMETIC, rises="one other")
def larger(one: Quantity, other: Quantity) -> Quantity:
    """The larger of two."""
    return max(one, other)


@rule(ARITHMETIC, rises="offered", falls="taken")
def enough(offered: Quantity, taken: Quantity) -> Truth:
    """A provider (bays, slots, ports) has room for all that take."""
    return taken <= offered


@rule(ARITHMETIC, rises="have", falls="need")
def holds(have: Quantity, need: Quantity) -> Truth:
    """What is there is enough."""
    return have >= need


@rule(ARITHMETIC, rises="need", falls="have")
def shorter(have: Quantity, need: Quantity) -> Truth:
    """What is there falls short of what is needed."""
    return have < need


@rule(ARITHMETIC, rises="have", falls="limit")
def beyond(have: Quantity, limit: Quantity) -> Truth:
    """What is there passes the limit."""
    return have > limit


@rule(ARITHMETIC)
def same(one: Word, other: Word) -> Truth:
    """Both are of one kind."""
    return one == other


@rule(ARITHMETIC)
def negated(given: Truth) -> Truth:
    """The opposite."""
    return not given


@rule(ARITHMETIC)
def both(one: Truth, other: Truth) -> Truth:
    """The one and the other."""
    return one and other


@rule(ARITHMETIC)
def either(one: Truth, other: Truth) -> Truth:
    """The one or the other."""
    return one or other


@rule(ARITHMETIC, rises="amount factor")
def scaled(amount: Quantity, factor: Ratio) -> Quantity:
    """So many times an amount."""
    return amount * factor


@rule(ARITHMETIC, rises="size change")
def changed_a_day(size: Terabytes, change: Daily) -> Terabytes:
    """How much of a body of data changes in a day."""
    return size * change


@rule(ARITHMETIC, rises="whole", falls="used")
def free_share(whole: Quantity, used: Quantity) -> Percent:
    """Share of the whole that is not used, in percent."""
    return HUNDRED * (1 - used / whole) if whole > 0 else 0


@rule(HABIT, rises="count", falls="each")
def shared_out(count: Count, each: Count) -> Count:
    """How many it takes when each serves so many, rounded up."""
    return whole_up(count / each)


@rule(ARITHMETIC, rises="one other")
def more_of(one: Count, other: Count) -> Count:
    """The larger of two counts."""
    return max(one, other)
