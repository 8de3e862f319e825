"""Two rules of a list, judged by the words of the definition, one number at a time in spaces small enough to list.

Al-Shaer & Hamed, "Modeling and management of firewall policies", 2004: X stands before Y. Shadowed: Y lies in X and does otherwise.
Generalisation: X lies in Y, and not the other way, and does otherwise. Correlated: they share packets, neither holds the other, and
they do otherwise. Redundant: Y lies in X and does the same; or X lies in Y and does the same, and no rule between does otherwise for
a packet of X.
"""

from collections.abc import Iterator, Sequence
from itertools import product

Box = tuple[tuple[tuple[int, int], ...], ...]
Rule = tuple[Box, str]
Points = frozenset[tuple[int, ...]]


def points(box: Box) -> Points:
    """Every point of a box."""
    return frozenset(product(*([n for first, last in form for n in range(first, last + 1)] for form in box)))


def anomalies(rules: Sequence[Rule]) -> Iterator[tuple[str, int, int]]:
    """Kind and places of every pair with an anomaly."""
    listed = [(points(box), verdict) for box, verdict in rules]
    for y, (mine, verdict) in enumerate(listed):
        for x, (earlier, other) in enumerate(listed[:y]):
            kind = _otherwise(earlier, mine) if other != verdict else _same(listed[x:y], earlier, mine)
            if kind:
                yield kind, x, y


def _otherwise(x: Points, y: Points) -> str:
    if y <= x:
        return "shadowing"
    if x < y:
        return "generalisation"
    return "correlation" if x & y else ""


def _same(from_x: Sequence[tuple[Points, str]], x: Points, y: Points) -> str:
    if y <= x:
        return "redundancy"
    between = [points for points, verdict in from_x[1:] if verdict != from_x[0][1]]
    return "redundancy" if x < y and not any(x & one for one in between) else ""
