"""The verb prove: the plan's rules held against its intents, a file in their place, two lists against each other, one packet."""

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from scantling import UserError
from scantling.brief.loading import BriefError
from scantling.brief.reading import decoded
from scantling.figures.spelled import shown
from scantling.outputs.reading_back import bytes_of
from scantling.plan.confirming import with_proof
from scantling.plan.evidence import Difference, Evidence
from scantling.plan.make import Plan
from scantling.trials.proof.nodes import TooLargeError
from scantling.trials.proof.packet import PacketError, read_words
from scantling.trials.proof.proving import Case, case, equality, proof
from scantling.trials.proof.sides import Side
from scantling.trials.proof.tracing import Traced, traced

MOST_BYTES = 64_000_000
NO_RULES = "this plan has no rules for a firewall, so there is nothing to prove"


@dataclass(frozen=True)
class Compared:
    """Two lists of rules held against each other."""

    first: str
    second: str
    differences: tuple[Difference, ...]
    """Nothing: they do the same with every packet."""


@dataclass(frozen=True)
class Proving:
    """What was proved, and what was compared besides."""

    evidence: Evidence | None
    """Nothing where only a packet was followed."""
    compared: tuple[Compared, ...] = ()
    traced: tuple[Traced, ...] = ()

    @property
    def proved(self) -> bool:
        """Whether everything that was asked holds."""
        if self.traced:
            return all(one.meant for one in self.traced)
        return (
            self.evidence is not None and self.evidence.proved and not any(one.differences for one in self.compared)
        )


def proving_json(found: Proving) -> str:
    """All of it as JSON, the same bytes every time."""
    return (
        json.dumps(_plain(asdict(found)) | {"proved": found.proved}, sort_keys=True, ensure_ascii=False, indent=1)
        + "\n"
    )


def _plain(value: Any) -> Any:
    """Addresses and the like as texts; everything else as JSON has it."""
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value if value is None or isinstance(value, bool | int | str) else str(value)


def proved(made: Plan) -> Plan:
    """The plan with the proof of its rules; as it is where it has none."""
    found = case(made)
    return made if found is None else with_proof(made, proof(found))


def prove(made: Plan, rules: Path | None = None, against: Path | None = None, packet: str = "") -> Proving:
    """The proof of a plan's rules, or of those in a file; also held against another file. Raises UserError.

    With a packet, in words like "guests tcp files:445", what becomes of it by these rules.
    """
    found = case(made)
    if found is None:
        raise UserError(NO_RULES)
    try:
        words = read_words(packet) if packet else None
        side = _side(rules, found) if rules is not None else found.compiled
        other = _side(against, found) if against is not None else None
        if words is not None:
            return Proving(None, (), traced(found, side, words))
        return _held(made, found, side, other, given=rules is not None)
    except PacketError as wrong:
        raise UserError(f"--packet: {wrong}") from None
    except TooLargeError as wrong:
        named = (
            ", ".join(shown(path.name, 100) for path in (rules, against) if path is not None) or "the plan's rules"
        )
        raise UserError(
            f"{named}: these rules can't be proved: {wrong}; write fewer, or networks in place of hosts"
        ) from None


def _held(made: Plan, found: Case, side: Side, other: Side | None, *, given: bool) -> Proving:
    """The rules held against what is meant, and those of files against the plan's own and each other."""
    compared = [_compared(found, found.compiled, side)] if given else []
    compared += [_compared(found, side, other)] if other is not None else []
    evidence = made.proof if not given and made.proof is not None else proof(found, side)
    return Proving(evidence, tuple(compared))


def _compared(found: Case, first: Side, second: Side) -> Compared:
    return Compared(first.about, second.about, equality(found, first, second))


def _side(path: Path, found: Case) -> Side:
    """The rules of a file. Raises UserError."""
    from scantling.trials.proof.listing import RuleFileError  # noqa: PLC0415 - loaded when a file is given
    from scantling.trials.proof.rulefile import side_of  # noqa: PLC0415 - as above

    try:
        return side_of(_text(path), shown(path.name, 100), found)
    except (RuleFileError, BriefError) as wrong:
        raise UserError(str(wrong)) from None


def _text(path: Path) -> str:
    """The text of a file. Raises UserError, BriefError."""
    return decoded(path, bytes_of(path, MOST_BYTES, "a file of rules"))
