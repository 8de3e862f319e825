"""The interval diagram: what it answers, against every point of small spaces, and what it refuses."""

from collections.abc import Callable
from functools import partial
from itertools import product
from random import Random

import pytest
from box_lists import BoxList, another, form, small
from conftest import Scale
from referees.corners import first_place, inside

from scantling.trials.proof import nodes
from scantling.trials.proof.diagram import (
    Box, Diagram, Space, TooLargeError, constant, differences, equal, first_match, intersect, minus, of_boxes, overlaid, paired, union,
)  # fmt: skip

Points = dict[tuple[int, ...], int]


def every_point(listed: BoxList) -> Points:
    """Each point with the place of the first rule that matches."""
    points = product(*(range(last + 1) for last in listed.lasts))
    return {point: first_place(listed.boxes, point) for point in points}


def verdict(listed: BoxList, place: int) -> str:
    return listed.rules[place][1] if place >= 0 else "a"


def test_every_point_of_small_spaces(scale: Scale) -> None:
    random = Random(20)
    for _ in range(scale(short=60, full=1500)):
        listed = small(random)
        space, points = Space(listed.dimensions), every_point(listed)
        numbers, verdicts = first_match(space, listed.numbered, -1), first_match(space, listed.rules, "a")
        assert {point: numbers.decide(point) for point in points} == points
        assert {point: verdicts.decide(point) for point in points} == {
            point: verdict(listed, place) for point, place in points.items()
        }
        assert numbers.told(partial(verdict, listed)) == verdicts
        assert numbers.deciding() == set(points.values())


def test_questions_of_small_spaces(scale: Scale) -> None:
    random = Random(21)
    for _ in range(scale(short=40, full=800)):
        listed = small(random)
        space, points = Space(listed.dimensions), every_point(listed)
        asked(first_match(space, listed.numbered, -1), points)
        frame = tuple(form(random, last) for last in listed.lasts)
        framed(first_match(space, listed.numbered, -1), points, frame)


def asked(numbers: Diagram[int], points: Points) -> None:
    """Counts, witnesses and boxes of every value."""
    assert sum(numbers.count(value) for value in numbers.deciding()) == len(points)
    for value in {*numbers.deciding(), 77}:
        mine = [point for point, place in points.items() if place == value]
        boxes = [*numbers.boxes(value)]
        assert numbers.count(value) == len(mine)
        assert numbers.witness(value) == (mine[0] if mine else None)
        assert sorted(point for box in boxes for point in points if inside(box, point)) == mine
    paths = [*numbers.paths()]
    for point, place in points.items():
        assert [value for box, value in paths if inside(box, point)] == [place]


def framed(numbers: Diagram[int], points: Points, frame: Box) -> None:
    """What is left inside a box."""
    within = {point: place for point, place in points.items() if inside(frame, point)}
    cut = numbers.restrict(frame, outside=99)
    assert {point: cut.decide(point) for point in points} == {point: within.get(point, 99) for point in points}
    assert numbers.deciding_in(frame) == set(within.values())


def test_differences_of_small_spaces(scale: Scale) -> None:
    random = Random(22)
    for _ in range(scale(short=40, full=800)):
        listed = small(random)
        other = another(random, listed)
        space, points, others = Space(listed.dimensions), every_point(listed), every_point(other)
        apart = [p for p in points if verdict(listed, points[p]) != verdict(other, others[p])]
        one, two = first_match(space, listed.rules, "a"), first_match(space, other.rules, "a")
        found = differences(one, two)
        assert equal(one, two) == (not apart) == (one == two)
        assert (found is None) == (not apart)
        if found is not None:
            assert (found.witness, found.count) == (apart[0], len(apart))
            assert sorted(p for box in found.boxes for p in apart if inside(box, p)) == apart
        both = paired(one, two)
        assert all(both.decide(p) == (one.decide(p), two.decide(p)) for p in points)


def test_laid_over_each_other(scale: Scale) -> None:
    """The first diagram that says something decides, as one list of all their rules."""
    random = Random(23)
    for _ in range(scale(short=40, full=500)):
        lists = [listed := small(random), *(another(random, listed, 3) for _ in range(random.randint(0, 6)))]
        space = Space(listed.dimensions)
        laid = overlaid([first_match(space, one.rules, "silent") for one in lists], "silent")
        assert laid == first_match(space, [rule for one in lists for rule in one.rules], "silent")


def test_the_same_node_whatever_the_way() -> None:
    """Two networks side by side are one network; a rule hidden by an earlier one is none."""
    space = Space([("source", 2**128 - 1), ("port", 65535)])
    low, high, both = ((0, 2**127 - 1),), ((2**127, 2**128 - 1),), ((0, 2**128 - 1),)
    https = ((443, 443),)
    joined = of_boxes(space, [(low, https), (high, https)])
    assert joined == of_boxes(space, [(both, https)]) == of_boxes(space, [((*low, *high), https), (low, https)])
    assert joined.root == of_boxes(space, [(both, https)]).root
    assert joined.count(value=True) == 2**128
    assert joined.witness(value=True) == (0, 443)
    assert [*joined.boxes(value=True)] == [(both, https)]


def test_values_of_every_kind() -> None:
    """True is not 1, and nothing is a value as well."""
    space = Space([("number", 9)])
    rules: list[tuple[Box, object]] = [((((0, 1),),), True), ((((2, 3),),), 1), ((((4, 5),),), None)]
    found = first_match(space, rules, default="else")
    assert [type(found.decide((number,))) for number in (0, 2, 4, 6)] == [bool, int, type(None), str]
    assert (found.count(value=True), found.count(1), found.count(None), found.count("else")) == (2, 2, 2, 4)
    assert found.where(lambda value: value is None).count(value=True) == 2


def test_nothing_to_say() -> None:
    space = Space([("number", 9)])
    assert first_match(space, [], "drop") == constant(space, "drop")
    assert of_boxes(space, []).witness(value=True) is None
    empty = Space([])
    assert first_match(empty, [((), "accept"), ((), "drop")], "drop").decide(()) == "accept"
    assert first_match(empty, [((), "accept")], "drop").count("accept") == 1


@pytest.mark.parametrize(
    "forms",
    [
        (((0, 10),), ((0, 0),)),
        (((-1, 3),), ((0, 0),)),
        (((3, 2),), ((0, 0),)),
        (((0, 3), (3, 5)), ((0, 0),)),
        (((4, 5), (0, 1)), ((0, 0),)),
        ((), ((0, 0),)),
        (((0, 3),),),
        (((0, 3),), ((0, 0),), ((0, 0),)),
    ],
)
def test_what_is_no_box(forms: Box) -> None:
    space = Space([("number", 9), ("other", 9)])
    asks: list[Callable[[], object]] = [
        lambda: of_boxes(space, [forms]),
        lambda: constant(space, "a").deciding_in(forms),
        lambda: constant(space, "a").restrict(forms, "b"),
    ]
    for ask in asks:
        with pytest.raises(ValueError, match=r"intervals in order and apart|dimensions"):
            ask()


def test_what_is_no_point_and_no_space() -> None:
    space = Space([("number", 9)])
    for point in ((), (10,), (-1,), (0, 0)):
        with pytest.raises(ValueError, match="no point"):
            constant(space, "a").decide(point)
    with pytest.raises(ValueError, match="one name"):
        Space([("a", 1), ("a", 1)])
    with pytest.raises(ValueError, match="0 or more"):
        Space([("a", -1)])
    with pytest.raises(KeyError, match="nuber"):
        space.box(nuber=((0, 1),))


def test_what_is_too_large_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Boxes that cross each other everywhere: an error, not the end of the memory."""
    space = Space([("a", 999), ("b", 999), ("c", 999)])
    crossing: list[Box] = [
        (((n, n + 90),), ((7 * n % 900, 7 * n % 900 + 90),), ((11 * n % 900, 11 * n % 900 + 90),))
        for n in range(0, 900, 5)
    ]
    edges = space.nodes.edges
    assert first_match(space, [(box, place) for place, box in enumerate(crossing)], -1).count(0) == 91**3
    monkeypatch.setattr(nodes, "MOST_EDGES", (space.nodes.edges - edges) // 2)
    with pytest.raises(TooLargeError, match="cross each other"):
        of_boxes(Space(zip(space.names, space.lasts, strict=True)), crossing)


def test_two_spaces_are_not_held_against_each_other() -> None:
    one, other = (constant(Space([("number", 9)]), value=True) for _ in range(2))
    for ask in (union, intersect, minus, equal, differences, paired):
        with pytest.raises(ValueError, match="different spaces"):
            ask(one, other)
    with pytest.raises(ValueError, match="no diagram"):
        union()
