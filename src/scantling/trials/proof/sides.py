"""One account of what becomes of every packet, from whatever source: as a diagram in each family, and its rules by name."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, reduce
from typing import NamedTuple

from scantling.figures import Flow, RuleSet
from scantling.figures.spelled import shown
from scantling.trials.proof.compiled import Compiled
from scantling.trials.proof.diagram import Diagram, Space, first_match, paired
from scantling.trials.proof.headers import FIELDS, Ground, Header, grounds
from scantling.trials.proof.rulings import Outcome, Ruling, Stage, fate, together
from scantling.trials.proof.meaning import Meaning, movers


LONGEST = 400


class Fate(NamedTuple):
    """What becomes of a packet, and what says so."""

    by: str
    outcome: Outcome


@dataclass(frozen=True)
class Rule:
    """A rule for a person: what it is called, what it is for, and the intent that it is made from."""

    told: str
    comment: str = ""
    flow: str = ""


@dataclass(frozen=True)
class Side:
    """What becomes of every packet by one source: the intents, the compiled list, or a file."""

    about: str
    stages: Mapping[int, tuple[Stage, ...]]
    """By family."""
    rules: Mapping[str, Rule] = field(default_factory=dict)
    """By the key that rulings bear."""
    notes: tuple[str, ...] = ()
    translates: bool = True
    """Whether it speaks of translations at all; access lists do not."""
    only_new: bool = False
    """Whether it speaks of beginnings alone."""
    whole: bool = False
    """Whether every rule there is should decide something; in a file there are some that only count or log."""

    def told(self, by: str) -> str:
        """A rule's name for a person."""
        return self.rules[by].told if by in self.rules else shown(by, LONGEST)

    def fate(self, header: Header, family: int) -> Ruling:
        """What becomes of one packet, by going through the lists one rule after the other."""
        return fate(self.stages[family], header)


@dataclass(frozen=True)
class Court:
    """One family: the space in which all sides are compared, so that equal sides are one and the same diagram."""

    ground: Ground

    @cached_property
    def space(self) -> Space:
        """The numbers of a header with the largest of each."""
        return Space(tuple(zip(FIELDS, self.ground.last, strict=True)))

    def diagram(self, side: Side) -> Diagram[Fate]:
        """What becomes of every packet, and by which rule."""
        return in_turn(self.stages(side))

    def stages(self, side: Side) -> tuple[Diagram[Fate], ...]:
        """The same list by list."""
        return tuple(map(self._stage, side.stages[self.ground.family]))

    def _stage(self, stage: Stage) -> Diagram[Fate]:
        rules = [(box, Fate(ruling.by, ruling.outcome)) for ruling in stage.rulings for box in ruling.boxes]
        return first_match(self.space, rules, Fate(stage.unless.by, stage.unless.outcome))


def in_turn(stages: Sequence[Diagram[Fate]]) -> Diagram[Fate]:
    """Several lists that a packet goes through, one after the other."""
    return reduce(lambda one, other: paired(one, other).told(_together), stages)


def outcomes(diagram: Diagram[Fate]) -> Diagram[Outcome]:
    """The same without the rules that say so."""
    return diagram.told(lambda one: one.outcome)


def _together(both: tuple[Fate, Fate]) -> Fate:
    """Two lists that a packet goes through, one after the other."""
    found = together([Ruling((), one.outcome, one.by) for one in both])
    return Fate(found.by, found.outcome)


def meaning(flows: Sequence[Flow], courts: Iterable[Court]) -> Side:
    """What the intents mean."""
    stages = {court.ground.family: Meaning(court.ground, tuple(flows)).stages() for court in courts}
    return Side("the intents", stages)


def compiled(rules: RuleSet, courts: Iterable[Court]) -> Side:
    """What the compiled list does."""
    stages = {court.ground.family: Compiled(court.ground, rules).stages() for court in courts}
    known = {rule.slug: Rule(f'{rule.slug} "{rule.comment}"', rule.comment, rule.flow) for rule in rules.rules}
    return Side("the compiled rules", stages, known, whole=True)


def courts(flows: Sequence[Flow], rules: RuleSet) -> tuple[Court, ...]:
    """A court for each family."""
    moving = {*movers(flows), *(slug for slug, _, names in rules.sets if names)}
    return tuple(Court(ground) for ground in grounds(rules.legs, sorted(moving)))
