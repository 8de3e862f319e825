"""Rules that say nothing but what one rule beside them says; they may go, since in one part of a list order decides nothing."""

from collections.abc import Iterable, Iterator, Sequence

from scantling.figures import FilterRule, Net

Placed = tuple[int, FilterRule]
Ports = tuple[tuple[int, int], ...]


def distinct(placed: Iterable[Placed]) -> Iterator[Placed]:
    """Rules in their order without those that another one of the same part, way and verdict takes in; of two alike the first stays."""
    many = [((part, *_bound(rule)), part, rule) for part, rule in placed]
    groups: dict[tuple[object, ...], list[FilterRule]] = {}
    for key, _, rule in many:
        groups.setdefault(key, []).append(rule)
    return ((part, rule) for key, part, rule in many if len(groups[key]) == 1 or not _taken_in(rule, groups[key]))


def _bound(rule: FilterRule) -> tuple[object, ...]:
    """What two rules must have in common before one can take the other in."""
    return (rule.verdict, rule.family, rule.zone_in, rule.zone_out, rule.not_sources, rule.translated, rule.state)


def _taken_in(mine: FilterRule, rules: Sequence[FilterRule]) -> bool:
    place = next(place for place, rule in enumerate(rules) if rule is mine)
    return any(
        takes_in(rule, mine) and (other < place or not takes_in(mine, rule)) for other, rule in enumerate(rules) if other != place
    )  # fmt: skip


def takes_in(wide: FilterRule, narrow: FilterRule) -> bool:
    """Whether every packet of one rule is one of the other, when both are of one family, way and state."""
    everywhere = not wide.targets and not wide.target_set
    return (
        wide.protocol in {"", narrow.protocol}
        and _ports_within(narrow.ports, wide.ports)
        and wide.window in {None, narrow.window}
        and within(narrow.sources, wide.sources)
        and (everywhere or (wide.target_set == narrow.target_set and within(narrow.targets, wide.targets)))
    )


def within(some: Sequence[Net], wider: Sequence[Net]) -> bool:
    """Whether the first networks lie in the second, each in one of them; none are everything. All of one family."""
    return not wider or (bool(some) and all(any(_inside(one, other) for other in wider) for one in some))


def _inside(one: Net, other: Net) -> bool:
    first, last = int(one.network_address), int(one.broadcast_address)
    return int(other.network_address) <= first and last <= int(other.broadcast_address)


def _ports_within(some: Ports, wider: Ports) -> bool:
    return not wider or (bool(some) and all(any(a <= first and last <= b for a, b in wider) for first, last in some))
