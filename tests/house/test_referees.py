"""Referees share no code with what they judge: they may import only figures, brief and third-party packages."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
REFEREES = sorted((ROOT / "tests/referees").rglob("*.py"))
ALLOWED = ("scantling.figures", "scantling.brief")


def shared(text: str) -> Iterator[str]:
    """The names of this project that a referee imports against the rule."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        else:
            continue
        yield from (n for n in names if n.split(".")[0] == "scantling" and not f"{n}.".startswith(dotted(ALLOWED)))


def dotted(names: tuple[str, ...]) -> tuple[str, ...]:
    """So that scantling.figures_of is not taken for scantling.figures."""
    return tuple(f"{name}." for name in names)


@pytest.mark.parametrize("path", REFEREES, ids=lambda path: path.name)
def test_a_referee_shares_no_code(path: Path) -> None:
    assert not list(shared(path.read_text("utf-8")))


def test_there_are_referees() -> None:
    assert REFEREES


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("from scantling.handbook.choosing import search", 1),
        ("import scantling.plan.purchase", 1),
        ("from scantling import api", 1),
        ("def f():\n    from scantling.catalogue import Catalogue, House", 2),
        ("import scantling.figures_of", 1),
        ("from scantling.figures import Figure\nfrom scantling.brief.loading import load\nimport networkx", 0),
    ],
)
def test_a_planted_import_is_seen(text: str, count: int) -> None:
    assert len(list(shared(text))) == count
