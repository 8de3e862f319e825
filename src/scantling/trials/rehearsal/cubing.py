"""Judges by the bit cube whether a change of the rules has an effect, and shows a packet that fares otherwise by it.

An effect is that some packet passes or does not, is led elsewhere, or leaves under another source. Whether what does not pass is
dropped or refused is none: the proof does not tell them apart, nor does the judge of tries.
The rules are read here afresh, one passage at a time; nothing of the proof under test is used.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

from scantling.figures import FIREWALL, OUTSIDE, FilterRule, Host, RuleSet, Transport, Translation, Verdict
from scantling.trials.cube import Box, Cube
from scantling.trials.rehearsal.matches import View, carried, matching, of
from scantling.trials.rehearsal.passages import (
    ECHO, LAST_CARRIED, MESSAGE, STEP, TCP, TYPE, UDP, WEEK, WIDTH, Form, Passage, Passages, chain_of, host, hosts, shared,
)  # fmt: skip

FAMILIES = (4, 6)
TUNNEL, SEALED = 47, 50
"""Of other protocols the first that are tried: GRE and ESP."""


class Fares(NamedTuple):
    """What becomes of a packet."""

    passes: bool
    to: tuple[int, int] | None = None
    """Address and port that it is led to, where its target is changed; port 0: its own."""
    masked: bool = False
    """Whether it leaves under the firewall's own address."""


KEPT_OUT = Fares(passes=False)


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


Row = tuple[Box, Fares]
Rows = tuple[Row | None, ...]
LATE = frozenset(("input", "forward", "output"))


@dataclass(frozen=True)
class Listed:
    """A list of rules."""

    rules: RuleSet

    @cached_property
    def ordered(self) -> tuple[FilterRule, ...]:
        """As a packet meets them: early ones before all others."""
        return tuple(sorted(self.rules.rules, key=lambda rule: not rule.early))

    @cached_property
    def masks(self) -> bool:
        """Whether what goes out bears the firewall's own address."""
        return any(one.kind == "source" and one.zone == OUTSIDE for one in self.rules.translations)

    def leads(self, passage: Passage) -> Iterator[Translation]:
        """What is led elsewhere of a passage: what begins from outside at the firewall's own address on the line."""
        if (passage.state, passage.toward, passage.family) == ("new", FIREWALL, 4) and passage.zone == OUTSIDE:
            yield from (
                one for one in self.rules.translations if one.kind == "target" and one.zone == OUTSIDE and one.to
            )


class Change(NamedTuple):
    """Where one list differs from another: these rules stand in place of those from `first` up to `until`."""

    first: int
    until: int
    instead: tuple[FilterRule, ...]


class Cubing:
    """The rules of an office, and judgements of what a change of them does. They must stand: sets filled, lines with addresses."""

    def __init__(self, rules: RuleSet, moment: int | None = None, likely: Iterable[Host] = ()) -> None:
        """`moment`: second of the week at which packets are sent; without one, all hours. `likely`: addresses that are somebody's."""
        self.before = Listed(rules)
        self.passages = {family: Passages(rules.legs, family, moment) for family in FAMILIES}
        known = [*likely]
        self.likely = {family: hosts(one for one in known if one.version == family) for family in FAMILIES}

    def effect(self, changed: RuleSet, chain: str = "") -> Effect | None:
        """A packet that fares otherwise by the changed rules; nothing where there is none. `chain`: they hold there alone.

        Of the changed list only rules and translations count; sets and addresses are those that stand.
        """
        after = Listed(replace(self.before.rules, rules=changed.rules, translations=changed.translations))
        change = difference(self.before.ordered, after.ordered)
        for passage, one in self._rows.items():
            other = self._changed(passage, after, change, chain) if self._same(after) else self.rows(passage, after)
            found = self._effect(passage, flat(one), flat(other)) if other else None
            if found is not None:
                return found
        return None

    def _same(self, after: Listed) -> bool:
        """Whether the translations are as they were."""
        return after.rules.translations == self.before.rules.translations

    def _effect(self, passage: Passage, one: Sequence[Row], other: Sequence[Row]) -> Effect | None:
        cuts = [*self._preferred(passage), passage.box]
        cube = Cube(lasts(passage.family), [*(box for box, _ in (*one, *other)), *cuts])
        parts, others = cube.first_match(one, KEPT_OUT), cube.first_match(other, KEPT_OUT)
        apart = cube.differing(parts, others)
        if not apart:
            return None
        best = next(cells for cells in (apart & cube.set_of(box) for box in cuts) if cells)
        lowest = best & -best
        fares = [next(part.value for part in many if part.cells & lowest) for many in (parts, others)]
        point = cube.witness(best)
        assert point is not None
        return Effect(packet(passage, point), *(one for one in fares if isinstance(one, Fares)))

    def _preferred(self, passage: Passage) -> Iterator[Box]:
        """Where a packet is looked for first: between stations, of the usual kinds; it must lie in the passage."""
        whole = ((0, LAST_CARRIED),)
        tunnels = ((TUNNEL * STEP, TUNNEL * STEP), (SEALED * STEP, SEALED * STEP))
        echo = MESSAGE[passage.family] * STEP + ECHO[passage.family] * TYPE
        kinds: tuple[Form, ...] = (of(TCP), of(UDP), ((echo, echo),), tunnels, whole)
        likely, everything = self.likely[passage.family], self.passages[passage.family].everything
        for ends in ((likely, likely), (likely, everything), (everything, likely), (everything, everything)):
            for kind in kinds:
                box = meeting((*ends, kind, passage.seconds), passage.box)
                if all(box):
                    yield box

    # ------------------------------------------------------------------------------------------------------ rows

    @cached_property
    def _rows(self) -> dict[Passage, tuple[Rows, ...]]:
        """What the rules say of each passage, view by view and rule by rule."""
        many = (passage for where in self.passages.values() for passage in where.all)
        return {passage: self.rows(passage, self.before) for passage in many}

    def rows(self, passage: Passage, listed: Listed) -> tuple[Rows, ...]:
        """What a list says of a passage, view by view: a row for each rule, nothing where it is about others; last, what none says."""
        return tuple(
            (*(self._row(rule, passage, view, listed) for rule in listed.ordered), self._last(passage, view))
            for view in self.views(passage, listed)
        )

    def _changed(self, passage: Passage, after: Listed, change: Change, chain: str) -> tuple[Rows, ...]:
        """The same of changed rules, which hold in one chain alone if that is named; nothing where they say the same."""
        found, differs = [], False
        for view, old in zip(self.views(passage, after), self._rows[passage], strict=True):
            new, gone = old[change.first : change.until], old[change.first : change.until]
            if chain not in LATE or view.chain == chain:
                new = tuple(self._row(rule, passage, view, after) for rule in change.instead)
            differs = differs or [*filter(None, new)] != [*filter(None, gone)]
            found.append((*old[: change.first], *new, *old[change.until :]))
        return tuple(found) if differs else ()

    def views(self, passage: Passage, listed: Listed) -> Iterator[View]:
        """What is led elsewhere, in turn, and then the passage as it is sent."""
        where = self.passages[passage.family]
        for one in listed.leads(passage):
            assert one.to is not None
            toward, sent = where.lies_in(int(one.to)), carried([one.carried or Transport("any")])
            yield View(chain_of(passage.zone, toward), toward, sent, int(one.to), one.port)
        yield View(passage.chain, passage.toward, ((0, LAST_CARRIED),))

    def _row(self, rule: FilterRule, passage: Passage, view: View, listed: Listed) -> Row | None:
        box = matching(rule, passage, view, listed.rules)
        mine = meeting(box, passage.box) if box is not None else ()
        mine = (*mine[:2], shared(mine[2], view.sent), mine[3]) if mine else ()
        if not mine or not all(mine):
            return None
        return mine, passed(passage, view, masks=listed.masks) if rule.verdict is Verdict.ACCEPT else KEPT_OUT

    def _last(self, passage: Passage, view: View) -> Row | None:
        """What no rule matches is dropped."""
        frame = (*passage.box[:2], shared(passage.carried, view.sent), passage.seconds)
        return (frame, KEPT_OUT) if all(frame) else None


def flat(views: Iterable[Sequence[Row | None]]) -> tuple[Row, ...]:
    """The rows that say something."""
    return tuple(row for view in views for row in view if row is not None)


def difference(one: Sequence[FilterRule], other: Sequence[FilterRule]) -> Change:
    """The rules that stand in place of others, between those that both lists begin with and those that both end with."""
    shorter = min(len(one), len(other))
    first = next((place for place in range(shorter) if one[place] is not other[place]), shorter)
    last = next(
        (place for place in range(shorter - first) if one[-1 - place] is not other[-1 - place]), shorter - first
    )
    return Change(first, len(one) - last, tuple(other[first : len(other) - last]))


def passed(passage: Passage, view: View, *, masks: bool) -> Fares:
    """What becomes of what passes."""
    leaves = (passage.family, passage.toward, passage.state) == (4, OUTSIDE, "new") and passage.zone != FIREWALL
    return Fares(passes=True, to=None if view.to is None else (view.to, view.port), masked=leaves and masks)


def meeting(one: Sequence[Form], other: Sequence[Form]) -> Box:
    """What lies in both boxes; it holds nothing where a form of it does not."""
    return tuple(shared(a, b) for a, b in zip(one, other, strict=True))


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
