"""A comparison as text, JSON and page: the same bytes, every figure told, hostile words stay words, exit codes."""

import json
import re
from functools import cache
from pathlib import Path

import pytest

from comparisons import between, larger, scantling
from hostile import HOSTILE
from offices import fold, millrace, planned
from scantling import api
from scantling.brief.editing import with_values
from scantling.outputs.comparing import as_json, canonical, page, tables
from scantling.plan.comparing import compared
from test_book_html import Reader


@pytest.fixture
def two(tmp_path: Path) -> Path:
    """A folder with both briefs."""
    (tmp_path / "old.yaml").write_text(millrace(), encoding="utf-8")
    (tmp_path / "new.yaml").write_text(larger(), encoding="utf-8")
    return tmp_path


def test_the_same_two_plans_give_the_same_bytes(two: Path) -> None:
    one, other = (scantling("compare", "old.yaml", "new.yaml", "--json", folder=two).stdout for _ in range(2))
    assert one == other == canonical(api.compare(two / "old.yaml", two / "new.yaml"))
    assert json.loads(one) == as_json(between(millrace(), larger()))


def test_the_text_tells_causes_first_and_every_figure(two: Path) -> None:
    done = scantling("compare", "old.yaml", "new.yaml", folder=two)
    told = between(millrace(), larger())
    titles = [sheet.title for sheet in tables(told)]
    told_titles = [line.rstrip() for line in done.stdout.splitlines() if line.rstrip() in titles]
    assert told_titles == titles
    assert titles[0] == "What was changed"
    assert all(moved.id in done.stdout for moved in told.moved)
    assert all(cause.id in done.stdout for cause in told.causes)


def test_a_new_stop_ends_with_1_and_a_cured_one_with_0(tmp_path: Path) -> None:
    pinned = millrace() + '\npins:\n  host.cores.bought: {value: "1", because: a slip}\n'
    (tmp_path / "good.yaml").write_text(millrace(), encoding="utf-8")
    (tmp_path / "bad.yaml").write_text(pinned, encoding="utf-8")
    worse = scantling("compare", "good.yaml", "bad.yaml", folder=tmp_path)
    assert worse.returncode == 1
    assert "stop" in worse.stdout
    better = scantling("compare", "bad.yaml", "good.yaml", folder=tmp_path)
    assert better.returncode == 0
    assert "Cured findings" in better.stdout


@pytest.mark.parametrize(
    ("words", "says"),
    [(("old.yaml", "none.yaml"), "none.yaml:1:1: no such file"), (("old.yaml",), "compare OLD NEW"),
     (("old.yaml", "broken.yaml"), "broken.yaml:1:1:"), (("old.yaml", "new.yaml", "--page", "."), ". is a folder; name a file"),
     (("--options", "old.yaml", "new.yaml"), "one brief")],
)  # fmt: skip
def test_what_cannot_be_compared_ends_with_2(two: Path, words: tuple[str, ...], says: str) -> None:
    (two / "broken.yaml").write_text("- no\n", encoding="utf-8")
    done = scantling("compare", *words, folder=two)
    assert (done.returncode, done.stdout) == (2, "")
    assert says in done.stderr
    assert "Traceback" not in done.stderr


def test_the_page_holds_everything_and_asks_nobody(two: Path) -> None:
    scantling("compare", "old.yaml", "new.yaml", "--page", "moved.html", folder=two)
    text = (two / "moved.html").read_text(encoding="utf-8")
    told = between(millrace(), larger())
    read = Reader(text)
    assert read.declared == ["doctype html"]
    assert {tag for tag, _ in read.elements} <= {
        "html", "head", "meta", "title", "style", "body", "a", "header", "p", "h1", "dl", "div", "dt", "dd", "main",
        "section", "h2", "h3", "table", "thead", "tbody", "tr", "th", "td", "code", "span", "b", "footer",
    }  # fmt: skip
    words = read.text
    for moved in told.moved:
        assert f"{moved.id} {' '.join(f'{moved.old} → {moved.new}'.split())}" in words
        assert " ".join(moved.was.working.split()) in words
        assert " ".join(moved.now.working.split()) in words
    ids = [attributes["id"] for _, attributes in read.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    assert not re.search(r"https?://|src=|href=\"(?!#)", text.split("</style>")[1])


@pytest.mark.parametrize("word", HOSTILE)
def test_hostile_words_stay_words_on_the_page(word: str) -> None:
    """The elements of the page are those of a harmless word, and the word itself is read back as text."""
    tags, words = read_back(word)
    assert tags == read_back("Larkfield")[0]
    if word.isascii() and word.isprintable():
        assert " ".join(word.split()) in words


@cache
def read_back(name: str) -> tuple[list[str], str]:
    """Elements and text of the page that compares an office with one of that name."""
    text = with_values(fold(), {"office.name": name, "lines.fibre.name": name, "office.horizon": "4 year"})
    read = Reader(page(compared(planned(fold()), planned(text)), (name, "new")))
    return [tag for tag, _ in read.elements], read.text
