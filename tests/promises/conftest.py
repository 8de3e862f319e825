"""Marks every test of this folder as a promise, in the words of its docstring; an open one is a strict xfail."""

from pathlib import Path

import pytest

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the promise's words where the end of the run finds them. Raises UsageError for one without words."""
    for item in items:
        if HERE in item.path.parents:
            item.user_properties.append(("promise", words(item)))


def words(item: pytest.Item) -> str:
    """The first sentence of the test's docstring."""
    said = getattr(getattr(item, "function", None), "__doc__", None)
    if not said or not said.strip():
        message = f"{item.nodeid} promises nothing: its docstring is the promise"
        raise pytest.UsageError(message)
    return str(said).strip().splitlines()[0]
