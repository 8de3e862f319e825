"""Every rule and method against outside values: the files of tests/check, run on numbers and on figures."""

import importlib
import pkgutil
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from functools import cache
from itertools import count
from typing import Any

import pytest

import scantling.disciplines
import scantling.handbook
from checks import FOLDER, ROOT, read
from scantling.figures import Figure, Origin, Rule, Series, Table
from scantling.figures.numbers import plain
from scantling.figures.spelled import spelled
from scantling.figures.units import HOUR, RATIO, SAME, Unit

HOURS_A_DAY = 24
SUBJECTS = read(ROOT / FOLDER)
CHECKS = [
    pytest.param(row, id=f"{subject}-{line}-{row['rule'].rpartition('.')[2]}")
    for subject, rows in SUBJECTS.items()
    for line, row in zip(count(1), rows, strict=False)
]
Asked = Rule[..., Any] | Table[Any, Any]


@cache
def rules() -> Mapping[str, Asked]:
    """Every rule, method and table by the name that a check gives it."""
    rooms = (scantling.handbook, scantling.disciplines)
    names = [one.name for room in rooms for one in pkgutil.walk_packages(room.__path__, f"{room.__name__}.")]
    found: dict[str, Asked] = {}
    for name in names:
        held = vars(importlib.import_module(name))
        short = name.removeprefix("scantling.").removeprefix("handbook.")
        found |= {f"{short}.{key}": one for key, one in held.items() if isinstance(one, Rule) and one.module == name}
        found |= {f"{short}.{key}": one for key, one in held.items() if isinstance(one, Table)}
    return found


def meant(written: Any, unit: Unit[Any]) -> Any:
    """The value that a check file writes, as the argument takes it."""
    if isinstance(written, list):
        return Series("midnight", HOURS_A_DAY / len(written), HOUR, tuple(map(float, written)))
    if isinstance(written, bool) or (unit.kind is str and isinstance(written, str)):
        return written
    if unit.kind is Decimal:
        return Decimal(str(written))
    if unit.kind in (int, float):
        assert not isinstance(written, str), f"{written} where a number is due"
        return unit.kind(written)
    return spelled(str(written), unit.kind)


def arguments(rule: Asked, inputs: Mapping[str, Any]) -> dict[str, Any]:
    """All inputs of a check as values."""
    assert inputs.keys() == rule.parameters.keys()
    return {
        name: {key: meant(one, parameter.unit) for key, one in inputs[name].items()}
        if parameter.many
        else meant(inputs[name], parameter.unit)
        for name, parameter in rule.parameters.items()
    }


def leaf(value: Any, unit: Unit[Any]) -> Figure[Any]:
    """A figure as if read from a brief."""
    return Figure(value, RATIO if unit is SAME else unit, Origin("brief", "a check"))


def told(rule: Asked, values: Mapping[str, Any]) -> Figure[Any]:
    """The rule on figures of these values."""
    figures = {
        name: {key: leaf(one, rule.parameters[name].unit) for key, one in value.items()}
        if rule.parameters[name].many
        else leaf(value, rule.parameters[name].unit)
        for name, value in values.items()
    }
    of: Callable[..., Figure[Any]] = rule.of
    return of(**figures)


def near(found: Any, expected: Any, tolerance: Any) -> bool:
    """Within an absolute tolerance, or one in percent of what is expected; words and yes or no exactly."""
    if isinstance(expected, bool) or not isinstance(expected, (int, float)):
        return isinstance(found, bool) == isinstance(expected, bool) and bool(plain(found) == expected)
    if isinstance(found, bool):
        return False
    wanted = Decimal(str(expected))
    share = isinstance(tolerance, str)
    allowed = abs(wanted) * Decimal(tolerance.removesuffix("%")) / 100 if share else Decimal(str(tolerance))
    got = found if isinstance(found, Decimal) else Decimal(str(found))
    return abs(got - wanted) <= allowed


def of_series(series: Series) -> Mapping[str, float]:
    """What a check may expect of a series."""
    return {"peak": max(series.values), "sum": sum(series.values)}


@pytest.mark.parametrize("check", CHECKS)
def test_rule_gives_the_outside_value(check: Mapping[str, Any]) -> None:
    rule = rules()[check["rule"]]
    values = arguments(rule, check["inputs"])
    plainly: Callable[..., Any] = rule
    found, figure = plainly(**values), told(rule, values)
    assert figure.value == found
    assert figure.how.working(figure)
    if "expect" in check:
        parts = of_series(found)
        assert check["expect"]
        assert all(near(parts[name], one, check["tolerance"]) for name, one in check["expect"].items()), parts
    else:
        assert near(found, check["expected"], check["tolerance"]), (found, check["expected"])


def checked() -> Iterator[str]:
    """The rules that the files name."""
    return (row["rule"] for rows in SUBJECTS.values() for row in rows)


@pytest.mark.parametrize("name", [name for name, one in rules().items() if isinstance(one, Rule)])
def test_rule_has_a_check(name: str) -> None:
    assert name in set(checked())


def test_checks_name_known_rules_in_their_own_file() -> None:
    strays = [
        f"{subject}: {row['rule']}"
        for subject, rows in SUBJECTS.items()
        for row in rows
        if row["rule"] not in rules() or subject not in row["rule"].split(".")
    ]
    assert not strays


def test_checks_hold_nothing_but_known_keys() -> None:
    known = {"rule", "inputs", "expected", "expect", "tolerance", "kind", "source"}
    odd = [row for rows in SUBJECTS.values() for row in rows if not known >= row.keys() or "tolerance" not in row]
    both = [row for rows in SUBJECTS.values() for row in rows if ("expect" in row) == ("expected" in row)]
    assert not odd + both


@pytest.mark.parametrize(
    ("found", "expected", "tolerance", "right"),
    [
        (36.0, 36, 0, True), (36.1, 36, 0, False), (36.1, 36, 0.2, True), (101.0, 100, "1 %", True),
        (101.1, 100, "1 %", False), (True, 1, 0, False), (1, True, 0, False), (Decimal("0.3"), 0.3, 0, True),
        (0.1 + 0.2, 0.3, 0, False), ("a", "b", 0, False), ({"a": 1}, {"a": 1}, 0, True), ({"a": 1}, {"a": 2}, 0, False),
    ],
)  # fmt: skip
def test_the_comparison_itself(found: Any, expected: Any, tolerance: Any, right: bool) -> None:  # noqa: FBT001 - a column
    """1 == True in Python, so a truth must not pass as a number."""
    assert near(found, expected, tolerance) is right
