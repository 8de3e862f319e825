"""The search that follows an edit: stopped and begun again from any sheet, and never told wrongly."""

import shutil
import time
from pathlib import Path

import pytest

from browsing import EXAMPLES
from scantling.web.desk import Desk

HEADS = "people.roles.programme.heads"


@pytest.fixture
def desk(tmp_path: Path) -> "Desk":
    """A desk at the Millrace."""
    shutil.copytree(EXAMPLES / "millrace", tmp_path, dirs_exist_ok=True)
    made = Desk(tmp_path)
    made.look_again()
    return made


def settled(desk: Desk) -> None:
    """Wait until nothing follows."""
    end = time.monotonic() + 60
    while desk.state.awaiting:
        assert time.monotonic() < end
        time.sleep(0.02)


def test_a_search_is_stopped_and_taken_up_again(desk: Desk) -> None:
    """The plan stays provisional when it is stopped, with the parts of the plan before; taken up, it ends as it would have."""
    try:
        settled(desk)
        before = desk.state.plan
        assert before is not None
        desk.set({HEADS: "60"})
        stopped = desk.stop_search()
        assert stopped.stopped
        assert stopped.awaiting == ()
        assert stopped.plan is not None
        assert stopped.plan.sketched
        time.sleep(0.5)  # nothing comes from a worker that was stopped
        assert desk.state.plan is stopped.plan
        desk.search_again()
        settled(desk)
        plan = desk.state.plan
        assert plan is not None
        assert not plan.sketched
        assert not desk.state.stopped
        assert plan.proof is not None
        assert plan.figures["money.total"].value > before.figures["money.total"].value
    finally:
        desk.close()


def test_undo_holds_after_a_stop(desk: Desk) -> None:
    """An edit whose search was stopped is taken back like any other."""
    try:
        text = desk.brief.read_text("utf-8")
        desk.set({HEADS: "60"})
        desk.stop_search()
        desk.undo()
        assert desk.brief.read_text("utf-8") == text
        settled(desk)
        assert desk.state.plan is not None
        assert not desk.state.plan.sketched
    finally:
        desk.close()
