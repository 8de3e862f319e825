"""The proof of a plan's rules as blocks of a sheet: the verdict, what was looked at, what differs, what no proof shows."""

from collections.abc import Iterator

from scantling.figures import Facts, Prose, Ruled
from scantling.figures.numbers import counted
from scantling.figures.pages import Block
from scantling.plan.evidence import ASTRAY, BARRED, OPEN, Evidence

WORDS = {OPEN: "open", BARRED: "shut", ASTRAY: "astray"}
MOST = 40


def proof_blocks(told: Evidence) -> Iterator[Block]:
    """Everything a proof says, the most important first."""
    holds = "They do exactly what" if told.proved else "They were held against what"
    yield Prose(
        f"{holds} {counted(told.intents, 'intent means', 'intents mean')}, for every packet there can be, in IPv4 and IPv6."
    )
    yield Facts([*_facts(told)], "What was proved")
    if told.differences:
        rows = [(WORDS[one.kind], one.says, one.packet) for one in told.differences[:MOST]]
        yield Ruled(
            _caption("Where the rules do otherwise than is meant", told.differences),
            ("", "what", "a packet that shows it"),
            rows,
        )
    if told.idle:
        idle = [(one.rule, one.why) for one in told.idle[:MOST]]
        yield Ruled(
            _caption("Rules that never decide; nothing is wrong with them, they may go", told.idle),
            ("rule", "why"),
            idle,
        )
    if told.pairs:
        pairs = [(one.kind, one.first, one.second) for one in told.pairs[:MOST]]
        yield Ruled(
            _caption("Pairs of rules that overlap; the one that stands first decides where both match", told.pairs),
            ("how", "first", "then"), pairs,
        )  # fmt: skip
    for title, many in (("Taken for granted", told.notes), ("Not shown by any proof of rules", told.unshown)):
        if many:
            yield Ruled(title, ("",), [(words,) for words in many])


def _facts(told: Evidence) -> Iterator[tuple[str, str]]:
    yield "Verdict", told.says
    yield "Of", told.about
    yield "Intents that hold", f"{told.holding:,} of {told.intents:,}"
    yield "Rules", f"{told.rules:,}" + (f", {len(told.idle):,} of which never decide" if told.idle else "")
    shut = sum(not door.passing for door in told.doors if door.source != door.target)
    yield "Pairs of places", f"{len(told.doors):,}, {shut:,} of them shut from the one to the other"
    if told.overlaps:
        yield "Rules that overlap", ", ".join(f"{count:,} {kind}" for kind, count in told.overlaps)


def _caption(title: str, many: tuple[object, ...]) -> str:
    return title if len(many) <= MOST else f"{title} (the first {MOST} of {len(many):,})"
