"""Refuses what import contracts can't see in the rooms that compute: files, clocks, chance, `.value` in a trade."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("figures", "handbook", "disciplines", "plan")
TRADES = "disciplines"
BUILTINS = {"open", "input", "print", "breakpoint", "__import__"}
CLOCKS = {"now", "today", "utcnow"}
FILES = {"read_text", "read_bytes", "write_text", "write_bytes", "open"}
MODULES = {"time", "random", "secrets", "uuid", "os", "socket", "subprocess", "pathlib", "tempfile", "shutil"}
MODULES |= {"numpy.random"}
FROM = {("numpy", "random"), ("io", "open"), ("sys", "stdin"), ("sys", "stdout"), ("sys", "argv")}
LOOKUPS = {"getattr", "attrgetter"}


def impurities(path: str, text: str, *, trade: bool = False) -> Iterator[str]:
    """Every impure word with its line; in a trade also every reading of `.value`. Raises SyntaxError."""
    tree = ast.parse(text)
    aliases = {alias for node in ast.walk(tree) for alias in _aliases(node)}
    for node in ast.walk(tree):
        for said in _impure(node, aliases):
            yield f"{path}:{getattr(node, 'lineno', 1)}: {said}; this room computes from what it is given"
        if trade and _reads_value(node):
            yield f"{path}:{getattr(node, 'lineno', 1)}: reads .value; decide by desk.choose, a rule or a Finding"


def _aliases(node: ast.AST) -> Iterator[str]:
    """Names under which a module holds something of datetime or numpy."""
    if isinstance(node, ast.ImportFrom) and node.module in {"datetime", "numpy"}:
        yield from (name.asname or name.name for name in node.names)
    if isinstance(node, ast.Import):
        yield from (
            n.asname or n.name for n in node.names if n.name.split(".")[0] in {"datetime", "numpy", "sys", "os"}
        )


def _impure(node: ast.AST, aliases: set[str]) -> Iterator[str]:
    if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id in BUILTINS:
        yield f"uses {node.id}"
    elif isinstance(node, ast.Import | ast.ImportFrom):
        yield from _imports(node)
    elif isinstance(node, ast.Call):
        yield from _calls(node)
    elif isinstance(node, ast.Attribute):
        yield from _attributes(node, aliases)


def _imports(node: ast.Import | ast.ImportFrom) -> Iterator[str]:
    if isinstance(node, ast.Import):
        names = [name.name for name in node.names]
    else:
        names = [node.module or ""]
        yield from (f"imports {node.module}.{n.name}" for n in node.names if (node.module, n.name) in FROM)
    yield from (f"imports {name}" for name in names if {name, name.split(".")[0]} & MODULES)


def _calls(node: ast.Call) -> Iterator[str]:
    called = node.func
    if isinstance(called, ast.Attribute) and called.attr in CLOCKS:
        yield f"asks the clock by .{called.attr}()"
    elif isinstance(called, ast.Attribute) and called.attr in FILES:
        yield f"reads or writes a file by .{called.attr}()"
    elif _asked(node) & CLOCKS:
        yield "asks the clock by name"


def _attributes(node: ast.Attribute, aliases: set[str]) -> Iterator[str]:
    base = node.value
    known = isinstance(base, ast.Name) and base.id in aliases
    whole = ast.unparse(node)
    if known and node.attr in CLOCKS:
        yield f"takes the clock {whole}"
    elif known and node.attr in {"random", "environ", "getenv", "stdin", "stdout", "argv"}:
        yield f"uses {whole}"
    elif whole.startswith(("datetime.datetime.", "datetime.date.")) and node.attr in CLOCKS:
        yield f"takes the clock {whole}"


def _asked(node: ast.Call) -> set[str]:
    """The words that getattr or attrgetter is asked for."""
    called = node.func
    name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
    words = [word.value for word in node.args if isinstance(word, ast.Constant) and isinstance(word.value, str)]
    return {part for word in words for part in word.split(".")} if name in LOOKUPS else set()


def _reads_value(node: ast.AST) -> bool:
    if isinstance(node, ast.Attribute):
        return node.attr == "value"
    if isinstance(node, ast.MatchClass):
        return "value" in node.kwd_attrs
    return isinstance(node, ast.Call) and "value" in _asked(node)


def complaints(root: Path) -> list[str]:
    """Everything impure under a root, in order of files."""
    house = root / "src/scantling"
    return [
        said
        for room in ROOMS
        for path in sorted((house / room).rglob("*.py"))
        for said in impurities(path.relative_to(root).as_posix(), path.read_text("utf-8"), trade=room == TRADES)
    ]


def main() -> int:
    """Print every complaint; 0 when there is none."""
    told = complaints(ROOT)
    print("\n".join(told) or f"{', '.join(ROOMS)} compute from what they are given")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
