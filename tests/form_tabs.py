"""A tab on the brief's sheets for tests: a desk that waits for no search, its addresses, and a reader of the pages."""

import shutil
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace

import pytest
from starlette.testclient import TestClient

from offices import BRIEFS
from scantling.web.app import office
from scantling.web.desk import Desk
from scantling.web.form_kinds import handle

PORT, TOKEN = 8000, "token"


class Page(HTMLParser):
    """What a reader of HTML makes of a page: elements, attributes, the lines to write on, all words."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: set[str] = set()
        self.attributes: set[str] = set()
        self.lines: dict[str, str] = {}
        self.words = ""
        self.choosing = ""
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element begins."""
        told = dict(attrs)
        self.elements.add(tag)
        self.attributes |= set(told)
        answer = told.get("data-answer")
        if answer is not None:
            self.lines[answer] = told.get("value") or ""
            self.choosing = answer if tag == "select" else ""
        if tag == "option" and self.choosing and "selected" in told:
            self.lines[self.choosing] = told["value"] or ""

    def handle_endtag(self, tag: str) -> None:
        """An element ends."""
        self.choosing = "" if tag == "select" else self.choosing

    def handle_data(self, data: str) -> None:
        """Words between elements."""
        self.words += data


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A desk on the smallest scenario, whose search for articles is not waited for."""
    shutil.copy(BRIEFS["fold"], tmp_path / "brief.yaml")
    made = Desk(tmp_path)
    made.worker.close()
    made.worker = SimpleNamespace(
        ask=lambda *_: None, follow=lambda *_: None, hear=lambda *_: None, close=lambda: None
    )  # type: ignore[assignment]
    made.look_again()
    assert made.state.plan is not None
    yield made
    made.close()


@pytest.fixture
def client(desk: Desk) -> TestClient:
    """A tab that shows the brief."""
    headers = {"X-Sheet": "brief", "HX-Request": "true", "Sec-Fetch-Site": "same-origin"}
    return TestClient(office(desk, TOKEN, PORT), f"http://127.0.0.1:{PORT}/{TOKEN}/", headers=headers)


def sent(client: TestClient, path: str, **told: str) -> str:
    """What the office answers to a form."""
    answer = client.post(path, data=told)
    assert answer.status_code == 200, answer.text
    return answer.text


def told_at(answer: str, id_: str) -> str:
    """The message under a line, in an answer; the last one, which stays."""
    _, _, rest = answer.rpartition(f'id="wrong-{handle(id_)}"')
    return rest.partition(">")[2].partition("</p>")[0]
