"""Lines to the outside: the speed that people, visitors and calls need, and what a line can carry."""

from scantling.figures import Source, rule
from scantling.figures.units import (
    Count,
    Gigabytes,
    Hours,
    KilobitsPerSecond,
    MegabitsPerSecond,
    Milliseconds,
    Ratio,
    Truth,
)

HABIT = Source("common practice, no source", "common practice")
ARITHMETIC = Source("arithmetic", "common practice")
VOICE = Source("RFC 3551 (64 kbit/s, 20 ms); headers of RFC 791, 768 and 3550 and of Ethernet")
SECONDS_AN_HOUR, MEGABITS_A_GIGABYTE = 3600, 8000


@rule(VOICE, rises="voice", falls="interval")
def call_speed(voice: KilobitsPerSecond, interval: Milliseconds, *, header_bits: float = 464) -> KilobitsPerSecond:
    """Speed of one call in one direction.

    Coded voice and the headers of each packet: 20 + 8 + 12 bytes of IP, UDP and RTP and 18 of Ethernet make 464 bits.
    """
    return voice + header_bits / interval


@rule(HABIT, rises="people person visitors visitor calls call")
def busiest_hour(
    people: Count,
    person: MegabitsPerSecond,
    visitors: Count,
    visitor: MegabitsPerSecond,
    calls: Count,
    call: MegabitsPerSecond,
) -> MegabitsPerSecond:
    """Speed needed when people, visitors and calls are at their most together."""
    return people * person + visitors * visitor + calls * call


@rule(ARITHMETIC, rises="speed", falls="standby")
def working_speed(speed: MegabitsPerSecond, standby: Truth) -> MegabitsPerSecond:
    """What a line adds while it is in use; nothing while it stands by."""
    return 0 if standby else speed


@rule(ARITHMETIC, rises="speed standby")
def standing_speed(speed: MegabitsPerSecond, standby: Truth) -> MegabitsPerSecond:
    """What a line adds when the others fail; nothing if it does not stand by."""
    return speed if standby else 0


@rule(ARITHMETIC, rises="given")
def counted(given: Truth) -> Count:
    """One if it is so."""
    return 1 if given else 0


@rule(ARITHMETIC, rises="speed time share")
def sent_in(speed: MegabitsPerSecond, time: Hours, share: Ratio) -> Gigabytes:
    """Data that a line carries in a time, when so much of it may be taken."""
    return speed * share * time * SECONDS_AN_HOUR / MEGABITS_A_GIGABYTE
