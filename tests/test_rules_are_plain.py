"""Every rule of handbook and trades is one plain expression, has a name and a source, and prints its working.

Workings are printed for every figure that both example plans rest on, so that a client never meets a broken one.
"""

import ast
import importlib
import pkgutil
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from types import ModuleType
from typing import Any

import pytest
from offices import fold, millrace, planned

import scantling.disciplines
import scantling.handbook
from scantling.figures import Figure, Origin, Source
from scantling.figures.rules import Rule, Table, method, rule
from scantling.figures.units import (
    COUNT, GB, MONEY, RATIO, SHARE, TB, TRUTH, WORD, Count, Money, Quantity, Ratio, Terabytes, Truth, Unit, Word,
)  # fmt: skip
from scantling.figures.numbers import exact
from scantling.figures.working import RuleError, _letters, expression, faults, printed
from scantling.handbook import money, sizing
from scantling.plan.telling import everything

OWN = Source("arithmetic")


def modules() -> Iterator[ModuleType]:
    """Every module of both rooms."""
    for room in (scantling.handbook, scantling.disciplines):
        for found in pkgutil.walk_packages(room.__path__, f"{room.__name__}."):
            yield importlib.import_module(found.name)


@cache
def written() -> dict[str, Rule[..., Any]]:
    """Every rule and method by module and name, where it is written."""
    return {
        f"{module.__name__}.{name}": value
        for module in modules()
        for name, value in vars(module).items()
        if isinstance(value, Rule) and value.module == module.__name__
    }


@cache
def tables() -> dict[str, Table[Any, Any]]:
    """Every table by module and name."""
    return {
        f"{m.__name__}.{name}": value
        for m in modules()
        for name, value in vars(m).items()
        if isinstance(value, Table)
    }


def leaf(value: Any, unit: Unit[Any], label: str = "given") -> Figure[Any]:
    """A figure as it were read."""
    return Figure(value, unit, Origin("brief", "brief.yaml:1:1"), label=label)


formulas = pytest.mark.parametrize("name", [name for name, found in written().items() if not found.says])
every = pytest.mark.parametrize("name", list(written()))


def test_there_are_rules_to_judge() -> None:
    assert len(written()) > 50
    assert any(found.says for found in written().values())
    assert tables()


@formulas
def test_a_rule_has_no_fault(name: str) -> None:
    assert not faults(written()[name])


@every
def test_a_rule_says_in_one_sentence_what_it_gives(name: str) -> None:
    found = written()[name]
    first = (found.__doc__ or "").strip().splitlines()
    assert first
    assert first[0].endswith(".")
    assert first[0][0].isupper()
    assert found.label == first[0].rstrip(".")


@every
def test_a_rule_has_a_source_and_a_result_with_a_unit(name: str) -> None:
    found = written()[name]
    assert found.source.name.strip()
    assert isinstance(found.unit, Unit)
    assert found.parameters
    assert set(found.direction) <= set(found.parameters), "rises or falls names no argument"


@formulas
def test_a_rule_prints_its_letters(name: str) -> None:
    found = written()[name]
    letters = _letters(found)
    assert letters
    assert "_" not in letters
    assert all(argument.replace("_", " ").lower() in letters for argument in used(found))


def used(found: Rule[..., Any]) -> set[str]:
    """Arguments that the expression reads."""
    return {node.id for node in ast.walk(expression(found)) if isinstance(node, ast.Name)} & set(found.parameters)


@formulas
def test_a_rule_reads_all_its_arguments(name: str) -> None:
    found = written()[name]
    assert used(found) == set(found.parameters)


def resting(text: str) -> list[Figure[Any]]:
    """Every figure that a plan rests on, unnamed ones too."""
    plan = planned(text)
    waiting = [*plan.figures.values(), *everything(plan).values()]
    waiting += [told.finding.when for told in plan.findings] + [finding.when for finding in plan.checked]
    seen: dict[int, Figure[Any]] = {}
    while waiting:
        figure = waiting.pop()
        if id(figure) not in seen:
            seen[id(figure)] = figure
            waiting.extend(figure.parents())
    return list(seen.values())


@pytest.mark.parametrize("text", [millrace(), fold()], ids=["millrace", "fold"])
def test_every_working_of_a_plan_prints(text: str) -> None:
    figures = resting(text)
    assert len(figures) > 500
    for figure in figures:
        said = figure.how.working(figure)
        assert said.strip(), figure.id
        assert "Figure(" not in said, said
        assert "nan" not in said.split(), said


@pytest.mark.parametrize("text", [millrace(), fold()], ids=["millrace", "fold"])
def test_every_working_of_a_rule_names_its_source_and_its_result(text: str) -> None:
    for figure in resting(text):
        if isinstance(figure.how, Rule):
            said = figure.how.working(figure)
            assert said.endswith(f"({figure.how.source.name})"), said
            assert exact(figure) in said, said


def test_most_rules_are_used_by_the_two_plans() -> None:
    """What neither plan meets has only its own tests; there must not be many such."""
    met = {f.how for text in (millrace(), fold()) for f in resting(text) if isinstance(f.how, Rule)}
    assert len(met) * 2 > len(written())


# ---------------------------------------------------------------- printing


def test_a_conversion_on_the_way_in_is_told() -> None:
    made = sizing.added.of(one=leaf(1.5, TB), other=leaf(500.0, GB))
    assert made.value == 2.0
    assert printed(sizing.added, made) == "one + other = 1.5 TB + 0.5 TB = 2 TB [other 500 GB = 0.5 TB] (arithmetic)"


def test_no_conversion_is_told_where_none_was_made() -> None:
    assert "[" not in printed(sizing.added, sizing.added.of(one=leaf(1.5, TB), other=leaf(2.0, TB)))


def test_a_share_prints_in_percent_where_the_rule_takes_a_ratio() -> None:
    made = sizing.part_of.of(amount=leaf(200.0, GB), share=leaf(12.5, SHARE))
    assert made.value == pytest.approx(25.0)
    assert printed(sizing.part_of, made) == "amount × share = 200 GB × 12.5 % = 25 GB (arithmetic)"


def test_a_percentage_is_worked_out_in_percent() -> None:
    made = sizing.free_share.of(whole=leaf(10.0, TB), used=leaf(2.0, TB))
    assert (made.value, made.unit) == (80.0, SHARE)
    assert "80 %" in printed(sizing.free_share, made)


def test_the_branch_not_taken_is_left_out_of_the_numbers() -> None:
    none = sizing.used_share.of(whole=leaf(0.0, TB), used=leaf(3.0, TB))
    some = sizing.used_share.of(whole=leaf(4.0, TB), used=leaf(3.0, TB))
    letters = "(hundred × used ÷ whole where whole > 0, otherwise 0)"
    assert printed(sizing.used_share, none).startswith(f"{letters} = 0 = 0 % (")
    assert printed(sizing.used_share, some).startswith(f"{letters} = 100 × 3 TB ÷ 4 TB = 75 % (")


QUICK = "quick"


@rule(OWN)
def days_for(kind: Word, quick: Count, usual: Count) -> Count:
    """Days by a word."""
    return quick if kind == QUICK else usual


@pytest.mark.parametrize(("kind", "days"), [("quick", 3), ("by sea", 7), ("", 7)])
def test_a_condition_on_words_prints_the_branch_taken(kind: str, days: int) -> None:
    made = days_for.of(kind=leaf(kind, WORD), quick=leaf(3, COUNT), usual=leaf(7, COUNT))
    assert made.value == days
    assert printed(days_for, made) == f"(quick where kind == quick, otherwise usual) = {days} (arithmetic)"


@pytest.mark.parametrize(
    ("exact", "told"), [("56.525", "56.53"), ("56.515", "56.52"), ("56.5249", "56.52"), ("0.005", "0.01")]
)
def test_money_is_rounded_half_up(exact: str, told: str) -> None:
    """Half up, as accounts do (CHECKS, money); half even would give 56.52 for both 56.525 and 56.515."""
    assert money.to_minor_unit(Decimal(exact)) == Decimal(told)


def test_money_prints_with_its_cents_and_says_how_it_was_rounded() -> None:
    made = money.share_of_price.of(amount=leaf(Decimal("226.10"), MONEY), share=leaf(25.0, SHARE))
    assert made.value == Decimal("56.53")  # a quarter of 226.10 is 56.525
    said = printed(money.share_of_price, made)
    assert said.startswith("to the cent, half up (amount × share ÷ hundred)")
    assert "226.10 ¤ × 25" in said
    assert " = 56.53 ¤" in said


def test_a_share_that_enters_money_is_not_told_as_a_conversion() -> None:
    made = money.share_of_price.of(amount=leaf(Decimal("226.10"), MONEY), share=leaf(25.0, SHARE))
    assert "[" not in printed(money.share_of_price, made)


@rule(OWN)
def with_magic(size: Terabytes) -> Terabytes:
    """A rule with a number of its own."""
    return size * 1.3


@rule(OWN)
def with_a_foreign_name(size: Terabytes) -> Terabytes:
    """A rule that looks elsewhere."""
    return size * len(OWN.name)


@rule(OWN)
def with_two_steps(size: Terabytes) -> Terabytes:
    """A rule of two steps."""
    twice = size * 2
    return twice + 1


@method(OWN, "added up by hand")
def by_hand(first: Quantity, ready: Truth, share: Ratio, paid: Money) -> Quantity:
    """A method with inputs of many kinds."""
    return first if ready else first * share * float(paid)


def test_faults_are_found() -> None:
    """The judge itself is judged: planted faults are refused."""
    assert faults(with_magic) == ["1.3"]
    assert "len" in faults(with_a_foreign_name)
    with pytest.raises(RuleError):
        faults(with_two_steps)


def test_a_method_prints_its_sentence_and_what_went_in() -> None:
    made = by_hand.of(
        first=leaf(2.0, TB),
        ready=leaf(value=True, unit=TRUTH),
        share=leaf(0.5, RATIO),
        paid=leaf(Decimal("1.50"), MONEY),
    )
    assert (
        printed(by_hand, made) == "added up by hand; first 2 TB, ready yes, share 0.5, paid 1.50 ¤: 2 TB (arithmetic)"
    )
