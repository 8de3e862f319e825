"""Client text as the vendored fonts can print it: odd letters become visible marks, and it is told where they stood."""

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from scantling.outputs.drawings.lettering import BOOK, has

TURNS = frozenset("\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Invisible letters that turn the reading direction: a client's text could hide its own end behind one."""

ONE = {"sheets": "sheet", "drawings": "drawing", "notes": "finding"}


@dataclass(frozen=True)
class Cleaned:
    """The same data in letters that print, and by each odd letter the first place where it stood."""

    data: Any
    odd: Mapping[str, str]


def printable(words: str, odd: dict[str, str] | None = None, place: str = "") -> str:
    """The same words; a letter that no font has as [U+1F600], blanks for breaks, nothing for invisible controls."""
    if words.isascii() and words.isprintable():
        return words
    made = []
    for letter in unicodedata.normalize("NFC", words):
        kind = unicodedata.category(letter)
        if letter.isspace() or kind in {"Zl", "Zp"}:
            made.append("\u00a0" if letter == "\u00a0" else " ")
        elif kind in {"Cc", "Cf"}:
            continue
        elif kind not in {"Cs", "Co", "Cn"} and has(BOOK, letter):
            made.append(letter)
        else:
            mark = f"[U+{ord(letter):04X}]"
            made.append(mark)
            if odd is not None:
                odd.setdefault(mark, place)
    return "".join(made)


def cleaned(data: Mapping[str, Any]) -> Cleaned:
    """Every text of plain data made printable; a place is the key under which it stands."""
    odd: dict[str, str] = {}
    return Cleaned({key: _clean(value, odd, key.replace("_", " ")) for key, value in data.items()}, odd)


def _clean(value: Any, odd: dict[str, str], place: str) -> Any:
    if isinstance(value, str):
        return printable(value, odd, place)
    if isinstance(value, dict):
        inside = f"{ONE.get(place, place)} {value['number']}" if isinstance(value.get("number"), str) else place
        return {key: _clean(item, odd, inside) for key, item in value.items()}
    return [_clean(item, odd, place) for item in value] if isinstance(value, list) else value


def readable(words: str) -> str:
    """The same words for a page on screen: without control characters, half pairs, and turns of direction."""
    if words.isascii() and words.isprintable():
        return words
    return "".join(letter for letter in words if letter in "\n\t" or not _unwanted(letter))


def _unwanted(letter: str) -> bool:
    return letter in TURNS or unicodedata.category(letter) in {"Cc", "Cs", "Cn"}
