"""The first visit: an empty folder offers two ways; every answer is kept at once; nothing that lies there is written over."""

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from shutil import copyfile

import pytest
from starlette.testclient import TestClient

from hostile import HOSTILE
from offices import BRIEFS
from scantling import UserError, api
from scantling.api.exploring import explore, invented
from scantling.api.interviewing import Meeting
from scantling.api.revisiting import again, said
from scantling.brief.answers import Asking
from scantling.web.app import office
from scantling.web.desk import Desk

PORT = 8000
HX = {"HX-Request": "true", "X-Sheet": "first"}
ROUGH = (
    "12", "10 PCs, 4 laptops", "0", "files, print", "1.5 TB", "15 %/year", "8 h", "cupboard, 40 dB", "200/40 Mbit/s", "IE, 20000 EUR",
)  # fmt: skip


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = Desk(tmp_path)
    made.look_again()
    yield made
    made.close()


@pytest.fixture
def client(desk: Desk) -> TestClient:
    return TestClient(office(desk, "t", PORT), base_url=f"http://127.0.0.1:{PORT}/t/", follow_redirects=False)


def shown(client: TestClient) -> str:
    """The first visit's page."""
    return client.get("sheet/first").text


def put(client: TestClient, typed: str) -> str:
    """One typed answer; the page afterwards."""
    assert client.post("first/put", data={"typed": typed}).status_code == 303
    return shown(client)


def question(page: str) -> str:
    """The question that stands."""
    found = re.search(r'class="question">([^<]*)<', page)
    assert found is not None
    return unescape(found[1])


def test_an_empty_folder_offers_both_ways(client: TestClient) -> None:
    assert client.get("").headers["location"] == "sheet/first"
    page = shown(client)
    for office_ in invented():
        assert f">{office_.people} people.<" in page
    assert "The interview" in page


def test_invented_offices_tell_what_they_are() -> None:
    found = {one.slug: one for one in invented()}
    assert found["fold-and-fell"].people == 5
    assert found["millrace"].people == 12 + 6 + 6 + 40
    assert found["brackwater"].files == ("brief.yaml", "standing.yaml")
    assert all(one.says.endswith(".") and one.says[0].isupper() for one in found.values())
    assert [one.people for one in invented()] == sorted(one.people for one in invented())


def test_exploring_copies_byte_for_byte_and_opens(client: TestClient, desk: Desk) -> None:
    answer = client.post("first/explore", data={"office": "brackwater"}, headers=HX)
    assert answer.headers["HX-Redirect"] == "../"
    for name in ("brief.yaml", "standing.yaml"):
        assert (desk.folder / name).read_bytes() == (BRIEFS["brackwater"].with_name(name)).read_bytes()
    desk.wait(60)
    assert desk.state.plan is not None
    assert client.get("sheet/first").text.count("First visit") == 0 or desk.state.seen


def test_nothing_that_lies_there_is_written_over(tmp_path: Path) -> None:
    (tmp_path / "standing.yaml").write_text("kit: {}\n")
    with pytest.raises(UserError, match="lies there already"):
        explore("millrace", tmp_path)
    assert (tmp_path / "standing.yaml").read_text() == "kit: {}\n"
    assert not (tmp_path / "brief.yaml").exists()
    with pytest.raises(UserError, match="no office called"):
        explore("../../secret", tmp_path)


def test_ten_answers_become_the_brief_that_the_command_writes(client: TestClient, desk: Desk, tmp_path: Path) -> None:
    client.post("first/begin", data={"how": "quick"})
    for place, typed in enumerate(ROUGH):
        assert f"question {place + 1} of about 10" in shown(client)
        put(client, typed)
    assert "Everything that was to be asked is answered." in shown(client)
    answer = client.post("first/write", headers=HX)
    assert answer.headers["HX-Redirect"] == "../"
    other = Meeting(tmp_path / "other", desk.state.text.partition("as_of: ")[2].partition("\n")[0].partition(" ")[0])
    other.begin(Asking.ROUGH)
    for typed in ROUGH:
        other.put(typed)
    other.write(yes=False)
    assert desk.brief.read_text() == (tmp_path / "other/brief.yaml").read_text()
    desk.wait(60)
    assert desk.state.plan is not None


def test_every_answer_is_kept_at_once_and_another_server_goes_on(client: TestClient, desk: Desk) -> None:
    client.post("first/begin", data={"how": "whole"})
    put(client, "Abbey Bakery")
    put(client, "IE")
    assert "Abbey Bakery" in (desk.folder / "answers.yaml").read_text()
    later = Desk(desk.folder)
    later.look_again()
    page = shown(TestClient(office(later, "t", PORT), base_url=f"http://127.0.0.1:{PORT}/t/"))
    assert "In which currency do you pay" in question(page)
    assert "Abbey Bakery" in page
    later.close()


def test_a_wrong_answer_stays_with_its_reason(client: TestClient) -> None:
    client.post("first/begin", data={"how": "quick"})
    page = put(client, "many <b>people</b>")
    assert question(page) == "How many people work there?"
    assert 'value="many &lt;b&gt;people&lt;/b&gt;"' in page
    assert 'aria-invalid="true"' in page
    assert 'class="pencil"' in page


def test_an_assumption_is_taken_told_and_can_be_asked_again(client: TestClient) -> None:
    client.post("first/begin", data={"how": "whole"})
    put(client, "Abbey Bakery")
    put(client, "IE")
    client.post("first/put", data={"leave": "yes", "typed": "ignored"})
    page = shown(client)
    assert "assumed, ask" in page.partition("What was answered")[2]
    client.post("first/again", data={"key": "office.country"})
    page = shown(client)
    assert "country" in question(page)
    assert 'value="IE"' in page
    page = put(client, "FR")
    assert "On which day" in question(page)
    client.post("first/put", data={"typed": "back"})
    assert "currency" in question(shown(client))


def test_like_an_office_one_knows(client: TestClient, desk: Desk) -> None:
    answer = client.post("first/begin", data={"how": "like", "office": "millrace", "people": "twelve"}, headers=HX)
    assert "write how many people" in answer.text
    client.post("first/begin", data={"how": "like", "office": "millrace", "people": "12"})
    assert "What is the client called?" in question(shown(client))
    assert "millrace" in (desk.folder / "answers.yaml").read_text().lower()


def test_a_name_asked_again_is_taken_out_with_what_was_said_of_it(tmp_path: Path) -> None:
    meeting = Meeting(tmp_path, "2026-11-25")
    meeting.begin(Asking.ALL)
    for typed in ("Abbey Bakery", "IE", "", "", "", "", "", "", "", "", "Cooks", "5", "", "", "", "", "Sellers", "3"):
        meeting.put(typed)
    assert [one.answer for one in said(meeting) if one.named] == ["Cooks", "Sellers"]
    assert again(meeting, "people.roles.cooks") == "Cooks"
    assert [one.answer for one in said(meeting) if one.named] == ["Sellers"]
    assert not any(id_.startswith("people.roles.cooks.") for id_ in meeting.answers.said)
    kept = meeting.answers
    assert again(meeting, "no.such.question") == ""
    assert meeting.answers == kept
    assert Meeting(tmp_path, "2026-11-25").answers == kept


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_answers_are_shown_as_text(client: TestClient, text: str) -> None:
    client.post("first/begin", data={"how": "whole"})
    page = put(client, text)
    cell = re.search(r"What is the client called\?</th><td>(.*?)</td>", page, re.DOTALL)
    if cell is None:  # refused: it stays in the field
        field = re.search(r'id="typed" name="typed" value="([^"]*)"', page)
        assert field is not None
        assert unescape(field[1]) == text
    else:
        assert unescape(re.sub(r"<[^>]*>", "", cell[1])).strip() == text.strip()
    assert "<script>" not in page
    assert "<img" not in page


def test_an_answer_without_end_is_refused(client: TestClient, desk: Desk) -> None:
    client.post("first/begin", data={"how": "whole"})
    answer = client.post("first/put", data={"typed": "x" * 3000}, headers=HX)
    assert "at most 2,000" in answer.text
    assert not (desk.folder / "answers.yaml").exists()


def test_answers_that_cannot_be_read_are_told_with_their_place(desk: Desk, client: TestClient) -> None:
    (desk.folder / "answers.yaml").write_text("asking: [")
    page = shown(client)
    assert "answers.yaml:1:" in page
    assert "can't be read" in page


def test_once_there_is_a_brief_the_interview_leads_to_it(client: TestClient, desk: Desk) -> None:
    client.post("first/begin", data={"how": "quick"})
    copyfile(BRIEFS["fold"], desk.brief)
    desk.look_again()
    before = desk.brief.read_bytes()
    assert client.post("first/write", headers=HX).headers["HX-Redirect"] == "../"
    assert client.post("first/explore", data={"office": "millrace"}).headers["location"] == "../"
    assert desk.brief.read_bytes() == before
    assert api.text_of(desk.brief).text == desk.state.text
