"""The small web fonts, judged by FreeType (through Pillow): kept letters look the same, the others are empty."""

import io
import struct

import pytest
from PIL import ImageFont

from scantling.outputs.documents.html import ALWAYS
from scantling.outputs.documents.webfont import woff
from scantling.outputs.fonts import FILES, FOLDER

KEPT = ALWAYS + "éßœÅ–×"


def shape(font: ImageFont.FreeTypeFont, letter: str) -> tuple[tuple[int, int], bytes]:
    """A letter as FreeType draws it."""
    mask = font.getmask(letter)
    return mask.size, bytes(mask)


@pytest.mark.parametrize("file", FILES.values())
def test_kept_letters_look_the_same_and_others_are_gone(file: str) -> None:
    """W3C WOFF 1.0, unpacked by FreeType."""
    whole, small = ImageFont.truetype(str(FOLDER / file), 40), ImageFont.truetype(io.BytesIO(woff(file, KEPT)), 40)
    for letter in KEPT:
        assert shape(small, letter) == shape(whole, letter), letter
        assert small.getlength(letter) == whole.getlength(letter)
    assert any(shape(whole, "ñ")[1])
    assert shape(small, "ñ") != shape(whole, "ñ")


@pytest.mark.parametrize("file", FILES.values())
def test_it_is_small_and_says_its_length(file: str) -> None:
    made = woff(file, ALWAYS)
    assert made[:4] == b"wOFF"
    assert struct.unpack_from(">L", made, 8)[0] == len(made)
    assert len(made) < (FOLDER / file).stat().st_size / 2


def test_the_same_letters_give_the_same_bytes() -> None:
    file = FILES["Libertinus Serif", 400, "normal"]
    assert woff(file, "abc") == woff(file, "cba")
    assert woff(file, "abc") != woff(file, "abd")
