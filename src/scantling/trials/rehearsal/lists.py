"""What a list of rules says of each passage, rule by rule, as rows of a bit cube; translations of targets included."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from scantling.figures import FIREWALL, OUTSIDE, FilterRule, RuleSet, Transport, Translation, Verdict
from scantling.trials.cube import Box
from scantling.trials.rehearsal.matches import View, carried, matching
from scantling.trials.rehearsal.passages import LAST_CARRIED, Form, Passage, Passages, chain_of, shared

LATE = frozenset(("input", "forward", "output"))
"""Chains that stand apart from one another; what is asked before routing holds for all of them."""


class Fares(NamedTuple):
    """What becomes of a packet."""

    passes: bool
    to: tuple[int, int] | None = None
    """Address and port that it is led to, where its target is changed; port 0: its own."""
    masked: bool = False
    """Whether it leaves under the firewall's own address."""


KEPT_OUT = Fares(passes=False)
Row = tuple[Box, Fares]
Rows = tuple[Row | None, ...]
"""A row for each rule, nothing where it is about others; last, what no rule matches."""


class Change(NamedTuple):
    """Where one list differs from another: these rules stand in place of those from `first` up to `until`."""

    first: int
    until: int
    instead: tuple[FilterRule, ...]


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

    @cached_property
    def published(self) -> tuple[Translation, ...]:
        """What is led elsewhere, in IPv4 from outside."""
        many = self.rules.translations
        return tuple(one for one in many if one.kind == "target" and one.zone == OUTSIDE and one.to)

    def views(self, passage: Passage, where: Passages) -> Iterator[View]:
        """What of a passage is led elsewhere, in turn, and then the passage as it is sent.

        Led elsewhere is what begins from outside at the firewall's own address on the line.
        """
        begins = (passage.state, passage.toward, passage.family) == ("new", FIREWALL, 4) and passage.zone == OUTSIDE
        for one in self.published if begins else ():
            assert one.to is not None
            toward, front = where.lies_in(int(one.to)), where.front(passage.origin)
            what = carried([one.carried or Transport("any")])
            yield View(chain_of(passage.zone, toward), toward, front, what, int(one.to), one.port)
        yield View(passage.chain, passage.toward, where.everything, ((0, LAST_CARRIED),))

    def rows(self, passage: Passage, where: Passages) -> tuple[Rows, ...]:
        """What the list says of a passage, view by view."""
        return tuple(
            (*(self._row(rule, passage, view) for rule in self.ordered), _last(passage, view))
            for view in self.views(passage, where)
        )

    def changed(
        self, old: tuple[Rows, ...], change: Change, chain: str, passage: Passage, where: Passages
    ) -> tuple[Rows, ...]:
        """The same, of a list that differs from another by one change; nothing where it says what that list says.

        `old`: what that list says. `chain`: the change holds in this one alone, if one is named.
        """
        found, differs = [], False
        for view, before in zip(self.views(passage, where), old, strict=True):
            gone = new = before[change.first : change.until]
            if chain not in LATE or view.chain == chain:
                new = tuple(self._row(rule, passage, view) for rule in change.instead)
            differs = differs or [*filter(None, new)] != [*filter(None, gone)]
            found.append((*before[: change.first], *new, *before[change.until :]))
        return tuple(found) if differs else ()

    def _row(self, rule: FilterRule, passage: Passage, view: View) -> Row | None:
        if not speaks_of(rule, passage):
            return None
        box = matching(rule, passage, view, self.rules)
        mine = meeting(box, framed(passage, view)) if box is not None else ()
        if not mine or not all(mine):
            return None
        return mine, _passed(passage, view, masks=self.masks) if rule.verdict is Verdict.ACCEPT else KEPT_OUT


def speaks_of(rule: FilterRule, passage: Passage) -> bool:
    """Whether a rule may have a word on some packet of a passage, as far as family, places and state say it."""
    if rule.zone_in not in {"", passage.zone} or rule.family not in {0, passage.family}:
        return False
    led = passage.zone == OUTSIDE and passage.toward == FIREWALL
    return (led or rule.zone_out in {"", passage.toward}) and rule.state in {"", passage.state}


def framed(passage: Passage, view: View) -> Box:
    """What of a passage is seen in one view."""
    targets, carries = shared(passage.targets, view.targets), shared(passage.carried, view.carried)
    return (targets, passage.sources, carries, passage.seconds)


def meeting(one: Sequence[Form], other: Sequence[Form]) -> Box:
    """What lies in both boxes; it holds nothing where a form of it does not."""
    return tuple(shared(a, b) for a, b in zip(one, other, strict=True))


def flat(views: Iterable[Sequence[Row | None]]) -> tuple[Row, ...]:
    """The rows that say something."""
    return tuple(row for view in views for row in view if row is not None)


def difference(one: Sequence[FilterRule], other: Sequence[FilterRule]) -> Change:
    """The rules that stand in place of others, between those that both lists begin with and those that both end with."""
    shorter = min(len(one), len(other))
    first = next((place for place in range(shorter) if one[place] is not other[place]), shorter)
    left = range(shorter - first)
    last = next((place for place in left if one[-1 - place] is not other[-1 - place]), len(left))
    return Change(first, len(one) - last, tuple(other[first : len(other) - last]))


def _last(passage: Passage, view: View) -> Row | None:
    """What no rule matches is dropped."""
    frame = framed(passage, view)
    return (frame, KEPT_OUT) if all(frame) else None


def _passed(passage: Passage, view: View, *, masks: bool) -> Fares:
    """What becomes of what passes."""
    leaves = (passage.family, passage.toward, passage.state) == (4, OUTSIDE, "new") and passage.zone != FIREWALL
    return Fares(passes=True, to=None if view.to is None else (view.to, view.port), masked=leaves and masks)
