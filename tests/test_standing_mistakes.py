"""Mistakes in a standing file: all at once, each at its line and column, exit 2, and nothing lost."""

import re
import shutil
from pathlib import Path
from time import process_time

import pytest
from click.testing import CliRunner

from hostile import REFUSED
from offices import BRIEFS, changed, fold
from scantling import UserError, api, cli
from standing_samples import STANDS, beside


def mistakes(stands: str) -> list[str]:
    """What a person is told, a line each."""
    with pytest.raises(UserError) as told:
        api.plan_text(fold(), stands=stands)
    return str(told.value).splitlines()


def at(text: str, passage: str) -> str:
    """Where the last word of a passage begins, as messages name places."""
    lines = text.splitlines()
    (line,) = [n for n, one in enumerate(lines, 1) if passage in one]
    last = passage.rsplit(" ", 1)[-1]
    return f"standing.yaml:{line}:{lines[line - 1].index(passage) + len(passage) - len(last) + 1}: "


def test_the_sample_itself_is_well() -> None:
    assert beside().figures


STAFF = "staff: {number: 30, network: 10.71.30.0/26, gateway: 10.71.30.1}"
FIREWALL = "firewall: {zone: management, holder: firewall, address: 10.71.10.21}"
TWO_RUNS = """\
  ranges:
    a: {zone: staff, purpose: x, first: 10.71.30.20, last: 10.71.30.29}
    b: {zone: staff, purpose: y, first: 10.71.30.29, last: 10.71.30.40}
  addresses:"""
ONE = [  # a passage, what stands there instead, the passage whose last word is the place, what is said
    (FIREWALL, f"{FIREWALL}\n    twin: {{zone: management, holder: names, address: 10.71.10.21}}", "holder: names, address: 10.71.10.21",
     "issued.addresses.twin.address: firewall has 10.71.10.21 too"),
    (FIREWALL, FIREWALL.replace("10.71.10.21", "10.71.10.1"), "address: 10.71.10.1", "the gateway of management has 10.71.10.1 too"),
    ("article: tower-quiet-4,", "article: towr-quiet-4,", "article: towr-quiet-4",
     'no article "towr-quiet-4"; did you mean tower-quiet-4?'),
    ("article: tower-quiet-4,", "article: tower-quiet-4, stands_for: nobody,", "stands_for: nobody", 'no article "nobody"'),
    ("article: tower-quiet-4,", "article: tower-quiet-4, stands_for: spin-4,", "stands_for: spin-4",
     "tower-quiet-4 is of the kind host, spin-4 of the kind disk"),
    (FIREWALL, FIREWALL.replace("10.71.10.21", "10.99.1.5"), "address: 10.99.1.5", "10.99.1.5 lies outside 10.71.10.0/26 of management"),
    (FIREWALL, FIREWALL.replace("10.71.10.21", "10.71.10.63"), "address: 10.71.10.63", "10.71.10.63 lies outside 10.71.10.0/26"),
    (FIREWALL, FIREWALL.replace("zone: management", "zone: managment"), "zone: managment",
     'no zone "managment" is issued; did you mean management?'),
    (STAFF, STAFF.replace("30.0/26", "10.0/24").replace("30.1", "10.2"), "network: 10.71.10.0/24",
     "10.71.10.0/24 overlaps 10.71.10.0/26 of management"),
    (STAFF, STAFF.replace("number: 30", "number: 10"), "staff: {number: 10", "issued.zones.staff.number: management has the number 10 too"),
    (STAFF, STAFF.replace("gateway: 10.71.30.1", "gateway: 10.71.30.64"), "gateway: 10.71.30.64", "the gateway 10.71.30.64 lies outside"),
    ("  addresses:", "  ranges:\n    r: {zone: staff, purpose: x, first: 10.71.30.20, last: 10.71.31.9}\n  addresses:", "last: 10.71.31.9",
     "10.71.31.9 lies outside 10.71.30.0/26 of staff"),
    ("  addresses:", "  ranges:\n    r: {zone: staff, purpose: x, first: 10.71.30.20, last: 10.71.30.9}\n  addresses:", "last: 10.71.30.9",
     "it ends before it begins"),
    ("  addresses:", TWO_RUNS, "purpose: y, first: 10.71.30.29",
     "issued.ranges.b.first: it overlaps a"),
    ("  addresses:", "  ranges:\n    staff-lent: {zone: staff, purpose: lent, first: 10.71.30.2, last: 10.71.30.9}\n  addresses:",
     "old-store, address: 10.71.30.5", "10.71.30.5 stands in staff-lent, from which addresses are lent"),
    ("warranty_until: 2033-06-03", "warranty_until: 2023-06-03", "warranty_until: 2023-06-03",
     "it ends before the thing was there: 2023-06-03, there since 2024-06-03"),
    ("since: 2024-06-03", "since: 2024-02-30", "since: 2024-02-30", "2024-02-30 is not a day of the calendar"),
    ("since: 2024-06-03", "since: 3.6.2024", "since: 3.6.2024", '"3.6.2024" is not a date; write year, month and day'),
    ("kind: ups, do: retire", 'do: keep, hardware_address: "02:00:5E:10:00:31"', 'S-1", hardware_address: "02:00:5e:10:00:31"',
     "old-battery has 02:00:5e:10:00:31 too"),
    ("do: keep, known: told", "do: stay, known: told", "do: stay", '"stay" is not one of keep, reuse, move, retire'),
    ("known: told", "known: heard", "known: heard", '"heard" is not one of seen, told, guessed'),
    ('serial: "S-1"', 'seriel: "S-1"', "seriel:", "this word is not known here; did you mean serial?"),
    ("issued:\n", "isued:\n", "isued:", "did you mean issued?"),
    ("number: 30", "number: 5000", "staff: {number: 5000", "4,094"),
    ("serves: switch, do: keep", "do: keep", "article: switch-24-half", "serves is missing beside it"),
    ("price: 890.00 EUR", "price: 890.00 USD", "price: 890.00", "this office pays in EUR"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "passage", "says"), ONE, ids=[says for _, _, _, says in ONE])
def test_one_mistake_is_told_at_its_place(old: str, new: str, passage: str, says: str) -> None:
    text = changed(STANDS, old, new)
    (told,) = [one for one in mistakes(text) if says in one]
    assert told.startswith(at(text, passage))


ALL = """\
kit:
  tower: {article: towr-mid-8, serves: host, do: keep}
  switch: {article: switch-48, serves: switch, do: burn}
bought:
  disk: {serves: bulk, article: no-such-disk, on: 2026-02-30}
  other: {serves: bulk, article: nothing-like-it}
issued:
  zones:
    staff: {number: 10, network: 10.44.10.0/24, gateway: 10.44.10.1}
    guests: {number: 11, network: 10.44.10.128/25, gateway: 10.44.10.129}
    broken: {number: many, network: 10.44.12.0/24, gateway: 10.44.12.1}
  ranges:
    r: {zone: staff, purpose: x, first: 10.44.10.20, last: 10.44.11.9}
    s: {zone: broken, purpose: x, first: 10.44.12.20, last: 10.44.12.29}
  addresses:
    a: {zone: staff, holder: files, address: 10.44.10.5}
    b: {zone: staff, holder: names, address: 10.44.10.5}
    c: {zone: staff, holder: print, address: 10.99.10.5}
    d: {zone: nowhere, holder: print, address: 10.44.10.6}
    e: {zone: staff, holder: print, adress: 10.44.10.7}
colour: red
"""


def test_all_mistakes_are_told_at_once() -> None:
    """What can't be read and what contradicts itself, in the order of the file; nothing that only follows from another."""
    told = mistakes(ALL)
    lines = [int(one.split(":")[1]) for one in told]
    assert lines == sorted(lines)
    assert sorted(set(lines)) == [2, 3, 5, 6, 10, 11, 13, 17, 18, 19, 20, 21]
    assert not [one for one in told if "no zone" in one and "broken" in one]


def test_places_are_lines_and_columns_of_the_file() -> None:
    rows = ALL.splitlines()
    for one in mistakes(ALL):
        found = re.match(r"standing\.yaml:(\d+):(\d+): ([\w.-]+): ", one)
        assert found is not None, one
        last = found[3].rsplit(".", 1)[-1]
        assert last in rows[int(found[1]) - 1], one
        assert 1 <= int(found[2]) <= len(rows[int(found[1]) - 1])


@pytest.mark.parametrize(
    "command", [["plan"], ["plan", "--json"], ["keep", "--yes"], ["keep", "--bought", "--replace", "--yes"]]
)
def test_the_commands_refuse_it_and_lose_nothing(tmp_path: Path, command: list[str]) -> None:
    brief = Path(shutil.copy(BRIEFS["fold"], tmp_path / "brief.yaml"))
    standing = tmp_path / "standing.yaml"
    standing.write_text(ALL, encoding="utf-8")
    done = CliRunner().invoke(cli.cli, [command[0], str(brief), *command[1:]])
    assert isinstance(done.exception, UserError)
    assert "standing.yaml:2:" in str(done.exception)
    assert standing.read_text(encoding="utf-8") == ALL
    assert sorted(one.name for one in tmp_path.iterdir()) == ["brief.yaml", "standing.yaml"]


@pytest.mark.parametrize(
    "text",
    ["- a\n", "kit\n", "kit: [a, b]\n", "kit: soon\n", "kit: {a: b}\n", "issued: soon\n", "issued: {zones: soon}\n",
     "issued: {zones: {staff: soon}}\n", "kit: {a: &x {do: keep}, b: *x}\n", "kit: {a: {do: keep}, a: {do: keep}}\n",
     "kit: {a: {do: !!str keep}}\n", "kit: {do: keep\n", "kit: {A B: {do: keep}}\n", "issued: {zones: }\n---\nkit: {}\n"],
)  # fmt: skip
def test_another_shape_is_refused_in_words(text: str) -> None:
    for one in mistakes(text):
        assert re.match(r"standing\.yaml:\d+:\d+: ", one), one
        assert "Error" not in one


@pytest.mark.parametrize("words", REFUSED[:20])
def test_words_that_no_output_may_hold_are_refused(words: str) -> None:
    escaped = "".join(f"\\U{ord(letter):08x}" for letter in words)
    assert mistakes(f'kit:\n  a: {{name: "{escaped}", do: keep}}\n')


def test_a_file_full_of_overlaps_is_told_quickly() -> None:
    """Two thousand runs on the same addresses; the first hundred mistakes are shown."""
    runs = "".join(f"    r-{n}: {{zone: a, purpose: x, first: 10.0.0.2, last: 10.0.200.9}}\n" for n in range(2000))
    text = f"issued:\n  zones:\n    a: {{number: 1, network: 10.0.0.0/16, gateway: 10.0.0.1}}\n  ranges:\n{runs}"
    begun = process_time()
    told = mistakes(text)
    assert len(told) == 101
    assert told[-1].startswith("and 1,899 more")
    assert process_time() - begun < 20


def test_what_serves_nothing_is_a_finding_with_the_nearest_word() -> None:
    """Which parts an office has is known only when it is planned."""
    made = beside(changed(STANDS, "serves: switch, do: keep", "serves: swich, do: keep"))
    (told,) = [one for one in made.findings if one.finding.code == "P-4"]
    assert "swich" in told.says
    assert "Did you mean switch?" in told.finding.remedy


def test_long_names_of_runs_and_addresses_are_taken() -> None:
    """A zone and a device together may be longer than a word of the brief."""
    name = "management-more-2-kept-" + "x" * 40
    text = changed(
        STANDS,
        "  addresses:",
        f"  ranges:\n    {name}: {{zone: management, purpose: x, first: 10.71.10.30, last: 10.71.10.31}}\n  addresses:",
    )
    assert beside(text).figures
