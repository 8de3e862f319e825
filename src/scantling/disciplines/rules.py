"""Rules: all intents compiled to the firewall's one ordered list.

Findings: .
Records: RuleSet.
"""

from collections.abc import Iterator

from scantling.figures import Every, Flow, Leg, RuleSet
from scantling.handbook.filtering import compiled


def design(flows: Every[Flow], legs: Every[Leg]) -> Iterator[RuleSet]:
    """The list, where the firewall has ports."""
    if legs:
        yield compiled(flows, legs)
