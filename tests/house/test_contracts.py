"""Each import contract is shown to bite: a copy of the tree with one planted import must break just that contract."""

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
RUN = "import sys; from importlinter.cli import lint_imports_command; sys.exit(lint_imports_command())"
CONFIG = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]
NAMES = {contract["id"]: contract["name"] for contract in CONFIG["contracts"]}
BANNED = next(c["forbidden_modules"] for c in CONFIG["contracts"] if c["id"] == "purity")

PLANTED = [
    ("layers", "figures", "import scantling.handbook"),
    ("layers", "handbook", "import scantling.brief"),
    ("layers", "brief", "import scantling.catalogue"),
    ("layers", "catalogue", "import scantling.brief"),
    ("layers", "catalogue", "import scantling.plan"),
    ("layers", "disciplines", "import scantling.plan"),
    ("layers", "plan", "import scantling.outputs"),
    ("layers", "outputs", "import scantling.api"),
    ("layers", "outputs", "def later():\n    from scantling import api"),
    ("trades", "disciplines", "import scantling.disciplines.planted_b"),
    ("doors", "outputs", "from scantling.disciplines import planted_b"),
    ("doors", "cli", "import scantling.disciplines.planted_b"),
    *(("purity", room, f"import {BANNED[0]}") for room in ("figures", "handbook", "disciplines", "plan")),
    ("purity", "handbook", "from os import environ"),
    ("purity", "disciplines", "def later():\n    import socket"),
    ("purity", "plan", "import scantling.brief.planted_b"),  # a chain: the other module reads files
]


def linted(tree: Path) -> tuple[int, str]:
    """Exit code and report of the contracts over a tree."""
    surroundings = os.environ | {"PYTHONPATH": str(tree / "src"), "NO_COLOR": "1", "COLUMNS": "200"}
    command = [sys.executable, "-c", RUN, "--config", str(tree / "pyproject.toml"), "--no-cache"]
    done = subprocess.run(command, cwd=tree, env=surroundings, text=True, capture_output=True, check=False)
    return done.returncode, done.stdout + done.stderr


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """A copy of the house."""
    shutil.copytree(ROOT / "src", tmp_path / "src", ignore=shutil.ignore_patterns("__pycache__", "*.ttf", "data"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def verdict(report: str, name: str) -> str:
    """KEPT or BROKEN, as the report says of a contract."""
    return next(line.rsplit(" ", 1)[-1] for line in report.splitlines() if line.startswith(name))


def test_the_house_as_it_stands_keeps_every_contract(tree: Path) -> None:
    code, report = linted(tree)
    assert code == 0, report
    assert {verdict(report, name) for name in NAMES.values()} == {"KEPT"}


@pytest.mark.parametrize(("contract", "room", "planted"), PLANTED)
def test_a_planted_import_breaks_its_contract(tree: Path, contract: str, room: str, planted: str) -> None:
    house = tree / "src/scantling"
    (house / room / "planted_a.py").write_text(planted + "\n")
    for other in ("disciplines", "brief"):
        (house / other / "planted_b.py").write_text("import pathlib\n" if other == "brief" else "x = 1\n")
    code, report = linted(tree)
    assert code != 0
    assert verdict(report, NAMES[contract]) == "BROKEN", report
    assert "planted_a" in report


def test_a_new_room_without_a_place_in_the_order_is_refused(tree: Path) -> None:
    (tree / "src/scantling/attic").mkdir()
    (tree / "src/scantling/attic/__init__.py").write_text("x = 1\n")
    code, report = linted(tree)
    assert code != 0
    assert "attic" in report


def test_every_room_is_there() -> None:
    layers = next(c["layers"] for c in CONFIG["contracts"] if c["id"] == "layers")
    rooms = {room for layer in layers for room in layer.split(" | ")}
    assert {p.stem for p in (ROOT / "src/scantling").iterdir() if p.suffix == ".py" or p.is_dir()} - {
        "__init__",
        "__pycache__",
    } == rooms
