"""The processes of an office that opens: one worker, that ends with it however it ends; and the page that comes by itself."""

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from browsing import EXAMPLES, address_of, served
from scantling.web.coming import COMING
from scantling.web.desk import Desk
from scantling.web.worker import Worker

if TYPE_CHECKING:
    from playwright.sync_api import Browser

LATE = """
import time
from scantling.web import app
from scantling.web.desk import Desk
app.PATIENCE, said = 0.0, Desk._heard_first
def late(desk, told):
    time.sleep(2.0)
    said(desk, told)
Desk._heard_first = late
from scantling.cli import main
main()
"""
"""The command, whose first plan comes late."""


def until(holds: Callable[[], object], within: float = 60.0) -> None:
    """Wait until something holds."""
    end = time.monotonic() + within
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.02)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The smallest office."""
    shutil.copy(EXAMPLES / "fold-and-fell" / "brief.yaml", tmp_path)
    return tmp_path


def children(process: int) -> list[int]:
    """The processes that a process has started."""
    return [int(one) for one in Path(f"/proc/{process}/task/{process}/children").read_text("utf-8").split()]


def gone(process: int) -> bool:
    """Whether a process is no more, or only waits to be noted."""
    try:
        return Path(f"/proc/{process}/stat").read_text("utf-8").rpartition(")")[2].split()[0] == "Z"
    except FileNotFoundError:
        return True


@pytest.mark.parametrize("ending", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
@pytest.mark.parametrize("after", [0.0, 0.25, 0.6])
def test_ended_at_once_no_worker_stays(folder: Path, ending: signal.Signals, after: float) -> None:
    """From the moment that the worker is there: ended by Ctrl-C, politely, or by force."""
    words = [sys.executable, "-m", "scantling", "open", str(folder), "--no-browser"]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    until(lambda: children(process.pid))
    workers = children(process.pid)
    time.sleep(after)
    os.kill(process.pid, ending)
    said, _ = process.communicate(timeout=30)  # the worker holds none of its pipes
    until(lambda: all(map(gone, workers)), 10)
    assert "Traceback" not in said
    assert sorted(path.name for path in folder.iterdir()) == ["brief.yaml"]


def test_an_office_has_one_worker(folder: Path) -> None:
    with served(folder) as (_, process):
        assert len(children(process.pid)) == 1


def test_a_folder_of_a_client_gives_no_modules(folder: Path) -> None:
    """A file that bears the name of one of our modules is not run."""
    (folder / "yaml.py").write_text("raise SystemExit('ran')\n", "utf-8")
    (folder / "pickle.py").write_text("raise SystemExit('ran')\n", "utf-8")
    worker, here = Worker(), Path.cwd()
    os.chdir(folder)
    try:
        worker.begin(folder, None)
        desk = Desk(folder, None, worker)
        desk.look_again(leaves=True)
        until(lambda: not desk.state.awaiting)
        assert desk.state.plan is not None
        assert desk.state.plan.proof is not None
        assert not desk.state.wrong
    finally:
        os.chdir(here)
        worker.close()


def test_in_the_browser_the_sheet_comes_by_itself(chromium: "Browser", folder: Path) -> None:
    words = [sys.executable, "-c", LATE, "open", str(folder), "--no-browser"]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        page = chromium.new_page()
        page.goto(f"{address_of(process)}sheet/N-1")
        assert "The first plan is being made" in page.inner_text("#state-line")
        page.wait_for_selector("#drawing-N-1", timeout=60_000)
        assert page.locator(f"#{COMING}").count() == 0
        page.close()
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=30)


def test_what_is_loaded_beforehand_is_what_a_first_sheet_needs(folder: Path) -> None:
    """In a process of its own: after it, the first page with a drawing reads no template any more."""
    asks = (
        "import sys; from pathlib import Path; from starlette.testclient import TestClient\n"
        "from scantling.web import beforehand; from scantling.web.app import office; from scantling.web.desk import Desk\n"
        "from scantling.web.rendering import surroundings\n"
        "desk = Desk(Path(sys.argv[1])); desk.look_again(); beforehand.load_trades(); beforehand.load_sheet()\n"
        "before = set(surroundings().cache)\n"
        "page = TestClient(office(desk, 't', 8000), base_url='http://127.0.0.1:8000/t/').get('sheet/N-1')\n"
        "desk.close(); assert 'drawing-N-1' in page.text; print(set(surroundings().cache) ^ before or 'the same')"
    )
    said = subprocess.run([sys.executable, "-c", asks, str(folder)], text=True, capture_output=True, check=False)
    assert said.stdout == "the same\n", said.stdout + said.stderr
