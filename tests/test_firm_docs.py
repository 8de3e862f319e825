"""The pages on a firm's folder and on price lists: their files are written, their commands run, their answers true."""

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from shutil import copyfile

import pytest

from offices import BRIEFS, ROOT

BLOCK = re.compile(r"^```(\w+)(?: (kept: )?(\S+))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def commands(text: str) -> Iterator[tuple[list[str], list[str]]]:
    """Each command with the lines that it should answer."""
    for part in text.split("$ ")[1:]:
        command, *answer = part.splitlines()
        yield command.split(), [line for line in answer if line != "..."]


@pytest.mark.parametrize("page", ["firm.md", "price-lists.md"])
def test_what_the_page_shows_happens(page: str, tmp_path: Path) -> None:
    copyfile(BRIEFS["millrace"], tmp_path / "brief.yaml")
    ran = 0
    for kind, kept, name, body in BLOCK.findall((ROOT / "docs" / page).read_text(encoding="utf-8")):
        path = tmp_path / name
        if kept:
            assert path.read_text(encoding="utf-8").endswith(body)
        elif name:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(body, encoding="utf-8")
        for words, answer in commands(body) if kind == "console" else ():
            run_and_compare(words, answer, tmp_path)
            ran += 1
    assert ran >= 2


def run_and_compare(words: list[str], answer: list[str], folder: Path) -> None:
    """Every line shown stands in the answer, in this order."""
    done = subprocess.run(
        [sys.executable, "-m", "scantling", *words[1:]],
        capture_output=True, text=True, env={"PYTHONPATH": str(ROOT / "src")}, cwd=folder, check=False,
    )  # fmt: skip
    said = (done.stdout + done.stderr).splitlines()
    at = 0
    for line in answer:
        found = next((place for place in range(at, len(said)) if said[place].strip().startswith(line.strip())), None)
        assert found is not None, f"{line!r} is not said after line {at} of:\n" + "\n".join(said)
        at = found + 1


def test_every_column_and_option_that_the_page_names_is_there() -> None:
    """Roles and options of the page are those of the command."""
    text = (ROOT / "docs/price-lists.md").read_text(encoding="utf-8")
    source = (ROOT / "src/scantling/cli/prices.py").read_text(encoding="utf-8")
    for option in set(re.findall(r"`(--[a-z-]+)", text)):
        assert f'"{option}"' in source, option
