"""Writes a set of files so that each is there whole or not at all."""

import os
from collections.abc import Mapping, Sequence
from contextlib import ExitStack, suppress
from pathlib import Path
from shutil import copyfile


class OutputError(Exception):
    """A folder or file that can't be written, in a person's words."""


def write_all(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write every file beside its final name first, then move all into place.

    Raises OutputError when the folder can't be used or the disk is full. After that, and after an interrupt, the old
    files stand as they were and no other file is left.
    """
    with ExitStack() as tidying:
        try:
            waiting = [_beside(folder / name, content, tidying) for name, content in files.items()]
            kept = {final: kept for _, final in waiting if (kept := _kept(final, tidying))}
            _moved(waiting, kept)
        except OSError as wrong:
            raise OutputError(f"can't write in {folder}: {wrong.strerror or wrong}; nothing was changed") from None


def _beside(final: Path, content: bytes, tidying: ExitStack) -> tuple[Path, Path]:
    """The new file beside its place, and the place."""
    final.parent.mkdir(parents=True, exist_ok=True)
    if final.is_dir():
        raise OutputError(f"{final} is a folder; move it away, or write elsewhere with --out")
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
