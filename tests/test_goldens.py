"""Headline figures, findings, identity and drawings of the example offices are as they were written down.

When a change moves them on purpose: `python tools/goldens.py --write`, and put the list it prints into the commit.
"""

import base64
import re
from pathlib import Path

import pytest
from offices import BRIEFS, example, fold, planned

import goldens
from scantling.outputs.drawings.drawn import drawings
from scantling.plan.make import Plan
from scantling.plan.telling import identity

every = pytest.mark.parametrize("scenario", list(BRIEFS))


def plan_of(scenario: str) -> Plan:
    """The plan as everybody else gets it."""
    return example(scenario)


def test_the_goldens_are_those_of_the_examples() -> None:
    assert goldens.SCENARIOS == BRIEFS


@every
def test_about_sixty_headline_figures_and_none_twice(scenario: str) -> None:
    ids = goldens.headlines(scenario)
    assert 60 <= len(ids) <= 80
    assert len(set(ids)) == len(ids)
    assert {id_.split(".")[0] for id_ in ids} >= {
        "purchase",
        "host",
        "addresses",
        "storage",
        "backup",
        "power",
        "money",
    }


@every
def test_headline_figures_findings_and_identity_are_as_written_down(scenario: str) -> None:
    values = goldens.told(plan_of(scenario), goldens.headlines(scenario))
    told = list(goldens.moved(goldens.kept(scenario), values))
    assert not told, "\n".join([*told, "if this is meant: python tools/goldens.py --write"])


@every
def test_drawings_are_as_written_down(scenario: str) -> None:
    """Text against text; tools/goldens.py --sheet shows before and after."""
    told = goldens.moved_drawings(goldens.kept_drawings(scenario), drawings(plan_of(scenario)))
    assert not told, f"moved: {', '.join(told)}; if this is meant: python tools/goldens.py --write"


def test_a_remark_in_a_brief_moves_nothing_and_a_figure_moves_the_identity() -> None:
    """The identity leaves out lines and remarks of the brief."""
    same = planned("# a remark\n\n" + fold())
    other = planned(fold().replace("heads: 4", "heads: 5"))
    assert identity(same) == identity(plan_of("fold")) != identity(other)


def test_what_moved_is_told_with_before_and_after() -> None:
    before = {"a": "1 TB", "b": "2", "gone": "3"}
    after = {"a": "1 TB", "b": "4", "new": "5"}
    assert list(goldens.moved(before, after)) == ["b: 2 → 4", "new: nothing → 5", "gone: 3 → nothing"]


def test_a_golden_drawing_that_moved_stands_beside_the_one_before() -> None:
    page = goldens.contact_sheet({"fold <N-1>": ("<svg>old</svg>", "<svg>new</svg>"), "fold S-1": ("", "<svg/>")})
    shown = [base64.b64decode(found).decode() for found in re.findall(r"base64,([^\"]+)", page)]
    assert shown == ["<svg>old</svg>", "<svg>new</svg>", "<svg/>"]
    assert "<N-1>" not in page


def test_writing_takes_away_a_drawing_that_is_no_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(goldens, "FOLDER", tmp_path)
    goldens.write("fold", {"a": "1"}, {"N-1": "<svg/>", "N-9": "<svg/>"})
    goldens.write("fold", {"a": "2"}, {"N-1": "<svg>2</svg>"})
    assert goldens.kept("fold") == {"a": "2"}
    assert goldens.kept_drawings("fold") == {"N-1": "<svg>2</svg>"}
