"""Numbers of rules: each tells its part of the list and the port that a packet comes in by, so that it stays when others change."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from re import search

from scantling.figures import FIREWALL, OUTSIDE, FilterRule, Leg


def numbered(placed: Iterable[tuple[int, FilterRule]], legs: Sequence[Leg]) -> tuple[FilterRule, ...]:
    """Rules in the order of their parts, of the zones they come from and go to, each with its number.

    A number is the part (one digit), the zone's network number (the outside 0, the firewall all nines) and the place among
    these: a rule keeps it while nothing changes in its part for its zone.
    """
    numbers = {zone: _network_number(zone, legs) for zone in [leg.zone for leg in legs]}
    wide = len(str(max(numbers.values(), default=0) + 1))
    numbers = {**numbers, FIREWALL: 10**wide - 1, OUTSIDE: 0}
    order = {zone: place for place, zone in enumerate(["", *sorted(numbers, key=lambda zone: numbers[zone])])}
    ranked = sorted(placed, key=lambda one: (one[0], order[one[1].zone_in], order[one[1].zone_out]))
    groups: dict[tuple[int, str], list[FilterRule]] = {}
    for part, rule in ranked:
        groups.setdefault((part, rule.zone_in), []).append(rule)
    deep = max(2, max((len(str(len(group))) for group in groups.values()), default=2))
    return tuple(
        replace(rule, slug=f"r-{part}{numbers.get(zone, 0):0{wide}}{place:0{deep}}")
        for (part, zone), group in groups.items()
        for place, rule in enumerate(group, 1)
    )


def _network_number(zone: str, legs: Sequence[Leg]) -> int:
    """The number in the name of the zone's port; its place where the name holds none."""
    mine = next(place for place, leg in enumerate(legs) if leg.zone == zone)
    found = search(r"\d+", legs[mine].interface)
    return int(found[0]) if found else mine
