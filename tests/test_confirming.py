"""A plan put to the second solver: confirmed, refused, silent, and right about plans in which a need gave way."""

import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from offices import BRIEFS, changed, codes, fold, millrace, planned

from scantling import UserError, api
from scantling.figures import Choosing, Chosen, Option
from scantling.plan.confirming import with_confirmation
from scantling.plan.make import Plan
from scantling.trials import program
from scantling.trials.confirming import AGREED, confirmed
from scantling.trials.program import UnfinishedError
from scantling.trials.second_solver import SecondSolver

DOCS = Path(__file__).parent.parent / "docs/findings/purchase.md"
PINNED = '\npins:\n  purchase.memory: {value: "plain-16", because: to see the finding}\n'


def buying(plan: Plan, options: Mapping[str, Option]) -> Chosen:
    """The plan's choice with other options in its slots."""
    kept = plan.purchase.chosen
    reasons = {slot: figure.how for slot, figure in kept.picked.items() if isinstance(figure.how, Choosing)}
    return Chosen(options, kept.demands, reasons, {})


def with_purchase(plan: Plan, **changes: Any) -> Plan:
    """The same plan with something false said of its purchase."""
    return replace(plan, purchase=replace(plan.purchase, **changes))


@pytest.mark.parametrize("text", [fold(), millrace()], ids=["fold", "millrace"])
def test_a_plan_is_confirmed_to_the_cent(text: str) -> None:
    """The price that the second solver comes to is that of the set bought, part by part."""
    made = planned(text)
    assert made.confirmed is not None
    assert made.confirmed.agrees
    assert made.confirmed.says == AGREED
    assert made.confirmed.price == made.purchase.best[0].price
    assert "P-3" in {finding.code for finding in made.checked}
    assert "P-3" not in codes(made)


@pytest.mark.parametrize(
    ("old", "new"),
    [("noise: 38 dB", "noise: 10 dB"), ("hold: 8 min", "hold: 600 min"), ("depth: 650 mm", "depth: 201 mm")],
)
def test_a_plan_in_which_a_need_gave_way_is_confirmed_too(old: str, new: str) -> None:
    """Nothing meets every need, the need could not give less, and the set is the cheapest then."""
    made = planned(changed(fold(), old, new))
    assert made.provisional
    assert made.confirmed is not None
    assert made.confirmed.says == AGREED


def test_needs_given_up_are_confirmed_too() -> None:
    """A pin that breaks several demands at once."""
    made = planned(fold() + PINNED)
    assert made.purchase.given_up or made.purchase.easing is not None
    assert made.confirmed is not None
    assert made.confirmed.says == AGREED


def test_a_dearer_set_called_cheapest_stops_the_order() -> None:
    """P-3: the plan says that the second best is the cheapest."""
    made = planned(fold())
    second = made.purchase.best[1]
    options = dict(zip(sorted(made.purchase.chosen.options), second.options, strict=True))
    false = replace(made, purchase=replace(made.purchase, best=(second,), chosen=buying(made, options)))
    said = confirmed(false)
    assert not said.agrees
    assert said.price == made.purchase.best[0].price
    stopped = with_confirmation(false, said)
    assert "P-3" in {told.finding.code for told in stopped.stops}
    assert "EUR" in stopped.findings[0].says


def test_a_false_price_is_refused() -> None:
    """One cent too little, the set being the right one."""
    made = planned(fold())
    best = replace(made.purchase.best[0], price=made.purchase.best[0].price - 1)
    said = confirmed(with_purchase(made, best=(best,)))
    assert not said.agrees
    assert "this plan says" in said.says


def test_a_set_that_misses_a_demand_is_refused() -> None:
    """The smallest battery unit in place of the one bought, at its own price."""
    made = planned(millrace())
    options = dict(made.purchase.chosen.options)
    slot = next(slot for slot in made.purchase.slots if slot.id == "ups")
    options["ups"] = min(slot.options, key=lambda option: option.price)
    false = replace(made.purchase, chosen=buying(made, options))
    said = confirmed(replace(made, purchase=false))
    assert not said.agrees
    assert "power." in said.says


def test_a_plan_that_calls_all_needs_hopeless_is_refused_when_they_are_not() -> None:
    """An easing is claimed where every need can be met."""
    made = planned(changed(fold(), "noise: 38 dB", "noise: 10 dB"))
    whole = planned(fold())
    assert made.purchase.easing is not None
    heard = next(demand for demand in whole.purchase.demands if demand.id == "premises.noise.heard")
    said = confirmed(with_purchase(whole, easing=replace(made.purchase.easing, demand=heard)))
    assert not said.agrees
    assert "meets every need" in said.says


def test_a_need_that_gave_way_too_far_is_refused() -> None:
    """The plan claims that it could reach less than it could."""
    made = planned(changed(fold(), "hold: 8 min", "hold: 600 min"))
    easing = made.purchase.easing
    assert easing is not None
    said = confirmed(with_purchase(made, easing=replace(easing, reached=easing.reached / 2)))
    assert not said.agrees
    assert "give way less" in said.says


def test_a_solver_that_comes_to_no_end_says_so_and_stops_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is confirmed, nothing is refused."""

    def endless(_: SecondSolver) -> None:
        raise UnfinishedError("so many nodes")

    monkeypatch.setattr(SecondSolver, "cheapest", endless)
    made = planned(fold())
    said = confirmed(made)
    again = with_confirmation(replace(made, confirmed=None), said)
    assert not said.finished
    assert again.confirmed is not None
    assert again.confirmed.says.startswith("not confirmed")
    assert codes(again) == codes(made)


def test_a_solver_that_does_not_answer_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its own limits don't hold in its preparations: a plan must not hang with it."""
    monkeypatch.setattr(program, "LONGEST", 0.0)
    said = confirmed(planned(fold()))
    assert not said.finished
    assert "no answer within" in said.says


def test_nothing_reaches_standard_output_but_the_answer() -> None:
    """A solver's banner would spoil JSON on a pipe."""
    words = [sys.executable, "-m", "scantling", "plan", str(BRIEFS["fold"]), "--json"]
    answer = subprocess.run(words, check=False, capture_output=True)
    assert json.loads(answer.stdout)["client"]
    assert b"HiGHS" not in answer.stdout + answer.stderr


def test_the_manual_explains_it() -> None:
    """A paragraph under the code."""
    assert "## P-3 " in DOCS.read_text("utf-8")


def test_an_owner_cannot_decline_it() -> None:
    """It is no advice."""
    text = fold() + '\ndeclined:\n  P-3: {by: Ruth Fell, on: 2026-11-24, because: "no"}\n'
    with pytest.raises(UserError):
        api.plan_text(text)


def test_prices_are_compared_exactly() -> None:
    """In minor units, without a float between."""
    said = planned(millrace()).confirmed
    assert said is not None
    assert isinstance(said.price, Decimal)
