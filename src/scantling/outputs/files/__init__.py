"""The configuration files of a plan: one module a format, each with `write(plan)`; found by listing this folder."""

import importlib
import pkgutil
from collections.abc import Iterator
from dataclasses import dataclass

from scantling.plan.make import Plan


class FilesError(Exception):
    """Files that can't be written from this plan, in a person's words."""


@dataclass(frozen=True, slots=True)
class Written:
    """One file: where in the folder, its bytes, and what whoever uses it must know, a sentence each."""

    path: str
    """Inside the folder, with forward slashes, such as "firewall/rules.nft"."""
    content: bytes
    what: str
    """What it is for."""
    goes: str
    """On which machine, and where there."""
    load: str
    """How to load it: a command, or what to do by hand."""
    undo: str
    """How to take it back."""
    checked_by: str = ""
    """The command that checks it, with {file} in place of its path; empty where nothing does."""


def written(plan: Plan) -> list[Written]:
    """Every file of a plan, by path. Raises FilesError where two writers want one path."""
    found: dict[str, Written] = {}
    for one in _all(plan):
        if one.path in found:
            message = f"two files are called {one.path}"
            raise FilesError(message)
        found[one.path] = one
    return [found[path] for path in sorted(found)]


def _all(plan: Plan) -> Iterator[Written]:
    for name in sorted(module.name for module in pkgutil.iter_modules(__path__) if not module.name.startswith("_")):
        write = getattr(importlib.import_module(f"{__name__}.{name}"), "write", None)
        if write is not None:
            yield from write(plan)
