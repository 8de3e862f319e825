"""A subnet that stands outside the office's block is told when homes use the same numbers (A-9), and else is not."""

import pytest
from offices import changed, fold
from standing_samples import STANDS

from scantling import api

OUTSIDE = changed(
    changed(STANDS, "  block: 10.71.0.0/16\n", ""), "  addresses:\n",
    "    workshop: {number: 85, network: 192.168.1.0/24, gateway: 192.168.1.254}\n  addresses:\n",
)  # fmt: skip


def told(stands: str) -> list[str]:
    """What A-9 says beside such a standing file."""
    return [one.says for one in api.plan_text(fold(), stands=stands).findings if one.finding.code == "A-9"]


def test_a_subnet_that_homes_use_is_told() -> None:
    (says,) = told(OUTSIDE)
    assert "192.168.1.0/24" in says
    assert "workshop" in says


@pytest.mark.parametrize("stands", [STANDS, OUTSIDE.replace("192.168.1.", "172.29.7.")])
def test_one_that_no_home_uses_is_not(stands: str) -> None:
    assert not told(stands)
