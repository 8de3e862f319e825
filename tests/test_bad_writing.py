"""Several writers at once, devices in a file's place, a kill while writing: whole files, nothing lost, the next run tidies."""

import fcntl
import os
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from pricelist_samples import KNOWN, listed
from scantling import UserError, api
from scantling.outputs import writing
from scantling.outputs.writing import OutputError, write_all
from test_bad_doors import ENVIRONMENT, contents, office, program


def test_a_device_is_not_replaced_by_a_file(tmp_path: Path) -> None:
    """A link to a device is as good as the device here, and harmless."""
    (tmp_path / "page.html").symlink_to("/dev/null")
    with pytest.raises(OutputError, match="is no plain file, so nothing is put in its place"):
        write_all(tmp_path, {"page.html": b"x", "other": b"y"})
    assert (tmp_path / "page.html").is_symlink()
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]


def test_many_writers_at_once_leave_one_whole_set(tmp_path: Path) -> None:
    """Eight sets of files into one folder at the same moment: all of them end well, and one stands there whole."""
    sets = [{f"part-{n}": bytes([who]) * 200_000 for n in range(6)} for who in range(8)]
    with ThreadPoolExecutor(8) as crew:
        list(crew.map(lambda files: write_all(tmp_path, files), sets))
    there = contents(tmp_path)
    assert sorted(there) == sorted(sets[0])
    assert there in sets


def test_a_folder_that_another_keeps_is_waited_for_and_then_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(writing, "PATIENCE", 0.05)
    handle = os.open(tmp_path, os.O_RDONLY | os.O_DIRECTORY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        with pytest.raises(OutputError, match="another program is writing in"):
            write_all(tmp_path, {"a": b"x"})
    finally:
        os.close(handle)
    assert not list(tmp_path.iterdir())
    write_all(tmp_path, {"a": b"x"})
    assert contents(tmp_path) == {"a": b"x"}


KILLED = """
import os, pathlib, signal, sys
from scantling import cli
real, moved, last = pathlib.Path.replace, [], int(sys.argv[1])
def dies(path, target):
    if len(moved) == last:
        os.kill(os.getpid(), signal.SIGKILL)
    moved.append(target)
    return real(path, target)
pathlib.Path.replace = dies
sys.argv = ["scantling", *sys.argv[2:]]
cli.main()
"""
VERBS = {
    "keep": ["keep", "--yes", "--bought"],
    "set": ["set", "office.name", "Another", "--yes"],
    "prices": ["prices", "acme.csv", "--yes", "--article", "A-4=disk.spin-4", "--article", "A-12=disk.spin-12"],
    "compare": ["compare", "brief.yaml", "brief.yaml", "--page", "page.html"],
}


@pytest.mark.parametrize("after", [0, 1])
@pytest.mark.parametrize("verb", VERBS)
def test_a_kill_while_writing_leaves_whole_files_and_the_next_run_tidies(
    tmp_path: Path, verb: str, after: int
) -> None:
    """SIGKILL at the first or second move into place: each file is the old one or the new one, then all are well."""
    words = VERBS[verb]
    whole = tmp_path / "whole"
    for place in (whole, tmp_path / "killed"):
        place.mkdir()
        brief = office(place)
        listed(place)
        if verb == "keep":  # what stands is rewritten, not made anew
            (place / "standing.yaml").write_text("# mine\n", encoding="utf-8")
    before = contents(place)
    assert program(whole, f"SCANTLING {' '.join(words)}").returncode == 0
    then = contents(whole)
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(after), *words],
        cwd=place,
        env=ENVIRONMENT,
        capture_output=True,
        check=False,
    )
    many = len([name for name in then if then[name] != before.get(name)])
    assert done.returncode == (-signal.SIGKILL if after < many else 0), done.stderr
    there = {name: content for name, content in contents(place).items() if not name.endswith(".part")}
    assert all(content in (before.get(name), then.get(name)) for name, content in there.items())
    assert brief.exists()
    if verb == "set" and after < many:
        assert there == before
    assert program(place, f"SCANTLING {' '.join(words)}").returncode == 0
    assert contents(place) == then


def test_two_imports_at_once_lose_no_price(tmp_path: Path) -> None:
    """One of two readers of the same prices is told to read again; what the other took stands."""
    listed(tmp_path)
    one, other = (api.read_prices(tmp_path / "acme.csv", tmp_path / "firm", KNOWN) for _ in range(2))
    api.take_prices(one)
    before = contents(tmp_path)
    with pytest.raises(UserError, match="has changed since it was read"):
        api.take_prices(other)
    assert contents(tmp_path) == before
