"""A subnet that stands is told when homes use the same numbers (A-9) or it is somebody's on the Internet (A-19), and else is not."""

import pytest
from offices import changed, fold
from standing_samples import STANDS

from scantling import api

OUTSIDE = changed(
    changed(STANDS, "  block: 10.71.0.0/16\n", ""), "  addresses:\n",
    "    workshop: {number: 85, network: 192.168.1.0/24, gateway: 192.168.1.254}\n  addresses:\n",
)  # fmt: skip


def told(stands: str, code: str = "A-9") -> list[str]:
    """What a finding says beside such a standing file."""
    return [one.says for one in api.plan_text(fold(), stands=stands).findings if one.finding.code == code]


def test_a_subnet_that_homes_use_is_told() -> None:
    (says,) = told(OUTSIDE)
    assert "192.168.1.0/24" in says
    assert "workshop" in says


@pytest.mark.parametrize("stands", [STANDS, OUTSIDE.replace("192.168.1.", "172.29.7.")])
def test_one_that_no_home_uses_is_not(stands: str) -> None:
    assert not told(stands)


@pytest.mark.parametrize("network", ["8.8.8", "172.32.1", "192.169.1", "203.0.113"])
def test_a_public_subnet_is_told(network: str) -> None:
    """The private blocks are those of RFC 1918; blocks for examples stand for public ones (RFC 5737)."""
    (says,) = told(OUTSIDE.replace("192.168.1.", f"{network}."), "A-19")
    assert f"{network}.0/24 of workshop" in says


@pytest.mark.parametrize("network", ["10.9.8", "172.31.1", "192.168.1", "100.64.3"])
def test_a_private_subnet_is_not(network: str) -> None:
    assert not told(OUTSIDE.replace("192.168.1.", f"{network}."), "A-19")
