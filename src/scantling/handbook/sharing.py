"""Cores and memory: how virtual machines share one host."""

from scantling.figures import Source, rule
from scantling.figures.rounding import whole_up
from scantling.figures.units import Count, Gibibytes, Hourly, Milliseconds, Quantity, Ratio, Truth

GUIDES = Source("trade guides on sharing of processor cores, 2:1 to 4:1 for mixed work", "common practice")
HABIT = Source("common practice, no source", "common practice")
POPULATION = Source(
    "memory is populated alike on every channel: processor makers' population rules", "common practice"
)
MILLISECONDS_AN_HOUR = 3_600_000


@rule(HABIT, rises="wanted least")
def machine_cores(wanted: Ratio, least: Count) -> Count:
    """Virtual cores of a machine: what its services want, in whole cores, and never fewer than the least."""
    return max(least, whole_up(wanted))


@rule(GUIDES, rises="virtual host headroom", falls="sharing")
def cores_by_ratio(virtual: Count, sharing: Ratio, host: Ratio, headroom: Ratio) -> Count:
    """Real cores when so many virtual ones share one, with the host's own and room to grow."""
    return whole_up((virtual / sharing + host) * (1 + headroom))


@rule(Source("Little's law, L = λ W"), rises="users requests service_time")
def busy_cores(users: Count, requests: Hourly, service_time: Milliseconds) -> Ratio:
    """Cores kept busy on average in a busy hour."""
    return users * requests * service_time / MILLISECONDS_AN_HOUR


@rule(HABIT, rises="least share expected")
def host_memory(least: Gibibytes, share: Ratio, expected: Gibibytes) -> Gibibytes:
    """Memory the host keeps for itself: a floor, or a share of what its guests use."""
    return max(least, share * expected)


@rule(HABIT, rises="guests host headroom")
def memory_needed(guests: Gibibytes, host: Gibibytes, headroom: Ratio) -> Gibibytes:
    """Memory for the guests and the host, with room to grow."""
    return (guests + host) * (1 + headroom)


@rule(POPULATION)
def evenly_spread(modules: Count, chips: Count, channels: Count) -> Truth:
    """Modules fill every processor alike: no more than one a channel, or whole rounds of all channels."""
    return modules % chips == 0 and (modules <= chips * channels or modules % (chips * channels) == 0)


@rule(HABIT, rises="memory", falls="chips")
def memory_node(memory: Gibibytes, chips: Count) -> Gibibytes:
    """Memory that hangs on one processor."""
    return memory / chips


@rule(HABIT, rises="offered share", falls="taken")
def within_share(offered: Quantity, share: Ratio, taken: Quantity) -> Truth:
    """What is taken stays within the share of what is offered."""
    return taken <= offered * share
