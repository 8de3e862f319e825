"""The compiler: the first rule that matches says what is meant, for random intents and packets on their edges."""

from dataclasses import replace
from random import Random

from flow_samples import LEGS, FlowDice
from hypothesis import given, settings
from hypothesis import strategies as st
from referees.filtering import Moment, Packet, deciding
from referees.intents import Sets, filled, meant

from scantling.figures import Flow, Leg, RuleSet, Transport, Verdict
from scantling.handbook.filtering import compiled

WEB = Transport("tcp", 443, 443)
MONDAY = Moment(0, 600)


def with_sets(rules: RuleSet, sets: Sets) -> RuleSet:
    """The same rules with the sets of names filled."""
    return replace(
        rules, sets=tuple((slug, (*networks, *sets.get(slug, ())), names) for slug, networks, names in rules.sets)
    )


def passes(rules: RuleSet, packet: Packet, moment: Moment = MONDAY) -> bool:
    """Whether the list lets a packet pass."""
    rule = deciding(packet, rules, moment)
    return rule is not None and rule.verdict is Verdict.ACCEPT


def agree(flows: list[Flow], dice: FlowDice, count: int, legs: tuple[Leg, ...] = LEGS) -> None:
    """The rules do what is meant, packet by packet."""
    sets = filled(flows)
    rules = with_sets(compiled(flows, legs), sets)
    for _ in range(count):
        packet, moment = dice.packet(flows, legs)
        wanted = meant(packet, moment, flows, legs, sets)
        assert passes(rules, packet, moment) == wanted, (packet, moment, deciding(packet, rules, moment), flows)


@given(st.integers(0, 2**48))
@settings(max_examples=200, deadline=None)
def test_the_first_rule_that_matches_says_what_is_meant(seed: int) -> None:
    dice = FlowDice(Random(seed))
    agree(dice.flows(), dice, 60)
