"""Three accounts agree: what the proof of the kernel's own listing says of packets is what the kernel does; what is odd is told."""

import time
from collections.abc import Iterable
from dataclasses import replace
from ipaddress import ip_network
from random import Random
from typing import Any

import pytest

import kernel
from conftest import Scale
from kernel_proving import INCOMING, Proof, differ, differences, packets
from planted_offices import Running, running
from random_rules import LEGS, Dice, moment_of
from scantling.figures import RuleSet
from scantling.outputs.files.packet_filter import rules_text
from scantling.trials.probe.intended import probes
from scantling.trials.probe.judging import judge
from scantling.trials.probe.probing import Expected, Heard, Judgement, Probe, Seen
from scantling.trials.proof.headers import Header
from scantling.trials.proof.packet import headers, read_words
from scantling.trials.proof.packet import office as places_of
from scantling.trials.rehearsal.agreeing import Referee, agreement, living
from scantling.trials.rehearsal.boundaries import boundary_probes

OFFICES = ("millrace", "fold", "brackwater")


# --------------------------------------------------------------------------------------- the proof against the kernel


@pytest.mark.slow
def test_the_kernel_does_what_the_proof_of_its_listing_says(scale: Scale) -> None:
    """Random lists, as an ordinary user: each rule decides as many packets as proved, and each that goes out is to.

    The long count is a promise's (tests/promises/test_the_rehearsal_told.py).
    """
    assert verdicts(range(8000, 8000 + scale(short=12, full=40)), 150) > 3000


def verdicts(seeds: Iterable[int], tries: int) -> int:
    """How many packets proof and kernel judged alike; none otherwise."""
    tried = 0
    with kernel.Lab(LEGS, as_nobody=True) as lab:
        for seed in seeds:
            dice = Dice(Random(seed))
            rules = dice.rules()
            many, said = differences(lab, rules, rules_text(rules, []), dice, tries)
            assert said == "", seed
            tried += many
    return tried


def test_a_proof_of_other_rules_than_those_loaded_is_seen() -> None:
    """The same trial, of a kernel that drops what it was listed to accept."""
    seen = 0
    with kernel.Lab(LEGS, as_nobody=True) as lab:
        for seed in range(8):
            dice = Dice(Random(seed))
            rules = dice.rules()
            text = rules_text(rules, [])
            lab.load(text)
            proof = Proof(lab.ask("counted")["listing"])
            moment = moment_of(time.time())
            sent = list(packets(dice, rules, proof, moment, own=False, many=200))
            turned = text.replace('counter accept comment "r-', 'counter drop comment "r-')
            lab.load(turned)
            seen += bool(differ(lab, proof, sent, moment, INCOMING))
    assert seen >= 3


# ------------------------------------------------------------------------------------------------- the three accounts


def listed(one: Running, rules: RuleSet | None = None) -> list[dict[str, Any]]:
    """The kernel's listing of an office's rules, its sets filled as the script fills them."""
    return kernel.listing(rules_text(_filled(one, one.planned if rules is None else rules), []))


def _filled(one: Running, rules: RuleSet) -> RuleSet:
    """The rules with what names answer in their sets; addresses of lines stay as the file has them."""
    return replace(rules, sets=one.standing.sets)


def as_meant(probe: Probe) -> Judgement:
    """A try that went as the intents say."""
    passes = probe.expected is Expected.ALLOWED
    return judge(probe, Seen(probe.id, Heard.SILENCE, entered=True, left=passes))


def judgements(one: Running) -> list[Judgement]:
    """All tries of the intents and at the boundaries, as meant."""
    many = probes(one.case, one.office, one.now)
    return [as_meant(probe) for probe in (*many, *boundary_probes(one.case, one.office, one.now, many))]


@pytest.mark.parametrize("name", OFFICES)
def test_an_office_that_does_as_it_is_meant_agrees_with_itself(name: str) -> None:
    """The generated file as the kernel lists it: every packet as meant, every try of both families said alike."""
    one = running(name)
    many = judgements(one)
    found = agreement(one.case, listed(one), many, one.now, one.office)
    assert found.differences == ()
    assert found.agree == found.probes == len(many) > 1500
    assert "every packet fares as is meant" in found.proof
    assert {judgement.probe.family for judgement in many} == {4, 6}


def test_a_rule_that_is_missing_in_the_kernel_is_told_with_a_packet_that_can_be_asked_for() -> None:
    one = running("millrace")
    short = replace(one.planned, rules=tuple(rule for rule in one.planned.rules if rule.comment != "Backup"))
    found = agreement(one.case, listed(one, short), judgements(one), one.now, one.office)
    assert found.agree < found.probes
    assert "fare otherwise" in found.proof
    backup = [said for said in found.differences if said.startswith("copies to controller")]
    assert backup
    assert "the intents let it pass, the kernel's rules keep it out" in backup[0]
    assert "as a packet it passed" in backup[0]
    assert asked_again(one, backup[0]).target in {int(host) for host in one.office.station("controller").fixed}


def asked_again(one: Running, said: str) -> Header:
    """The packet in a sentence, read as scantling prove --packet reads it."""
    words = read_words(said[said.index(" [") + 2 : -1])
    grounds = [court.ground for court in one.case.courts]
    (found, *_) = headers(words, places_of(one.case.plan, one.planned.legs), grounds, ())
    return found[1]


def test_a_packet_that_goes_another_way_than_proved_is_told() -> None:
    """One that passed and should not have; one that did not; one that never came to the firewall."""
    one = running("fold")
    many = judgements(one)
    kept = next(place for place, it in enumerate(many) if it.probe.expected is Expected.KEPT_OUT)
    passed = next(place for place, it in enumerate(many) if it.probe.expected is Expected.ALLOWED)
    many[kept] = replace(many[kept], seen=replace(many[kept].seen, left=True))
    many[passed] = replace(many[passed], seen=replace(many[passed].seen, left=False))
    many[-1] = replace(many[-1], seen=replace(many[-1].seen, entered=False, left=False))
    found = agreement(one.case, listed(one), many, one.now, one.office)
    assert found.probes - found.agree == len(found.differences) == 3
    assert sum("as a packet it passed" in said for said in found.differences) == 1
    assert sum("as a packet it did not pass" in said for said in found.differences) == 1
    assert sum("it never came to the firewall" in said for said in found.differences) == 1
    assert "every packet fares as is meant" in found.proof


def test_sets_that_are_not_filled_are_found() -> None:
    """Parties known by names: what they answer must be in the sets, and nothing else."""
    one = running("millrace")
    bare = agreement(one.case, kernel.listing(rules_text(one.planned, [])), judgements(one), one.now, one.office)
    assert any("updates" in said or "processor" in said for said in bare.differences)
    odd = tuple((slug, (*nets, ip_network("198.51.100.99")), names) for slug, nets, names in one.standing.sets)
    more = agreement(
        one.case, kernel.listing(rules_text(replace(one.planned, sets=odd), [])), judgements(one), one.now, one.office
    )
    assert any("198.51.100.99" in said for said in more.differences)


def test_a_service_that_is_led_to_another_machine_is_told() -> None:
    one = running("brackwater")
    first, *rest = one.planned.translations
    assert first.to is not None
    led = replace(one.planned, translations=(replace(first, to=first.to + 1), *rest))
    found = agreement(one.case, listed(one, led), judgements(one), one.now, one.office)
    assert found.differences
    assert any("443" in said for said in found.differences)


@pytest.mark.parametrize("name", ["fold", "millrace"])
def test_reading_again_only_what_changed_comes_to_the_same(name: str, scale: Scale) -> None:
    """Listings of planted files, one after the other: the quick proof says what the whole one says, and what the cube implies."""
    one = running(name)
    referee = Referee(living(one.case, one.office, one.now), one.office, one.now)
    assert referee.proves_again(listed(one))
    for wrong in one.wrongs[:: scale(short=15, full=8)]:
        objects = kernel.listing(wrong.planted.text(rules_text(_filled(one, one.planned), [])))
        proved = referee.proves_again(objects)
        assert proved == referee.proves(referee.side(objects))
        assert not proved or wrong.effect is None, (wrong.planted.change, wrong.planted.rule)
    assert referee.proves_again(listed(one))
