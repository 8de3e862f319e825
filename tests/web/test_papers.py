"""Files and book on screen: what is written is handed out safely, and nothing that lies elsewhere."""

import time
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from shutil import copyfile
from urllib.parse import quote

import pytest
from starlette.testclient import TestClient

from offices import BRIEFS
from scantling import api
from scantling.web.app import office
from scantling.web.desk import Desk
from scantling.web.rooms import aside_of, close, jobs_of
from scantling.web.parts import View
from scantling.web.served import within
from scantling.web.sheets.jobs import strip

PORT = 8000
PATIENCE = 90.0


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("papers")
    copyfile(BRIEFS["fold"], made / "brief.yaml")
    (made / "secret.txt").write_text("a secret")
    (made / "book").mkdir()
    (made / "book/book.html").write_text("<!doctype html><script>alert(1)</script><p>book")
    (made / "book/book.pdf").write_bytes(b"%PDF-1.7")
    (made / "book/N-1.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"><script>1</script></svg>')
    (made / "book/odd.exe").write_bytes(b"MZ")
    (made / "book/.hidden").write_text("hidden")
    (made / "book/link.txt").symlink_to(made / "secret.txt")
    (made / "book/there").mkdir()
    (made / "book/there/deep.txt").write_text("deep")
    (made / "rehearsal").symlink_to(made.parent)
    (made.parent / "outside.txt").write_text("outside")
    return made


@pytest.fixture(scope="module")
def desk(folder: Path) -> Iterator[Desk]:
    made = Desk(folder)
    made.look_again()
    end = time.monotonic() + PATIENCE
    while made.state.awaiting and time.monotonic() < end:
        time.sleep(0.05)
    assert made.state.awaiting == ()
    yield made
    close(made)
    made.close()


@pytest.fixture(scope="module")
def client(desk: Desk) -> TestClient:
    return TestClient(office(desk, "t", PORT), base_url=f"http://127.0.0.1:{PORT}/t/")


@pytest.mark.parametrize("asked", [
    "secret.txt", "brief.yaml", "book/../secret.txt", "book/../../outside.txt", "/etc/passwd", "book//etc/passwd", "book/.hidden",
    "book/link.txt", "rehearsal/outside.txt", "book", "book/", "book/none.txt", "", ".", "..", "book\\..\\secret.txt", "book/\0",
    "files/../secret.txt", "BOOK/book.html", "book/there/../../secret.txt",
])  # fmt: skip
def test_nothing_else_is_handed_out(folder: Path, client: TestClient, asked: str) -> None:
    assert within(folder, asked) is None
    for way in (asked, quote(asked, safe=""), quote(quote(asked, safe=""), safe="")):
        if way:
            told = client.get("papers/written/" + way.replace("\0", "%00").replace("\\", "%5C"))
            assert told.status_code in {400, 403, 404}, way
            assert "secret" not in told.text
            assert "outside" not in told.text


@pytest.mark.parametrize(("name", "kind"), [
    ("book.html", "text/html; charset=utf-8"), ("book.pdf", "application/pdf"), ("N-1.svg", "image/svg+xml"),
    ("there/deep.txt", "text/plain; charset=utf-8"),
])  # fmt: skip
def test_what_is_written_is_shown_where_nothing_in_it_runs(client: TestClient, name: str, kind: str) -> None:
    told = client.get(f"papers/written/book/{name}")
    assert told.status_code == 200
    assert told.headers["content-type"] == kind
    assert told.headers["x-content-type-options"] == "nosniff"
    policy = told.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src" not in policy
    assert ("sandbox" in policy) == (name != "book.pdf")


def test_what_no_browser_shows_safely_is_kept_as_a_file(client: TestClient) -> None:
    told = client.get("papers/written/book/odd.exe")
    assert told.headers["content-type"] == "application/octet-stream"
    assert told.headers["content-disposition"] == 'attachment; filename="odd.exe"'


def test_every_file_of_the_plan_is_listed_and_can_be_kept_byte_for_byte(desk: Desk, client: TestClient) -> None:
    client.get("sheet/papers")
    aside_of(desk).wait("files", PATIENCE)
    page = client.get("sheet/papers").text
    assert desk.state.plan is not None
    for one in api.files(desk.state.plan):
        assert f">{one.path}</a>" in page
        told = client.get(f"papers/keep/{one.path}")
        assert told.content == one.content
        assert told.headers["content-disposition"].startswith("attachment; ")


def told_in_pre(page: str) -> str:
    """What the first pre element of a page shows, as a browser reads it."""
    return unescape(page.partition("<pre")[2].partition(">")[2].partition("</pre>")[0])


def test_a_file_is_looked_at_as_text(desk: Desk, client: TestClient) -> None:
    client.get("sheet/papers")
    aside_of(desk).wait("files", PATIENCE)
    told = client.get("papers/look/firewall/rules.nft", headers={"HX-Request": "true"})
    assert desk.state.plan is not None
    rules = next(one for one in api.files(desk.state.plan) if one.path == "firewall/rules.nft")
    assert told_in_pre(told.text).strip() == rules.content.decode().strip()
    assert client.get("papers/look/nothing/here", headers={"HX-Request": "true"}).status_code == 200
    assert client.get("papers/keep/nothing/here").status_code == 400


def test_a_book_of_another_plan_is_said_to_be_out_of_date(folder: Path, desk: Desk, client: TestClient) -> None:
    (folder / "book/plan.json").write_text("{}\n")
    client.get("sheet/papers")
    aside_of(desk).wait("same book", PATIENCE)
    assert "It is out of date" in client.get("sheet/papers").text


def test_the_trials_sheet_tells_the_proof(desk: Desk, client: TestClient) -> None:
    plan = desk.state.plan
    assert plan is not None
    assert plan.proof is not None
    page = client.get("sheet/trials").text
    assert f"{plan.proof.holding} of {plan.proof.intents}" in page
    assert "Not shown by any proof of rules" in page
    assert "Rehearse it" in page


@pytest.mark.slow
def test_files_and_rehearsal_are_made_and_told(folder: Path, desk: Desk, client: TestClient) -> None:
    (folder / "rehearsal").unlink()
    page = client.post("in-hand/start", data={"kind": "rehearsal", "family": "4"}, follow_redirects=True).text
    assert "Rehearsing the office" in page
    job = jobs_of(desk).wait(jobs_of(desk).every[0].id, PATIENCE)
    assert job.code in {0, 1}
    assert (folder / "rehearsal/rehearsal.json").is_file()
    client.get("sheet/trials")
    aside_of(desk).wait("rehearsal", PATIENCE)
    page = client.get("sheet/trials").text
    found = api.read_rehearsal(folder / "rehearsal/rehearsal.json")
    assert "The rehearsal that lies here" in page
    assert "It was of another plan" not in page
    if found.why_not:
        assert "Nothing could be stood up" in page
    else:
        assert client.get("sheet/T-1").text.count("<svg") == 1
        assert "has nothing for this sheet" in client.get("sheet/T-2").text
    desk.set({"devices.workstations.count": "90"})  # more addresses to lend
    end = time.monotonic() + PATIENCE
    while desk.state.awaiting and time.monotonic() < end:
        time.sleep(0.05)
    client.get("sheet/trials")
    aside_of(desk).wait("rehearsal", PATIENCE)
    page = client.get("sheet/trials").text
    assert "It was of another plan" in page


def test_unknown_work_is_refused_with_a_sentence(client: TestClient) -> None:
    told = client.post("in-hand/start", data={"kind": "<b>rm</b>"}, headers={"HX-Request": "true"})
    assert "there is no such work" in told.text
    assert "<b>rm" not in told.text
    told = client.post("in-hand/stop", data={"id": "book-99"}, headers={"HX-Request": "true"})
    assert "there is no work" in told.text


def test_one_line_of_work_stands_ready_for_every_sheet(desk: Desk, client: TestClient) -> None:
    client.get("sheet/papers")
    jobs = jobs_of(desk)
    job = jobs.start("weighing")
    line = strip(View(desk.state, desk)).html
    assert 'id="work-strip"' in line
    assert "Weighing what else could be bought" in line
    jobs.stop(job.id)
    jobs.wait(job.id, PATIENCE)
    line = strip(View(desk.state, desk)).html
    assert "Stopped." in line
    assert "hidden" not in line
