"""Generated pages: stale, missing and impossible ones are noticed; codes and paragraphs must match."""

from pathlib import Path

import pytest

import pages_commands
import pages_findings
from pages import PAGES, PageError, main, stale, write

MAKER = "planted_page_maker:page"


@pytest.fixture
def maker(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A page's function in a module of its own."""
    (tmp_path / "planted_page_maker.py").write_text(
        "def page(): return 'text\\n\\n'\nempty = lambda: ' '\nword = 'no'\n"
    )
    monkeypatch.syspath_prepend(tmp_path)
    return MAKER


def test_a_page_is_missing_then_fresh_then_stale(tmp_path: Path, maker: str) -> None:
    pages = {"docs/a.md": maker}
    assert stale(tmp_path, pages) == ["docs/a.md is not there: run python tools/pages.py"]
    assert write(tmp_path, pages) == ["docs/a.md"]
    assert (tmp_path / "docs/a.md").read_text() == "text\n"
    assert not stale(tmp_path, pages)
    (tmp_path / "docs/a.md").write_text("text\nby hand\n")
    assert stale(tmp_path, pages) == ["docs/a.md is stale: run python tools/pages.py"]
    assert [p.name for p in (tmp_path / "docs").iterdir()] == ["a.md"]


@pytest.mark.parametrize("name", ["no_such_module:page", "planted_page_maker:gone", "planted_page_maker:word"])
def test_a_page_without_its_function_is_a_complaint(tmp_path: Path, maker: str, name: str) -> None:
    pages = {"docs/a.md": maker, "docs/b.md": name}
    assert name in stale(tmp_path, pages)[1]
    with pytest.raises(PageError, match=name):
        write(tmp_path, pages)
    assert not (tmp_path / "docs").exists()


def test_a_page_without_text_is_refused(tmp_path: Path, maker: str) -> None:
    with pytest.raises(PageError, match="returned no text"):
        write(tmp_path, {"docs/a.md": maker.replace(":page", ":empty")})


def test_every_generated_page_is_registered_and_fresh() -> None:
    assert set(PAGES) == {
        "docs/brief-reference.md", "docs/brief.schema.json", "docs/standing-reference.md", "docs/commands.md", "docs/findings.md",
    }  # fmt: skip
    assert main(["--check"]) == 0


def test_the_page_of_commands_tells_every_option() -> None:
    told = pages_commands.page()
    assert all(
        word in told for word in ("## scantling plan", "## scantling why", "## scantling book", "--json", "--out")
    )


def house(root: Path, code: str, paragraph: str) -> Path:
    """A tree with one finding and one paragraph."""
    for folder in ("src/scantling/disciplines", "src/scantling/plan", "docs/findings"):
        (root / folder).mkdir(parents=True)
    (root / "src/scantling/disciplines/doors.py").write_text(f'yield Finding("{code}", Weight.STOP, when=x)\n')
    (root / "docs/findings/doors.md").write_text(f"## {paragraph} A door stands open\n\nShut it.\n")
    return root


def test_findings_are_listed_with_weight_and_title(tmp_path: Path) -> None:
    row = "| D-1 | stop | A door stands open | [doors](findings/doors.md) |"
    assert pages_findings.page(house(tmp_path, "D-1", "D-1")).endswith(row)


def test_a_code_and_its_paragraph_need_each_other(tmp_path: Path) -> None:
    with pytest.raises(PageError, match=r"D-1 \(no paragraph\), D-2 \(nothing raises it\)"):
        pages_findings.page(house(tmp_path, "D-1", "D-2"))
