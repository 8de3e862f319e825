"""The example offices for tests, and how a test changes a brief."""

from functools import cache, lru_cache
from pathlib import Path

from scantling import api
from scantling.plan.make import Plan

ROOT = Path(__file__).parent.parent
BRIEFS = {
    "millrace": ROOT / "examples/millrace/brief.yaml", "fold": ROOT / "examples/fold-and-fell/brief.yaml",
    "brackwater": ROOT / "examples/brackwater/brief.yaml",
}  # fmt: skip


@cache
def millrace() -> str:
    """The Millrace Arts Centre's brief."""
    return BRIEFS["millrace"].read_text(encoding="utf-8")


@cache
def fold() -> str:
    """Fold & Fell's brief."""
    return BRIEFS["fold"].read_text(encoding="utf-8")


def changed(text: str, old: str, new: str) -> str:
    """The same brief with one passage changed; the passage must be there."""
    assert old in text, f"not in the brief: {old}"
    return text.replace(old, new, 1)


@cache
def example(name: str) -> Plan:
    """An example's plan as its consultant gets it, with what stands beside the brief; made once in a session."""
    return api.plan(BRIEFS[name])


@lru_cache(maxsize=64)  # a plan holds all that could be bought: more than these fill a small machine
def planned(text: str) -> Plan:
    """The plan of a brief's text, made once while it is of use."""
    return api.plan_text(text)


def codes(plan: Plan) -> set[str]:
    """Codes of the findings that hold."""
    return {told.finding.code for told in plan.findings}
