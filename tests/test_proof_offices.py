"""Whatever office is planned, its rules are proved; whatever text stands in a file of rules, it stays text."""

import json
from typing import Any

import generated_offices
import pytest
from conftest import Scale
from hostile import EVERYTHING
from offices import example, planned
from varied_offices import varied

import kernel
from scantling.figures import RuleSet
from scantling.outputs.files.packet_filter import rules_text
from scantling.trials.proof.proving import case, proof
from scantling.trials.proof.rulefile import side_of


@pytest.mark.parametrize("heads", [5, 24, 48, 120])
def test_an_office_of_any_size_is_proved(heads: int) -> None:
    told = planned(generated_offices.brief(heads)).proof
    assert told is not None
    assert told.says == "proved"
    assert told.idle == (), "nothing in the list is in vain"
    assert all(door.asked for door in told.doors)


def test_offices_drawn_at_random_are_proved(scale: Scale) -> None:
    """A few; tests/test_varied_offices.py asks the same of every office that it draws."""
    for seed in range(scale(short=3, full=6)):
        told = planned(varied(seed)).proof
        assert told is not None
        assert (told.says, told.holding) == ("proved", told.intents), seed


def test_doors_are_told_for_every_ordered_pair_and_every_machine() -> None:
    told = example("millrace").proof
    assert told is not None
    (rules,) = example("millrace").records(RuleSet)
    places = {leg.zone for leg in rules.legs} | {"firewall"}
    pairs = {(door.source, door.target) for door in told.doors}
    assert pairs >= {(one, other) for one in places for other in places if one != other}
    by_pair = {(door.source, door.target): door for door in told.doors}
    assert not by_pair["guests", "servers"].passing
    assert {str(one.carried) for one in by_pair["payments", "outside"].passing} == {"tcp 443"}
    assert {flow for one in by_pair["outside", "servers"].passing for flow in one.flows} == {"allow-ticket-help"}
    files = next(reach for reach in told.machines if reach.holder == "files")
    assert ("staff", "tcp 445") in {(zone, str(one.carried)) for zone, one in files.into}
    assert {zone for zone, _ in files.into} <= {"staff", "management", "servers", "firewall", "cameras"}


def hostile(objects: list[dict[str, Any]], text: str) -> str:
    """A listing in which a rule, a chain and a table bear a text, and the rule lets everything through."""
    copied = json.loads(json.dumps(objects))
    first = next(one for one in copied if one.get("rule", {}).get("chain") == "forward")
    rule = {**first["rule"], "handle": 9999, "comment": text, "expr": [{"jump": {"target": text}}]}
    inner = {**rule, "chain": text, "handle": 9998, "expr": [{"accept": None}]}
    chain = {"family": "inet", "table": "office", "name": text, "handle": 77}
    place = copied.index(first)
    planted = [{"chain": chain}, *copied[:place], {"rule": rule}, {"rule": inner}, *copied[place:]]
    return json.dumps({"nftables": planted})


@pytest.mark.parametrize("text", EVERYTHING)
def test_what_stands_in_a_file_of_rules_stays_text(text: str) -> None:
    """No letter of it moves a terminal's cursor or turns the writing round."""
    one = case(example("fold"))
    assert one is not None
    told = proof(one, side_of(hostile(listed(one.rules), text), "live.json", one))
    assert not told.proved
    for difference in told.differences:
        for said in (difference.says, difference.rule, difference.packet):
            assert not any(ord(letter) < 32 or letter in "\u202e\u2066\x7f" for letter in said)


LISTED: dict[str, list[dict[str, Any]]] = {}


def listed(rules: RuleSet) -> list[dict[str, Any]]:
    """What the kernel lists of a list, asked once."""
    if rules.slug not in LISTED:
        LISTED[rules.slug] = kernel.listing(rules_text(rules, []))
    return LISTED[rules.slug]
