"""The brief room: what is read, with place and origin; what is refused, at which place and in which words."""

import pickle
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from io import StringIO
from ipaddress import IPv4Network
from pathlib import Path
from time import perf_counter
from typing import Any

import pytest
from brief_samples import DEFAULTS, SECTIONS, WHOLE, WORDS, Kettles, Kitchen, Roast
from hostile import HOSTILE, REFUSED
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, ScalarNode

from scantling import api
from scantling.brief import Declined, Given, LastingChoices, Office, Pins, Section, Support, asked
from scantling.brief.composing import MOST_DEPTH, composed
from scantling.brief.loading import BriefError, load
from scantling.brief.reading import read_text
from scantling.figures import Figure, Origin
from scantling.figures.placed import MOST_BYTES, MOST_LINES, Mistake, Node, Text, WrittenError
from scantling.figures.spelled import unfit
from scantling.figures.units import Percent

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*/brief.yaml"))


def read(text: str) -> Mapping[type[Section], Any]:
    """The sample sections of a text."""
    return load(text, "brief.yaml", SECTIONS, DEFAULTS, WORDS)


def refused(text: str) -> list[str]:
    """What is said about a text, a line each."""
    with pytest.raises(BriefError) as caught:
        read(text)
    return str(caught.value).splitlines()


def changed(old: str, new: str) -> str:
    """The whole sample with one passage changed."""
    assert old in WHOLE
    return WHOLE.replace(old, new, 1)


# ------------------------------------------------------------------------------------------------------- what is read


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
    try:
        told = refused(changed("The Test Kitchen", escaped))
    except ValueError:  # ruamel itself will not make half a pair from an escape
        pytest.fail("a bare ValueError reached the caller")
    assert len(told) == 1
    assert told[0].startswith("brief.yaml:2:9: office.name: ")
    assert not any(map(unfit, told[0]))


# ------------------------------------------------------------------------------------------------ one mistake at a time

MISTAKES = [  # old, new, what stands at the place, path, part of what is said
    ("heads: 14", "heads: lots", "lots", "kettles.big.heads", '"lots" is not a whole number; write one like 14'),
    ("heads: 14", "heads: 0", "0}", "kettles.big.heads", "0 is too little; from 1 to 100,000 is accepted"),
    ("heads: 14", "heads: 1000000000", "1000000000", "kettles.big.heads", "from 1 to 100,000 is accepted"),
    ("heads: 14", "heads: 14.5", "14.5", "kettles.big.heads", "14.5 is not a whole number"),
    ("heads: 14", "heads: ", "heads", "kettles.big.heads", "value missing"),
    ("heads: 14", "heads:", "heads", "kettles.big.heads:", "did you mean heads?"),
    ("heads: 14", 'heads: " "', '" "', "kettles.big.heads", "value missing"),
    ("heads: 14", "heads: [14]", "heads", "kettles.big.heads", "one value is wanted here"),
    ("heads: 14", "hedas: 14", "hedas", "kettles.big.hedas", "did you mean heads?"),
    (", heads: 14", "", "big", "kettles.big.heads", "this answer is missing: How many stand around it? Write it like 14"),
    ("holds: 300 GB", "holds: 1,5 TB", "1,5 TB", "kettles.big.holds", "a comma ends an answer here; write 1.5 TB"),
    ("holds: 300 GB", 'holds: "1,5 TB"', '"1,5 TB"', "kettles.big.holds", "write 1.5 TB"),
    ("holds: 300 GB", "holds: 10 Mb", "10 Mb", "kettles.big.holds", "write 10 MB"),
    ("holds: 300 GB", "holds: 64 G", "64 G", "kettles.big.holds", "write 64 GB or 64 GiB"),
    ("holds: 300 GB", "holds: 64 K", "64 K", "kettles.big.holds", "write 64 kB or 64 KiB"),
    ("holds: 300 GB", "holds: 1 ZB", "1 ZB", "kettles.big.holds", "1 ZB is too much; from 0 to 10 PB is accepted"),
    ("holds: 300 GB", "holds: 300 W", "300 W", "kettles.big.holds", "W does not measure this"),
    ("kind: whistling", "kind: whisling", "whisling", "kettles.big.kind", "did you mean whistling?"),
    ("price: 1200.50 EUR", "price: -5 EUR", "-5 EUR", "kitchen.price", "-5 EUR is too little; from 0 to 10,000,000 EUR is accepted"),
    ("price: 1200.50 EUR", "price: 1200 USD", "1200 USD", "kitchen.price", "this office pays in EUR, not USD"),
    ("price: 1200.50 EUR", "price: 1200.505 EUR", "1200.505 E", "kitchen.price", "at most two places"),
    ("price: 1200.50 EUR", "price: 1200", "1200", "kitchen.price", "the currency is missing; write 1200 EUR"),
    ("share: 85 %", "share: 0.85", "0.85", "kitchen.share", "write 85 %"),
    ("share: 85 %", "share: 101 %", "101 %", "kitchen.share", "from 0 to 100 % is accepted"),
    ("speed: 50 MB/s", "speed: 10 Mb", "10 Mb", "kitchen.speed", "write 10 Mbit/s"),
    ("rest: 90 min", "rest: 1 min", "1 min}", "kitchen.corner.rest", "from 5 min to 24 h is accepted"),
    ("rest: 2 h", "rest: 1 month", "1 month}", "kitchen.tables.by-the-door.rest", "from 5 min to 24 h is accepted"),
    ("roast: very dark", "roast: very drak", "very drak", "kitchen.roast", "did you mean very dark?"),
    ("warm: no", "warm: off", "off, rest:", "kitchen.corner.warm", "write yes or no"),
    ("days: fri-mon", "days: weekdays", "weekdays", "kitchen.days", "write them like mon-fri"),
    ('hours: "22:00-06:00"', 'hours: "22:00"', '"22:00"', "kitchen.hours", '"09:30-18:00"'),
    ('bell: "19:30"', 'bell: "25:30"', '"25:30"', "kitchen.bell", "not a time of day"),
    ("block: 10.44.0.0/16", "block: 10.44.0.1/16", "10.44.0.1/", "kitchen.block", "the network itself is 10.44.0.0/16"),
    ("landlord: 192.168.1.0/24", "landlord: next door", "next door", "kitchen.others.landlord", "is not a network"),
    ("as_of: 2026-11-25", "as_of: 2026-02-30", "2026-02-30", "office.as_of", "not a day of the calendar"),
    ("as_of: 2026-11-25", "as_of: 25.11.2026", "25.11.2026", "office.as_of", "write year, month and day like 2026-11-25"),
    ("country: IE", "country: Ireland", "Ireland", "office.country", "write one like IE"),
    ("currency: EUR", "currency: euro", "euro", "office.currency", "write one like EUR"),
    ("  corner: {warm: no, rest: 90 min}", "  corner:", "corner:", "kitchen.corner", "nothing is written under this word"),
    ("  corner: {warm: no, rest: 90 min}", "  corner: warm", "warm", "kitchen.corner", "a group of answers is wanted"),
    ("kitchen:", "kichen:", "kichen:", "kichen", "did you mean kitchen?"),
    ("kettles:", "roast: light\nkettles:", "roast: lig", "roast", "it stands under kitchen"),
    ("  big:", "  Big One:", "Big", "kettles.Big One", "small letters, digits and hyphens"),
    ("kind: whistling", "kind: whistling, red", "red", "kettles.big.red", "quote the whole"),
    ("roast: very dark", "roast: &a light", "&a light", "kitchen.roast", "anchors (&) are not taken"),
    ("roast: very dark", "roast: *a", "*a", "kitchen.roast", "references (*) are not taken"),
    ("roast: very dark", "roast: !!python/name:os.system light", "!!python/n", "kitchen.roast", "tags (!) are not taken"),
    ("roast: very dark", "roast: light\n  roast: dark", "roast: dark", "kitchen.roast", "stands here twice; first at line 7"),
    ("roast: very dark", "<<: {a: b}", "<<: {a: b}", "kitchen.<<", "merging (<<) is not taken"),
    ("roast: very dark", "? [a, b]\n  : light", "[a, b]", "kitchen", "a plain word is wanted before the colon"),
    ("roast: very dark", "roast: very: dark", ": dark", "", "a colon stands inside an answer"),
    ("roast: very dark", "\troast: light", "\troast", "", "indent with spaces"),
    ("roast: very dark", 'roast: "light', '"light', "", "the quotation mark that opens here is closed only at line 12"),
    ("roast: very dark", "roast: `light`", "`light`", "", "put the answer in quotes"),
    ("roast: very dark", "roast: light\n   price: 3", ": 3", "", "a colon stands inside an answer"),
    ("corner: {warm: no,", "corner: {warm: no", ": 90 min}", "", "a comma or the closing bracket } is missing"),
    ("roast: very dark", "roast: li\x07ght", "\x07ght", "", "U+0007"),
    ("roast: very dark", "roast: li\x85ght", "\x85ght", "", "U+0085"),
    ("kettles:", "---\nkettles:", "---", "", "a second document begins here"),
    ("office:", "%YAML 1.1\n---\noffice:", "%YAML 1.1", "", "directives"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "there", "path", "says"), MISTAKES, ids=lambda value: repr(value)[:40])
def test_one_mistake_is_told_at_its_place(old: str, new: str, there: str, path: str, says: str) -> None:
    text = changed(old, new)
    told = refused(text)
    line = text.rfind("\n", 0, WHOLE.index(old)) + 1
    before = text[: text.index(there, line)].split("\n")
    place = f"brief.yaml:{len(before)}:{len(before[-1]) + 1}: " + (f"{path}: " if path else "")
    assert len(told) == 1, told
    assert told[0].startswith(place), told[0]
    assert says in told[0]


# --------------------------------------------------------------------------------------------------- many, and whole files


def test_all_mistakes_come_at_once_in_the_order_of_their_places() -> None:
    text = (
        WHOLE.replace("heads: 14", "heads: lots")
        .replace("roast: very dark", "roast: &x lihgt")
        .replace("85 %", "850 %")
    )
    text = text.replace("country: IE", "county: IE").replace("bell:", "bell: 9\n  bell:")
    with pytest.raises(BriefError) as caught:
        read(text)
    mistakes = caught.value.mistakes
    assert [mistake.line for mistake in mistakes] == [3, 7, 9, 13, 14, 22]
    assert list(mistakes) == sorted(mistakes)
    assert all(isinstance(mistake, Mistake) for mistake in mistakes)


def test_a_misspelt_word_is_not_also_told_as_missing() -> None:
    assert len(refused(changed("currency: EUR", "currancy: EUR"))) == 1


def test_a_wrong_currency_does_not_make_every_price_wrong() -> None:
    assert len(refused(changed("currency: EUR", "currency: Euros"))) == 1


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "the file is empty"),
        ("# only a remark\n", "the file is empty"),
        ("- a\n- b\n", "write words here"),
        ("hello", "write words here"),
        ("a: " + "[" * 500 + "]" * 500, "nested too deeply"),
        ("{a: " * 500 + "1" + "}" * 500, "nested too deeply"),
        ("- " * 500 + "a", "nested too deeply"),
        ("\n".join(" " * depth + "a:" for depth in range(500)), "nested too deeply"),
        ("a: b\n" + "\n" * MOST_LINES, "at most 5,000 lines"),
        ("a: b\n#" + "x" * MOST_BYTES, "at most 1,000,000 bytes"),
        ("a: \ud800", "U+D800"),
        ("office: {name: x}\n", "this answer is missing"),
        ("kitchen: {}\n", "office: this section is missing"),
    ],
)
def test_a_file_that_is_no_brief_is_refused_in_plain_words(text: str, says: str) -> None:
    told = refused(text)
    assert says in "\n".join(told)
    assert not any("Traceback" in line or "Error" in line for line in told)


def test_a_bracket_in_a_remark_is_no_nesting() -> None:
    assert read(WHOLE + "# " + "[" * 200)[Office].name.value == "The Test Kitchen"


def test_as_deep_as_allowed_is_read_and_one_deeper_is_not() -> None:
    composed("a: " + "[" * (MOST_DEPTH - 1) + "]" * (MOST_DEPTH - 1), "b")
    with pytest.raises(WrittenError, match="nested too deeply"):
        composed("a: " + "[" * MOST_DEPTH + "]" * MOST_DEPTH, "b")


def test_a_flood_of_mistakes_is_cut_short_for_the_reader_only() -> None:
    text = WHOLE + "".join(f"word{number}: 1\n" for number in range(300))
    with pytest.raises(BriefError) as caught:
        read(text)
    assert len(caught.value.mistakes) == 300
    assert str(caught.value).splitlines()[-1] == "and 200 more"


def test_windows_line_ends_and_a_byte_order_mark_are_fine() -> None:
    assert read("\ufeff" + WHOLE.replace("\n", "\r\n"))[Office].name.value == "The Test Kitchen"


def test_a_thousand_nested_references_cost_nothing() -> None:
    bomb = "a0: &a0 [x, x]\n" + "".join(f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]\n" for n in range(1, 40))
    assert "anchors (&) are not taken here" in "".join(refused(bomb))


def test_a_missing_house_rule_is_told_and_not_a_crash() -> None:
    defaults = {key: value for key, value in DEFAULTS.items() if key != "kitchen.share"}
    with pytest.raises(BriefError, match=r"the house rule kitchen\.share is missing"):
        load(WHOLE.replace("  share: 85 %\n", ""), "b", SECTIONS, defaults)


def test_a_house_rule_that_does_not_fit_is_named() -> None:
    from scantling.brief.loading import Default  # noqa: PLC0415 - only here

    defaults = {**DEFAULTS, "kitchen.share": Default("850 %", "wrong")}
    with pytest.raises(BriefError, match=r"the house rule kitchen\.share does not fit here: 850 % is too much"):
        load(WHOLE.replace("  share: 85 %\n", ""), "b", SECTIONS, defaults)


def test_a_bound_that_cannot_be_read_shows_when_the_section_is_declared() -> None:
    with pytest.raises(ValueError, match="the unit is missing"):

        class Bad(Section):
            share: Given[Percent] = asked("?", least="5")


def test_errors_survive_a_process_boundary() -> None:
    with pytest.raises(BriefError) as caught:
        read("")
    assert pickle.loads(pickle.dumps(caught.value.mistakes)) == caught.value.mistakes  # noqa: S301 - own data


# ------------------------------------------------------------------------------------------------------------------ files


def test_a_file_is_read_without_its_mark(tmp_path: Path) -> None:
    path = tmp_path / "brief.yaml"
    path.write_bytes(b"\xef\xbb\xbfa: \xc3\xb6\n")
    assert read_text(path) == "a: ö\n"


@pytest.mark.parametrize(
    ("content", "place", "says"),
    [
        (b"a: b\x00c", "1:1", "not a text file"),
        (b"\x7fELF\x02\x00\x00", "1:1", "not a text file"),
        ("a: ö\nb: ü".encode("latin-1"), "1:4", "not written in UTF-8"),
        ("a: ö\nb: ".encode() + b"x\xff", "2:5", "not written in UTF-8"),
        ("a: b".encode("utf-16"), "1:1", "written in UTF-16"),
        (b"#" * (MOST_BYTES + 1), "1:1", "too large"),
    ],
)
def test_a_file_that_is_no_text_is_refused(tmp_path: Path, content: bytes, place: str, says: str) -> None:
    path = tmp_path / "brief.yaml"
    path.write_bytes(content)
    with pytest.raises(BriefError) as caught:
        read_text(path)
    assert str(caught.value).startswith(f"brief.yaml:{place}: ")
    assert says in str(caught.value)


def test_a_missing_file_a_folder_and_an_endless_one_are_refused(tmp_path: Path) -> None:
    (tmp_path / "breif.yaml").write_text("a: b")
    with pytest.raises(BriefError, match=r"no such file; there is breif\.yaml"):
        read_text(tmp_path / "brief.yaml")
    with pytest.raises(BriefError, match="this is a folder"):
        read_text(tmp_path)
    with pytest.raises(BriefError, match="no such file"):
        read_text(Path("/dev/zero"))
    with pytest.raises(BriefError, match=r"no such file|can't be read"):
        read_text(tmp_path / "nul\0l")


# -------------------------------------------------------------------------------------------------------- the second road


def readable(text: str) -> bool:
    """Whether ruamel can read back what it writes: it leaves these two marks unquoted at the beginning of a word."""
    return not text.startswith((":", "?")) and text != "<<"


NAMES = st.text("abcdefghij-0123456789 ,:#[]{}&*!|>'\"%@`ö€", min_size=1, max_size=12).filter(readable)
TREES = st.recursive(
    st.text(st.characters(exclude_categories=("Cc", "Cs", "Co", "Cn", "Zl", "Zp")), max_size=30).filter(readable),
    lambda inside: st.lists(inside, max_size=4) | st.dictionaries(NAMES, inside, max_size=4),
    max_leaves=20,
)


@given(st.dictionaries(NAMES, TREES, min_size=1, max_size=5))
def test_what_ruamel_writes_is_read_as_its_own_composer_reads_it(tree: dict[str, Any]) -> None:
    stream = StringIO()
    YAML(pure=True, typ="safe").dump(tree, stream)
    text = stream.getvalue()
    theirs = YAML(pure=True).compose(StringIO(text))
    ours, mistakes = composed(text, "b")
    assert mistakes == []
    _same_places(theirs, ours)
    assert ours == tree


def test_places_are_those_of_ruamels_own_composer() -> None:
    for path in EXAMPLES:
        text = path.read_text(encoding="utf-8")
        tree, _ = composed(text, "b")
        _same_places(YAML(pure=True).compose(StringIO(text)), tree)


def _same_places(theirs: Any, ours: Any) -> None:
    at = (theirs.start_mark.line + 1, theirs.start_mark.column + 1)
    if isinstance(theirs, ScalarNode):
        assert isinstance(ours, Text)
        assert str(ours) == theirs.value
        assert (ours.line, ours.column) == at or theirs.value == ""  # nothing is placed at the word before it
    elif isinstance(theirs, MappingNode):
        assert isinstance(ours, Node)
        assert ours.at == at
        assert len(ours) == len(theirs.value)
        for key, value in theirs.value:
            assert ours.keys_at[key.value] == (key.start_mark.line + 1, key.start_mark.column + 1)
            _same_places(value, ours[key.value])
    else:
        assert len(ours) == len(theirs.value)
        for value, made in zip(theirs.value, ours, strict=True):
            _same_places(value, made)


@given(st.text(max_size=200))
def test_no_text_brings_anything_but_a_brief_error(text: str) -> None:
    with pytest.raises(BriefError):
        read(text)


@given(
    st.integers(0, len(WHOLE) - 1),
    st.text("\n\t :,{}[]#&*!|>'\"%@`-?<=a1\ufeff\u2028", max_size=3),
    st.integers(0, 3),
)
def test_no_slip_in_a_brief_brings_anything_but_a_brief_error(at: int, put: str, drop: int) -> None:
    try:
        read(WHOLE[:at] + put + WHOLE[at + drop :])
    except BriefError as wrong:
        assert all(mistake.line >= 1 and mistake.column >= 1 and mistake.says for mistake in wrong.mistakes)  # noqa: PT017


def test_typing_the_answers_costs_less_than_composing_them() -> None:
    text = EXAMPLES[-1].read_text(encoding="utf-8")
    sections, defaults = api.known_sections(), api.defaults(api.stock().house)

    def best(work: Any) -> float:
        times = []
        for _ in range(5):
            start = perf_counter()
            work()
            times.append(perf_counter() - start)
        return min(times)

    assert best(lambda: load(text, "b", sections, defaults)) < 2 * best(lambda: composed(text, "b"))
