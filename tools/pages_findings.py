"""The list of findings: each code in the program with its weight, its title and the paragraph in the manual."""

import ast
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

from pages import ROOT, PageError

ROOMS = ("disciplines", "plan")
CODE = re.compile(r"[A-Z]-[0-9]+")
HEADING = re.compile(r"^## ([A-Z]-[0-9]+) (.+)$", re.MULTILINE)
OPENING = """\
# Findings

What a plan can find, each with a stable code. Made from the code by `python tools/pages.py`: do not edit.
The paragraphs are in `docs/findings/`.

**stop**: do not buy or build. **mend**: before handover. **note**: tell the client.

| Code | Weight | What | Explained in |
| --- | --- | --- | --- |
"""


def page(root: Path = ROOT) -> str:
    """One row a code. Raises PageError for a code without a paragraph, or a paragraph without its code."""
    weights, titles = codes(root / "src/scantling"), paragraphs(root / "docs/findings")
    lost = sorted(weights.keys() ^ titles.keys(), key=_order)
    if lost:
        where = [f"{code} ({'no paragraph' if code in weights else 'nothing raises it'})" for code in lost]
        message = f"codes and paragraphs differ: {', '.join(where)}"
        raise PageError(message)
    rows = [
        f"| {code} | {weights[code]} | {title} | [{stem}](findings/{stem}.md) |"
        for code in sorted(weights, key=_order)
        for title, stem in titles[code]
    ]
    return OPENING + "\n".join(rows)


def codes(house: Path) -> Mapping[str, str]:
    """Every finding's code in the rooms that raise them, with its weights."""
    found: dict[str, set[str]] = {}
    for path in sorted(p for room in ROOMS for p in (house / room).rglob("*.py")):
        for code, weight in _raised(ast.parse(path.read_text("utf-8"))):
            found.setdefault(code, set()).update(weight)
    return {code: " or ".join(sorted(weights)) for code, weights in found.items()}


def _raised(tree: ast.Module) -> Iterator[tuple[str, set[str]]]:
    for call in (node for node in ast.walk(tree) if isinstance(node, ast.Call)):
        given = [*call.args, *(keyword.value for keyword in call.keywords)]
        weights = {w for argument in given for w in _weights(argument)}
        for argument in given:
            if weights and isinstance(argument, ast.Constant) and CODE.fullmatch(str(argument.value)):
                yield str(argument.value), weights
    yield from _listed(tree)


def _listed(tree: ast.Module) -> Iterator[tuple[str, set[str]]]:
    """Codes that stand first in a table of a module, with the weights that its calls give to a code by its name."""
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    named = [call for call in calls if any(isinstance(one, ast.Name) and one.id == "code" for one in call.args)]
    weights = {w for call in named for argument in call.args for w in _weights(argument)}
    for row in (node for node in ast.walk(tree) if isinstance(node, ast.Tuple) and node.elts):
        first = row.elts[0]
        if weights and isinstance(first, ast.Constant) and CODE.fullmatch(str(first.value)):
            yield str(first.value), weights


def _weights(argument: ast.expr) -> Iterator[str]:
    for node in ast.walk(argument):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "Weight":
            yield node.attr.lower()


def paragraphs(folder: Path) -> Mapping[str, list[tuple[str, str]]]:
    """The titles of every code's paragraphs and the pages that hold them; a code may be met in two trades."""
    found: dict[str, list[tuple[str, str]]] = {}
    for path in sorted(folder.glob("*.md")):
        for code, title in HEADING.findall(path.read_text("utf-8")):
            found.setdefault(code, []).append((title, path.stem))
    return found


def _order(code: str) -> tuple[str, int]:
    letter, _, number = code.partition("-")
    return letter, int(number)
