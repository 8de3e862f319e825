"""Planted errors: chosen evenly, one change each, judged by a cube that a plain reading confirms, seen by tries at boundaries."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from random import Random
from typing import Any

import pytest

import kernel
from conftest import Scale
from ordinary_user import as_ordinary, quiet
from planted_offices import Point, Running, first, lies, read_plainly, running
from scantling.figures import RuleSet
from scantling.trials.rehearsal.boundaries import boundary_probes, key_of
from scantling.trials.rehearsal.cubing import Effect, packet
from scantling.trials.rehearsal.lists import flat
from scantling.trials.rehearsal.loading import in_room, listing, load
from scantling.trials.rehearsal.passages import Form, Passage
from scantling.trials.rehearsal.planted import (
    ENOUGH, LEFT_OUT, OPEN_SLUG, SWAPPED, TABLES, Planted, candidates, chain_lines, chosen,
)  # fmt: skip
from scantling.trials.rehearsal.rooms import empty, here
from scantling.trials.rehearsal.sandbox import Inside, run
from scantling.trials.rehearsal.slips import SLIPS

OFFICES = ("millrace", "fold", "brackwater")


# ---------------------------------------------------------------------------------------------------------- the choice


@pytest.mark.parametrize("name", OFFICES)
def test_enough_errors_are_chosen_evenly(name: str) -> None:
    """Every kind, every chain, both families, a hundred rules and more; of no rule many."""
    wrongs = running(name).wrongs
    telling = [one.planted for one in wrongs if one.effect is not None]
    assert len(telling) == ENOUGH
    assert {one.planted.change for one in wrongs} >= {*SLIPS, LEFT_OUT}
    assert {one.chain for one in telling} >= {"early", "input", "forward", "output", "leaving"}
    by_family = Counter(one.family for one in telling)
    assert min(by_family[4], by_family[6]) > 50
    by_rule = Counter(one.rule for one in telling)
    assert len(by_rule) > 75
    broad = {"r-20001", "r-20002", "r-90001", "masked"}
    assert max(count for rule, count in by_rule.items() if rule not in broad) <= 8


def test_the_choice_is_the_same_every_time() -> None:
    one = running("fold")
    again = chosen(one.planned, one.cubing, 40)
    assert [(wrong.planted, wrong.effect) for wrong in again] == [
        (wrong.planted, wrong.effect) for wrong in chosen(one.planned, one.cubing, 40)
    ]
    assert [wrong.planted for wrong in again] == [wrong.planted for wrong in one.wrongs[: len(again)]]


# ----------------------------------------------------------------------------------------------------- the loaded file


@pytest.mark.parametrize("name", OFFICES)
def test_the_loaded_file_is_the_generated_file_but_for_one_change(name: str) -> None:
    """The lines of one rule or translation in one chain, or two rules that change places."""
    one = running(name)
    for wrong in one.wrongs:
        planted = wrong.planted
        text = planted.text(one.generated)
        changed = {chain for chain in TABLES if chain_lines(text, chain) != chain_lines(one.generated, chain)}
        assert changed == {planted.chain}
        before, after = one.generated.splitlines(), text.splitlines()
        gone, new = Counter(before) - Counter(after), Counter(after) - Counter(before)
        if gone or new:
            assert len({*map(named, gone), *map(named, new)} - {OPEN_SLUG}) <= 1
        else:
            assert planted.change == SWAPPED
            moved = {named(a) for a, b in zip(before, after, strict=True) if a != b} - {planted.rule}
            assert any(without(before, planted.rule, rule) == without(after, planted.rule, rule) for rule in moved)


def named(line: str) -> str:
    """The rule or translation that a line is of."""
    return line.rpartition('comment "')[2].split()[0].rstrip('"')


def without(lines: Sequence[str], *rules: str) -> list[str]:
    """The lines that are of no such rule, in order."""
    return [line for line in lines if 'comment "' not in line or named(line) not in rules]


@pytest.mark.slow
def test_every_planted_file_is_taken_by_the_kernel(scale: Scale) -> None:
    one = running("fold")
    for wrong in one.wrongs[:: scale(short=20, full=2)]:
        assert kernel.accepted(wrong.planted.text(one.generated)) == "", wrong.planted.change


@pytest.mark.slow
def test_an_amended_kernel_holds_what_the_planted_file_says_and_then_the_generated_one_again(scale: Scale) -> None:
    """Only the lines that differ are touched: listed back it is the same as when the whole file is loaded, but for handles."""
    one = running("fold")
    chosen_ones = [wrong.planted for wrong in one.wrongs[:: scale(short=16, full=4)]]
    pairs = as_ordinary(lambda: run(partial(amended_and_loaded, one.generated, chosen_ones), quiet, "one-id"))
    assert len(pairs) == len(chosen_ones) + 1
    for amended, loaded in pairs:
        assert amended == loaded


def amended_and_loaded(generated: str, many: Sequence[Planted], inside: Inside) -> list[tuple[list[Any], list[Any]]]:
    """What the kernel holds after each amendment, and after the planted file was loaded elsewhere; last, the generated file again."""
    del inside
    home = here("home")
    office, beside = (in_room(empty(name, home.descriptor)) for name in ("office", "beside"))
    found = []
    load(office, generated.encode())
    for planted in many:
        done = office(("nft", "-f", "-"), planted.amendment(generated, listing(office)).encode())
        load(beside, planted.text(generated).encode())
        assert not done.returncode, done.stderr
        found.append((bare(listing(office)), bare(listing(beside))))
        back = planted.amendment(generated, listing(office), back=True)
        done = office(("nft", "-f", "-"), back.encode())
        assert not done.returncode, done.stderr
    load(beside, generated.encode())
    return [*found, (bare(listing(office)), bare(listing(beside)))]


def bare(objects: Sequence[dict[str, Any]]) -> list[Any]:
    """A listing without handles, which differ each time, and in the order of the chains."""
    return [_bare(one) for one in objects if "metainfo" not in one]


def _bare(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _bare(one) for key, one in value.items() if key != "handle"}
    return [_bare(one) for one in value] if isinstance(value, list) else value


# ------------------------------------------------------------------------------------------------------------ the judge


@pytest.mark.parametrize("name", OFFICES)
def test_the_cube_reads_rules_as_a_plain_reading_does(name: str, scale: Scale) -> None:
    """Random packets on the edges of random rules: tests/referees/filtering.py, which shares nothing with it, says the same."""
    one, random = running(name), Random(name)
    passages = [passage for passage in one.cubing.rows if passage.state != "established"]
    passed = 0
    for _ in range(scale(short=700, full=7000)):
        passage = random.choice(passages)
        at = near(random, passage, one)
        said = first(flat(one.cubing.rows[passage]), at)
        assert said == read_plainly(one.standing, packet(passage, at)), (passage, at)
        passed += said.passes
    assert passed > 10


def near(random: Random, passage: Passage, one: Running) -> Point:
    """A packet of a passage with each number on an edge of some rule's there, or any."""
    box = random.choice([box for box, _ in flat(one.cubing.rows[passage])])
    numbers = [_edge(random, mine, whole) for mine, whole in zip(box, passage.box, strict=True)]
    return (numbers[0], numbers[1], numbers[2], numbers[3])


def _edge(random: Random, mine: Form, whole: Form) -> int:
    first_, last = random.choice(mine)
    number = random.choice((first_, last, first_ - 1, last + 1, random.randint(first_, last)))
    return number if lies((whole,), (number,)) else first_


@pytest.mark.parametrize("name", OFFICES)
def test_each_packet_that_shows_an_effect_fares_otherwise_by_a_plain_reading(name: str) -> None:
    one = running(name)
    for wrong in one.wrongs:
        if wrong.effect is not None and not wrong.effect.answer:
            changed = replace(
                one.standing, rules=wrong.planted.rules.rules, translations=wrong.planted.rules.translations
            )
            sent = wrong.effect.packet
            assert read_plainly(one.standing, sent) == wrong.effect.before
            assert read_plainly(changed, sent) == wrong.effect.after != wrong.effect.before


@pytest.mark.parametrize("name", OFFICES)
def test_an_answer_that_is_lost_is_told_by_what_passes_to_be_answered(name: str) -> None:
    """What is asked passes; its answer, read plainly, passes by the right rules and by the wrong ones does not, or the other way."""
    one = running(name)
    answers = [wrong for wrong in one.wrongs if wrong.effect is not None and wrong.effect.answer]
    assert {wrong.planted.rule for wrong in answers} >= {"r-20001"}
    for wrong in answers:
        assert wrong.effect is not None
        asked = wrong.effect.packet
        assert read_plainly(one.standing, asked).passes
        interface = next((leg.interface for leg in one.standing.legs if leg.zone == asked.toward), "")
        back = asked._replace(
            origin=interface, zone=asked.toward, toward=asked.zone, state="established", source=asked.target,
            target=asked.source, port=40000,
        )  # fmt: skip
        changed = replace(one.standing, rules=wrong.planted.rules.rules)
        assert read_plainly(one.standing, back) == wrong.effect.before
        assert read_plainly(changed, back) == wrong.effect.after != wrong.effect.before


def test_what_has_no_effect_has_none_on_random_packets_either(scale: Scale) -> None:
    """On the edges of the changed rules nothing fares otherwise by a plain reading."""
    one, random = running("fold"), Random(3)
    idle = [wrong.planted for wrong in one.wrongs if wrong.effect is None]
    assert len(idle) > 8
    passages = [passage for passage in one.cubing.rows if passage.state == "new"]
    for planted in idle:
        changed = replace(one.standing, rules=planted.rules.rules, translations=planted.rules.translations)
        for _ in range(scale(short=30, full=300)):
            passage = random.choice(passages)
            sent = packet(passage, near(random, passage, one))
            if passage.chain == planted.chain or planted.chain not in {"input", "forward", "output"}:
                assert read_plainly(changed, sent) == read_plainly(one.standing, sent), (planted.change, sent)


def test_the_judge_tells_a_real_change_from_none() -> None:
    """By hand: a rule without which a flow is barred, a port too many, a slip that an early rule makes good, a line out of order."""
    one = running("millrace")
    backup = next(rule for rule in one.planned.rules if rule.comment == "Backup" and rule.family == 4)
    place = one.planned.rules.index(backup)
    rest = (one.planned.rules[:place], one.planned.rules[place + 1 :])
    gone = effect(one, replace(one.planned, rules=(*rest[0], *rest[1])))
    assert gone is not None
    assert (gone.packet.zone, gone.packet.toward, gone.before.passes, gone.after.passes) == (
        "servers",
        "management",
        True,
        False,
    )
    wide = replace(backup, ports=((22, 22), (445, 446)))
    more = effect(one, replace(one.planned, rules=(*rest[0], wide, *rest[1])))
    assert more is not None
    assert (more.packet.protocol, more.packet.port, more.after.passes) == (6, 446, True)
    anyone = replace(backup, sources=(*backup.sources, *one.planned.legs[2].networks))
    assert effect(one, replace(one.planned, rules=(*rest[0], anyone, *rest[1]))) is None, (
        "nobody sends from there in their name"
    )
    assert effect(one, one.planned) is None


def effect(one: Running, changed: RuleSet) -> Effect | None:
    return one.cubing.effect(changed)


# ------------------------------------------------------------------------------------------------------------ the tries


@pytest.mark.parametrize("name", OFFICES)
def test_tries_at_boundaries_see_every_planted_error(name: str) -> None:
    """Each error with an effect on what begins is seen by one of them at least, read row by row: none but by chance is the claim."""
    one = running(name)
    missed = [
        (wrong.planted.change, wrong.planted.rule, wrong.planted.chain)
        for wrong in one.wrongs
        if wrong.effect is not None and not wrong.effect.answer and not one.seen_by_tries(wrong.planted)
    ]
    assert missed == []


def test_each_rule_is_decided_on_by_a_try(scale: Scale) -> None:
    """Every rule of the list that is left out and missed at all is missed by one of the tries."""
    one = running("millrace")
    left_out = [planted for planted in candidates(one.planned) if planted.change == LEFT_OUT][
        :: scale(short=5, full=1)
    ]
    telling = [
        planted
        for planted in left_out
        if (found := one.cubing.effect(planted.rules, planted.chain)) is not None and not found.answer
    ]
    assert len(telling) > scale(short=25, full=150)
    assert [planted.rule for planted in telling if not one.seen_by_tries(planted)] == []


def test_tries_at_boundaries_are_no_more_than_are_needed() -> None:
    """Some thousands at most, each once, none that is known already."""
    one = running("millrace")
    keys = [key_of(probe) for probe in one.bounds]
    assert len(keys) == len({*keys}) < 5000
    assert boundary_probes(one.case, one.office, one.now, one.bounds) == []
    few = boundary_probes(one.case, one.office, one.now, one.bounds[10:])
    assert {key_of(probe) for probe in few} == {*keys[:10]}
    assert min(probe.id for probe in few) > max(probe.id for probe in one.bounds)


# ----------------------------------------------------------------------------------------------------- the living office
