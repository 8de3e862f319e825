"""Writes a set of files so that each is there whole or not at all."""

import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path


class OutputError(Exception):
    """A folder or file that can't be written, in a person's words."""


def write_all(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write every file beside its final name first, then move all into place.

    Raises OutputError when the folder can't be used or the disk is full; the old files then stand as they were. An
    interrupt leaves the old files too.
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            final = folder / name
            final.parent.mkdir(parents=True, exist_ok=True)
            if final.is_dir():
                raise OutputError(f"{final} is a folder; move it away, or write elsewhere with --out")
            beside = final.with_name(f".{final.name}.part")
            waiting.append((beside, final))
            with beside.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
        for beside, final in waiting:
            beside.replace(final)
    except OSError as wrong:
        where = wrong.filename or folder
        raise OutputError(f"can't write {where}: {wrong.strerror or wrong}; nothing was changed") from None
    finally:
        for beside, _ in waiting:
            with suppress(OSError):  # already moved, or never made
                beside.unlink()
