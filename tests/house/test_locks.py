"""The lock files: hashed, without host names, and current with pyproject.toml; the source needs nothing else."""

import ast
import sys
import tomllib
from collections.abc import Mapping
from importlib.metadata import distribution, packages_distributions
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]
LOCKS = ("requirements.lock", "requirements-dev.lock")
PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


def entries(text: str) -> list[tuple[Requirement, int]]:
    """Every pin with the number of its hashes."""
    joined = text.replace("\\\n", " ").splitlines()
    lines = [line for line in joined if line.strip() and not line.startswith("#")]
    return [(Requirement(line.partition("--hash")[0]), line.count("--hash=sha256:")) for line in lines]


def pins(lock: str) -> dict[str, set[str]]:
    """Package -> versions pinned; several where Python versions need different ones."""
    found: dict[str, set[str]] = {}
    for pin, _ in entries((ROOT / lock).read_text("utf-8")):
        found.setdefault(canonicalize_name(pin.name), set()).add(str(pin.specifier).removeprefix("=="))
    return found


def group(name: str) -> list[Requirement]:
    """The requirements of a dependency group, with those it includes."""
    found: list[Requirement] = []
    for line in PROJECT["dependency-groups"][name]:
        found += group(line["include-group"]) if isinstance(line, Mapping) else [Requirement(line)]
    return found


def wanted(lock: str) -> list[Requirement]:
    """What pyproject.toml asks of a lock."""
    runtime = [Requirement(line) for line in PROJECT["project"]["dependencies"]]
    return runtime if lock == LOCKS[0] else [*runtime, *group("dev")]


def needed(requirements: list[Requirement]) -> set[str]:
    """These packages and all that they need here, by what is installed."""
    found: set[str] = set()
    waiting = [canonicalize_name(one.name) for one in requirements]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            inner = [Requirement(line) for line in distribution(name).requires or ()]
            waiting += [canonicalize_name(r.name) for r in inner if not r.marker or r.marker.evaluate({"extra": ""})]
    return found


@pytest.mark.parametrize("lock", LOCKS)
def test_no_lock_names_a_host(lock: str) -> None:
    """Neither an address nor an index stands in it."""
    text = (ROOT / lock).read_text("utf-8")
    assert "://" not in text
    assert "--index" not in text
    assert "--find-links" not in text


@pytest.mark.parametrize("lock", LOCKS)
def test_every_pin_is_exact_and_hashed(lock: str) -> None:
    """One version, at least one hash."""
    for pin, hashes in entries((ROOT / lock).read_text("utf-8")):
        assert str(pin.specifier).startswith("=="), pin
        assert hashes, f"{pin} has no hash"


@pytest.mark.parametrize("lock", LOCKS)
def test_lock_holds_what_pyproject_asks(lock: str) -> None:
    """Every requirement is pinned, within its bounds; on change run ./dev lock."""
    pinned = pins(lock)
    for requirement in wanted(lock):
        versions = pinned.get(canonicalize_name(requirement.name), set())
        assert versions, f"{requirement.name} is not in {lock}: run ./dev lock"
        assert all(requirement.specifier.contains(version) for version in versions), (
            f"{requirement} against {versions}"
        )


@pytest.mark.parametrize("lock", LOCKS)
def test_lock_holds_all_that_those_need_and_nothing_else(lock: str) -> None:
    """The pins that hold for this Python are the requirements with all that they need."""
    here = {
        canonicalize_name(pin.name)
        for pin, _ in entries((ROOT / lock).read_text("utf-8"))
        if not pin.marker or pin.marker.evaluate()
    }
    assert here == needed(wanted(lock))


@pytest.mark.parametrize("python", ["3.11", "3.12", "3.13", "3.14"])
@pytest.mark.parametrize("lock", LOCKS)
def test_every_supported_python_has_one_pin_a_package(lock: str, python: str) -> None:
    """Nothing is pinned twice or left out for any Python that pyproject.toml admits."""
    names = [
        canonicalize_name(pin.name)
        for pin, _ in entries((ROOT / lock).read_text("utf-8"))
        if not pin.marker or pin.marker.evaluate({"python_version": python, "python_full_version": f"{python}.0"})
    ]
    assert len(names) == len(set(names))
    assert {canonicalize_name(requirement.name) for requirement in wanted(lock)} <= set(names)


def test_both_locks_agree() -> None:
    """What a person runs is what was tested."""
    developer = pins(LOCKS[1])
    assert {name: developer.get(name) for name in pins(LOCKS[0])} == pins(LOCKS[0])


def test_source_imports_only_what_runs_with_it() -> None:
    """A package of the test group in src would fail on a person's machine."""
    owners = packages_distributions()
    allowed = set(pins(LOCKS[0]))
    for path in sorted((ROOT / "src").rglob("*.py")):
        for name in imported(ast.parse(path.read_text("utf-8"))) - set(sys.stdlib_module_names) - {"scantling"}:
            found = {canonicalize_name(owner) for owner in owners.get(name, [name])}
            assert found & allowed, f"{path.relative_to(ROOT)} imports {name}, which the runtime lock does not hold"


def imported(tree: ast.Module) -> set[str]:
    """The first names of all imports."""
    plain = {a.name for node in ast.walk(tree) if isinstance(node, ast.Import) for a in node.names}
    origin = {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    return {name.split(".")[0] for name in plain | origin}


def test_every_direct_dependency_has_its_line_in_decisions() -> None:
    """What it replaces, what it costs."""
    page = (ROOT / "decisions/dependencies.md").read_text("utf-8")
    cells = {
        word.strip() for line in page.splitlines() if line.startswith("|") for word in line.split("|")[1].split(",")
    }
    missing = [one.name for one in wanted(LOCKS[1]) if one.name not in cells]
    assert not missing
