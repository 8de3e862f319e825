"""A plan's files in two parts: what the office runs from, and papers that only people read, which are written beside it."""

import importlib
import pkgutil
from collections.abc import Callable, Iterable, Mapping
from typing import TypeVar, cast

from scantling.outputs import files
from scantling.outputs.files import FilesError, Written
from scantling.plan.make import Plan

FOR_PEOPLE = frozenset({"access_lists", "register_book", "registers", "rule_sheets"})
"""Writers of papers, by their modules; no server and no firewall reads them."""
T = TypeVar("T")
Writer = Callable[[Plan], Iterable[Written]]


def run_from(plan: Plan) -> dict[str, Written]:
    """The files that the office runs from, by path. Raises FilesError where two writers want one path."""
    return _by_path(plan, writers(names() - FOR_PEOPLE).values())


def papers(plan: Plan) -> dict[str, Written]:
    """All others, by path: of them the evidence tells the digests. Raises FilesError as above."""
    return _by_path(plan, writers(names() & FOR_PEOPLE).values())


def names() -> frozenset[str]:
    """Modules of the folder in which `written` finds whoever writes files."""
    return frozenset(one.name for one in pkgutil.iter_modules(files.__path__) if not one.name.startswith("_"))


def writers(some: Iterable[str]) -> Mapping[str, Writer]:
    """Whoever writes files in some modules, by module. No other is loaded: those of papers need more than an office does."""
    modules = {name: importlib.import_module(f"{files.__name__}.{name}") for name in sorted(some)}
    return {name: cast("Writer", one.write) for name, one in modules.items() if hasattr(one, "write")}


def together(some: Mapping[str, T], others: Mapping[str, T]) -> dict[str, T]:
    """Both parts, by path. Raises FilesError where both have one path."""
    if twice := sorted(some.keys() & others.keys()):
        message = f"two files are called {twice[0]}"
        raise FilesError(message)
    return {**some, **others}


def _by_path(plan: Plan, many: Iterable[Writer]) -> dict[str, Written]:
    found: dict[str, Written] = {}
    for write in many:
        of_one = [*write(plan)]
        found = together(found, {one.path: one for one in of_one})
    return found
