"""The brief room: every kind of answer is read with unit, place and origin, and what is left out is assumed."""

from datetime import date
from decimal import Decimal
from io import StringIO
from ipaddress import IPv4Network
from pathlib import Path
from time import process_time
from typing import Any

import pytest
from brief_samples import DEFAULTS, SECTIONS, WHOLE, Kettles, Kitchen, Roast, changed, read, refused
from hostile import HOSTILE, REFUSED
from ruamel.yaml import YAML

from scantling import api
from scantling.brief import Declined, Given, LastingChoices, Office, Pins, Section, Support, asked
from scantling.figures import composing
from scantling.figures.composing import composed
from scantling.brief.loading import BriefError, Default, load
from scantling.brief.reading import read_text
from scantling.figures import Figure, Origin
from scantling.figures.spelled import unfit
from scantling.figures.units import Percent

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*/brief.yaml"))


def test_every_kind_of_answer_is_read_with_its_unit_as_written() -> None:
    kitchen = read(WHOLE)[Kitchen]
    kettle = read(WHOLE)[Kettles].items["big"]
    shown = {
        name: (figure.value, figure.unit.symbol)
        for name, figure in {**dict(kitchen), **dict(kettle)}.items()
        if isinstance(figure, Figure)
    }
    assert shown["roast"] == (Roast.VERY_DARK, "")
    assert shown["price"] == (Decimal("1200.50"), "¤")
    assert shown["share"] == (85.0, "%")
    assert shown["speed"] == (50.0, "MB/s")
    assert shown["holds"] == (300.0, "GB")
    assert shown["memory"] == (64.0, "GiB")
    assert shown["heads"] == (14, "")
    assert shown["block"] == (IPv4Network("10.44.0.0/16"), "")
    assert str(kitchen.days.value) == "mon fri sat sun"
    assert (kitchen.hours.value.start, kitchen.hours.value.end, kitchen.hours.value.minutes) == (1320, 360, 480)
    assert str(kitchen.bell.value) == "19:30"
    assert kitchen.tables["by-the-door"].rest.value == 2.0
    assert kitchen.others["landlord"].value == IPv4Network("192.168.1.0/24")
    assert read(WHOLE)[Office].as_of.value == date(2026, 11, 25)


def test_a_figure_knows_its_id_its_text_and_its_line() -> None:
    holds = read(WHOLE)[Kettles].items["big"].holds
    assert holds.id == "brief.kettles.big.holds"
    assert holds.how == Origin("brief", "kettles.big.holds: 300 GB", "brief.yaml:21")
    assert holds.label == "holds"


def test_what_is_left_out_is_assumed_and_says_so() -> None:
    growth = read(WHOLE)[Kitchen].growth
    assert growth.value == 3.0
    assert growth.how == Origin("house rule", "kitchen.growth: 3 %/year (for these tests)", assumed=True)
    assert growth.id == "brief.kitchen.growth"


def test_an_optional_answer_left_out_is_none() -> None:
    assert read(changed('  bell: "19:30"\n', ""))[Kitchen].bell is None


def test_sections_left_out_are_left_out_but_whole_defaults_are_made() -> None:
    sections = load(
        WHOLE.split("kitchen:")[0],
        "b",
        (*SECTIONS, Support, LastingChoices, Declined, Pins),
        {**DEFAULTS, **api.defaults(api.stock().house)},
    )
    assert set(sections) == {Office, Support, LastingChoices, Declined, Pins}
    pins = sections[Pins]
    assert isinstance(pins, Pins)
    assert pins.items == {}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.parent.name)
def test_the_examples_are_read_whole(path: Path) -> None:
    sections = load(read_text(path), path.name, api.known_sections(), api.defaults(api.stock().house))
    assert len(EXAMPLES) >= 2
    assert {"office", "people", "data", "services"} <= {section.key for section in sections}


@pytest.mark.parametrize("hostile", HOSTILE)
def test_hostile_words_are_read_as_they_stand(hostile: str) -> None:
    stream = StringIO()
    YAML(pure=True).dump({"name": hostile}, stream)  # the other road: written by ruamel, read by this room
    tree, mistakes = composed(stream.getvalue(), "b")
    assert tree["name"] == hostile
    assert mistakes == []
    quoted = "'" + hostile.replace("'", "''") + "'"
    assert read(changed("The Test Kitchen", quoted))[Office].name.value == hostile


@pytest.mark.parametrize("hostile", REFUSED)
def test_unfit_words_are_refused_and_never_echoed(hostile: str) -> None:
    escaped = '"' + "".join(letter if " " <= letter <= "~" else rf"\U{ord(letter):08x}" for letter in hostile) + '"'
    told = refused(changed("The Test Kitchen", escaped))
    assert len(told) == 1
    assert told[0].startswith("brief.yaml:2:9: office.name: ")
    assert not any(map(unfit, told[0]))


def test_a_missing_house_rule_is_told_and_not_a_crash() -> None:
    defaults = {key: value for key, value in DEFAULTS.items() if key != "kitchen.share"}
    with pytest.raises(BriefError, match=r"the house rule kitchen\.share is missing"):
        load(WHOLE.replace("  share: 85 %\n", ""), "b", SECTIONS, defaults)


def test_a_house_rule_that_does_not_fit_is_named() -> None:
    defaults = {**DEFAULTS, "kitchen.share": Default("850 %", "wrong")}
    with pytest.raises(BriefError, match=r"the house rule kitchen\.share does not fit here: 850 % is too much"):
        load(WHOLE.replace("  share: 85 %\n", ""), "b", SECTIONS, defaults)


def test_a_bound_that_cannot_be_read_shows_when_the_section_is_declared() -> None:
    with pytest.raises(ValueError, match="the unit is missing"):

        class Bad(Section):
            share: Given[Percent] = asked("?", least="5")


def test_typing_the_answers_costs_less_than_composing_them() -> None:
    text = EXAMPLES[-1].read_text(encoding="utf-8")
    sections, defaults = api.known_sections(), api.defaults(api.stock().house)

    def best(work: Any) -> float:
        times = []
        for _ in range(5):
            composing.forget()  # pieces of a text are kept, so that an edit reads only one anew
            start = process_time()
            work()
            times.append(process_time() - start)
        return min(times)

    assert best(lambda: load(text, "b", sections, defaults)) < 2 * best(lambda: composed(text, "b"))
