"""Pairs of rules that overlap in a way a reader should know of, by name: shadowed, generalised, correlated, redundant."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from scantling.plan.evidence import Pair
from scantling.trials.proof.anomalies import Anomaly, Kind, anomalies
from scantling.trials.proof.headers import Box
from scantling.trials.proof.rulings import Stage
from scantling.trials.proof.sides import Court, Side

SAYS = {
    Kind.SHADOWING: "shadowed", Kind.GENERALISATION: "generalised", Kind.CORRELATION: "correlated", Kind.REDUNDANCY: "redundant",
}  # fmt: skip
Row = tuple[str, tuple[Box, bool]]
"""Key of a rule; its box and whether it lets through."""


def overlaps(courts: Iterable[Court], side: Side) -> tuple[tuple[Pair, ...], tuple[tuple[str, int], ...]]:
    """Pairs of two rules that are made from intents, and how many there are of each kind among all rules of both families.

    Looked at are rules that are one box in their family; what a rule of several boxes overlaps is not told.
    """
    pairs: dict[Pair, None] = {}
    counts = Counter(dict.fromkeys(SAYS.values(), 0))
    for court in courts:
        rows = list(_rows(max(side.stages[court.ground.family], key=lambda stage: len(stage.rulings)), side))
        for one in anomalies(court.space, [line for _, line in rows]):
            counts[SAYS[one.kind]] += 1
            if all(side.rules[rows[place][0]].flow for place in (one.first, one.second)):
                pairs[_pair(one, rows, side)] = None
    return tuple(pairs), tuple(counts.items())


def _rows(stage: Stage, side: Side) -> Iterator[Row]:
    """Rules of one box, in order."""
    many = Counter(ruling.by for ruling in stage.rulings for _ in ruling.boxes)
    for ruling in stage.rulings:
        if many[ruling.by] == 1 and ruling.by in side.rules:
            yield ruling.by, (ruling.boxes[0], ruling.outcome.passes)


def _pair(one: Anomaly, rows: Sequence[Row], side: Side) -> Pair:
    return Pair(SAYS[one.kind], side.told(rows[one.first][0]), side.told(rows[one.second][0]))
