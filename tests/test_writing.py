"""Files are written whole or not at all: no room, no permission, an interrupt at any step; the old ones stay."""

import errno
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from scantling.outputs.writing import OutputError, write_all

OLD = {"plan.json": b"old plan", "N-1.svg": b"old drawing"}
NEW = {"plan.json": b"new plan", "N-1.svg": b"new drawing", "book.pdf": b"new book", "deep/er/page.html": b"new page"}
STEPS = {"fsync": (os, "fsync"), "open": (Path, "open"), "replace": (Path, "replace"), "mkdir": (Path, "mkdir")}
WRONGS: dict[str, Callable[[], BaseException]] = {
    "full": lambda: OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)),
    "read-only": lambda: OSError(errno.EROFS, os.strerror(errno.EROFS)),
    "no permission": lambda: PermissionError(errno.EACCES, os.strerror(errno.EACCES)),
    "interrupt": KeyboardInterrupt,
}


def standing(folder: Path) -> dict[str, bytes]:
    """Every file below the folder."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def failing(monkeypatch: pytest.MonkeyPatch, step: str, at: int, wrong: BaseException) -> list[int]:
    """Let the step go wrong at its `at`-th call; the list grows with each call."""
    owner, name = STEPS[step]
    real, calls = getattr(owner, name), []

    def planted(*given: Any, **named: Any) -> Any:
        calls.append(1)
        if len(calls) == at:
            raise wrong
        return real(*given, **named)

    monkeypatch.setattr(owner, name, planted)
    return calls


def outcome(folder: Path) -> str:
    """How the writing ended, without the system's own words."""
    try:
        write_all(folder, NEW)
    except OutputError as told:
        says, _, rest = str(told).partition(": ")
        return says if rest.endswith("; nothing was changed") else str(told)
    except KeyboardInterrupt:
        return "interrupt"
    return ""


def test_new_files_take_the_place_of_old_ones(tmp_path: Path) -> None:
    write_all(tmp_path, OLD)
    write_all(tmp_path, NEW)
    assert standing(tmp_path) == NEW


def test_other_peoples_files_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_bytes(b"mine")
    write_all(tmp_path, NEW)
    assert standing(tmp_path) == {**NEW, "notes.txt": b"mine"}


@pytest.mark.parametrize("why", WRONGS)
@pytest.mark.parametrize("step", STEPS)
def test_whatever_goes_wrong_the_old_files_stand(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, why: str
) -> None:
    """At every call of every step in turn: old files byte for byte, no other file, no piece of one."""
    at, more = 1, True
    while more:
        folder = tmp_path / str(at)
        write_all(folder, OLD)
        with monkeypatch.context() as patch:
            calls = failing(patch, step, at, WRONGS[why]())
            told = outcome(folder)
        more = len(calls) >= at
        assert standing(folder) == (OLD if more else NEW)
        assert told == ("" if not more else "interrupt" if why == "interrupt" else f"can't write in {folder}")
        at += 1
    assert at > len(NEW), "every file went through the step once"


def test_a_write_that_stops_halfway_leaves_no_piece(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half of the bytes are on the disk when it is full."""
    real = Path.open

    def small(path: Path, *given: Any, **named: Any) -> Any:
        file = real(path, *given, **named)
        if path.name == ".book.pdf.part":
            file.write(b"new b")
            file.close()
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return file

    write_all(tmp_path, OLD)
    monkeypatch.setattr(Path, "open", small)
    with pytest.raises(OutputError, match="No space left on device; nothing was changed"):
        write_all(tmp_path, NEW)
    assert standing(tmp_path) == OLD


def test_a_full_disk_of_the_kernel_itself(tmp_path: Path) -> None:
    """/dev/full takes no byte: the error is the kernel's own, not a planted one."""
    (tmp_path / ".plan.json.part").symlink_to("/dev/full")
    with pytest.raises(OutputError, match="No space left on device"):
        write_all(tmp_path, {"plan.json": b"new"})
    assert standing(tmp_path) == {}


def test_a_folder_that_is_a_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"a file")
    for folder in (tmp_path / "out", tmp_path / "out/below"):
        with pytest.raises(OutputError, match=r"can't write in .*out.*; nothing was changed"):
            write_all(folder, NEW)
    assert standing(tmp_path) == {"out": b"a file"}


def test_a_file_that_is_a_folder_is_told(tmp_path: Path) -> None:
    write_all(tmp_path, OLD)
    (tmp_path / "book.pdf").mkdir()
    with pytest.raises(OutputError, match="is a folder; move it away, or write elsewhere with --out"):
        write_all(tmp_path, NEW)
    assert standing(tmp_path) == OLD


def test_an_old_file_that_others_share_is_not_written_through(tmp_path: Path) -> None:
    """A link is replaced, and what it points to stays."""
    (tmp_path / "original").write_bytes(b"not ours")
    out = tmp_path / "out"
    out.mkdir()
    (out / "plan.json").symlink_to(tmp_path / "original")
    write_all(out, NEW)
    assert (tmp_path / "original").read_bytes() == b"not ours"
    assert standing(out) == NEW
