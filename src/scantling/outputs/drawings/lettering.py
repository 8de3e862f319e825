"""Measures lettering by the widths of the vendored fonts, and breaks or cuts text to the room it has."""

import json
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from scantling.outputs.drawings.model import Phrase, Text, plain
from scantling.outputs.fonts import FOLDER

FALLBACK = "NotoSans-Regular.ttf"
WHOLE = 24
"""A figure of at most so many letters is not broken between its number and its unit."""
REMEMBERED = 4096
"""So many texts last set are remembered: a sheet sets most of them more than once, and the next one sets most again."""
ELLIPSIS = "\u2026"
BEFORE, BEHIND = 0.12, 0.22
"""Shares of the size taken off before and behind a full stop in an address, whose cell is as wide as a digit's."""
ACCENTS = frozenset(map(chr, range(0x300, 0x370)))
"""Accents that stand over or under any letter (Unicode block Combining Diacritical Marks)."""


@dataclass(frozen=True, slots=True)
class Face:
    """One cut of one family, and the file it lies in."""

    family: str
    weight: int
    style: str
    file: str
    even: bool = False
    """Every letter has the same width; full stops are drawn in."""


SIGN = Face("National Park", 600, "normal", "NationalPark-SemiBold.ttf")
LABEL = Face("National Park", 400, "normal", "NationalPark-Regular.ttf")
BOOK = Face("Libertinus Serif", 400, "normal", "LibertinusSerif-Regular.ttf")
STRONG = Face("Libertinus Serif", 600, "normal", "LibertinusSerif-SemiBold.ttf")
SLANT = Face("Libertinus Serif", 400, "italic", "LibertinusSerif-Italic.ttf")
EVEN = Face("B612 Mono", 400, "normal", "B612Mono-Regular.ttf", even=True)


@dataclass(frozen=True, slots=True)
class Hand:
    """A face at a size in millimetres, in one of the look's inks."""

    face: Face
    size: float
    ink: str = "ink"
    spacing: float = 0.0

    @property
    def leading(self) -> float:
        """From one base line to the next."""
        return round(self.size * 1.32, 3)

    @property
    def capital(self) -> float:
        """Height of a capital letter."""
        return capital(self.face) * self.size

    def at(self, size: float) -> "Hand":
        """The same hand at another size."""
        return replace(self, size=size)

    def inked(self, ink: str) -> "Hand":
        """The same hand in another ink."""
        return replace(self, ink=ink)


@dataclass(frozen=True, slots=True)
class Piece:
    """Part of a line: plain words or one figure, and where it stands from the line's beginning."""

    text: str
    figure: str
    offset: float
    width: float


Row = tuple[Piece, ...]


@cache
def _table() -> Mapping[str, tuple[float, Mapping[str, int]]]:
    raw = json.loads((FOLDER / "advances.json").read_text(encoding="ascii"))
    return {
        name: (
            font["capital"] / 1000,
            {letter: int(width) for width, letters in font["widths"].items() for letter in letters},
        )
        for name, font in raw.items()
    }


def capital(face: Face) -> float:
    """Height of a capital letter as a share of the size."""
    return _table()[face.file][0]


def has(face: Face, letter: str) -> bool:
    """Whether the face or the fallback can draw the letter."""
    return letter in _table()[face.file][1] or letter in _table()[FALLBACK][1]


@lru_cache(REMEMBERED)
def shown(text: str, face: Face) -> str:
    """The text as it is drawn: composed, in one line, no invisible controls; a letter no font has as [U+1F600]."""
    drawn = []
    for letter in unicodedata.normalize("NFC", text):
        kind = unicodedata.category(letter)
        if letter.isspace():
            drawn.append(" ")
        elif kind in {"Cc", "Cf", "Zl", "Zp"}:
            continue
        elif has(face, letter) and kind not in {"Cs", "Co", "Cn"} and not _joined(letter, kind):
            drawn.append(letter)
        else:
            drawn.append(f"[U+{ord(letter):04X}]")
    return " ".join("".join(drawn).split()) if not text.isspace() else " "


def _joined(letter: str, kind: str) -> bool:
    """A sign that changes the letter before it, as in Hindi: the printer's reader of drawings can't set such."""
    return kind in {"Mc", "Me"} or (kind == "Mn" and letter not in ACCENTS)


def advance(letter: str, hand: Hand) -> float:
    """Width of one letter in millimetres, letter spacing included."""
    own, spare = _table()[hand.face.file][1], _table()[FALLBACK][1]
    width = own.get(letter, spare.get(letter, 1000)) / 1000
    if hand.face.even and letter == ".":
        width -= BEFORE + BEHIND
    return width * hand.size + hand.spacing


@lru_cache(REMEMBERED)
def width(text: str, hand: Hand) -> float:
    """Width of a text already as drawn, in millimetres. Kerning is left out: it mostly draws letters together."""
    return sum(advance(letter, hand) for letter in text)


def _letters(phrase: Phrase, face: Face) -> list[tuple[str, str]]:
    """Every letter with the figure it belongs to, single blanks between words, none at the ends."""
    found: list[tuple[str, str]] = []
    for part in phrase:
        edge = part.text[:1].isspace(), part.text[-1:].isspace()
        body = shown(part.text, face).strip()
        if part.figure and len(body) <= WHOLE:
            body = body.replace(" ", "\u00a0")
        text = (" " if edge[0] else "") + body + (" " if edge[1] and body else "")
        found += [
            (letter, "" if letter == " " and place in {0, len(text) - 1} else part.figure)
            for place, letter in enumerate(text)
        ]
    tidy: list[tuple[str, str]] = []
    for pair in found:
        if pair[0] != " " or (tidy and tidy[-1][0] != " "):
            tidy.append(pair)
    return tidy[:-1] if tidy and tidy[-1][0] == " " else tidy


def _row(letters: list[tuple[str, str]], hand: Hand) -> Row:
    """Letters gathered into pieces, each with its place."""
    pieces: list[Piece] = []
    place = 0.0
    for letter, figure in letters:
        step = advance(letter, hand)
        if pieces and pieces[-1].figure == figure:
            last = pieces[-1]
            pieces[-1] = Piece(last.text + letter, figure, last.offset, last.width + step)
        else:
            pieces.append(Piece(letter, figure, place, step))
        place += step
    return tuple(pieces)


def _fits(letters: list[tuple[str, str]], hand: Hand, room: float) -> int:
    """How many letters fit."""
    taken = 0.0
    for count, (letter, _) in enumerate(letters):
        taken += advance(letter, hand)
        if taken > room + 1e-9:
            return count
    return len(letters)


def _cut(letters: list[tuple[str, str]], hand: Hand, room: float) -> list[tuple[str, str]]:
    """The letters that fit with an ellipsis behind them."""
    kept = letters[: _fits(letters, hand, room - advance(ELLIPSIS, hand))]
    while kept and kept[-1][0] == " ":
        kept.pop()
    return [*kept, (ELLIPSIS, kept[-1][1] if kept else "")]


@lru_cache(REMEMBERED)
def wrap(phrase: Phrase, hand: Hand, room: float, most: int = 1000) -> tuple[Row, ...]:
    """Rows of at most the given width in millimetres; what `most` rows can't hold is cut."""
    rest = _letters(phrase, hand.face)
    rows: list[Row] = []
    while rest and len(rows) < most:
        count = _fits(rest, hand, room)
        if count < len(rest) and len(rows) == most - 1:
            rows.append(_row(_cut(rest, hand, room), hand))
            break
        if count < len(rest):
            count = _break(rest, max(count, 1))
        line, rest = rest[:count], rest[count:]
        while line and line[-1][0] == " ":
            line.pop()
        while rest and rest[0][0] == " ":
            rest.pop(0)
        rows.append(_row(line, hand))
    return tuple(rows)


def _break(letters: list[tuple[str, str]], count: int) -> int:
    """Where to break: at the last blank that fits, else behind the last hyphen or stroke, else in the word."""
    if letters[count][0] == " ":
        return count
    for place in range(count, 0, -1):
        if letters[place - 1][0] == " ":
            return place
    for place in range(count, 1, -1):
        if letters[place - 1][0] in "-/":
            return place
    return count


def cut(words: str | Text | Phrase, hand: Hand, room: float) -> Row:
    """One row of at most the given width."""
    phrase = plain(words) if isinstance(words, str) else (words,) if isinstance(words, Text) else words
    rows = wrap(phrase, hand, room, 1)
    return rows[0] if rows else ()


def longest_word(text: str, hand: Hand) -> float:
    """Width of the widest word in millimetres."""
    return max((width(word, hand) for word in shown(text, hand.face).split(" ")), default=0.0)
