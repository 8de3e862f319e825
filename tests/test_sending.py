"""A plan with its inputs goes to another process and comes back whole: the same identity, units, workings, and pins."""

import pickle
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from offices import BRIEFS, ROOT, example, fold, millrace
from scantling import api
from scantling.api.comparing import planned
from scantling.plan.make import Plan, make
from scantling.plan.telling import canonical, identity

PINS = """
pins:
  purchase.near: {value: box-96, because: they have its twin}
  host.cores.needed: {value: "30", because: room to grow}
  money.labour.total: {value: 9000.00 EUR, because: agreed}
"""
ELSEWHERE = """
import pickle, sys
from scantling.plan.make import make
from scantling.plan.telling import identity
one = pickle.load(sys.stdin.buffer)
print(identity(one.plan), identity(make(one.inputs)))
"""


def sent(whole: Any) -> Any:
    """What comes out at the other end."""
    return pickle.loads(pickle.dumps(whole))  # noqa: S301 - our own


def with_pins(folder: Path) -> Path:
    """The Millrace Arts Centre's brief with pins on a choice, on a count and on money."""
    path = folder / "brief.yaml"
    path.write_text(millrace() + PINS, encoding="utf-8")
    return path


@pytest.mark.parametrize("scenario", list(BRIEFS))
def test_a_plan_comes_back_the_same(scenario: str) -> None:
    """With the second solver's word and the proof in it; every byte that is printed of it is the same."""
    made = example(scenario)
    back: Plan = sent(made)
    assert identity(back) == identity(made)
    assert canonical(back) == canonical(made)
    assert back.proof == made.proof


def test_every_unit_that_comes_back_is_the_one_that_is_known_here() -> None:
    """Columns of the catalogue are told apart by their unit: another one of the same name would be another column."""
    made = example("millrace")
    back: Plan = sent(made)
    assert all(back.figures[id_].unit is figure.unit for id_, figure in made.figures.items())
    for slot, option in made.purchase.chosen.options.items():
        assert all(back.purchase.chosen.options[slot].get(known) == value for known, value in option.own.items())


def test_a_working_that_came_back_reads_the_same() -> None:
    made = example("fold")
    back: Plan = sent(made)
    for id_ in list(made.figures)[::7]:
        assert api.why(back, id_) == api.why(made, id_)


def test_a_plan_with_pins_comes_back_whole_and_its_inputs_give_it_again(tmp_path: Path) -> None:
    one = planned(with_pins(tmp_path))
    assert set(one.plan.pins) == {"purchase.near", "host.cores.needed", "money.labour.total"}
    back = sent(one)
    assert identity(back.plan) == identity(one.plan)
    assert identity(make(back.inputs)) == identity(one.plan)


def test_another_process_reads_it_and_makes_the_same_plan(tmp_path: Path) -> None:
    """The other process has nothing in common with this one but the program itself."""
    for path in (with_pins(tmp_path), BRIEFS["fold"]):
        one = planned(path)
        done = subprocess.run(
            [sys.executable, "-c", ELSEWHERE],
            input=pickle.dumps(one), env={"PYTHONPATH": str(ROOT / "src")}, capture_output=True, check=True,
        )  # fmt: skip
        assert done.stdout.decode().split() == [identity(one.plan)] * 2


def test_a_brief_without_pins_has_none_after_the_way_either() -> None:
    assert fold().count("pins:") == 0
    assert sent(planned(BRIEFS["fold"])).inputs.pins == {}
