"""A list of filter rules as boxes: what becomes of every packet by the rules themselves, translations included."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from scantling.figures import FIREWALL, OUTSIDE, FilterRule, RuleSet, Translation, Transport, Verdict
from scantling.trials.proof.headers import (
    INVALID, IPV4, MESSAGES, NEW, RELATED, REPLY, Box, Ground, carried, narrowed, real, seconds,
)  # fmt: skip
from scantling.trials.proof.rulings import DROPPED, PASSED, Ruling, Stage
from scantling.trials.proof.leading import BEGINNING, Late, Led, rulings
from scantling.trials.proof.spans import Spans, both, joined, less, numbers

STATES: dict[str, Spans] = {
    "": ((NEW, INVALID),), "new": BEGINNING, "established": ((REPLY, RELATED),), "invalid": ((INVALID, INVALID),),
}  # fmt: skip
NOTHING = "no such packet"


@dataclass(frozen=True)
class Compiled:
    """A list of rules in one family; what none of them matches is dropped."""

    ground: Ground
    rules: RuleSet

    def stages(self) -> tuple[Stage, ...]:
        """One list: early rules before all others."""
        unless = Ruling((), DROPPED, "")
        ordered = sorted(self.rules.rules, key=lambda rule: not rule.early)
        late = [one for rule in ordered for one in self._late(rule)]
        found = rulings(self.ground, [*self.leads()], late, unless)
        return (Stage((Ruling(self.ground.never, DROPPED, NOTHING), *found), unless),)

    def _late(self, rule: FilterRule) -> Iterator[Late]:
        """A rule; of an accept what leaves under another address apart."""
        boxes, only = self._boxes(rule), True if rule.translated else None
        if rule.verdict is not Verdict.ACCEPT:
            yield Late(boxes, DROPPED, rule.slug, only)
            return
        masked = self._masked if boxes else ()
        for targets, hidden in ((masked, True), (less(self.ground.addresses, masked), False)):
            begun = [narrowed(box, target=both(box[2], targets), state=both(box[0], BEGINNING)) for box in boxes]
            yield Late(real(begun), PASSED._replace(masked=hidden), rule.slug, only)
        yield Late(real(narrowed(box, state=less(box[0], BEGINNING)) for box in boxes), PASSED, rule.slug, only)

    @cached_property
    def _masked(self) -> Spans:
        """Targets that are reached under an address of the firewall's own."""
        zones = {one.zone for one in self.rules.translations if one.kind == "source"}
        leaves = self.ground.family == IPV4 and OUTSIDE in zones and bool(self.ground.places(OUTSIDE))
        return self.ground.outside if leaves else ()

    def _boxes(self, rule: FilterRule) -> tuple[Box, ...]:
        """All packets that match a rule."""
        ground = self.ground
        if rule.family not in {0, ground.family} or MESSAGES.get(rule.protocol, ground.family) != ground.family:
            return ()
        place = ground.places(rule.zone_in) if rule.zone_in else joined([*ground.doors, *ground.places(FIREWALL)])
        comes_in = rule.early or rule.zone_out == FIREWALL
        return ground.box(
            state=STATES[rule.state],
            place=both(place, ground.doors) if comes_in else place,
            target=self._targets(rule),
            source=self._sources(rule),
            carried=carried_by(rule),
            second=seconds(rule.window),
        )

    def _sources(self, rule: FilterRule) -> Spans:
        named = self.ground.networks(rule.sources) if rule.sources else self.ground.addresses
        return less(named, self.ground.networks(rule.not_sources))

    def _targets(self, rule: FilterRule) -> Spans:
        """Where a rule's packets are meant for."""
        ground = self.ground
        if rule.zone_out == OUTSIDE and not ground.places(OUTSIDE):
            return ()
        there = ground.toward(rule.zone_out) if rule.zone_out else ground.addresses
        named = ground.networks(rule.targets) if rule.targets else ground.addresses
        return both(there, both(named, self._party(rule.target_set)) if rule.target_set else named)

    def _party(self, slug: str) -> Spans:
        """The addresses of a party: those listed, and one that stands for whatever its names answer. Raises KeyError."""
        networks, names = {party: (listed, names) for party, listed, names in self.rules.sets}[slug]
        listed = self.ground.networks(networks)
        if not names:
            return listed
        moving = self.ground.moving_address(slug)
        return joined([*listed, (moving, moving)])

    def leads(self) -> Iterator[Led]:
        """What the firewall leads elsewhere, port by port: new connections to its own address at the port they come in by."""
        for one in self.rules.translations:
            if one.kind == "target" and one.to is not None and one.to.version == self.ground.family:
                for place in numbers(self.ground.places(one.zone)):
                    yield from (Led(box, int(one.to), one.port, one.slug) for box in self._front(one, place))

    def _front(self, one: Translation, place: int) -> tuple[Box, ...]:
        wanted = carried(one.carried or Transport("any"))
        return self.ground.box(
            state=BEGINNING, place=((place, place),), target=self.ground.own_at(place), carried=wanted
        )


def carried_by(rule: FilterRule) -> Spans:
    """Protocol and ports of a rule as numbers. Raises KeyError for a protocol without a number."""
    if not rule.ports:
        return carried(Transport(rule.protocol))
    return joined(span for first, last in rule.ports for span in carried(Transport(rule.protocol, first, last)))
