"""Reads a brief's file as text, with limits; the only part of this room that touches a file."""

from pathlib import Path

from scantling.brief.loading import BriefError
from scantling.figures.placed import MOST_BYTES, Mistake


def read_text(path: Path) -> str:
    """The file's text without a byte-order mark. Raises BriefError in a person's words."""
    name = path.name
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise BriefError([Mistake(name, 1, 1, "", f"{path} is a folder; name the brief's file")])
        if size > MOST_BYTES:
            raise BriefError([Mistake(name, 1, 1, "", f"the file is too large: {size:,} bytes, at most {MOST_BYTES:,}")])
        raw = path.read_bytes()
    except OSError as wrong:
        raise BriefError([Mistake(name, 1, 1, "", f"can't be read: {wrong.strerror or wrong}: {path}")]) from None
    if b"\0" in raw:
        raise BriefError([Mistake(name, 1, 1, "", "this is not a text file")])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = raw[: wrong.start].count(b"\n") + 1
        column = wrong.start - (raw[: wrong.start].rfind(b"\n") + 1) + 1
        raise BriefError([Mistake(name, line, column, "", "not written in UTF-8; save it so")]) from None
