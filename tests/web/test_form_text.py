"""The brief and what stands as text: shown exactly, checked as typed, saved whole, kept beside where somebody else wrote."""

import pytest
from starlette.testclient import TestClient

from form_tabs import Page, client, desk, sent
from hostile_briefs import spread
from offices import fold
from scantling import api
from scantling.web.desk import Desk
from scantling.web.texts import ends_like, too_large

__all__ = ["client", "desk"]


def test_the_text_is_checked_and_saved_whole(client: TestClient, desk: Desk) -> None:
    text, seen = desk.state.text, desk.state.seen
    assert "line 1, column" in sent(client, "text/check", text="office: [")
    assert "No mistakes" in sent(client, "text/check", text=text)
    new = text.replace("\n", "\r\n", 3) + "# a remark\r\n"  # a browser's form ends lines in its own way
    sent(client, "text/save", text=new, seen=seen)
    assert desk.brief.read_bytes() == (text + "# a remark\n").encode()


def test_a_text_with_mistakes_is_not_saved(client: TestClient, desk: Desk) -> None:
    before = desk.brief.read_bytes()
    answer = sent(client, "text/save", text=desk.state.text + "colour: red\n", seen=desk.state.seen)
    assert "Not saved" in answer
    assert "colour" in answer or "not known" in answer
    assert desk.brief.read_bytes() == before


def test_a_text_that_somebody_else_changed_is_kept_beside(client: TestClient, desk: Desk) -> None:
    text, seen = desk.state.text, desk.state.seen
    theirs = text + "# theirs\n"
    desk.brief.write_text(theirs)
    answer = sent(client, "text/save", text=text + "# mine\n", seen=seen)
    assert "brief.mine-1.yaml" in answer
    assert desk.brief.read_text() == theirs
    assert (desk.folder / "brief.mine-1.yaml").read_text() == text + "# mine\n"


def test_a_text_over_the_limit_is_refused_politely(client: TestClient, desk: Desk) -> None:
    before = desk.brief.read_bytes()
    for text in ("# x\n" * 5001, "# " + "x" * 1_000_000):
        assert "too l" in sent(client, "text/check", text=text)
        assert "too l" in sent(client, "text/save", text=text, seen=desk.state.seen)
    assert desk.brief.read_bytes() == before
    assert too_large("x" * 1_000_000) == ""


def test_the_text_sheet_shows_the_text_exactly(client: TestClient, desk: Desk) -> None:
    text = "\n" + spread(fold())
    desk.brief.write_text(text)
    desk.look_again()
    html = client.get("sheet/text").text
    inside = html.partition("<textarea")[2].partition(">")[2].partition("</textarea>")[0]
    page = Page(f"<p>{inside}</p>")
    assert page.words.removeprefix("\n") == text
    assert page.elements == {"p"}


def test_what_stands_is_written_checked_and_kept_from_others(client: TestClient, desk: Desk) -> None:
    path = desk.folder / "standing.yaml"
    assert not path.exists()
    assert "column" in sent(client, "standing/check", text="kit: {old: 3}")
    assert "Not saved" in sent(client, "standing/save", text="kit: {old: 3}", seen="")
    assert not path.exists()
    sent(client, "standing/save", text="# nothing stands\n", seen="")
    assert path.read_text() == "# nothing stands\n"
    assert "has changed" in sent(client, "standing/save", text="# mine\n", seen="")
    assert path.read_text() == "# nothing stands\n"
    sent(client, "standing/save", text="# still nothing\n", seen=api.fingerprint(path.read_bytes()))
    assert path.read_text() == "# still nothing\n"
    assert "still nothing" in client.get("sheet/standing").text


@pytest.mark.parametrize(
    ("old", "typed", "new"),
    [
        ("a\nb\n", "a\r\nc\r\n", "a\nc\n"),
        ("a\r\nb\r\n", "a\nc\n", "a\r\nc\r\n"),
        ("a\r\nb\nc\r\n", "a\nb\nx\nc\n", "a\r\nb\nx\r\nc\r\n"),
        ("a\r\nb", "a\nb", "a\r\nb"),
        ("a\rb\r", "a\nb\n", "a\rb\r"),
        ("", "a\r\n", "a\n"),
    ],
)  # fmt: skip
def test_lines_keep_the_ends_that_they_have_on_disk(old: str, typed: str, new: str) -> None:
    assert ends_like(old, typed) == new
    assert ends_like(old, old.replace("\r\n", "\n").replace("\r", "\n")) == old
