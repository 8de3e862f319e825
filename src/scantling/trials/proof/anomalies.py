"""What looks wrong between two rules of a list: one hidden by an earlier one, one that says the same, two that overlap.

Definitions: Al-Shaer & Hamed, "Modeling and management of firewall policies", 2004. They look at two rules at a time; what a rule
never decides because several earlier ones together hide it, only the diagram of the whole list tells: `never_deciding`.

All pairs are judged at once: each dimension is cut where some rule begins or ends, what covers a piece is one whole number with a
bit for every rule, and whom a rule meets, holds or lies in is a fold of these numbers over its pieces.
"""

from bisect import bisect_left
from collections.abc import Callable, Hashable, Iterator, Sequence
from enum import StrEnum
from itertools import accumulate
from operator import and_, or_, xor
from typing import NamedTuple

from scantling.trials.proof.diagram import first_match
from scantling.trials.proof.nodes import Box, Intervals, Space

RuleLine = tuple[Box, Hashable]
"""What a rule matches and what it does."""
NOBODY = -1


class Kind(StrEnum):
    """What is between two rules, the first of which stands earlier."""

    SHADOWING = "shadowing"
    """The second lies in the first and does otherwise: in vain."""
    GENERALISATION = "generalisation"
    """The first is an exception of the second."""
    CORRELATION = "correlation"
    """They do otherwise where they overlap, and neither holds the other: their order counts."""
    REDUNDANCY = "redundancy"
    """One of them can go, and nothing changes for what both match."""


class Anomaly(NamedTuple):
    """Something between two rules, by their places in the list, from 0."""

    kind: Kind
    first: int
    second: int
    spare: int | None = None
    """Of a redundancy, the one that can go."""


class Pairs(NamedTuple):
    """How every rule stands to all others: a whole number for each rule, with a bit for each other one."""

    meets: list[int]
    """Which ones share a packet with it."""
    holds: list[int]
    """Which ones lie in it wholly."""
    lies_in: list[int]
    """In which ones it lies wholly."""


class Group(NamedTuple):
    """Anomalies of one kind with one first rule."""

    kind: Kind
    first: int
    seconds: int
    """A bit for every second rule."""
    spares_first: bool = False

    def each(self) -> Iterator[Anomaly]:
        """One by one."""
        for second in bits(self.seconds):
            spare = (self.first if self.spares_first else second) if self.kind is Kind.REDUNDANCY else None
            yield Anomaly(self.kind, self.first, second, spare)


def anomalies(space: Space, rules: Sequence[RuleLine]) -> Iterator[Anomaly]:
    """Every anomaly of two rules, in order of the rules. Raises ValueError for what is no box of the space.

    In a long list there may be very many: each exception to a last rule that drops the rest is a generalisation too.
    """
    for groups in _groups(space, rules):
        yield from sorted((one for group in groups for one in group.each()), key=lambda one: one.second)


def counted(space: Space, rules: Sequence[RuleLine]) -> dict[Kind, int]:
    """How many anomalies there are of each kind. Raises ValueError for what is no box of the space."""
    counts = dict.fromkeys(Kind, 0)
    for groups in _groups(space, rules):
        for group in groups:
            counts[group.kind] += group.seconds.bit_count()
    return counts


def never_deciding(space: Space, rules: Sequence[RuleLine]) -> tuple[int, ...]:
    """The rules that decide on no packet, since earlier ones, alone or together, decide on all of theirs. Raises ValueError."""
    numbered = first_match(space, [(box, number) for number, (box, _) in enumerate(rules)], NOBODY)
    return tuple(sorted({*range(len(rules))} - numbered.deciding()))


def _groups(space: Space, rules: Sequence[RuleLine]) -> Iterator[tuple[Group, ...]]:
    """What each rule has with later ones."""
    pairs = pairs_of(space, [box for box, _ in rules])
    alike: dict[Hashable, int] = {}
    for place, (_, verdict) in enumerate(rules):
        alike[verdict] = alike.get(verdict, 0) | 1 << place
    everyone = (1 << len(rules)) - 1
    for place, (_, verdict) in enumerate(rules):
        later, same = everyone >> place + 1 << place + 1, alike[verdict]
        meets, holds, lies_in = pairs.meets[place] & later, pairs.holds[place], pairs.lies_in[place]
        otherwise = meets & ~same
        # What lies between a rule and a later one that holds it and does the same: nothing that does otherwise.
        undisturbed = (otherwise & -otherwise) - 1 if otherwise else everyone
        yield (
            Group(Kind.SHADOWING, place, otherwise & holds),
            Group(Kind.GENERALISATION, place, otherwise & lies_in & ~holds),
            Group(Kind.CORRELATION, place, otherwise & ~holds & ~lies_in),
            Group(Kind.REDUNDANCY, place, meets & same & holds),
            Group(Kind.REDUNDANCY, place, meets & same & lies_in & ~holds & undisturbed, spares_first=True),
        )


def pairs_of(space: Space, boxes: Sequence[Box]) -> Pairs:
    """How every box stands to all others. Raises ValueError for what is no box of the space."""
    for box in boxes:
        space.check_box(box)
    everyone = (1 << len(boxes)) - 1
    found = Pairs(*([everyone] * len(boxes) for _ in range(3)))
    for level in range(space.depth):
        column = [box[level] for box in boxes]
        stands = _stands(column)
        for place, form in enumerate(column):
            meets, holds, lies_in = stands[form]
            found.meets[place] &= meets
            found.holds[place] &= holds
            found.lies_in[place] &= lies_in
    return found


def _stands(column: Sequence[Intervals]) -> dict[Intervals, tuple[int, int, int]]:
    """Of each form in one dimension: whom it meets, holds, lies in."""
    members: dict[Intervals, int] = {}
    for place, form in enumerate(column):
        members[form] = members.get(form, 0) | 1 << place
    starts = sorted({number for form in members for first, last in form for number in (first, last + 1)})
    covering = _covering(starts, members)
    some, every = Folds(covering, or_, 0), Folds(covering, and_, (1 << len(column)) - 1)
    stands = {}
    for form in members:
        spans = [(bisect_left(starts, first), bisect_left(starts, last + 1)) for first, last in form]
        ends = [0, *(end for span in spans for end in span), len(starts)]
        gaps = [*zip(ends[::2], ends[1::2], strict=True)]
        stands[form] = some.over(spans), every.nothing & ~some.over(gaps), every.over(spans)
    return stands


def _covering(starts: Sequence[int], members: dict[Intervals, int]) -> list[int]:
    """Who covers each piece between two starts."""
    changes = [0] * len(starts)
    for form, mask in members.items():
        for first, last in form:
            changes[bisect_left(starts, first)] ^= mask
            changes[bisect_left(starts, last + 1)] ^= mask
    return [*accumulate(changes, xor)]


class Folds:
    """Any stretch of a row of numbers folded into one in a few steps: a tree of the folds of every two, four, eight."""

    def __init__(self, row: Sequence[int], fold: Callable[[int, int], int], nothing: int) -> None:
        self.nothing = nothing
        """What the fold of no number is."""
        self._fold = fold
        self._size = len(row)
        self._tree = [nothing] * self._size + list(row)
        for place in range(self._size - 1, 0, -1):
            self._tree[place] = fold(self._tree[2 * place], self._tree[2 * place + 1])

    def over(self, stretches: Sequence[tuple[int, int]]) -> int:
        """All numbers of some stretches, each from its first place to before its last."""
        found, fold, tree = self.nothing, self._fold, self._tree
        for first, last in stretches:
            left, right = first + self._size, last + self._size
            while left < right:
                if left & 1:
                    found = fold(found, tree[left])
                if right & 1:
                    found = fold(found, tree[right - 1])
                left, right = left + 1 >> 1, right >> 1
        return found


def bits(mask: int) -> Iterator[int]:
    """Places of the bits that are set, from the lowest."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low
