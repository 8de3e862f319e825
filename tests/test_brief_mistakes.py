"""What a brief may not hold: each mistake at its place and in its words, many at once, and files that are no brief."""

import pickle
from pathlib import Path

import pytest
from brief_samples import WHOLE, changed, read, refused

from scantling.brief import Office
from scantling.figures.composing import MOST_DEPTH, composed
from scantling.brief.loading import BriefError
from scantling.brief.reading import read_text
from scantling.figures.placed import MOST_BYTES, MOST_LINES, Mistake, WrittenError

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


def test_errors_survive_a_process_boundary() -> None:
    with pytest.raises(BriefError) as caught:
        read("")
    assert pickle.loads(pickle.dumps(caught.value.mistakes)) == caught.value.mistakes  # noqa: S301 - own data


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
    with pytest.raises(BriefError, match="this is no plain file"):
        read_text(Path("/dev/zero"))
    with pytest.raises(BriefError, match=r"no such file|can't be read"):
        read_text(tmp_path / "nul\0l")
