"""The bit cube: by itself against every point, and as a second engine held against the interval diagram."""

import subprocess
import sys
from itertools import product
from random import Random

import pytest
from box_lists import BoxList, another, changed, office, sites, small
from conftest import Scale
from referees.corners import first_place

from scantling.trials.cube import Box, Cube, Part
from scantling.trials.proof.diagram import Diagram, Space, differences, first_match


def test_every_point_of_small_spaces(scale: Scale) -> None:
    random = Random(30)
    for _ in range(scale(short=60, full=1500)):
        listed = small(random)
        cube, points = Cube(listed.lasts, listed.boxes), [*product(*(range(last + 1) for last in listed.lasts))]
        parts = cube.first_match(listed.rules, "d")
        assert sum(cube.points(part.cells) for part in parts) == len(points)
        for part in parts:
            mine = [
                point
                for point in points
                if first_place(listed.boxes, point) == (-1 if part.place is None else part.place)
            ]
            assert cube.points(part.cells) == len(mine)
            assert cube.witness(part.cells) == (mine[0] if mine else None)


@pytest.mark.parametrize("wide", [0, 16, 32, 128])
def test_the_same_as_the_diagram(wide: int, scale: Scale) -> None:
    """Two engines without a line in common: each rule decides as many points, from the same lowest one; so do two lists differ."""
    random = Random(31 + wide)
    for _ in range(scale(short=100, full=1500)):
        listed = small(random, wide=wide)
        other = another(random, listed)
        agree(listed, other)


def agree(listed: BoxList, other: BoxList) -> None:
    """Every answer of both engines."""
    cube = Cube(listed.lasts, [*listed.boxes, *other.boxes])
    space = Space(listed.dimensions)
    numbers = first_match(space, listed.numbered, None)
    parts, others = cube.first_match(listed.rules, "a"), cube.first_match(other.rules, "a")
    for part in parts:
        assert (cube.points(part.cells), cube.witness(part.cells)) == (
            numbers.count(part.place),
            numbers.witness(part.place),
        )
    found = differences(first_match(space, listed.rules, "a"), first_match(space, other.rules, "a"))
    apart = cube.differing(parts, others)
    assert cube.witness(apart) == (found.witness if found else None)
    assert cube.points(apart) == (found.count if found else 0)


@pytest.mark.parametrize("bits", [32, 128])
def test_planted_errors(bits: int, scale: Scale) -> None:
    """Small changes of an office's rules, one at a time: both engines say the same of each, and most change something."""
    random = Random(32)
    listed = office(scale(short=24, full=40), zones=4, bits=bits)
    space, harmful = Space(listed.dimensions), 0
    lists = [changed(random, listed) for _ in range(scale(short=40, full=400))]
    cube = Cube(listed.lasts, [*listed.boxes, *(box for one in lists for box in one.boxes)])
    right, parts = first_match(space, listed.rules, "drop"), cube.first_match(listed.rules, "drop")
    for wrong in lists:
        harmful += judged(cube, parts, right, wrong)
    assert harmful > len(lists) // 3


def judged(cube: Cube, parts: tuple[Part, ...], right: Diagram[str], wrong: BoxList) -> bool:
    """Whether a changed list differs, by both engines."""
    apart = cube.differing(parts, cube.first_match(wrong.rules, "drop"))
    found = differences(right, first_match(right.space, wrong.rules, "drop"))
    assert cube.witness(apart) == (found.witness if found else None)
    assert cube.points(apart) == (found.count if found else 0)
    return found is not None


def test_many_sites(scale: Scale) -> None:
    listed = sites(scale(short=40, full=90))
    agree(listed, changed(Random(33), listed))


def test_cells_stand_for_all_points() -> None:
    """What no box tells apart is one cell, also where it doesn't lie side by side."""
    pair: Box = (((10, 19), (30, 39)), ((443, 443),))
    cube = Cube((2**32 - 1, 65535), [pair])
    assert cube.cells == 4
    assert cube.points(cube.whole) == 2**48
    assert cube.points(cube.set_of(pair)) == 20
    assert cube.witness(cube.set_of(pair)) == (10, 443)
    assert cube.witness(0) is None


def test_what_is_refused() -> None:
    with pytest.raises(ValueError, match="cells are more than"):
        Cube((2**20,) * 4, [(((n, n),),) * 4 for n in range(200)])
    boxes: list[Box] = [(((0, 10),),), (((3, 2),),), ((),), (((4, 5), (0, 1)),), (((-1, 3),),), (((0, 3), (3, 5)),)]
    for box in boxes:
        with pytest.raises(ValueError, match="no intervals in order"):
            Cube((9,), [box])
    with pytest.raises(ValueError, match="2 dimensions instead of 1"):
        Cube((9,), [(((0, 1),), ((0, 1),))])
    with pytest.raises(KeyError):
        Cube((9,), []).set_of((((0, 1),),))


def test_parts_that_are_not_the_whole_are_told() -> None:
    """Its own check: one cell too many is found."""
    cube = Cube((9,), [(((0, 4),),), (((3, 6),),)])
    cube.whole |= 1 << cube.cells
    with pytest.raises(RuntimeError, match="not the whole"):
        cube.first_match([((((0, 4),),), "a"), ((((3, 6),),), "b")], "c")


def test_it_shares_no_code_with_the_diagram() -> None:
    told = "import sys, scantling.trials.cube; print([name for name in sys.modules if 'trials.proof' in name])"
    assert subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True).stdout == "[]\n"
