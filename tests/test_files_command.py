"""The command `files` as a person and a script meet it: what is written, the list of it, refusals, exit codes."""

import csv
import io
import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from hostile_briefs import everywhere
from offices import BRIEFS, changed, example, millrace, planned
from scantling import UserError, api, cli
from scantling.api.filing import LIST
from scantling.outputs.files import FilesError, Written, written

HEADS = ["path", "what for", "where it goes", "how to load", "how to undo", "checked by"]
FOLDERS = {"addresses", "firewall", "lookups", "names", "registers", "sheets", "time"}
every_office = pytest.mark.parametrize("name", BRIEFS)


@pytest.fixture
def fold(tmp_path: Path) -> Path:
    """Fold & Fell's brief, nothing beside it."""
    return Path(shutil.copy(BRIEFS["fold"], tmp_path / "brief.yaml"))


def run(*words: str) -> tuple[int, str]:
    """Exit code and all that was said, in a pipe."""
    done = CliRunner().invoke(cli.cli, list(words))
    if isinstance(done.exception, UserError):
        return 2, str(done.exception)
    return done.exit_code, done.output


def there(folder: Path) -> dict[str, bytes]:
    """Every file of a folder by its path inside."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def listed(content: bytes) -> list[list[str]]:
    """The list for programs."""
    return list(csv.reader(io.StringIO(content.decode(), newline=""), strict=True))


def test_every_file_is_written_and_told(fold: Path, tmp_path: Path) -> None:
    code, said = run("files", str(fold), "--out", str(tmp_path / "made"))
    assert code == 0
    found = there(tmp_path / "made")
    assert {path.split("/")[0] for path in found if "/" in path} == FOLDERS
    assert [row[0] for row in listed(found[LIST])[1:]] == sorted(found)
    assert set(re.findall(r"^(\S+/\S+|files\.\w+)$", said, re.MULTILINE)) == set(found)
    assert f"wrote {len(found)} files" in said
    assert not [path for path in found if path.endswith(".part")]


def test_the_list_alone_writes_nothing(fold: Path, tmp_path: Path) -> None:
    code, said = run("files", str(fold), "--list", "--out", str(tmp_path / "made"))
    assert code == 0
    assert "nothing was written" in said
    assert not (tmp_path / "made").exists()


@every_office
def test_every_file_says_what_it_is_for_where_it_goes_how_to_load_and_undo_it(name: str) -> None:
    rows = listed(next(one.content for one in api.files(example(name)) if one.path == LIST))
    assert rows[0] == HEADS
    for row in rows[1:]:
        assert len(row) == len(HEADS)
        assert all(row[:5]), row


@every_office
def test_the_list_for_people_holds_every_word_of_the_list_for_programs(name: str) -> None:
    made = {one.path: one.content.decode() for one in api.files(example(name)) if one.path.startswith("files.")}
    people = " ".join(made["files.txt"].split())
    for row in listed(made[LIST].encode())[1:]:
        for cell in row:
            assert " ".join(cell.split()) in people
    assert "edit the brief, not this file" in people
    assert all(len(line) <= 100 or len(line.split()) == 1 for line in made["files.txt"].splitlines())


@every_office
def test_the_same_brief_gives_the_same_bytes(name: str) -> None:
    again = api.plan(BRIEFS[name])
    assert [(one.path, one.content) for one in api.files(again)] == [
        (one.path, one.content) for one in api.files(example(name))
    ]


@every_office
def test_paths_stay_inside_the_folder_and_differ_in_small_letters_too(name: str) -> None:
    """So that they fit on every file system."""
    paths = [one.path for one in api.files(example(name))]
    assert all(re.fullmatch(r"[a-z0-9]+([/._-][a-z0-9]+)*", path) for path in paths), paths
    assert len({path.casefold() for path in paths}) == len(paths)


def test_a_second_time_leaves_the_same_and_tells_what_is_left_over(fold: Path, tmp_path: Path) -> None:
    """A zone that has gone leaves its sheet; the person is told, nothing is taken away."""
    out = tmp_path / "made"
    larger = tmp_path / "larger.yaml"
    more = changed(
        fold.read_text(), "devices:\n", "devices:\n  phones: {name: Phones, kind: phone, count: 3, zone: phones}\n"
    )
    larger.write_text(more)
    assert run("files", str(larger), "--out", str(out))[0] == 0
    first = there(out)
    code, said = run("files", str(fold), "--out", str(out))
    assert code == 0
    assert "sheets/phones.txt" in first
    assert (out / "sheets/phones.txt").exists()
    assert "take them away" in said
    assert "    sheets/phones.txt" in said
    assert "take them away" not in run("files", str(fold), "--out", str(out))[1]


def test_what_an_earlier_list_names_outside_the_folder_is_not_told(fold: Path, tmp_path: Path) -> None:
    out = tmp_path / "made"
    out.mkdir()
    (tmp_path / "mine.txt").write_text("mine")
    (out / LIST).write_text(f"path\r\n../mine.txt\r\n{tmp_path / 'mine.txt'}\r\n")
    assert "mine.txt" not in run("files", str(fold), "--out", str(out))[1]
    (out / LIST).write_bytes(b"\xff\xfe broken \x00")
    assert run("files", str(fold), "--out", str(out))[0] == 0


def test_a_stop_finding_is_exit_code_one(tmp_path: Path) -> None:
    brief = tmp_path / "brief.yaml"
    brief.write_text(changed(BRIEFS["brackwater"].read_text(), "second_factor: yes", "second_factor: no"))
    assert run("files", str(brief), "--list")[0] == 1


@pytest.mark.parametrize("out", ["taken", "taken/below"])
def test_a_folder_that_is_a_file_is_refused_in_a_sentence(fold: Path, tmp_path: Path, out: str) -> None:
    (tmp_path / "taken").write_text("a file")
    code, said = run("files", str(fold), "--out", str(tmp_path / out))
    assert code == 2
    assert "can't write in" in said
    assert (tmp_path / "taken").read_text() == "a file"


def test_a_folder_where_a_file_should_be_is_refused_and_the_rest_stands(fold: Path, tmp_path: Path) -> None:
    """Whole or not at all."""
    out = tmp_path / "made"
    (out / "registers/zones.csv").mkdir(parents=True)
    code, said = run("files", str(fold), "--out", str(out))
    assert code == 2
    assert "zones.csv is a folder" in said
    assert there(out) == {}


@pytest.mark.parametrize(("brief", "says"), [("nowhere.yaml", "nowhere.yaml"), (".", "folder")])
def test_a_brief_that_can_t_be_read_is_told(tmp_path: Path, brief: str, says: str) -> None:
    code, said = run("files", str(tmp_path / brief), "--out", str(tmp_path / "made"))
    assert code == 2
    assert says in said
    assert not (tmp_path / "made").exists()


def test_two_writers_of_one_path_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    one = Written("registers/zones.csv", b"", "a", "b", "c", "d")
    monkeypatch.setattr("scantling.outputs.files.registers.write", lambda _: [one, one])
    with pytest.raises(UserError, match=r"two files are called registers/zones\.csv"):
        api.files(planned(millrace()))
    with pytest.raises(FilesError):
        written(planned(millrace()))


def test_hostile_words_steer_no_terminal_and_no_list() -> None:
    """Whatever a client typed, the list keeps its lines and fields."""
    for words in ("=cmd|'/c calc'!A1", 'a,b;"c"', "$(touch x); `touch x`"):
        made = {one.path: one.content for one in api.files(planned(everywhere(millrace(), words)))}
        rows = listed(made[LIST])
        assert all(len(row) == len(HEADS) for row in rows)
        assert [row[0] for row in rows[1:]] == sorted(made)
        assert not any(cell.startswith(tuple("=+-@\t\r")) for row in rows for cell in row)
