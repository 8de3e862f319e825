"""Hostile text stays text on every sheet; lettering is measured, broken and cut to its room; contrast is readable."""

import os
import subprocess
import sys
import unicodedata
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawing_cabinets import hostile_cabinet
from drawing_networks import hostile_doored, hostile_map, hostile_matrix, hostile_paths
from drawing_networks import schedule as schedule_of
from drawing_reading import SVG, labels, root
from drawing_stress import HOSTILE, hostile_rooms, hostile_section
from scantling.outputs.drawings import (
    address_map, cabinet, door_schedule, matrix, paths, rooms, schedule, section, svg,
)  # fmt: skip
from scantling.outputs.drawings.lettering import BOOK, EVEN, SIGN, Hand, cut, shown, width, wrap
from scantling.outputs.drawings.model import PencilNote, Text, Weight, plain
from scantling.outputs.drawings.paper import LOOKS, NIGHT, Look

HAND = Hand(BOOK, 4.0)
WEIGHTS: tuple[Weight, ...] = ("stop", "mend", "note")


def sheets(text: str) -> tuple[str, ...]:
    """All sheets with the text in every place a client can type in."""
    model, doored = hostile_rooms(text), hostile_doored(text)
    return (
        rooms.owners_sheet(model, NIGHT),
        schedule.technicians_sheet(model, NIGHT),
        section.section_sheet(hostile_section(text), NIGHT),
        cabinet.cabinet_sheet(hostile_cabinet(text), NIGHT),
        rooms.owners_sheet(doored, NIGHT),
        matrix.matrix_sheet(hostile_matrix(text), NIGHT),
        address_map.address_sheet(hostile_map(text), NIGHT),
        paths.paths_sheet(hostile_paths(text), NIGHT),
        door_schedule.schedule_sheet(schedule_of(doored, doored.doors or ()), NIGHT),
    )


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_reads_back_as_text(text: str) -> None:
    """The title holds the whole of it; no element, attribute or entity comes of it."""
    for sheet in sheets(text):
        top = root(sheet)
        assert {element.tag for element in top.iter()} <= {
            SVG + name for name in ("svg", "title", "desc", "g", "text", "tspan", "line", "rect", "path")
        }
        assert not any(name.startswith("on") for element in top.iter() for name in element.attrib)
        assert shown(text, BOOK).strip() in (top[0].text or "") + (top[1].text or "")
        assert len([each for each in top.iter() if each.get("data-part") == "room"]) in {0, 4}
        for letter in "".join(top.itertext()):
            assert unicodedata.category(letter) not in {"Cf", "Cs", "Co", "Cn"}
            assert unicodedata.category(letter) != "Cc" or letter == "\n"


def test_words_of_a_hostile_name_are_on_the_drawing() -> None:
    said = " ".join(label.text for label in labels(sheets("<script>alert(1)</script>")[0]))
    assert "<script>alert(1)</script>" in said


@given(st.text(max_size=40))
def test_any_text_survives_the_writer(text: str) -> None:
    """What XML can hold comes back letter by letter, breaks as blanks."""
    document = svg.document(10, 10, text, text, (svg.element("text", text, x=1.0, data_figure=text),))
    top = root(document)
    assert (top[0].text or "") == svg.legal(text)
    assert (top[2].text or "") == svg.legal(text)
    assert top[2].get("data-figure") == svg.legal(text)


@given(st.text(max_size=200), st.floats(8, 120), st.integers(1, 5))
def test_rows_keep_to_their_width_and_lose_no_letter_unless_cut(text: str, room: float, most: int) -> None:
    rows = wrap(plain(text), HAND, room, most)
    assert len(rows) <= most
    for row in rows:
        drawn = "".join(piece.text for piece in row)
        assert width(drawn, HAND) <= room + 1e-6
    whole = wrap(plain(text), HAND, room)
    letters = "".join(piece.text for row in whole for piece in row).replace(" ", "")
    assert letters == shown(text, BOOK).replace(" ", "")
    if len(whole) <= most:
        assert rows == whole
    else:
        assert rows[-1][-1].text.endswith("\u2026")


def test_a_figure_keeps_its_id_across_rows_and_its_number_beside_its_unit() -> None:
    phrase = (Text("Carries everything for "), Text("14 min", "power.runtime"), Text("; then it stops."))
    rows = wrap(phrase, HAND, 48.0)
    marked = [piece.text for row in rows for piece in row if piece.figure]
    assert len(rows) > 1
    assert marked == ["14\u00a0min"]


def test_full_stops_of_an_address_are_drawn_in() -> None:
    even = Hand(EVEN, 4.0)
    assert width("10.0", even) < width("1000", even)
    assert width("0123456789", even) == pytest.approx(10 * width("0", even))


def test_a_letter_no_font_has_is_shown_by_its_code_point() -> None:
    assert shown("a\U0001f600b", SIGN) == "a[U+1F600]b"
    assert shown("a\u202eb\u200bc\x00d", SIGN) == "abcd"
    assert cut("", HAND, 10) == ()


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf"), 1e7])
def test_a_length_that_is_no_length_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        svg.number(value)


def test_lengths_are_rounded_one_way() -> None:
    assert [svg.number(value) for value in (1.0, -0.0001, 0.0625, 2.50, -3.1416)] == [
        "1",
        "0",
        "0.062",
        "2.5",
        "-3.142",
    ]


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour (WCAG 2.2, definition)."""
    channels = (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2, definition)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
def test_words_stand_out_from_the_paper(look: Look) -> None:
    """At least 4.5 to 1 (WCAG 2.2, criterion 1.4.3); lines that carry meaning 3 to 1 (1.4.11)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    for ink in (look.ink, look.quiet, look.pencil):
        assert contrast(ink, look.paper) >= 4.5


def test_weights_of_findings_differ_without_colour() -> None:
    """In black and white a stop, a mend and a note still differ: full, outlined, thin."""
    shapes = set()
    for weight in WEIGHTS:
        model = replace(hostile_rooms("x"), pencil=(PencilNote(12, weight, plain("x")),))
        group = next(
            each for each in root(rooms.owners_sheet(model, NIGHT)).iter() if each.get("data-part") == "triangle"
        )
        shapes.add((group[0].get("fill"), group[0].get("stroke-width")))
    assert len(shapes) == len(WEIGHTS)


def test_bytes_do_not_depend_on_the_process() -> None:
    """Two interpreters with different hash seeds write the same sheet."""
    here = Path(__file__).parent
    program = (
        "import hashlib, drawing_offices as o\n"
        "from scantling.outputs.drawings import rooms\n"
        "from scantling.outputs.drawings.paper import DAY\n"
        "print(hashlib.sha256(rooms.owners_sheet(o.LARGE_ROOMS, DAY).encode()).hexdigest())\n"
    )
    seen = {
        subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": f"{here}{os.pathsep}{here.parent / 'src'}"},
            capture_output=True,
            check=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(seen) == 1
