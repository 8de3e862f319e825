"""The vendored lettering is whole, licensed, small, and as wide as the drawings think it is."""

import hashlib
import json

import pytest
from PIL import ImageFont

from scantling.outputs.drawings.lettering import BOOK, EVEN, FALLBACK, LABEL, SIGN, SLANT, STRONG, Face, Hand, advance
from scantling.outputs.fonts import FILES, FOLDER, truetype

FACES = (SIGN, LABEL, BOOK, STRONG, SLANT, EVEN)
LETTERS = "AEHWMgjfi0123456789 ,:/()%-\u2013\u2026\u00e9\u00f6"
"""Full stops are left out: an even face draws them in."""
MOST_BYTES = 3_000_000


def listed() -> dict[str, str]:
    """File to checksum, as SHA256SUMS has it."""
    lines = (FOLDER / "SHA256SUMS").read_text(encoding="ascii").splitlines()
    return {name: digest for digest, name in (line.split("  ") for line in lines)}


def test_every_font_and_licence_has_its_checksum() -> None:
    files = {path.name for path in FOLDER.iterdir() if path.suffix in {".ttf", ".otf", ".txt"}}
    assert set(listed()) == files
    for name, digest in listed().items():
        assert hashlib.sha256((FOLDER / name).read_bytes()).hexdigest() == digest, name


def test_every_family_has_its_licence_text() -> None:
    for family in {family for family, _, _ in FILES}:
        text = (FOLDER / f"OFL-{family.replace(' ', '')}.txt").read_text(encoding="utf-8")
        assert "SIL Open Font License, Version 1.1" in text
        assert text.startswith("Copyright")


def test_all_fonts_together_are_small() -> None:
    assert sum((FOLDER / name).stat().st_size for name in FILES.values()) < MOST_BYTES


def test_the_table_of_widths_is_made_from_the_files() -> None:
    assert (FOLDER / truetype.ADVANCES).read_text(encoding="ascii") == truetype.advances()
    assert set(json.loads(truetype.advances())) == set(FILES.values())


@pytest.mark.parametrize("face", FACES, ids=lambda face: face.file)
def test_faces_are_the_vendored_files(face: Face) -> None:
    assert FILES[face.family, face.weight, face.style] == face.file
    assert FALLBACK in FILES.values()


@pytest.mark.parametrize("face", FACES, ids=lambda face: face.file)
def test_widths_are_those_another_reader_of_the_fonts_finds(face: Face) -> None:
    """Independent library: FreeType, through Pillow, one letter at a time so that nothing is kerned."""
    font = ImageFont.truetype(FOLDER / face.file, 1000, layout_engine=ImageFont.Layout.BASIC)
    for letter in LETTERS:
        assert advance(letter, Hand(face, 1000)) == pytest.approx(font.getlength(letter), abs=2), letter
