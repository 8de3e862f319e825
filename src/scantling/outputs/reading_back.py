"""Reads a file whole, up to a limit: what the program once wrote, or a person hands it; what is wrong is told in words."""

from pathlib import Path

from scantling import UserError
from scantling.figures.spelled import shown


def bytes_of(path: Path, most: int, wanted: str) -> bytes:
    """What a file holds, `most` bytes at most. Raises UserError; `wanted` says what is asked for where there is a folder instead."""
    name = shown(str(path), 100)
    if not path.is_file():
        says = f"this is a folder; {wanted} is wanted" if path.is_dir() else "there is no such file"
        raise UserError(f"{name}: {says}")
    try:
        with path.open("rb") as file:
            raw = file.read(most + 1)
    except OSError as wrong:
        raise UserError(f"{name}: can't be read: {wrong.strerror or wrong}") from None
    if len(raw) > most:
        raise UserError(f"{name}: the file is too large: at most {most:,} bytes")
    return raw
