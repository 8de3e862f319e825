"""Lines: speeds against the busiest hour; every finding raised from a changed brief."""

import pytest

from offices import changed, fold, millrace, planned
from scantling.figures import Line

MILLRACE, FOLD = millrace(), fold()


def _codes(text: str) -> set[str]:
    return {told.finding.code for told in planned(text).findings}


def test_busiest_hour_by_hand() -> None:
    """35 people x 5 + 90 devices x 1.5 + 4 calls x 0.0872 Mbit/s."""
    plan = planned(MILLRACE)
    assert plan.figures["line.down-needed"].value == pytest.approx(35 * 5 + 90 * 1.5 + 4 * 0.0872)
    assert plan.figures["line.up-needed"].value == pytest.approx(35 * 1 + 90 * 0.25 + 4 * 0.0872)
    assert plan.figures["line.down"].value == 500, "the line that stands by is not counted"


def test_lines_are_recorded() -> None:
    """With what stands by marked."""
    assert [(line.slug, line.standby) for line in planned(MILLRACE).records(Line)] == [
        ("fibre", False),
        ("standby", True),
    ]


@pytest.mark.parametrize(
    ("code", "old", "new"),
    [
        ("L-1", "down: 500 Mbit/s", "down: 50 Mbit/s"),
        ("L-1", "up: 100 Mbit/s", "up: 10 Mbit/s"),
        ("L-2", ", standby: yes", ""),
        ("L-3", "down: 60 Mbit/s", "down: 6 Mbit/s"),
    ],
)
def test_findings(code: str, old: str, new: str) -> None:
    """Each is raised by one changed line, and not without it."""
    assert code not in _codes(MILLRACE)
    assert code in _codes(changed(MILLRACE, old, new))


def test_a_small_office_has_enough() -> None:
    """Seven people at the horizon on 250 Mbit/s; one line only."""
    codes = _codes(FOLD)
    assert "L-1" not in codes
    assert "L-2" in codes
