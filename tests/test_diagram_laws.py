"""Laws that sets obey, on diagrams of any boxes; equal means the same node."""

from collections.abc import Callable, Sequence
from random import Random
from typing import Any

from box_lists import form
from conftest import costly
from hypothesis import given
from hypothesis import strategies as st
from referees.corners import inside

from scantling.trials.proof.diagram import (
    Box, Diagram, Space, constant, differing, equal, first_match, intersect, minus, negation, of_boxes, union,
)  # fmt: skip

LASTS = (3, 2**32 - 1, 2**128 - 1, 1000)
SPACE = Space((f"d{place}", last) for place, last in enumerate(LASTS))
EMPTY, FULL = constant(SPACE, value=False), constant(SPACE, value=True)


def _box(random: Random) -> Box:
    return tuple(((0, last),) if random.random() < 0.3 else form(random, last) for last in LASTS)


boxes = st.builds(_box, st.randoms(use_true_random=False))
lists = st.lists(boxes, max_size=6)
sets = lists.map(lambda some: of_boxes(SPACE, some))
rules = st.lists(st.tuples(boxes, st.sampled_from("abc")), max_size=7)


@costly
@given(one=sets, other=sets, third=sets)
def test_sets(one: Diagram[bool], other: Diagram[bool], third: Diagram[bool]) -> None:
    assert union(one, other) == union(other, one)
    assert intersect(one, other) == intersect(other, one)
    assert union(union(one, other), third) == union(one, union(other, third)) == union(one, other, third)
    assert intersect(intersect(one, other), third) == intersect(one, other, third)
    assert intersect(one, union(other, third)) == union(intersect(one, other), intersect(one, third))
    assert union(one, intersect(one, other)) == one == intersect(one, union(one, other))
    assert negation(union(one, other)) == intersect(negation(one), negation(other))
    assert negation(intersect(one, other)) == union(negation(one), negation(other))
    assert negation(negation(one)) == one
    assert minus(one, other) == intersect(one, negation(other))
    assert union(one, negation(one)) == FULL
    assert minus(one, one) == EMPTY
    assert differing(one, other) == union(minus(one, other), minus(other, one))


@costly
@given(one=sets, other=sets)
def test_counts_add_up(one: Diagram[bool], other: Diagram[bool]) -> None:
    count = {value: one.count(value=value) for value in (True, False)}
    assert count[True] + count[False] == FULL.count(value=True)
    joined, common = union(one, other).count(value=True), intersect(one, other).count(value=True)
    assert joined + common == count[True] + other.count(value=True)


@costly
@given(some=lists, data=st.data())
def test_the_order_of_boxes_does_not_matter(some: list[Box], data: st.DataObject) -> None:
    shuffled = data.draw(st.permutations(some))
    one = of_boxes(SPACE, some)
    assert one == of_boxes(SPACE, shuffled) == _one_by_one(shuffled)
    assert one == of_boxes(SPACE, [*one.boxes(value=True)])


def _one_by_one(some: Sequence[Box]) -> Diagram[bool]:
    found = EMPTY
    for box in some:
        found = union(found, of_boxes(SPACE, [box]))
    return found


@costly
@given(listed=rules)
def test_a_list_and_what_is_made_of_it(listed: list[tuple[Box, str]]) -> None:
    """From its own paths, from its rules by hand, without rules that never decide: always the same node."""
    found = first_match(SPACE, listed, "d")
    assert found == first_match(SPACE, [*found.paths()], "never")
    numbered = first_match(SPACE, [(box, place) for place, (box, _) in enumerate(listed)], -1)
    assert found == first_match(
        SPACE, [rule for place, rule in enumerate(listed) if place in numbered.deciding()], "d"
    )
    left = FULL
    for place, (box, _) in enumerate(listed):
        mine = intersect(left, of_boxes(SPACE, [box]))
        assert numbered.where(_is(place)) == mine
        left = minus(left, mine)
    assert sum(found.count(value) for value in "abcd") == FULL.count(value=True)


@costly
@given(listed=rules, frame=boxes)
def test_witnesses_lie_inside(listed: list[tuple[Box, str]], frame: Box) -> None:
    found = first_match(SPACE, listed, "d")
    cut = found.restrict(frame, "outside")
    assert cut.deciding() - {"outside"} == found.deciding_in(frame)
    for value in cut.deciding() - {"outside"}:
        point = cut.witness(value)
        assert point is not None
        assert inside(frame, point)
        assert found.decide(point) == value
    for value in found.deciding():
        _corners_hold(found, value)


def _corners_hold(found: Diagram[Any], value: str) -> None:
    """Lowest and highest point of each box have its value."""
    for box in found.boxes(value):
        assert found.decide([form[0][0] for form in box]) == value
        assert found.decide([form[-1][1] for form in box]) == value


@costly
@given(listed=rules, other=rules)
def test_equality_is_agreement(listed: list[tuple[Box, str]], other: list[tuple[Box, str]]) -> None:
    one, two = first_match(SPACE, listed, "d"), first_match(SPACE, other, "d")
    apart = differing(one, two)
    point = apart.witness(value=True)
    assert (point is None) == equal(one, two)
    if point is not None:
        assert one.decide(point) != two.decide(point)
    assert apart == negation(_agreement(one, two))


def _agreement(one: Diagram[str], two: Diagram[str]) -> Diagram[bool]:
    return union(*(intersect(one.where(_is(value)), two.where(_is(value))) for value in "abcd"))


def _is(wanted: object) -> Callable[[object], bool]:
    return lambda value: value == wanted
