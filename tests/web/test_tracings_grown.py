"""More people on a tracing: heads shared out, the devices that go with people after them, and all of it told before it is laid."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hostile import HOSTILE
from office_client import Read, Tab, served

from scantling import UserError
from scantling.api import tracing as traced
from scantling.api import tracing_starts as starts


@pytest.fixture
def tab(tmp_path: Path) -> Iterator[Tab]:
    """The Millrace, with the sheet of tracings shown."""
    with served(tmp_path) as made:
        yield made


def test_scaled_heads_by_largest_remainder() -> None:
    """12, 6, 6 and 40 by a quarter: 15, 7.5, 7.5 and 50 of 80 in all; one of the halves is rounded up (as seats are)."""
    text = (Path(__file__).parents[2] / "examples/millrace/brief.yaml").read_text()
    made = starts.more_people(text, 25)
    heads = {"programme": 12, "box-office": 6, "technical": 6, "volunteers": 40}
    after = {slug: int(made.get(f"people.roles.{slug}.heads") or many) for slug, many in heads.items()}
    assert sum(after.values()) == 80
    assert (after["programme"], after["volunteers"], sorted((after["box-office"], after["technical"]))) == (
        15,
        50,
        [7, 8],
    )
    for percent in (0, -100, 1001):
        with pytest.raises(UserError, match="per cent more"):
            starts.more_people(text, percent)


def test_devices_that_go_with_people_follow() -> None:
    """Counted by hand for the Millrace and a quarter more: 14, 6, 8 and 18 become 17.5, 7.5, 10 and 22.5, halves up; the rest stays."""
    text = (Path(__file__).parents[2] / "examples/millrace/brief.yaml").read_text()
    counts = {id_: value for id_, value in starts.more_people(text, 25).items() if id_.startswith("devices.")}
    assert counts == {
        "devices.office-pcs.count": "18",
        "devices.box-office-pcs.count": "8",
        "devices.laptops.count": "10",
        "devices.handsets.count": "23",
    }
    told = {one.id: (one.name, one.before, one.after) for one in starts.grown(text, 25)}
    assert told["devices.cameras.count"] == ("Cameras", 9, 9)
    assert told["devices.office-pcs.count"] == ("Office PCs", 14, 18)


@pytest.mark.parametrize("name", ["millrace", "fold-and-fell", "saltmarsh", "brackwater"])
@pytest.mark.parametrize("percent", [-99, -50, -20, 33, 100, 1000])
def test_devices_keep_their_proportion_to_people(name: str, percent: float) -> None:
    """Every device of a person's own is within half a piece of its share of the heads, and none vanishes; the brief still holds."""
    text = (Path(__file__).parents[2] / "examples" / name / "brief.yaml").read_text()
    told = starts.grown(text, percent)
    heads = [one for one in told if one.id.startswith("people.")]
    factor = sum(one.after for one in heads) / sum(one.before for one in heads)
    devices = [one for one in told if one.id.startswith("devices.")]
    kinds = {
        f"devices.{slug}.count": kind
        for slug, kind in re.findall(r"^  (\S+): +\{.*kind: ([\w ]+), count", text, re.MULTILINE)
    }
    assert {one.id for one in devices} == set(kinds)
    for one in devices:
        if kinds[one.id] in ("pc", "laptop", "tablet", "phone"):
            assert one.after == 1 or abs(one.after - one.before * factor) <= 0.5
        else:
            assert one.after == one.before
    assert any(one.after != one.before for one in devices)


def test_what_more_people_change_is_told_before(tab: Tab) -> None:
    """What the form tells is what the tracing then changes, to the last answer; a slip of the pen is told instead."""
    read = Read(tab.post("tracing/growth", percent="50 %").text)
    (told,) = read.of("div", id="tracing-growth")
    assert "Office PCs: 14 → 21" in told.text
    assert "Cameras 9" in told.text
    lines = [one.text for one in read.of("li")]
    tab.post("tracing/new", kind="people", percent="50 %", name="Half")
    changes = traced.tracing(tab.desk.brief, "half").differs(tab.desk.state.text)
    assert len(lines) == len(changes)
    assert sorted(one.split(": ")[1] for one in lines) == sorted(f"{one.old} → {one.new}" for one in changes)
    for percent in ("0", "many", "-100", "nan", "inf", "1e9", ""):
        (wrong,) = Read(tab.post("tracing/growth", percent=percent).text).of("div", id="tracing-growth")
        assert "per cent more" in wrong.text
        assert "→" not in wrong.text


@pytest.mark.parametrize("text", [*HOSTILE[:9], "{{ 7 * 7 }}"])
def test_hostile_names_stay_text_where_growth_is_told(tab: Tab, text: str) -> None:
    """A device that changes and one that stays, read back by an HTML parser."""
    tab.desk.set({"devices.office-pcs.name": text, "devices.cameras.name": f"2 {text}"})
    read = Read(tab.post("tracing/growth", percent="50 %").text)
    (told,) = read.of("div", id="tracing-growth")
    words, flat = " ".join(told.text.split()), " ".join(text.split())
    assert f"{flat}: 14 → 21" in words
    assert f"2 {flat} 9" in words
    assert not read.of("script")
    assert not [1 for one in read.elements for name in one.attributes if name.startswith("on")]
