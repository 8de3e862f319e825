"""The working of a rule, read from the code that runs."""

import ast
import functools
import inspect
import textwrap
from collections.abc import Mapping
from typing import Any

from scantling.figures.figure import Figure
from scantling.figures.numbers import exact, number, with_unit
from scantling.figures.rules import Rule
from scantling.figures.units import RATIO, SAME, SHARE, Unit, convert

ALLOWED = (
    ast.BinOp, ast.UnaryOp, ast.Compare, ast.BoolOp, ast.IfExp, ast.Call, ast.Name, ast.Constant, ast.operator,
    ast.unaryop, ast.cmpop, ast.boolop, ast.expr_context,
)  # fmt: skip
CALLS = frozenset(
    {"min", "max", "ceil", "floor", "sqrt", "exp", "log", "log10", "pow", "to_minor_unit", "whole_up", "float", "int"}
)
LITERALS = frozenset({0, 1, 2})
WORDS = {
    "ceil": "rounded up", "whole_up": "rounded up", "floor": "rounded down", "max": "larger of", "min": "smaller of",
    "sqrt": "square root of", "log": "natural log of", "log10": "log10 of", "exp": "e to the", "to_minor_unit": "to the cent, half up",
}  # fmt: skip
SHOWN_IN_A_GROUP = 4


class RuleError(SyntaxError):
    """A rule that is not one returned expression of its arguments."""


@functools.cache
def expression(rule: Rule[..., Any]) -> ast.expr:
    """The one returned expression of a rule. Raises RuleError if there is more."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(rule.function))).body[0]
    body = tree.body if isinstance(tree, ast.FunctionDef) else []
    last = body[-1] if body else None
    if not isinstance(last, ast.Return) or last.value is None or len(body) > 2:  # noqa: PLR2004 - docstring and return
        message = f"{rule.name} is not one returned expression"
        raise RuleError(message)
    return last.value


def faults(rule: Rule[..., Any]) -> list[str]:
    """What a test refuses in a rule: odd syntax, foreign names, magic numbers."""
    module: dict[str, Any] = getattr(rule.function, "__globals__")  # noqa: B009 - ParamSpec functions hide it
    constants = {name for name in module if name.isupper()}
    names = set(rule.parameters) | set(rule.coefficients) | CALLS | constants
    found = []
    for node in ast.walk(expression(rule)):
        if not isinstance(node, ALLOWED):
            found.append(type(node).__name__)
        elif isinstance(node, ast.Name) and node.id not in names:
            found.append(node.id)
        elif isinstance(node, ast.Constant) and node.value not in LITERALS:
            found.append(repr(node.value))
    return found


class _Written(ast.NodeTransformer):
    """Names replaced by words or values; a conditional spelled out, or only the branch taken."""

    def __init__(self, words: Mapping[str, str], numbers: Mapping[str, Any] | None) -> None:
        self.words, self.numbers = words, numbers

    def visit_Name(self, node: ast.Name) -> ast.AST:
        """A word or a value."""
        return ast.Name(self.words.get(node.id, node.id))

    def visit_Call(self, node: ast.Call) -> ast.AST:
        """Functions in words."""
        parts = [ast.unparse(self.visit(part)) for part in node.args]
        name = ast.unparse(node.func)
        if name == "pow":
            base = parts[0] if isinstance(node.args[0], ast.Constant) else f"({parts[0]})"
            exponent = parts[1] if isinstance(node.args[1], (ast.Name, ast.Constant)) else f"({parts[1]})"
            return ast.Name(f"{base} ^ {exponent}")
        if name in ("float", "int"):
            return ast.Name(parts[0])
        return ast.Name(f"{WORDS.get(name, name)} ({', '.join(parts)})")

    def visit_IfExp(self, node: ast.IfExp) -> ast.AST:
        """Both branches in letters, the taken one in numbers."""
        if self.numbers is not None:
            test = compile(ast.Expression(node.test), "rule", "eval")
            taken = eval(test, {"min": min, "max": max}, dict(self.numbers))  # noqa: S307 - the rule's own test
            return self.visit(node.body if taken else node.orelse)  # type: ignore[no-any-return]
        test_, body, other = (ast.unparse(self.visit(part)) for part in (node.test, node.body, node.orelse))
        return ast.Name(f"({body} where {test_}, otherwise {other})")


def _write(tree: ast.expr, words: Mapping[str, str], numbers: Mapping[str, Any] | None) -> str:
    fresh = ast.parse(ast.unparse(tree), mode="eval").body
    written = ast.unparse(_Written(words, numbers).visit(fresh))
    return written.replace(" * ", " × ").replace(" / ", " ÷ ").replace(" >= ", " ≥ ").replace(" <= ", " ≤ ")


@functools.cache
def _letters(rule: Rule[..., Any]) -> str:
    tree = expression(rule)
    names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    return _write(tree, {name: name.replace("_", " ").lower() for name in names}, None)


def _wanted(rule: Rule[..., Any], given: Mapping[str, Any], name: str) -> Unit[Any]:
    unit = rule.parameters[name].unit
    if unit is not SAME:
        return unit
    first = given[next(n for n, p in rule.parameters.items() if p.unit is SAME)]
    found: Unit[Any] = (first if isinstance(first, Figure) else next(iter(first.values()))).unit
    return found


def _shown(figure: Figure[Any], want: Unit[Any]) -> str:
    if figure.unit.symbol == want.symbol or (want is RATIO and figure.unit is SHARE) or not want.numeric:
        return exact(figure)
    return with_unit(convert(figure.value, figure.unit, want), want.symbol)


def _said(rule: Rule[..., Any], figure: Figure[Any]) -> str:
    """A method: its sentence, its inputs, the result."""
    given = []
    for name, value in figure.inputs.items():
        if isinstance(value, Figure):
            given.append(f"{name.replace('_', ' ')} {exact(value)}")
        else:
            parts = [f"{key} {exact(part)}" for key, part in value.items()]
            cut = [*parts[:SHOWN_IN_A_GROUP], "…"] if len(parts) > SHOWN_IN_A_GROUP + 1 else parts
            given.append(f"{name.replace('_', ' ')} ({', '.join(cut)})")
    return f"{rule.says}; {', '.join(given)}: {exact(figure)} ({rule.source.name})"


def printed(rule: Rule[..., Any], figure: Figure[Any]) -> str:
    """Letters, then numbers, then the result, then any conversion made on the way in, then the source."""
    if rule.says:
        return _said(rule, figure)
    tree = expression(rule)
    given: Mapping[str, Figure[Any]] = figure.inputs
    numbers = {n: convert(f.value, f.unit, _wanted(rule, given, n)) for n, f in given.items()}
    words = {n: _shown(f, _wanted(rule, given, n)) for n, f in given.items()}
    words |= {name: number(value) for name, value in rule.coefficients.items()}
    module: dict[str, Any] = getattr(rule.function, "__globals__")  # noqa: B009 - ParamSpec functions hide it
    constants = {n.id: module[n.id] for n in ast.walk(tree) if isinstance(n, ast.Name) and n.id.isupper()}
    words |= {name: number(value) for name, value in constants.items()}
    turned = [f"{n.replace('_', ' ')} {exact(f)} = {words[n]}" for n, f in given.items() if exact(f) != words[n]]
    figures = _write(tree, words, numbers | rule.coefficients | constants)
    middle = f" = {figures}" if figures != exact(figure) else ""
    tail = f" [{'; '.join(turned)}]" if turned else ""
    return f"{_letters(rule)}{middle} = {exact(figure)}{tail} ({rule.source.name})"
