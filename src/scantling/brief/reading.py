"""Reads a brief's file as text, with limits; the only part of this room that touches a file."""

from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from pathlib import Path

from scantling.brief.loading import BriefError
from scantling.figures.placed import MOST_BYTES, Mistake
from scantling.figures.spelled import shown

SAVE = "save it as plain text in UTF-8"


def read_text(path: Path) -> str:
    """The file's text without a byte-order mark. Raises BriefError in a person's words."""
    return decoded(path, read_bytes(path))


def read_bytes(path: Path) -> bytes:
    """The file's bytes. Raises BriefError in a person's words when there are none, or too many."""
    try:
        if not path.is_file():
            raise _refused(path, _no_file(path))
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as wrong:
        if isinstance(wrong, BriefError):
            raise
        raise _refused(path, f"can't be read: {getattr(wrong, 'strerror', None) or wrong}") from None
    if len(raw) > MOST_BYTES:
        raise _refused(path, f"the file is too large: at most {MOST_BYTES:,} bytes")
    return raw


def decoded(path: Path, raw: bytes) -> str:
    """The text that the bytes of a file hold, without a byte-order mark. Raises BriefError where they are no text."""
    if raw.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        raise _refused(path, f"written in UTF-16; {SAVE}")
    if b"\0" in raw:
        raise _refused(path, f"not a text file; if it comes from an office program, {SAVE}")
    try:
        return raw.removeprefix(BOM_UTF8).decode("utf-8")
    except UnicodeDecodeError as wrong:
        before = raw.removeprefix(BOM_UTF8)[: wrong.start].decode("utf-8")
        at = before.count("\n") + 1, len(before) - before.rfind("\n")
        raise _refused(path, f"a letter stands here that is not written in UTF-8; {SAVE}", at) from None


def is_there(path: Path) -> bool:
    """Whether anything stands under this name; a link that leads nowhere is not to be taken for nothing."""
    return path.exists() or path.is_symlink()


def _no_file(path: Path) -> str:
    """What stands where a file is wanted."""
    if path.is_dir():
        return "this is a folder; a file is wanted here"
    if path.is_symlink() and not path.exists():
        return "this is a link that leads nowhere; mend it or take it away"
    return "this is no plain file" if path.exists() else "no such file" + _neighbours(path)


def _neighbours(path: Path) -> str:
    """Briefs that lie beside the place where none was found."""
    folder = path if path.is_dir() else path.parent
    found = sorted(folder.glob("*.yaml"))[:3] if folder.is_dir() else []
    return f"; there is {', '.join(shown(one.name) for one in found)}" if found else ""


def _refused(path: Path, says: str, at: tuple[int, int] = (1, 1)) -> BriefError:
    return BriefError([Mistake(shown(path.name or str(path), 100), *at, "", says)])
