"""An office's first plan is made by the worker while the office opens: pages come meanwhile."""

import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from browsing import EXAMPLES
from scantling import api
from scantling.web import app
from scantling.web.app import office
from scantling.web.coming import COMING
from scantling.web.desk import Desk
from scantling.web.worker import Told, Worker

PORT = 8000
TAB = {"HX-Request": "true", "X-Sheet": "N-1", "X-Had": f'{{"{COMING}": "1"}}'}


class Silent(Worker):
    """A worker that begins and never says anything by itself."""

    def begin(self, folder: Path, firm: Path | None) -> None:
        """Nothing is started."""

    def ask_first(self, revision: int, folder: Path, firm: Path | None, text: str) -> None:
        """Nothing is asked."""

    def ask(self, revision: int, brief: Path, firm: Path | None, text: str) -> None:
        """As above."""


def until(holds: Callable[[], object], within: float = 60.0) -> None:
    """Wait until something holds."""
    end = time.monotonic() + within
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.02)


def opened(folder: Path) -> Desk:
    """A desk at a folder, as the command opens it."""
    worker = Worker()
    worker.begin(folder, None)
    desk = Desk(folder, None, worker)
    desk.look_again(leaves=True)
    return desk


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The smallest office."""
    shutil.copy(EXAMPLES / "fold-and-fell" / "brief.yaml", tmp_path)
    return tmp_path


@pytest.fixture
def desk(folder: Path) -> Iterator[Desk]:
    """A desk whose first plan does not come by itself."""
    made = Desk(folder, None, Silent())
    made.look_again(leaves=True)
    yield made
    made.close()


@pytest.fixture
def client(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    """A tab that is not kept waiting."""
    monkeypatch.setattr(app, "PATIENCE", 0.05)
    return TestClient(office(desk, "t", PORT), base_url=f"http://127.0.0.1:{PORT}/t/", follow_redirects=False)


def horizon(planned: api.Planned | None) -> object:
    """How long an office is planned for."""
    assert planned is not None
    return api.answers(planned.inputs)["brief.office.horizon"].value


def plan_told(desk: Desk) -> Told:
    """What a worker says of the first plan."""
    planned = api.planned(desk.brief)
    return Told(desk.state.revision, "purchase", plan=planned.plan, inputs=planned.inputs)


def test_the_worker_makes_the_plan_that_the_desk_would_make(folder: Path) -> None:
    """One search, in the worker; its plan is the one that the desk makes by itself, and proof and second solver follow."""
    other = Desk(folder)
    other.look_again()
    desk = opened(folder)
    try:
        assert desk.state.first_awaited
        desk.wait(60)
        plan, same = desk.state.plan, other.state.plan
        assert plan is not None
        assert same is not None
        assert {id_: str(one.value) for id_, one in plan.figures.items()} == {
            id_: str(one.value) for id_, one in same.figures.items()
        }
        assert (desk.state.revision, desk.state.edits, desk.state.text) == (1, 0, desk.brief.read_text("utf-8"))
        until(lambda: not desk.state.awaiting)
        assert desk.state.plan is not None
        assert desk.state.plan.proof is not None
        stock = api.stock_for(desk.brief)
        until(lambda: desk.state.planned is not None and desk.state.planned.inputs.catalogue is stock.catalogue)
        desk.set({"office.horizon": "4 year"})
        assert desk.state.plan.figures
    finally:
        desk.close()
        other.close()


def test_a_brief_changed_meanwhile_is_the_one_that_is_planned(folder: Path) -> None:
    """What the worker began with is dropped where the file has changed before the desk looks at it."""
    brief = folder / "brief.yaml"
    kept, worker = horizon(api.planned(brief)), Worker()
    worker.begin(folder, None)
    brief.write_text(brief.read_text("utf-8").replace("horizon: 5 year", "horizon: 4 year"), "utf-8")
    desk = Desk(folder, None, worker)
    try:
        desk.look_again(leaves=True)
        desk.wait(60)
        assert desk.state.plan is not None
        assert horizon(desk.state.planned) == horizon(api.planned(brief)) != kept
    finally:
        desk.close()


def test_a_brief_with_mistakes_tells_them_with_their_lines(folder: Path) -> None:
    """The worker can't plan it: the same mistakes, at the same places, as the desk finds."""
    brief = folder / "brief.yaml"
    brief.write_text(brief.read_text("utf-8").replace("horizon: 5 year", "horizon: soon"), "utf-8")
    other, desk = Desk(folder), opened(folder)
    try:
        other.look_again()
        desk.wait(60)
        assert desk.state.mistakes
        assert desk.state.mistakes == other.state.mistakes
        brief.write_text(brief.read_text("utf-8").replace("horizon: soon", "horizon: 5 year"), "utf-8")
        desk.look_again(leaves=True)
        desk.wait(60)
        assert desk.state.plan is not None
        assert not desk.state.mistakes
    finally:
        other.close()
        desk.close()


@pytest.mark.parametrize("content", [b"x" * 2_000_000, b"\0", b"\xff\xfe"])
def test_a_brief_that_is_no_text_or_over_the_limit_is_told_at_once(folder: Path, content: bytes) -> None:
    (folder / "brief.yaml").write_bytes(content)
    desk = opened(folder)
    try:
        assert not desk.state.first_awaited
        assert len(desk.state.mistakes) == 1
        time.sleep(1.0)  # the worker says the same; it changes nothing
        assert desk.state.revision == 1
        shutil.copy(EXAMPLES / "fold-and-fell" / "brief.yaml", folder)
        desk.look_again(leaves=True)
        desk.wait(60)
        assert desk.state.plan is not None
    finally:
        desk.close()


def test_where_the_worker_dies_the_desk_plans_itself(folder: Path) -> None:
    worker = Worker()
    worker.begin(folder, None)
    child = worker._child
    assert child is not None
    child.kill()
    child.wait()
    desk = Desk(folder, None, worker)
    try:
        desk.look_again(leaves=True)
        desk.wait(60)
        assert desk.state.plan is not None
        until(lambda: not desk.state.awaiting)
        assert desk.state.plan.proof is not None
    finally:
        desk.close()


def test_a_page_comes_before_its_plan_counts_and_is_fetched_anew(desk: Desk, client: TestClient) -> None:
    page = client.get("sheet/N-1").text
    assert f'id="{COMING}"' in page
    assert "The first plan is being made" in page
    assert 'data-sheet="N-1"' in page
    desk._heard(Told(desk.state.revision, "count", 12_000))
    assert "12,000 sets looked at" in client.get("redraw", headers=TAB).text
    desk._heard(plan_told(desk))
    assert client.get("redraw", headers=TAB).headers["HX-Refresh"] == "true"
    page = client.get("sheet/N-1").text
    assert 'id="drawing-N-1"' in page
    assert f'id="{COMING}"' not in page


def test_a_first_search_is_stopped_and_taken_up_again(desk: Desk, client: TestClient) -> None:
    late = plan_told(desk)
    assert "was stopped" in client.post("search/stop", headers=TAB).text
    desk._heard(late)  # what a stopped worker still says counts for nothing
    assert desk.state.plan is None
    assert "There is no plan yet" in client.get("sheet/N-1").text
    assert client.get("sheet/brief").status_code == 200
    client.post("search/again", headers=TAB)
    assert desk.state.first_awaited
    desk._heard(plan_told(desk))
    assert desk.state.plan is not None


def test_a_brief_broken_after_a_stop_tells_its_mistakes(desk: Desk, client: TestClient) -> None:
    client.post("search/stop", headers=TAB)
    desk.brief.write_text(desk.brief.read_text("utf-8").replace("horizon: 5 year", "horizon: soon"), "utf-8")
    desk.look_again(leaves=True)
    desk._heard(Told(desk.state.revision, "wrong", says="soon is no time"))
    page = client.get("sheet/N-1").text
    assert "The brief on disk can&#39;t be planned" in page or "The brief on disk can't be planned" in page
    assert "There is no plan yet" not in page
    assert client.get("redraw", headers=TAB).headers["HX-Refresh"] == "true"


def test_the_brief_can_be_written_while_the_first_plan_is_made(desk: Desk, client: TestClient) -> None:
    """The brief's own sheets are there at once; an edit is planned whole, and what is still said of the text before is dropped."""
    late = plan_told(desk)
    for slug in ("brief", "text", "standing"):
        assert "The first plan is being made" in client.get(f"sheet/{slug}").text
    desk.set({"office.horizon": "4 year"})
    edited = desk.state.plan
    assert edited is not None
    desk._heard(late)
    assert desk.state.plan is edited
    assert desk.state.edits == 1
