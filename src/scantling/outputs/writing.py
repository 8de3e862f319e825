"""Writes a set of files so that each is there whole or not at all, one writer of a folder at a time."""

import fcntl
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from errno import EWOULDBLOCK
from pathlib import Path
from shutil import copyfile
from time import monotonic, sleep

PATIENCE, PAUSE = 10.0, 0.01


class OutputError(Exception):
    """A folder or file that can't be written, in a person's words."""


def write_all(folder: Path, files: Mapping[str, bytes], seen: Mapping[Path, bytes] | None = None) -> None:
    """Write every file beside its final name first, then move all into place.

    `seen` are files as the caller read them, empty where there was none. Raises OutputError when one of them is another
    by now, when the folder can't be used or the disk is full. After that, and after an interrupt, the old files stand as
    they were and no other file is left.
    """
    with ExitStack() as tidying:
        try:
            folder.mkdir(parents=True, exist_ok=True)
            tidying.enter_context(_alone(folder))
            _unchanged(seen or {})
            waiting = [_beside(folder / name, content, tidying) for name, content in files.items()]
            kept = {final: kept for _, final in waiting if (kept := _kept(final, tidying))}
            _moved(waiting, kept)
        except OSError as wrong:
            raise OutputError(f"can't write in {folder}: {wrong.strerror or wrong}; nothing was changed") from None


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Keeps other writers of this program out of the folder; a killed one lets go by itself. Raises OutputError.

    On a file system that can't lock a folder nobody is kept out.
    """
    end = monotonic() + PATIENCE
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        while not _locked(handle):
            if monotonic() > end:
                raise OutputError(f"another program is writing in {folder} just now; try again when it is done")
            sleep(PAUSE)
        yield
    finally:
        os.close(handle)


def _locked(handle: int) -> bool:
    """Whether there is no more to wait for."""
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as wrong:
        return wrong.errno != EWOULDBLOCK
    return True


def _unchanged(seen: Mapping[Path, bytes]) -> None:
    """Raises OutputError for a file that is no longer what was read."""
    for path, content in seen.items():
        if (path.read_bytes() if path.exists() else b"") != content:
            raise OutputError(f"{path.name} has changed since it was read; nothing was written, try again")


def _beside(final: Path, content: bytes, tidying: ExitStack) -> tuple[Path, Path]:
    """The new file beside its place, and the place."""
    final.parent.mkdir(parents=True, exist_ok=True)
    if final.is_dir():
        raise OutputError(f"{final} is a folder; move it away, or write elsewhere with --out")
    if final.exists() and not final.is_file():
        raise OutputError(f"{final} is no plain file, so nothing is put in its place; write elsewhere")
    beside = final.with_name(f".{final.name}.part")
    tidying.callback(_gone, beside)
    with beside.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    return beside, final


def _kept(final: Path, tidying: ExitStack) -> Path | None:
    """A copy of the old file, if there is one, to go back to."""
    if not final.exists():
        return None
    kept = final.with_name(f".{final.name}.old.part")
    tidying.callback(_gone, kept)
    copyfile(final, kept)
    return kept


def _moved(waiting: Sequence[tuple[Path, Path]], kept: Mapping[Path, Path]) -> None:
    """Move each into place; if one can't be, put the old ones back."""
    begun: list[Path] = []
    try:
        for beside, final in waiting:
            begun.append(final)
            beside.replace(final)
    except BaseException:
        for final in begun:  # the last may not have moved: then this changes nothing
            if final in kept:
                kept[final].replace(final)
            else:
                _gone(final)
        raise


def _gone(path: Path) -> None:
    with suppress(OSError):  # already moved, or never made
        path.unlink()
