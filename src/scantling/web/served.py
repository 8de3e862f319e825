"""What lies in the folders that work writes, handed to the browser: nothing from outside them, and nothing that runs."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path, PurePosixPath

from starlette.responses import Response

from scantling.web.kinds import BOOK, FILES, REHEARSAL

FOLDERS = (BOOK, FILES, REHEARSAL)
TEXT = "text/plain; charset=utf-8"
KINDS: Mapping[str, str] = {
    ".pdf": "application/pdf", ".html": "text/html; charset=utf-8", ".svg": "image/svg+xml", ".json": "application/json",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", ".csv": "text/csv; charset=utf-8",
    ".txt": TEXT, ".conf": TEXT, ".nft": TEXT, ".zone": TEXT, ".sh": TEXT,
}  # fmt: skip
SHUT = "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; frame-ancestors 'none'"
"""For a document of its own: its own style and what it carries in itself, no script, no other address, an origin of nobody."""
PRINT = "default-src 'none'; style-src 'unsafe-inline'; object-src 'self'; frame-ancestors 'none'"
"""For a PDF, which browsers show with a page of their own."""
UNITS = ((1_000_000, "MB"), (1_000, "kB"))


@dataclass(frozen=True)
class Lying:
    """One file that lies there: its path inside the folder, its size in words, when it was written."""

    path: str
    size: str
    at: str


def lying(folder: Path, name: str) -> tuple[Lying, ...]:
    """The files of one of the folders, by path; nothing where it is not there or is a link to elsewhere."""
    place = folder / name
    if place.is_symlink() or not place.is_dir():
        return ()
    found = [
        path
        for path in sorted(place.rglob("*"))
        if path.is_file() and not path.is_symlink() and not path.name.startswith(".")
    ]
    return tuple(_told(path, place) for path in found)


def _told(path: Path, place: Path) -> Lying:
    told = path.stat()
    at = datetime.fromtimestamp(told.st_mtime).astimezone().strftime("%Y-%m-%d %H:%M")
    return Lying(path.relative_to(place).as_posix(), sized(told.st_size), at)


def sized(count: int) -> str:
    """A size in bytes as people write it."""
    return next((f"{count / unit:.1f} {word}" for unit, word in UNITS if count >= unit), f"{count} bytes")


def within(folder: Path, asked: str) -> Path | None:
    """The file that an address names, None unless it is a plain file in one of the folders, by no way round."""
    path = PurePosixPath(asked)
    if path.is_absolute() or "\\" in asked or "\0" in asked or not path.parts or path.parts[0] not in FOLDERS:
        return None
    if any(part in ("..", ".") or part.startswith(".") for part in path.parts):
        return None
    whole = folder / path
    try:
        straight = whole.resolve(strict=True)
    except OSError:
        return None
    # a link anywhere on the way leads to another path than the one that was asked for
    return straight if straight == folder.resolve() / path and straight.is_file() else None


def handed(path: Path) -> Response:
    """A file with the type that its name says; what has none is for keeping, not for showing."""
    return content(path.read_bytes(), path.name)


def content(body: bytes, name: str, *, keep: bool = False) -> Response:
    """Bytes under a name, shown where a browser shows them safely, else kept as a file."""
    suffix = PurePosixPath(name).suffix.lower()
    kind = KINDS.get(suffix, "application/octet-stream")
    headers = {"Content-Security-Policy": PRINT if suffix == ".pdf" else SHUT, "X-Content-Type-Options": "nosniff"}
    if keep or suffix not in KINDS or suffix == ".xlsx":
        plain = "".join(
            letter if letter.isascii() and (letter.isalnum() or letter in "-_.") else "_" for letter in name
        )
        headers["Content-Disposition"] = f'attachment; filename="{plain}"'
    return Response(body, media_type=kind, headers=headers)
