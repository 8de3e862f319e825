"""Who gets in and who doesn't: token, host, other sites, endless bodies; and what a page may do (Fetch Metadata, CSP level 3)."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from browsing import EXAMPLES
from scantling.web.app import office
from scantling.web.desk import Desk
from scantling.web.guard import MOST_BYTES
from scantling.web.serving import listening

TOKEN, PORT = "a-token-of-this-test", 8123
BASE = f"http://127.0.0.1:{PORT}"


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A client of the smallest office, without a browser."""
    folder = tmp_path_factory.mktemp("fold")
    shutil.copy(EXAMPLES / "fold-and-fell" / "brief.yaml", folder)
    desk = Desk(folder)
    desk.look_again()
    yield TestClient(office(desk, TOKEN, PORT), base_url=BASE, follow_redirects=False)
    desk.close()


def test_the_whole_address_opens(client: TestClient) -> None:
    """The address that was printed leads to the first sheet."""
    assert client.get(f"/{TOKEN}/").status_code == 303
    assert client.get(f"/{TOKEN}/sheet/people").status_code == 200


@pytest.mark.parametrize(
    "path", ["/", "/sheet/people", f"/{TOKEN}x/", f"/{TOKEN[:-1]}/", f"//{TOKEN}x", "/%00/", f"/x/../{TOKEN[:-2]}/"]
)
def test_without_the_token_nobody_gets_in(client: TestClient, path: str) -> None:
    """A wrong token, or none, is refused with a sentence and shows nothing of the office."""
    answer = client.get(path)
    assert answer.status_code == 403
    assert "token" in answer.text
    assert "Fold" not in answer.text


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8123", "127.0.0.1", "127.0.0.1:8124", "", "localhost.evil.example:8123"]
)
def test_another_host_is_refused(client: TestClient, host: str) -> None:
    """A name that leads here by another road (rebinding) gets nothing, token or not."""
    answer = client.get(f"/{TOKEN}/sheet/people", headers={"Host": host})
    assert answer.status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Origin": "https://evil.example"}, {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
    ],
)  # fmt: skip
def test_a_form_of_another_site_is_refused(client: TestClient, headers: dict[str, str]) -> None:
    """A form that another site sends is refused, even with the token."""
    answer = client.post(f"/{TOKEN}/undo", headers=headers)
    assert answer.status_code == 403


def test_an_own_form_is_taken(client: TestClient) -> None:
    """The same form from the office's own page is taken."""
    headers = {"Sec-Fetch-Site": "same-origin", "Origin": BASE, "HX-Request": "true", "X-Sheet": "people"}
    answer = client.post(f"/{TOKEN}/undo", headers=headers)
    assert answer.status_code == 200
    assert "nothing to undo" in answer.text


def test_a_body_without_end_is_refused(client: TestClient) -> None:
    """A form larger than any brief is refused politely, with and without its length told."""
    own = {"Sec-Fetch-Site": "same-origin", "Origin": BASE}
    big = b"text=" + b"a" * MOST_BYTES
    assert client.post(f"/{TOKEN}/text/save", content=big, headers=own).status_code == 413

    def pieces() -> Iterator[bytes]:
        for _ in range(70):
            yield b"a" * 65_536

    assert client.post(f"/{TOKEN}/text/save", content=pieces(), headers=own).status_code == 413


@pytest.mark.parametrize("path", ["sheet/people", "sheet/nowhere", "static/office.js", "redraw"])
def test_every_answer_says_what_a_page_may_do(client: TestClient, path: str) -> None:
    """Nothing but own files runs or is shown; no other page may frame, read or be told of it."""
    answer = client.get(f"/{TOKEN}/{path}")
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"


@pytest.mark.parametrize(
    "name", ["../desk.py", "..%2Fdesk.py", "%2e%2e/desk.py", "README.md", "SHA256SUMS", "/etc/passwd"]
)
def test_only_what_is_listed_is_sent(client: TestClient, name: str) -> None:
    """A file is sent by its name in our own folder, never by a path."""
    answer = client.get(f"/{TOKEN}/static/{name}")
    assert answer.status_code in {403, 404}


def test_no_page_holds_script_or_style_of_its_own(client: TestClient) -> None:
    """Scripts and styles are files; nothing inline would run under the policy."""
    for sheet in ("people", "host", "N-1", "findings", "brief"):
        text = client.get(f"/{TOKEN}/sheet/{sheet}").text
        assert "<script>" not in text
        assert "<style" not in text
        assert " style=" not in text
        assert "onclick=" not in text


def test_only_this_machine_can_reach_it() -> None:
    """The listening socket is bound to the loopback address (RFC 1122, section 3.2.1.3)."""
    with listening(0) as listener:
        assert listener.getsockname()[0] == "127.0.0.1"


def test_a_folder_without_a_brief_has_no_sheets_but_the_first(tmp_path: Path) -> None:
    """Before there is a brief there is nothing to show but the first visit."""
    desk = Desk(tmp_path)
    desk.look_again()
    try:
        answer = TestClient(office(desk, TOKEN, PORT), base_url=BASE).get(f"/{TOKEN}/")
        assert answer.status_code == 200
    finally:
        desk.close()
