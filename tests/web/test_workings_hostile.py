"""Workings of what nobody should have typed: it stays text, and leads nowhere."""

from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pytest
from hostile import HOSTILE
from office_client import Read, Tab, served

from scantling import api
from scantling.web.parts import View
from scantling.web.sheets.workings import Asked, told
from scantling.web.working import Teller


@pytest.fixture
def tab(tmp_path: Path) -> Iterator[Tab]:
    """The Millrace."""
    with served(tmp_path) as made:
        yield made


@pytest.mark.parametrize(
    "address", ["<script>alert(1)</script>", "../../etc/hostname", "a?b#c", "%00", "x" * 3000, "money.total/", "/"]
)
def test_hostile_addresses_stay_text(tab: Tab, address: str) -> None:
    answer = tab.get(f"working/{quote(address, safe='')}")
    assert answer.status_code == 200
    assert not Read(answer.text).of("script")


def test_hostile_names_stay_text(tab: Tab) -> None:
    """Names that a client typed stand in workings as they were typed, and make no element."""
    planned = tab.desk.state.planned
    assert planned is not None
    ids = [
        id_.removeprefix("brief.")
        for id_ in api.answers(planned.inputs)
        if id_.endswith(".name") and ".visitors." not in id_
    ]
    typed = dict(zip(ids, HOSTILE, strict=False))
    assert len(typed) > 20
    tab.desk.set(typed)
    view = View(tab.desk.state, tab.desk)
    teller = Teller(view)
    for id_, words in typed.items():
        if f"brief.{id_}" not in teller.web.nodes:
            continue
        for address in (f"brief.{id_}", *(figure.id for figure in teller.web.resting_on(f"brief.{id_}").nearest[:3])):
            page = Read(told(view, address, Asked((f"brief.{id_}",))))
            assert not {one.tag for one in page.elements} & {"script", "img", "style", "svg:script", "iframe"}
            assert not [name for one in page.elements for name in one.attributes if name.startswith("on")]
        whole = Read(told(view, f"brief.{id_}"))
        assert " ".join(words.split()) in " ".join(whole.text.split())
        assert words.strip() in [one.attributes.get("value", "").strip() for one in whole.of("input")]
