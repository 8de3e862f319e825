"""A list of filter rules as boxes: what becomes of every packet by the rules themselves, translations included."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from scantling.figures import FIREWALL, OUTSIDE, FilterRule, RuleSet, Translation, Transport, Verdict
from scantling.trials.proof.headers import (
    DROPPED, INVALID, IPV4, MESSAGES, NEW, PASSED, PORTS, RELATED, REPLY, Box, Ground, Outcome, Ruling, carried, host, narrowed,
    real, seconds,
)  # fmt: skip
from scantling.trials.proof.spans import Spans, both, joined, less

STATES: dict[str, Spans] = {
    "": ((NEW, INVALID),), "new": ((NEW, NEW),), "established": ((REPLY, RELATED),), "invalid": ((INVALID, INVALID),),
}  # fmt: skip
ANY_CARRIED = ((0, 2**24 - 1),)
NEVER_LIKE_THIS = "no such packet"


@dataclass(frozen=True)
class Compiled:
    """A list of rules in one family; what none of them matches is dropped."""

    ground: Ground
    rules: RuleSet

    def rulings(self) -> tuple[Ruling, ...]:
        """The first that a packet is in decides: first what the firewall leads elsewhere, then everything as it is sent."""
        ordered = sorted(self.rules.rules, key=lambda rule: not rule.early)
        found = [Ruling(self.ground.never, DROPPED, NEVER_LIKE_THIS)]
        found += [one for led in self._led() for one in (*self._through(led, ordered), _shut(led))]
        found += [one for rule in ordered for one in self._as_sent(rule)]
        return tuple(ruling for ruling in found if ruling.boxes)

    def _as_sent(self, rule: FilterRule) -> Iterator[Ruling]:
        """A rule on packets whose target stays what it is."""
        if rule.translated:
            return
        boxes = self._boxes(rule, self._targets(rule))
        if rule.verdict is not Verdict.ACCEPT:
            yield Ruling(boxes, DROPPED, rule.slug)
            return
        for targets, masked in ((self._masked, True), (less(self.ground.addresses, self._masked), False)):
            mine = tuple(
                narrowed(box, target=both(box[2], targets), state=both(box[0], STATES["new"])) for box in boxes
            )
            yield Ruling(real(mine), PASSED._replace(masked=masked), rule.slug)
        yield Ruling(
            real(tuple(narrowed(box, state=less(box[0], STATES["new"])) for box in boxes)), PASSED, rule.slug
        )

    @cached_property
    def _masked(self) -> Spans:
        """Targets that are reached under an address of the firewall's own."""
        kinds = {one.zone for one in self.rules.translations if one.kind == "source"}
        leaves = self.ground.family == IPV4 and OUTSIDE in kinds and bool(self.ground.places(OUTSIDE))
        return self.ground.outside if leaves else ()

    # ------------------------------------------------------------------------------------------------------ one rule

    def _boxes(self, rule: FilterRule, targets: Spans) -> tuple[Box, ...]:
        """All packets that match a rule; its targets as they are sent."""
        ground = self.ground
        if rule.family not in {0, ground.family} or MESSAGES.get(rule.protocol, ground.family) != ground.family:
            return ()
        place = ground.places(rule.zone_in) if rule.zone_in else joined([*ground.doors, *ground.places(FIREWALL)])
        only_in = rule.early or rule.zone_out == FIREWALL
        return ground.box(
            state=STATES[rule.state],
            place=both(place, ground.doors) if only_in else place,
            target=targets,
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
        there = ground.toward(rule.zone_out) if rule.zone_out else ground.addresses
        if rule.zone_out == OUTSIDE and not ground.places(OUTSIDE):
            return ()
        named = ground.networks(rule.targets) if rule.targets else ground.addresses
        if rule.target_set:
            named = both(named, self._party(rule.target_set))
        return both(there, named)

    def _party(self, slug: str) -> Spans:
        """The addresses of a party: those listed, and one that stands for whatever its names answer. Raises KeyError."""
        ground = self.ground
        networks, names = {party: (listed, names) for party, listed, names in self.rules.sets}[slug]
        moving = ground.moving_address(slug) if names else None
        return joined([*ground.networks(networks), *([(moving, moving)] if moving is not None else [])])

    # -------------------------------------------------------------------------------------------------- translations

    def _led(self) -> Iterator["Led"]:
        """What the firewall leads elsewhere, port by port."""
        for one in self.rules.translations:
            if one.kind == "target" and one.to is not None and one.to.version == self.ground.family:
                for first, last in self.ground.places(one.zone):
                    for place in range(first, last + 1):
                        yield from self._parts(one, place)

    def _parts(self, one: Translation, place: int) -> Iterator["Led"]:
        """What keeps its port, and what gets another."""
        wanted = carried(one.carried or Transport("any"))
        own, to = self.ground.own_at(place), int(one.to or 0)
        start = wanted[0][0] // PORTS * PORTS
        kept = both(wanted, ((start + one.port,) * 2,)) if one.port else wanted
        for spans, port in ((kept, 0), (less(wanted, kept), one.port)):
            if spans and own:
                new = ((start + port, start + port),) if port else spans
                yield Led(self.ground, one.slug, place, own, spans, to, new, port)

    def _through(self, led: "Led", ordered: Sequence[FilterRule]) -> Iterator[Ruling]:
        """What the rules make of packets whose target was changed."""
        for rule in ordered:
            if not both(self._targets(rule), ((led.to, led.to),)) or rule.zone_in not in {
                "",
                self.ground.zone_at(led.place),
            }:
                continue
            boxes = self._boxes(replace(rule, zone_in=""), led.own)
            mine = tuple(led.seen(box) for box in boxes)
            passes = rule.verdict is Verdict.ACCEPT
            yield Ruling(real(mine), led.outcome if passes else DROPPED, rule.slug)


@dataclass(frozen=True)
class Led:
    """What comes in at one place for the firewall's own address there and is led to another: new connections only."""

    ground: Ground
    slug: str
    place: int
    own: Spans
    carried: Spans
    """As it is sent."""
    to: int
    new: Spans
    """Protocol and port as it arrives."""
    port: int

    @property
    def outcome(self) -> Outcome:
        """Where it ends."""
        port = f":{self.port}" if self.port else ""
        return Outcome(passes=True, to=f"{host(self.to, self.ground.family)}{port}")

    def seen(self, box: Box) -> Box:
        """A box of packets as they arrive, as the box of those that are sent."""
        arrives = both(box[4], self.new)
        sent = (self.carried if arrives else ()) if self.port else both(self.carried, arrives)
        return narrowed(box, state=both(box[0], STATES["new"]), place=((self.place, self.place),), carried=sent)


def _shut(led: Led) -> Ruling:
    """What is led elsewhere and let through by no rule."""
    boxes = led.ground.box(state=STATES["new"], place=((led.place, led.place),), target=led.own, carried=led.carried)
    return Ruling(boxes, DROPPED, "")


def carried_by(rule: FilterRule) -> Spans:
    """Protocol and ports of a rule as numbers. Raises KeyError for a protocol without a number."""
    if not rule.ports:
        return carried(Transport(rule.protocol))
    return joined(span for first, last in rule.ports for span in carried(Transport(rule.protocol, first, last)))
