"""The interval diagram against every point of small spaces."""

from itertools import product
from random import Random

import pytest
from conftest import Scale

from scantling.trials.proof.diagram import Box, Intervals, Point, Space, differences, first_match


def intervals(random: Random, last: int) -> Intervals:
    found: list[tuple[int, int]] = []
    for number in sorted(random.sample(range(last + 1), random.randint(1, last + 1))):
        if found and found[-1][1] + 1 == number:
            found[-1] = (found[-1][0], number)
        else:
            found.append((number, number))
    return tuple(found)


def box(random: Random, space: Space) -> Box:
    return tuple(((0, last),) if random.random() < 0.3 else intervals(random, last) for last in space.lasts)


def inside(box: Box, point: Point) -> bool:
    return all(any(first <= number <= last for first, last in runs) for runs, number in zip(box, point, strict=True))


def rules(random: Random, space: Space) -> list[tuple[Box, int]]:
    return [(box(random, space), random.randint(0, 3)) for _ in range(random.randint(0, 8))]


@pytest.mark.parametrize("seed", range(4))
def test_every_point_of_small_spaces(seed: int, scale: Scale) -> None:
    random = Random(seed)
    for _ in range(scale(short=40, full=500)):
        space = Space((f"d{place}", random.randint(0, 6)) for place in range(random.randint(1, 3)))
        points = list(product(*(range(last + 1) for last in space.lasts)))
        listed, others, frame = rules(random, space), rules(random, space), box(random, space)
        verdicts, other = first_match(space, listed, 0), first_match(space, others, 0)
        numbers = first_match(space, [(one, number) for number, (one, _) in enumerate(listed)], -1)
        first = {
            point: next((number for number, (one, _) in enumerate(listed) if inside(one, point)), -1)
            for point in points
        }
        assert {point: numbers.decide(point) for point in points} == first
        assert numbers.deciding() == set(first.values())
        assert numbers.told(lambda number: listed[number][1] if number >= 0 else 0) == verdicts
        for value in range(4):
            mine = [point for point in points if verdicts.decide(point) == value]
            assert verdicts.count(value) == len(mine)
            assert verdicts.witness(value) == (mine[0] if mine else None)
            assert sorted(point for one in verdicts.boxes(value) for point in points if inside(one, point)) == mine
        framed = verdicts.restrict(frame, outside=9)
        assert all(framed.decide(p) == (verdicts.decide(p) if inside(frame, p) else 9) for p in points)
        assert verdicts.deciding_in(frame) == {verdicts.decide(point) for point in points if inside(frame, point)}
        apart = [point for point in points if verdicts.decide(point) != other.decide(point)]
        found = differences(verdicts, other)
        assert (found is None) == (not apart)
        if found is not None:
            assert (found.witness, found.count) == (apart[0], len(apart))
            assert sorted(p for one in found.boxes for p in apart if inside(one, p)) == apart
