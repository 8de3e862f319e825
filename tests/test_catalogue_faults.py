"""Planted mistakes in catalogue and house rules: each is found at its file, line and column, all at once."""

from pathlib import Path
from shutil import copytree

import pytest

from scantling.catalogue import Practice
from scantling.catalogue.columns import KINDS
from scantling.catalogue.reading import DATA, CatalogueFileError, build, read, read_trees, rules
from scantling.figures.composing import placed
from scantling.figures.units import COUNT, HOUR, SHARE

ROWS = """
zone_kind:
  servers: {name: Servers, number: 20, sealed: no, alone: no}
data_kind:
  documents: {name: documents, compression: 1.6, change: 1 %/day}
  mail: {name: mail, compression: 1.5, change: 2 %/day}
labour:
  consultant: {name: consultant, hourly: 85.00 EUR/h}
module:
  small: {name: small, price: 62.00 EUR, capacity: 16 GiB, modules: 1, memory_kind: plain,
    watts: 3 W, server_watts: 3 W}
disk:
  spin: {name: spin, price: 82.00 EUR, medium: spinning, size: 2 TB, form: 35, bays_taken: 1, rate: 180 MB/s,
    speed: 85 op/s, failures: 1.5 %/year, read_errors: 0.00000000000001, endurance: 0, watts: 6 W, server_watts: 6 W,
    weight: 0.7 kg}
ups:
  unit: {name: unit, price: 235.00 EUR, va: 750 VA, ups_watts: 600 W, run_25: 36 min, run_50: 14.5 min,
    run_75: 8.4 min, run_100: 5.6 min, depth: 360 mm, height: 3 U, weight: 12 kg, noise: 27 dB, watts: 8 W,
    rails: 0, card: 0,
    battery_years: 4 year, lift_weight: 12 kg}
profile:
  files: {name: files, machine: files, zone: servers, cores_fixed: 1.5, cores_each: 0.03, cores_least: 2,
    floor_fixed: 6 GiB, expected_fixed: 8 GiB, memory_each: 0.06 GiB, ceiling: 16 GiB, disk: 80 GB,
    operations_fixed: 30 op/s,
    operations_each: 1 op/s, requests: 200 /h, service_time: 30 ms, ports: 0, stop: 3 min}
"""

# what is written, what is planted instead, the word at which the mistake is told, path, what is said
PLANTED = [
    ("modules: 1, ", "", "small:", "module.small.modules", "this column is missing"),
    ("watts: 3 W, s", "wats: 3 W, watts: 3 W, s", "wats:", "module.small.wats", "did you mean watts?"),
    ("2 TB", "2 T", "2 T,", "disk.spin.size", "could mean several things"),
    ("2 TB", "2 kg", "2 kg,", "disk.spin.size", "kg does not measure this"),
    ("2 TB", "2", "2, form", "disk.spin.size", "the unit is missing; write 2 TB"),
    ("2 TB", "1, 5 TB", "1, 5", "disk.spin.size", "a comma ends an answer here"),  # in braces a comma ends the value
    ("82.00 EUR", "-82.00 EUR", "-82.00", "disk.spin.price", "-82"),
    ("82.00 EUR", "82.00 USD", "82.00 USD", "disk.spin.price", "write the amount in EUR"),
    ("82.00 EUR", "82.005 EUR", "82.005", "disk.spin.price", "at most two places"),
    ("82.00 EUR", "cheap", "cheap", "disk.spin.price", "is not a number"),
    ("82.00 EUR", "9000000000 EUR", "9000000000", "disk.spin.price", "too much"),
    ("2 TB", "1000000 TB", "1000000 TB", "disk.spin.size", "too much"),
    ("bays_taken: 1", "bays_taken: 1.5", "1.5,", "disk.spin.bays_taken", "whole number"),
    ("bays_taken: 1", "bays_taken: 0", "0, rate", "disk.spin.bays_taken", "above nought"),
    ("bays_taken: 1", "bays_taken: [1, 2]", "bays_taken:", "disk.spin.bays_taken", "one value is wanted here"),
    ("medium: spinning", "medium: spining", "spining", "disk.spin.medium", "is not one of: spinning, solid state"),
    ("form: 35", "form: 52", "52,", "disk.spin.form", "25 or 35 tenths of an inch"),
    ("failures: 1.5", "failures: 150", "150 %/year", "disk.spin.failures", "not every disk fails"),
    ("run_25: 36 min", "run_25: 6 min", "6 min, run_50", "ups.unit.run_25", "longer at part load"),
    ("run_100: 5.6 min", "run_100: 0 min", "0 min,", "ups.unit.run_100", "above nought"),
    ("ups_watts: 600 W", "ups_watts: 800 W", "800 W", "ups.unit.ups_watts", "no more than the volt-amperes"),
    ("zone: servers", "zone: server", "server,", "profile.files.zone", "no such zone; did you mean servers?"),
    ("service_time: 30 ms", "service_time: 0 ms", "0 ms", "profile.files.service_time", "known together"),
    ("ceiling: 16 GiB", "ceiling: 4 GiB", "6 GiB, e", "profile.files.floor_fixed", "the floor is no more"),
    ("compression: 1.6", "compression: 0.5", "0.5,", "data_kind.documents.compression", "at least 1"),
    ("sealed: no", "sealed: maybe", "maybe", "zone_kind.servers.sealed", "write yes or no"),
    ("name: mail", "name: documents", "documents, compression: 1.5", "data_kind.mail.name", "this name too"),
    ("\nmodule:", "\nmodul:", "modul:", "modul", "did you mean module?"),
    ("mail: {name: mail, compression: 1.5, change: 2 %/day}", "mail: 12", "mail: 12", "data_kind.mail", "a mapping"),
    ("\n  consultant: {name: consultant, hourly: 85.00 EUR/h}", " many", "labour:", "labour", "rows are wanted"),
    ("  mail:", "  documents:", "documents: {name: mail", "data_kind.documents", "first at line 5"),
    ("name: mail", "name: &m mail", "", "", "anchors (&) are not taken"),
    ("name: mail", "name: !!str mail", "", "", "tags (!) are not taken"),
    ("name: mail", "name: {", "", "", "a bracket or comma stands where an answer is wanted"),
]  # fmt: skip


def _place(text: str, word: str, after: int) -> tuple[int, int]:
    at = text.index(word, after)
    return text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)


def _read(text: str) -> None:
    build({"stock.yaml": placed(text, "stock.yaml")}, KINDS)


def test_the_rows_without_a_planted_mistake_are_taken() -> None:
    _read(ROWS)


@pytest.mark.parametrize(("written", "planted", "word", "path", "says"), PLANTED)
def test_a_planted_mistake_is_told_at_its_place(written: str, planted: str, word: str, path: str, says: str) -> None:
    assert ROWS.count(written) >= 1
    text = ROWS.replace(written, planted, 1)
    with pytest.raises(ValueError, match=r"^stock\.yaml:\d+:\d+: ") as caught:
        _read(text)
    said = str(caught.value).splitlines()
    if not word:  # the text can't be parsed: the parser says where it gave up
        assert says in said[0]
        return
    first = 0 if word in ("small:", "6 GiB, e", "labour:", "bays_taken:") else max(0, ROWS.index(written) - 1)
    line, column = _place(text, word, first)
    start = f"stock.yaml:{line}:{column}: " + (f"{path}: " if path else "")
    assert any(one.startswith(start) and says in one for one in said), (start, said)


def test_a_bad_row_leaves_the_others_mistakes_visible() -> None:
    text = (
        ROWS.replace("82.00 EUR", "-82.00 EUR")
        .replace("1.6", "x")
        .replace("modules: 1, ", "")
        .replace("5.6 min", "5.6 kg")
    )
    with pytest.raises(CatalogueFileError) as caught:
        _read(text)
    paths = [mistake.path for mistake in caught.value.mistakes]
    assert paths == ["data_kind.documents.compression", "module.small.modules", "disk.spin.price", "ups.unit.run_100"]


def test_a_row_in_two_files_is_told_with_both_places() -> None:
    trees = {name: placed("labour:\n  one: {name: one, hourly: 5.00 EUR/h}\n", name) for name in ("a.yaml", "b.yaml")}
    with pytest.raises(CatalogueFileError, match=r"^b\.yaml:2:3: labour\.one: this row stands in a\.yaml:2 too$"):
        build(trees, KINDS)


HOURS, SPARE, PLAIN = Practice("tea.hours", HOUR), Practice("tea.spare", SHARE), Practice("tea.cups", COUNT)
HOUSE = """\
tea.hours: {value: [1 h, 30 min], range: 0.5 to 2 h, reason: thirst, source: "common practice, no source"}
tea.spare: {value: 10 %, range: 5 to 20 %, reason: guests, source: "common practice, no source"}
tea.cups: {value: 4, range: 2 to 8, reason: a table of four, source: "common practice, no source"}
"""
PLANTED_RULES = [
    ("reason: guests, ", "", "2:1: tea.spare.reason: this is missing"),
    ("10 %, ", "10 kg, ", "2:20: tea.spare.value: 10 kg does not measure this"),
    ("30 min]", "30]", "1:26: tea.hours.value: the unit is missing"),
    ("[1 h, 30 min]", "[]", "1:13: tea.hours.value: a text is wanted here"),
    ("value: 4", "value: {least: 4}", "3:12: tea.cups.value: a text is wanted here"),
    ("tea.cups", "tea.mugs", "1:1: tea.cups: this house rule is missing"),
    ("tea.cups", "tea.spare", "3:1: tea.spare: stands here twice; first at line 2"),
    ("range: 2 to 8", "rang: 2 to 8", "3:22: tea.cups.rang: a house rule has no such field; did you mean range?"),
    ('{value: 4, range: 2 to 8, reason: a table of four, source: "common practice, no source"}', "4",
     "3:1: tea.cups: a house rule has exactly: value, range, reason, source"),
    ("value: 4", "value: -4", "3:19: tea.cups.value: -4"),
]  # fmt: skip


def test_house_rules_without_a_planted_mistake_are_taken() -> None:
    house = rules({"tea.yaml": placed(HOUSE, "tea.yaml")}, [HOURS, SPARE, PLAIN])
    assert [(figure.value, figure.unit.symbol) for figure in house.every(HOURS)] == [(1, "h"), (30, "min")]
    assert house[PLAIN].value == 4


@pytest.mark.parametrize(("written", "planted", "says"), PLANTED_RULES)
def test_a_planted_mistake_in_a_house_rule_is_told(written: str, planted: str, says: str) -> None:
    text = HOUSE.replace(written, planted, 1)
    assert text != HOUSE
    with pytest.raises(ValueError, match=":") as caught:
        rules({"tea.yaml": placed(text, "tea.yaml")}, [HOURS, SPARE, PLAIN])
    assert any(says in line for line in str(caught.value).splitlines()), str(caught.value)


def test_a_house_rule_in_two_files_is_told() -> None:
    with pytest.raises(CatalogueFileError, match=r"b\.yaml:3:1: tea\.cups: this house rule stands in a\.yaml:3 too"):
        rules({name: placed(HOUSE, name) for name in ("a.yaml", "b.yaml")}, [])


def test_a_house_rule_that_nobody_asks_for_is_told_when_all_users_are_known() -> None:
    trees = {"tea.yaml": placed(HOUSE.replace("tea.cups", "tea.cup"), "tea.yaml")}
    with pytest.raises(CatalogueFileError) as caught:
        rules(trees, [HOURS, SPARE], assumed=["tea.cups"])
    told = [str(mistake) for mistake in caught.value.mistakes]
    assert told == [
        "house rules:1:1: tea.cups: this house rule is missing",
        "tea.yaml:3:1: tea.cup: nobody asks for this house rule; did you mean tea.cups?",
    ]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A firm's own copy of the data."""
    return Path(copytree(DATA, tmp_path / "data"))


def _change(path: Path, written: str, planted: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert written in text
    path.write_text(text.replace(written, planted, 1), encoding="utf-8")


def test_mistakes_in_rows_and_house_rules_are_told_together(folder: Path) -> None:
    _change(folder / "hosts.yaml", "price: 640.00 EUR, ", "")
    _change(folder / "disks.yaml", "price: 82.00 EUR", "price: -1.00 EUR")
    _change(folder / "house/power.yaml", "reason:", "because:")
    (folder / "odd.yaml").write_text("- a list\n", encoding="utf-8")
    (folder / "bytes.yaml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(CatalogueFileError) as caught:
        read(folder)
    told = str(caught.value)
    for said in ("host.tower-small.price: this column is missing", "disk.spin-2.price: -1", "odd.yaml:1:1: ",
                 "bytes.yaml:1:1: not written in UTF-8", "reason: this is missing"):  # fmt: skip
        assert said in told


def test_a_kind_without_rows_is_told(folder: Path) -> None:
    (folder / "labour.yaml").unlink()
    with pytest.raises(CatalogueFileError, match="labour: at least one row of this kind is wanted"):
        read(folder)


def test_an_empty_or_missing_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(CatalogueFileError, match="no written files"):
        read(tmp_path / "nowhere")
    with pytest.raises(CatalogueFileError, match="no written files"):
        read_trees(tmp_path)
