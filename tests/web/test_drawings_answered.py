"""What the office answers when a drawing is touched, asked for as a file, or a part of the cabinet is moved."""

import shutil
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import quote

import pytest
from starlette.testclient import TestClient

from browsing import EXAMPLES
from drawing_plans import plan_of
from scantling.figures import Place
from scantling.outputs.drawings.drawn import drawings
from scantling.web.app import office
from scantling.web.desk import Desk
from scantling.web.interactive import touches

TOKEN, PORT = "a-token-of-this-test", 8124
BASE = f"http://127.0.0.1:{PORT}"
HTMX = {"HX-Request": "true", "X-Had": "{}"}
FOLDERS = {"fold": "fold-and-fell", "millrace": "millrace", "brackwater": "brackwater"}


@pytest.fixture
def desk(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Desk]:
    """The desk of an example, with its plan whole as its consultant gets it."""
    scenario = getattr(request, "param", "fold")
    for path in (EXAMPLES / FOLDERS[scenario]).iterdir():
        shutil.copy(path, tmp_path / path.name)
    made = Desk(tmp_path)
    made.look_again()
    yield made
    made.close()


@pytest.fixture
def client(desk: Desk) -> TestClient:
    """A client of that office, without a browser."""
    return TestClient(office(desk, TOKEN, PORT), base_url=BASE, follow_redirects=False)


class Words(HTMLParser):
    """The words of a piece of a page."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.feed(html)

    def handle_data(self, data: str) -> None:
        """Note words."""
        self.words.append(data)


@pytest.mark.parametrize("desk", list(FOLDERS), indirect=True)
def test_everything_that_can_be_touched_is_answered(desk: Desk, client: TestClient) -> None:
    """A slip for each thing of each drawing, in the margin's place, never an error."""
    plan = desk.state.plan
    assert plan is not None
    found = dict.fromkeys(touch for svg in drawings(plan).values() for touch in touches(svg))
    assert found
    for touch in found:
        answer = client.get(f"/{TOKEN}/touch/{quote(touch)}", headers=HTMX)
        assert answer.status_code == 200
        assert f'data-slip="{touch}"' in answer.text, touch
        assert 'hx-target="#working"' in answer.text


def test_what_is_gone_is_told(client: TestClient) -> None:
    """A thing that an edit has taken away since."""
    answer = client.get(f"/{TOKEN}/touch/room/attic", headers=HTMX)
    assert answer.status_code == 200
    assert "no longer on the plan" in answer.text


def test_without_scripts_the_slip_stands_on_the_sheet(client: TestClient) -> None:
    """The link of the words leads back to the drawing's sheet, with the slip on it."""
    answer = client.get(f"/{TOKEN}/touch/room/staff?on=N-1")
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/{TOKEN}/sheet/N-1?touch=room%2Fstaff#touched"
    shown = client.get(answer.headers["location"])
    assert 'id="touched"' in shown.text
    assert 'data-slip="room/staff"' in shown.text
    assert client.get(f"/{TOKEN}/sheet/N-1?touch=room/nowhere").status_code == 200


@pytest.mark.parametrize("number", sorted(drawings(plan_of("fold"))))
def test_the_file_of_a_drawing_is_that_of_the_book(desk: Desk, client: TestClient, number: str) -> None:
    """The very bytes, as a file to save."""
    assert desk.state.plan is not None
    answer = client.get(f"/{TOKEN}/drawing/{number}.svg")
    assert answer.content == drawings(desk.state.plan)[number].encode()
    assert answer.headers["content-disposition"] == f'attachment; filename="{number}.svg"'
    assert answer.headers["content-type"].startswith("image/svg+xml")


@pytest.mark.parametrize("number", ["N-99", "..%2F..%2Fbrief", "N-1.svg", "x"])
def test_no_other_file_comes_out(client: TestClient, number: str) -> None:
    """Nothing but the drawings of this plan."""
    assert client.get(f"/{TOKEN}/drawing/{number}.svg").status_code == 404


def test_the_layer_is_kept_and_leads_back(client: TestClient) -> None:
    """The cookie holds for this office alone; a word that is no layer changes nothing."""
    answer = client.get(f"/{TOKEN}/layer/technician/N-2")
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/{TOKEN}/sheet/N-2"
    assert f"layer=technician; Max-Age=31536000; Path=/{TOKEN}/; SameSite=strict" in answer.headers["set-cookie"]
    assert "set-cookie" not in client.get(f"/{TOKEN}/layer/nobody/N-2").headers
    client.cookies.set("layer", "technician")
    assert "Fixed addresses" in client.get(f"/{TOKEN}/touch/room/servers", headers=HTMX).text


def move(client: TestClient, part: str, unit: str) -> str:
    """What is answered to a part being put at a unit."""
    answer = client.post(f"/{TOKEN}/move", data={"part": part, "unit": unit}, headers={**HTMX, "X-Sheet": "P-1"})
    assert answer.status_code == 200
    return answer.text


def lowest(desk: Desk, part: str) -> int:
    """Where a part stands."""
    assert desk.state.plan is not None
    place = next(one for one in desk.state.plan.records(Place) if one.slug == part)
    assert place.lowest is not None
    return int(place.lowest.value)


@pytest.mark.parametrize("desk", ["millrace"], indirect=True)
def test_a_moved_part_is_a_pin_and_undo_takes_it_back(desk: Desk, client: TestClient) -> None:
    """One line of the brief with its reason; centre of gravity follows; undo gives the same bytes."""
    before, text = lowest(desk, "near"), desk.brief.read_bytes()
    assert desk.state.plan is not None
    centre = desk.state.plan.figures["places.centre"].value
    told = move(client, "near", str(before + 4))
    assert f"{before} \u2192 {before + 4}" in told
    assert 'data-slip="part/near"' in told
    assert lowest(desk, "near") == before + 4
    assert desk.state.plan.figures["places.centre"].value > centre
    assert "moved by hand on the cabinet sheet" in desk.brief.read_text("utf-8")
    desk.undo()
    assert desk.brief.read_bytes() == text
    assert lowest(desk, "near") == before


@pytest.mark.parametrize("desk", ["millrace"], indirect=True)
def test_a_part_put_on_another_is_a_stop_and_is_drawn(desk: Desk, client: TestClient) -> None:
    """The finding stands in red pencil, and the plan decides again when it is asked to."""
    before = lowest(desk, "near")
    told = move(client, "near", str(lowest(desk, "host")))
    assert desk.state.plan is not None
    assert [one.weight for one in desk.state.plan.findings if one.finding.code == "C-7"] == ["stop"]
    assert 'data-part="twice"' in told
    move(client, "near", "")
    assert lowest(desk, "near") == before
    assert "C-7" not in {one.finding.code for one in desk.state.plan.findings}


@pytest.mark.parametrize("unit", ["0", "-1", "99", "3.5", "x", "１", " ", "1; rm"])
def test_no_other_height_is_taken(desk: Desk, client: TestClient, unit: str) -> None:
    """A sentence, and the brief stays as it is."""
    assert desk.state.plan is not None
    part = next(one.slug for one in desk.state.plan.records(Place) if one.lowest is not None)
    before = desk.brief.read_bytes()
    assert 'role="alert"' in move(client, part, unit)
    assert 'role="alert"' in move(client, "nothing", "2")
    assert desk.brief.read_bytes() == before


def packet(client: TestClient, **form: str) -> str:
    """What is told of a packet, as words."""
    answer = client.post(f"/{TOKEN}/packet", data=form, headers=HTMX)
    assert answer.status_code == 200
    return " ".join(Words(answer.text.partition('id="packet-told"')[2].partition("</hx-partial>")[0]).words)


def test_a_packet_is_judged_by_the_rules(client: TestClient) -> None:
    """One that is meant passes and names its rule; one that nobody asked for is stopped."""
    passing = packet(client, source="staff", target="files", protocol="tcp", port="445")
    assert "it passes" in passing
    assert "decided by" in passing
    assert "is stopped" in packet(client, source="staff", target="files", protocol="tcp", port="23")


@pytest.mark.parametrize(
    ("form", "says"),
    [
        ({"source": "", "target": "files", "protocol": "tcp", "port": "1"}, "say who sends"),
        ({"source": "staff", "target": "files", "protocol": "tcp", "port": "99999"}, "no port"),
        ({"source": "staff", "target": "files", "protocol": "xyz", "port": ""}, "no protocol"),
        ({"source": "staff reply", "target": "files", "protocol": "tcp", "port": "1"}, "more than one word"),
        ({"source": "<img src=x>", "target": "files", "protocol": "tcp", "port": "1"}, "more than one word"),
        ({"source": "<img/src=x>", "target": "files", "protocol": "tcp", "port": "1"}, "<img/src=x>"),
        ({}, "say who sends"),
    ],
)
def test_words_that_are_no_packet_are_told(client: TestClient, form: dict[str, str], says: str) -> None:
    """In a sentence, and hostile words as text."""
    assert says in packet(client, **form)
