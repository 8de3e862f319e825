"""The api's words are loaded when they are used: each word once, at home in one module, the same to the type checker."""

import ast
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from scantling import api

TREE = ast.parse(Path(api.__file__).read_text(encoding="utf-8"))
HELP = """
import sys
from scantling.cli import main
sys.argv = ["scantling", "--help"]
try:
    main()
finally:
    print(*sys.modules, file=sys.stderr)
"""
PROBE = """
import sys
from scantling import api
print(sum(name.startswith("scantling.api.") for name in sys.modules))
getattr(api, sys.argv[1])
print(" ".join(sorted(name for name in sys.modules if name.startswith("scantling.api."))))
"""


def told_to_the_type_checker() -> dict[str, str]:
    """Home by word, of the imports that only a type checker reads."""
    imports = [node for node in ast.walk(TREE) if isinstance(node, ast.ImportFrom) and node.module is not None]
    families = [node for node in imports if str(node.module).startswith("scantling.api.")]
    return {name.name: str(node.module).rpartition(".")[2] for node in families for name in node.names}


def test_the_table_says_what_the_type_checker_is_told() -> None:
    assert dict(api.HOME) == told_to_the_type_checker()
    assert sorted(api.HOME) == sorted(api.__all__)
    assert len(api.HOME) == sum(len(words.split()) for words in api.FAMILIES.values())


@pytest.mark.parametrize("word", sorted(api.HOME))
def test_every_word_is_that_of_its_module(word: str) -> None:
    found = getattr(api, word)
    assert found is getattr(sys.modules[f"scantling.api.{api.HOME[word]}"], word)
    assert not isinstance(found, ModuleType)


def test_an_unknown_word_is_refused() -> None:
    with pytest.raises(AttributeError, match="scenery"):
        getattr(api, "scenery")  # noqa: B009 - the type checker knows that there is none
    with pytest.raises(ImportError):
        exec("from scantling.api import scenery")  # noqa: S102 - as above


def loaded_by(word: str) -> list[str]:
    """The api's modules that a program of its own has loaded before, and after it used a word."""
    told = subprocess.run([sys.executable, "-c", PROBE, word], capture_output=True, text=True, check=True)
    return told.stdout.splitlines()


def test_a_word_loads_its_own_module_and_what_that_needs() -> None:
    assert loaded_by("stock_for") == ["0", "scantling.api.planning"]
    assert loaded_by("planned") == ["0", "scantling.api.comparing scantling.api.planning"]


def test_help_loads_the_commands_and_nothing_that_plans() -> None:
    told = subprocess.run([sys.executable, "-c", HELP], capture_output=True, text=True, check=True)
    rooms = {name.split(".")[1] for name in told.stderr.split() if name.startswith("scantling.")}
    assert rooms == {"cli"}
    assert "rehearse" in told.stdout
