"""Briefs with hostile strings in every field that takes free text."""

import re
from collections.abc import Iterator
from itertools import cycle, repeat

from hostile import HOSTILE

ON_A_LINE = r"^ +(?:name|who|on_site): (?P<line>.+)$"
IN_BRACES = r"[{ ](?:name|by|place): (?P<braces>\"[^\"]*\"|[^,}\"]+)(?=[,}])"
NAMED = re.compile(f"(?m){ON_A_LINE}|{IN_BRACES}")
LEAST = 12
"""Fields of free text that each of the two briefs has at least."""


def quoted(words: str) -> str:
    """As a person quotes it: single quotes, doubled inside."""
    return "'" + words.replace("'", "''") + "'"


def filled(text: str, words: Iterator[str]) -> str:
    """The brief with the next of the words in each field of free text."""

    def put(found: re.Match[str]) -> str:
        old = found["line"] or found["braces"]
        return found[0].removesuffix(old) + quoted(next(words))

    made, count = NAMED.subn(put, text)
    assert count >= LEAST
    return made


def everywhere(text: str, words: str) -> str:
    """The brief with the same words in every field of free text, and in reasons of advice declined and pins."""
    made = filled(text, repeat(words))
    reasons = f"because: {quoted(words)}"
    declined = f"declined:\n  E-2: {{by: {quoted(words)}, on: 2026-11-20, {reasons}}}\n"
    return f'{made}\n{declined}\npins:\n  host.cores.needed: {{value: "12", {reasons}}}\n'


def spread(text: str) -> str:
    """The brief with all hostile strings, each in one field or more: as fields come, the next string."""
    made = filled(text, cycle(HOSTILE))
    more = "".join(
        f"  hostile-{place}: {{name: {quoted(words)}, kind: printer, count: 1, zone: staff}}\n"
        for place, words in enumerate(HOSTILE)
    )
    return made.replace("devices:\n", f"devices:\n{more}", 1)
