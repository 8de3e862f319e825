"""What a judgement says to a person: each difference a sentence with a packet, an intent with its line, and a rule."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from scantling.figures import Flow, Verdict
from scantling.plan.evidence import ASTRAY, BARRED, OPEN, Difference
from scantling.trials.proof.headers import NEW, PORTS, WEEK, Ground, Header
from scantling.trials.proof.judge import Apart, Judged
from scantling.trials.proof.meaning import BELONGS, SPOOFED, STRAY, Meaning
from scantling.trials.proof.sides import Fate, Side
from scantling.trials.proof.telling import Names, carried_words, hours_words, packet_words

KINDS = (OPEN, ASTRAY, BARRED)
MOST_TOLD = 200
"""Differences that are told one by one; of more, how many there are."""


@dataclass(frozen=True)
class Verdicts:
    """Both families judged, with the names of everything."""

    names: Names
    wanted: Side
    found: Side
    judged: tuple[Judged, ...]

    @cached_property
    def apart(self) -> tuple[tuple[Apart, Ground], ...]:
        """Every difference with the ground that it lies on."""
        return tuple((apart, one.court.ground) for one in self.judged for apart in one.apart)

    def differences(self) -> tuple[Difference, ...]:
        """One for each intent and rule that are at odds, the most telling packet of both families, alarming ones first."""
        found: dict[tuple[str, str, str], list[tuple[Apart, Ground]]] = {}
        for apart, ground in self.apart:
            found.setdefault((_kind(apart), apart.wanted.by, apart.found.by), []).append((apart, ground))
        told = [
            (min(many, key=_soon), [pair for apart, _ in many for pair in apart.pairs]) for many in found.values()
        ]
        told.sort(key=lambda one: (KINDS.index(_kind(one[0][0])), _soon(one[0])))
        return tuple(self._difference(*first, set(pairs)) for first, pairs in told[:MOST_TOLD])

    def _difference(self, apart: Apart, ground: Ground, pairs: Collection[tuple[str, str]]) -> Difference:
        header, kind = apart.header(), _kind(apart)
        intent = self._intent(apart, header)
        says = {OPEN: self._open, BARRED: self._barred, ASTRAY: self._astray}[kind](apart, header, ground)
        more = len(pairs) - 1
        also = f"; and so between {more} more pair{'s' if more > 1 else ''} of places" if more > 0 else ""
        rule = self.found.told(apart.found.by)
        return Difference(kind, f"{says}{also}.", packet_words(header, ground), intent, self.names.line(intent), rule)

    def _intent(self, apart: Apart, header: Header) -> str:
        """The intent that says what is wanted, or the one that the rule was made from."""
        if apart.wanted.by in self.names.flows:
            return apart.wanted.by
        rule = self.found.rules.get(apart.found.by)
        return rule.flow if rule is not None and rule.flow in self.names.flows and header.state == NEW else ""

    # ------------------------------------------------------------------------------------------------- sentences

    def _open(self, apart: Apart, header: Header, ground: Ground) -> str:
        lets = f"{self.found.told(apart.found.by)} lets it through" if apart.found.by else "nothing keeps it out"
        return f"{self._packet(apart, header, ground, 'reaches')}, {self._against(apart.wanted)}: {lets}"

    def _against(self, wanted: Fate) -> str:
        """Why it should not pass."""
        if wanted.by in self.names.flows:
            return f"which {self._asks(wanted.by)} forbids"
        if self.wanted.rules:
            return f"which {self.wanted.told(wanted.by) or 'nothing'} of {self.wanted.about} does not let through"
        reasons = {SPOOFED: "with a source that can't be there", STRAY: "though it belongs to no connection"}
        return reasons.get(wanted.by, "and no intent asks for it")

    def _barred(self, apart: Apart, header: Header, ground: Ground) -> str:
        keeps = f"{self.found.told(apart.found.by)} keeps it out" if apart.found.by else "no rule lets it through"
        if apart.wanted.by == BELONGS:
            return (
                f"{self._packet(apart, header, ground, 'can not answer')}, though replies are always meant: {keeps}"
            )
        asks = "lets through" if self.wanted.rules else "asks for"
        return f"{self._packet(apart, header, ground, 'does not reach')}, which {self._asks(apart.wanted.by)} {asks}: {keeps}"

    def _astray(self, apart: Apart, header: Header, ground: Ground) -> str:
        wanted, found = apart.wanted.outcome, apart.found.outcome
        if wanted.to != found.to:
            there = f"is led to {self._led(found.to)} instead of {self._led(wanted.to)}"
        else:
            there = (
                "leaves with its own source, to which nobody outside can answer"
                if wanted.masked
                else "leaves under another source"
            )
        return f"{self._packet(apart, header, ground, 'reaches')}, as {self._asks(apart.wanted.by)} asks, but {there}"

    def _led(self, to: str) -> str:
        return to or "the address it was sent to"

    def _asks(self, flow: str) -> str:
        """The intent that asks, with its line; of two lists the rule of the first."""
        if self.wanted.rules:
            return f"{self.wanted.told(flow)} of {self.wanted.about}"
        line = self.names.line(flow)
        return f"intent {self.names.intent(flow)}" + (f", {line}," if line else "")

    def _packet(self, apart: Apart, header: Header, ground: Ground, does: str) -> str:
        """Who does what to whom, by what, when."""
        protocol = header.carried // PORTS * PORTS
        first, last = apart.box[4]
        whole = (max(first, protocol), min(last, protocol + PORTS - 1))
        what = carried_words((whole,) if first // PORTS == last // PORTS else ((first, last),))
        hours = "" if apart.box[5] == (0, WEEK - 1) else f" ({hours_words((apart.box[5],))})"
        family = f" in IPv{ground.family}"
        who, whom = self.names.source(header, ground), self.names.target(header, ground)
        return f"{who} {does} {whom} by {what}{hours}{family}"

    # --------------------------------------------------------------------------------------------------- intents

    def broken(self, flows: Sequence[Flow]) -> frozenset[str]:
        """Slugs of the intents of which some packet is not dealt with as they say."""
        return frozenset(slug for flow in flows for slug in self._broken(flow))

    def _broken(self, flow: Flow) -> Iterator[str]:
        for one in self.judged:
            named = any(apart.wanted.by == flow.slug for apart in one.apart)
            accepts = flow.verdict is Verdict.ACCEPT and one.missed is not None
            about = Meaning(one.court.ground, (flow,)).about(flow) if accepts else ()
            if named or (one.missed is not None and any(True in one.missed.deciding_in(box) for box in about)):
                yield flow.slug


def _kind(apart: Apart) -> str:
    if apart.wanted.outcome.passes == apart.found.outcome.passes:
        return ASTRAY
    return OPEN if apart.found.outcome.passes else BARRED


def _soon(one: tuple[Apart, Ground]) -> tuple[bool, int, int, Apart]:
    """What is told first: what begins something, in the most telling place, IPv4 before IPv6."""
    apart, ground = one
    return apart.box[0] != (NEW, NEW), apart.rank, ground.family, apart
