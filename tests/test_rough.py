"""The ten answers of a rough price that hold two things: what is wrong with one is told with both as they are written."""

import re

import pytest

from scantling.brief.rough import line


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("100/20", "the unit is missing; write 100/20 Mbit/s"),
        ("100/20 Mbit", '"Mbit" is not taken; write 100/20 Mbit/s'),
        ("100/", '"100/" lacks one of two speeds; write it like 200/40 Mbit/s'),
        ("100/fast", '"fast" is not a number; write both like 200/40 Mbit/s'),
        ("fast", '"fast" is not a number; write one like 100 Mbit/s, or both like 200/40 Mbit/s'),
    ],
)
def test_a_line_of_two_speeds_is_corrected_with_both(typed: str, says: str) -> None:
    with pytest.raises(ValueError, match=re.escape(says)):
        line(typed)


@pytest.mark.parametrize(
    ("typed", "speeds"),
    [
        ("200/40 Mbit/s", ("200 Mbit/s", "40 Mbit/s")), ("200 / 40 Mbit/s", ("200 Mbit/s", "40 Mbit/s")),
        ("100 Mbit/s", ("100 Mbit/s", "20 Mbit/s")), ("1/0.5 Gbit/s", ("1 Gbit/s", "0.5 Gbit/s")),
    ],
)  # fmt: skip
def test_a_line_is_read_as_one_speed_or_two(typed: str, speeds: tuple[str, str]) -> None:
    """Of a line of which one speed is told, the other is a fifth (common practice, no source)."""
    assert line(typed) == speeds
