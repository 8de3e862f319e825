"""Judges by the bit cube whether a change of the rules has an effect, and shows a packet that fares otherwise by it.

An effect is that some packet passes or does not, is led elsewhere, or leaves under another source. Whether what does not pass is
dropped or refused is none: the proof does not tell them apart, nor does the judge of tries.
The rules are read here afresh, one passage at a time; nothing of the proof under test is used.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from typing import NamedTuple

from scantling.figures import Host, RuleSet
from scantling.trials.cube import Box, Cube, Part
from scantling.trials.rehearsal.lists import (
    KEPT_OUT,
    Change,
    Fares,
    Listed,
    Row,
    Rows,
    difference,
    flat,
    meeting,
    speaks_of,
)
from scantling.trials.rehearsal.matches import of
from scantling.trials.rehearsal.passages import (
    ECHO, LAST_CARRIED, MESSAGE, STEP, TCP, TYPE, UDP, WEEK, WIDTH, Form, Passage, Passages, host, hosts, shared,
)  # fmt: skip

FAMILIES = (4, 6)
TUNNEL, SEALED = 47, 50
"""Of other protocols the first that are tried: GRE and ESP."""


class Packet(NamedTuple):
    """One packet as it is sent."""

    family: int
    origin: str
    """The port of the firewall that it comes in by; empty: the firewall sends it itself."""
    zone: str
    toward: str
    state: str
    source: Host
    target: Host
    protocol: int
    port: int
    """Target port, or message type; 0 of other protocols."""
    second: int
    """Of the week, from Monday midnight."""


@dataclass(frozen=True)
class Effect:
    """A packet that fares otherwise."""

    packet: Packet
    before: Fares
    after: Fares
    answer: bool = False
    """Whether it is the answer to it that fares otherwise."""


class Cubing:
    """The rules of an office, and judgements of what a change of them does. They must stand: sets filled, lines with addresses."""

    def __init__(
        self,
        rules: RuleSet,
        moment: int | None = None,
        likely: Iterable[Host] = (),
        families: Iterable[int] = FAMILIES,
    ) -> None:
        """`moment`: second of the week at which packets are sent; without one, all hours. `likely`: addresses that are somebody's."""
        self.before = Listed(rules)
        self.where = {family: Passages(rules.legs, family, moment) for family in families}
        known = [*likely]
        self.likely = {family: hosts(one for one in known if one.version == family) for family in self.where}

    @cached_property
    def rows(self) -> dict[Passage, tuple[Rows, ...]]:
        """What the rules say of each passage."""
        many = ((passage, where) for where in self.where.values() for passage in where.all)
        return {passage: self.before.rows(passage, where) for passage, where in many}

    def effect(self, changed: RuleSet, chain: str = "") -> Effect | None:
        """A packet that fares otherwise by the changed rules; nothing where there is none. `chain`: they hold there alone.

        Of the changed list only rules and translations count; sets and addresses are those that stand.
        """
        after = Listed(replace(self.before.rules, rules=changed.rules, translations=changed.translations))
        change = difference(self.before.ordered, after.ordered)
        same = after.rules.translations == self.before.rules.translations
        for passage in self._near(change) if same else self.rows:
            one, where = self.rows[passage], self.where[passage.family]
            other = after.changed(one, change, chain, passage, where) if same else after.rows(passage, where)
            found = self._effect(passage, flat(one), flat(other)) if other and other != one else None
            if found is not None:
                return found
        return None

    def _near(self, change: Change) -> Iterator[Passage]:
        """Passages that the first or last rule of a change may speak of; those between them stay in their order."""
        gone = self.before.ordered[change.first : change.until]
        ends = [rule for many in (gone, change.instead) for rule in (*many[:1], *many[-1:])]
        return (passage for passage in self.rows if any(speaks_of(rule, passage) for rule in ends))

    def _effect(self, passage: Passage, one: Sequence[Row], other: Sequence[Row]) -> Effect | None:
        """What differs, where somebody would look for it first; nothing where nothing does."""
        if not Judged(passage, one, other).apart:
            return None
        if passage.state == "established":
            return self._answered(passage, one, other)
        cuts = [*self._preferred(passage)]
        judged = Judged(passage, one, other, cuts)
        best = next(cells for cells in (judged.apart & judged.cube.set_of(box) for box in cuts) if cells)
        return Effect(packet(passage, judged.point(best)), *judged.fares(best))

    def _answered(self, passage: Passage, one: Sequence[Row], other: Sequence[Row]) -> Effect | None:
        """What differs for an answer, told by what is asked; nothing where such packets answer to nothing."""
        asked = [*self._asked(passage)]
        judged = Judged(passage, one, other, [answers for answers, _, _ in asked])
        for answers, reverse, box in asked:
            if cells := judged.apart & judged.cube.set_of(answers):
                target, source, _, second = judged.point(cells)
                return Effect(
                    packet(reverse, (source, target, box[2][0][0], second)), *judged.fares(cells), answer=True
                )
        return None

    def _asked(self, passage: Passage) -> Iterator[tuple[Box, Passage, Box]]:
        """Answers among the packets of a passage: those to what passes the other way, by TCP or UDP."""
        other_way = (passage.toward, passage.zone, "new")
        back = [one for one in self.where[passage.family].all if (one.zone, one.toward, one.state) == other_way]
        for protocol, reverse in product((TCP, UDP), back):
            for box in passing(flat(self.rows[reverse][-1:]), protocol):
                answers = meeting((box[1], box[0], of(protocol), box[3]), passage.box)
                if all(answers):
                    yield answers, reverse, box

    def _preferred(self, passage: Passage) -> Iterator[Box]:
        """Where a packet is looked for first: between stations, of the usual kinds; last, anywhere in the passage."""
        whole = ((0, LAST_CARRIED),)
        tunnels = ((TUNNEL * STEP, TUNNEL * STEP), (SEALED * STEP, SEALED * STEP))
        echo = MESSAGE[passage.family] * STEP + ECHO[passage.family] * TYPE
        kinds: tuple[Form, ...] = (of(TCP), of(UDP), ((echo, echo),), tunnels, whole)
        likely, everything = self.likely[passage.family], self.where[passage.family].everything
        for ends in ((likely, likely), (likely, everything), (everything, likely), (everything, everything)):
            for kind in kinds:
                box = meeting((*ends, kind, passage.seconds), passage.box)
                if all(box):
                    yield box


class Judged:
    """Two lists on one passage, as a cube has them."""

    def __init__(self, passage: Passage, one: Sequence[Row], other: Sequence[Row], cuts: Sequence[Box] = ()) -> None:
        """`cuts`: boxes about which there will be questions."""
        self.cube = Cube(lasts(passage.family), [*(box for box, _ in (*one, *other)), *cuts])
        self.sides = (self.cube.first_match(one, KEPT_OUT), self.cube.first_match(other, KEPT_OUT))
        self.apart = self.cube.differing(*self.sides)

    def point(self, cells: int) -> tuple[int, ...]:
        """The lowest point of some cells. Raises ValueError where there is none."""
        found = self.cube.witness(cells)
        if found is None:
            raise ValueError("no cell, so no point in it")
        return found

    def fares(self, cells: int) -> tuple[Fares, Fares]:
        """What becomes of the lowest of some cells, by both lists."""
        lowest = cells & -cells
        return fate(self.sides[0], lowest), fate(self.sides[1], lowest)


def passing(rows: Sequence[Row], protocol: int) -> Iterator[Box]:
    """Boxes of one protocol that pass by one rule and meet no rule before it."""
    before: list[Box] = []
    for box, fares in rows:
        mine = (*box[:2], shared(box[2], of(protocol)), box[3])
        if fares.passes and all(mine) and not any(all(meeting(mine, other)) for other in before):
            yield mine
        before.append(box)


def fate(parts: Iterable[Part], cell: int) -> Fares:
    """What becomes of one cell."""
    found = next(part.value for part in parts if part.cells & cell)
    assert isinstance(found, Fares)
    return found


def lasts(family: int) -> tuple[int, int, int, int]:
    """Largest numbers: target, source, what is carried, second."""
    address = (1 << WIDTH[family]) - 1
    return (address, address, LAST_CARRIED, WEEK - 1)


def packet(passage: Passage, point: Sequence[int]) -> Packet:
    """A point of a cube as a packet."""
    target, source, what, second = point
    protocol, port = divmod(what, STEP)
    family = passage.family
    return Packet(
        family, passage.origin, passage.zone, passage.toward, passage.state, host(source, family), host(target, family),
        protocol, port // TYPE if protocol == MESSAGE[family] else port, second,
    )  # fmt: skip
