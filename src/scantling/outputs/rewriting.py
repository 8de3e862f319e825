"""Rewrites one file that a person owns: whole or not at all, with its mode, owner and links, one writer at a time."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from time import monotonic, sleep

from scantling.outputs.writing import OutputError

PATIENCE, PAUSE = 10.0, 0.01
MOST_KEPT = 1000


class Held:
    """A file that nobody else who asks may write just now."""

    def __init__(self, path: Path, handle: int) -> None:
        self.path, self._handle = path, handle

    def rewrite(self, seen: bytes, content: bytes) -> bytes | None:
        """Put the content in the place of what was seen, unless something else stands there by now: then return that.

        Raises OutputError when it can't be written, and then the old file stands as it was.
        """
        try:
            new = _beside(self.path, content)
            try:
                if (there := self.path.read_bytes()) != seen:
                    return there
                new.replace(self.path)
            finally:
                _gone(new)
            _settled(self.path.parent)
        except OSError as wrong:
            raise OutputError(f"can't write {self.path}: {wrong.strerror or wrong}; nothing was changed") from None
        return self._written_meanwhile(seen)

    def _written_meanwhile(self, seen: bytes) -> bytes | None:
        """What another program wrote into the old file at the last moment, if any did."""
        last = os.pread(self._handle, max(os.fstat(self._handle).st_size, 1), 0)
        return last if last != seen else None


@contextmanager
def held(path: Path, patience: float = PATIENCE) -> Iterator[Held]:
    """The file behind a path, links followed, kept from other writers of this program; a killed one lets go by itself.

    Raises OutputError when it can't be had within `patience` seconds.
    """
    end = monotonic() + patience
    try:
        real = path.resolve(strict=True)
        while (handle := _taken(real)) is None:
            if monotonic() > end:
                raise OutputError(f"another program is changing {path} just now; try again when it is done")
            sleep(PAUSE)
    except (OSError, RuntimeError) as wrong:
        raise OutputError(f"can't change {path}: {getattr(wrong, 'strerror', None) or wrong}") from None
    try:
        yield Held(real, handle)
    finally:
        os.close(handle)


def _taken(real: Path) -> int | None:
    """A handle with the lock on the file that stands under this name; None while another has it or has replaced it."""
    handle = os.open(real, os.O_RDWR | os.O_CLOEXEC)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if os.path.samestat(os.fstat(handle), real.stat()):
            return handle
    except BlockingIOError:
        pass
    except BaseException:
        os.close(handle)
        raise
    os.close(handle)
    return None


def _beside(final: Path, content: bytes) -> Path:
    """The new file beside its place, with the old one's mode and, where the system lets us, its owner."""
    beside = final.with_name(f".{final.name}.part")
    _gone(beside)
    old = final.stat()
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
    try:
        with open(handle, "wb") as file:  # noqa: PTH123 - a handle, not a path
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
            with suppress(PermissionError):  # only the owner of both, or root, may give a file away
                os.fchown(file.fileno(), old.st_uid, old.st_gid)
            os.fchmod(file.fileno(), old.st_mode & 0o7777)
    except BaseException:
        _gone(beside)
        raise
    return beside


def _settled(folder: Path) -> None:
    """The new name must outlive a power cut too."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def kept_beside(path: Path, content: bytes, word: str) -> Path:
    """A version that could not be written, under the first free name such as brief.mine-1.yaml. Raises OutputError."""
    for number in range(1, MOST_KEPT):
        beside = path.with_name(f"{path.stem}.{word}-{number}{path.suffix}")
        try:
            with beside.open("xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
        except FileExistsError:
            continue
        except OSError as wrong:
            raise OutputError(f"can't write {beside}: {wrong.strerror or wrong}") from None
        return beside
    raise OutputError(f"there are {MOST_KEPT} versions beside {path} already; look through them first")


def _gone(path: Path) -> None:
    with suppress(FileNotFoundError):
        path.unlink()
