"""The search, the second solver and brute force on hundreds of random purchases: the same price, the same set, the same nothing."""

import random
from collections import Counter
from typing import Any

import pytest
from purchase_samples import case
from purchase_shapes import Case
from referees.sets import Ranked, sets

from scantling.handbook.choosing import Search
from scantling.trials import encoding
from scantling.trials.second_solver import cheapest


def brute(made: Case) -> list[Ranked]:
    """All sets in order, by the referee."""
    return sets(made.raw, made.conditions, made.dragged)


@pytest.mark.parametrize("group", range(10))
def test_search_solver_and_brute_force_agree(group: int, scale: Any) -> None:
    """Six hundred random purchases in full, a hundred and fifty in short, in ten groups; the first three in order."""
    for seed in range(group, scale(short=150, full=600), 10):
        made = case(random.Random(seed))
        expected = brute(made)
        found = Search(made.slots, made.demands, made.costs).best(3)
        second = cheapest(made.slots, made.demands, made.costs)
        assert [(one.price, one.slugs) for one in found] == [(one.price, one.slugs) for one in expected[:3]], seed
        assert (second and second.price) == (expected[0].price if expected else None), seed


def test_there_is_something_to_compare() -> None:
    """Fitting and hopeless ones, standing parts, ties, and every shape of demand and cost."""
    seen: Counter[str] = Counter()
    for seed in range(150):
        made = case(random.Random(seed))
        expected = brute(made)
        seen["hopeless" if not expected else "fits"] += 1
        seen.update(demand.id for demand in made.demands)
        seen.update(cost.id for cost in made.costs)
        seen["stands"] += any(option.stands for slot in made.slots for option in slot.options)
        seen["tie"] += len(expected) > 1 and expected[0].price == expected[1].price
    assert len(seen) >= 4 + 16 + 5
    assert min(seen.values()) >= 3, seen


def test_what_no_row_can_hold_is_cut_off_until_it_is_right(monkeypatch: pytest.MonkeyPatch, scale: Any) -> None:
    """With no tables at all, most demands and costs are watched instead; the price is still the same."""
    monkeypatch.setattr(encoding, "MOST_COMBINATIONS", 0)
    monkeypatch.setattr(encoding, "MOST_TOTALS", 0)
    for seed in range(scale(short=8, full=100)):
        made = case(random.Random(seed))
        second = cheapest(made.slots, made.demands, made.costs)
        expected = brute(made)
        assert (second and second.price) == (expected[0].price if expected else None), seed
