"""Holds every module to the house's sizes: lines, code lines of a function, nesting, arguments, docstrings.

A raise stands in decisions/budgets.yaml and names the page that gives its reason; one no longer needed is refused.
"""

import ast
import io
import sys
import tokenize
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from ruamel.yaml import YAML

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("src", "tools", "benchmarks", "tests")
RAISES = "decisions/budgets.yaml"
LIMITS = {"module lines": 300, "code lines": 40, "nesting": 3, "arguments": 6}
UNSEEN = {tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT, tokenize.ENDMARKER}
Function = ast.FunctionDef | ast.AsyncFunctionDef
Named = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
BLOCKS = (ast.If, ast.For, ast.AsyncFor, ast.While, ast.With, ast.AsyncWith, ast.Try, ast.TryStar, ast.Match)


@dataclass(frozen=True, slots=True)
class Measure:
    """One measured thing: `where` is the file, or file:function; `what` is a key of LIMITS."""

    where: str
    line: int
    what: str
    amount: int


@dataclass(frozen=True, slots=True)
class Raise:
    """A limit lifted for one place, with the page that says why."""

    where: str
    what: str
    limit: int
    page: str


def measures(path: str, text: str) -> Iterator[Measure]:
    """Sizes of a module and of every function in it. Raises SyntaxError."""
    tree = ast.parse(text)
    lines = text.splitlines()
    yield Measure(path, 1, "module lines", len(lines))
    seen = code_lines(text) - docstring_lines(tree)
    for name, function in functions(tree):
        where = f"{path}:{name}"
        last = function.end_lineno or function.lineno
        yield Measure(where, function.lineno, "code lines", len(seen & set(range(function.lineno, last + 1))))
        yield Measure(where, function.lineno, "nesting", nesting(function))
        yield Measure(where, function.lineno, "arguments", arguments(function))


def code_lines(text: str) -> set[int]:
    """Numbers of the lines that hold more than a comment or nothing."""
    tokens = tokenize.generate_tokens(io.StringIO(text).readline)
    return {line for t in tokens if t.type not in UNSEEN for line in range(t.start[0], t.end[0] + 1)}


def docstring_lines(tree: ast.AST) -> set[int]:
    """Numbers of the lines that docstrings take, those of attributes included."""
    told = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
    ]
    return {line for node in told for line in range(node.lineno, (node.end_lineno or node.lineno) + 1)}


def functions(tree: ast.AST, prefix: str = "") -> Iterator[tuple[str, Function]]:
    """Every function with its dotted name, nested ones too."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, Function):
            yield prefix + node.name, node
        inside = f"{prefix}{node.name}." if isinstance(node, Named) else prefix
        yield from functions(node, inside)


def nesting(node: ast.AST) -> int:
    """How deep blocks stand inside one another; `elif` stands beside its `if`."""
    return max((_depth(child) for child in ast.iter_child_nodes(node)), default=0)


def _depth(node: ast.AST) -> int:
    if isinstance(node, Named):
        return 0  # measured by itself
    if isinstance(node, ast.If) and len(node.orelse) == 1 and isinstance(node.orelse[0], ast.If):
        inside = max((_depth(child) for child in node.body), default=0)
        return max(1 + inside, _depth(node.orelse[0]))
    return isinstance(node, BLOCKS) + nesting(node)


def arguments(function: Function) -> int:
    """How many arguments a caller can give, `self` and `cls` not counted."""
    given = function.args
    named = [*given.posonlyargs, *given.args]
    own = bool(named) and named[0].arg in {"self", "cls"}
    return len(named) - own + len(given.kwonlyargs)


def silences(path: str, text: str) -> Iterator[str]:
    """Public things without a docstring, and modules that don't open with a sentence. Raises SyntaxError."""
    tree = ast.parse(text)
    opening = (ast.get_docstring(tree) or "").split("\n\n")[0].strip()
    if not opening.endswith((".", "!", "?")):
        yield f"{path}:1: opens without a sentence that says what the module is for"
    if not path.startswith("tests/"):
        yield from (f"{path}:{line}: {name} has no docstring" for name, line in _undocumented(tree))


def _undocumented(tree: ast.Module | ast.ClassDef, prefix: str = "") -> Iterator[tuple[str, int]]:
    for node in tree.body:
        if not isinstance(node, Named) or node.name.startswith("_"):
            continue
        again = any(ast.unparse(d).endswith(("overload", ".setter")) for d in node.decorator_list)
        if not again and not ast.get_docstring(node):
            yield prefix + node.name, node.lineno
        if isinstance(node, ast.ClassDef):
            yield from _undocumented(node, f"{prefix}{node.name}.")


def read_raises(root: Path) -> list[Raise]:
    """The raises on file. Raises TypeError for a row with other keys."""
    rows = YAML(typ="safe").load((root / RAISES).read_text("utf-8")) or []
    return [Raise(**row) for row in rows]


def judge(found: Sequence[Measure], raised: Sequence[Raise], root: Path) -> Iterator[str]:
    """What is over its limit, and raises that are wrong, unexplained or no longer needed."""
    amounts = {(m.where, m.what): m.amount for m in found}
    limits = {(r.where, r.what): r.limit for r in raised}
    for m in found:
        limit = limits.get((m.where, m.what), LIMITS[m.what])
        if m.amount > limit:
            name = m.where.partition(":")[2]
            yield f"{m.where.partition(':')[0]}:{m.line}: {name or 'module'} has {m.what} {m.amount}, limit {limit}"
    for r in raised:
        amount = amounts.get((r.where, r.what))
        if amount is None:
            yield f"{RAISES}: nothing measured is called {r.where}, {r.what}"
        elif amount <= LIMITS[r.what]:
            yield f"{RAISES}: {r.where} needs no raise any more: {r.what} {amount}, limit {LIMITS[r.what]}"
        if not (root / r.page).is_file():
            yield f"{RAISES}: {r.where} names a page that is not there: {r.page}"


def complaints(root: Path) -> list[str]:
    """Everything to mend under a root, in order of files."""
    found: list[Measure] = []
    told: list[str] = []
    for path in sorted(p for room in ROOMS for p in (root / room).rglob("*.py")):
        name, text = path.relative_to(root).as_posix(), path.read_text("utf-8")
        found += measures(name, text)
        told += silences(name, text)
    return told + list(judge(found, read_raises(root), root))


def main() -> int:
    """Print every complaint; 0 when there is none."""
    told = complaints(ROOT)
    print("\n".join(told) or "every module and function is inside its budget")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
