"""Puts a plan's purchase to the second solver: the same price to the cent, or the same lack of any set."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from scantling.figures.numbers import with_unit
from scantling.figures.units import CURRENCY
from scantling.plan.make import Plan
from scantling.plan.purchase import Confirmation, Purchase
from scantling.trials.plain import Bought, Wanted, wanted
from scantling.trials.program import UnfinishedError
from scantling.trials.second_solver import Found, SecondSolver

TO_THE_CENT = Decimal("0.5")
"""In minor units: prices nearer than this are the same to the cent."""
AGREED = "confirmed by a second solver to the cent"
STRICTLY = 1e-9


class DifferError(Exception):
    """The two roads part: what the second one found, in minor units, and the words for it."""

    def __init__(self, price: Decimal | None, says: str) -> None:
        super().__init__(says)
        self.price = price


def confirmed(plan: Plan) -> Confirmation:
    """What the second solver says of a plan's purchase; of a provisional one also that nothing else would do."""
    purchase = plan.purchase
    try:
        found = _Second(purchase).judged()
    except DifferError as differ:
        return Confirmation(differ.price, agrees=False, says=str(differ))
    except UnfinishedError as unfinished:
        return Confirmation(
            None, agrees=False, says=f"not confirmed: the second solver came to no end ({unfinished})", finished=False
        )
    return Confirmation(found, agrees=True, says=AGREED)


@dataclass(frozen=True)
class _Second:
    """One purchase and its demands as plain numbers."""

    purchase: Purchase

    @property
    def bought(self) -> Bought:
        """What the plan buys."""
        return Bought(dict(self.purchase.chosen.options))

    def judged(self) -> Decimal:
        """The price on which both agree. Raises DifferError, UnfinishedError."""
        asked = [wanted(demand) for demand in self.purchase.demands]
        eased = self._eased(asked)
        if eased != asked and (all_met := self._cheapest(asked)) is not None:
            raise DifferError(
                all_met.price,
                f"A second solver finds a set that meets every need, for {_money(all_met.price)}; this plan found none.",
            )
        missed = [one.id for one in eased if self.bought.misses(one)]
        if missed:
            raise DifferError(None, f"A second look finds that the set bought misses {', '.join(missed)}.")
        self._least(asked)
        return self._same(eased)

    def _eased(self, asked: Sequence[Wanted]) -> list[Wanted]:
        """The demands as the plan meets them: those that gave way held to what it reached."""
        purchase = self.purchase
        gave_way = set(purchase.given_up) | ({purchase.easing.demand.id} if purchase.easing is not None else set())
        return [
            self._held(one) if one.id in gave_way else one for one in asked if one.id not in gave_way or _bounded(one)
        ]

    def _held(self, one: Wanted) -> Wanted:
        """A need held only to what the set bought gives."""
        reached = self.bought.amount(one.term, one.term.unit)
        return replace(one, least=reached, most=None) if one.least is not None else replace(one, most=reached)

    def _least(self, asked: Sequence[Wanted]) -> None:
        """The one need that gave way could not have given less. Raises DifferError, UnfinishedError."""
        easing = self.purchase.easing
        if easing is None or not easing.demand.bounds:
            return
        better = [_better(one, easing.reached) if one.id == easing.demand.id else one for one in asked]
        if (found := self._cheapest(better)) is not None:
            raise DifferError(
                found.price,
                f"A second solver finds that {easing.demand.label} has to give way less than this plan says.",
            )

    def _same(self, eased: Sequence[Wanted]) -> Decimal:
        """The optimum of both. Raises DifferError, UnfinishedError."""
        ours = self.purchase.best[0].price
        found = self._cheapest(eased, ours + TO_THE_CENT)  # the set bought meets every demand: that is judged by now
        if found is None:
            raise DifferError(None, f"A second solver finds no set at all; this plan buys one for {_money(ours)}.")
        if (
            abs(found.price - ours) >= TO_THE_CENT
            or abs(self.bought.price(self.purchase.costs) - ours) >= TO_THE_CENT
        ):
            raise DifferError(
                found.price,
                f"A second solver finds the cheapest set at {_money(found.price)}; this plan says {_money(ours)}.",
            )
        return found.price

    def _cheapest(self, asked: Sequence[Wanted], known: Decimal | None = None) -> Found | None:
        return SecondSolver(self.purchase.slots, asked, self.purchase.costs, known).cheapest()


def _bounded(one: Wanted) -> bool:
    return one.least is not None or one.most is not None


def _better(one: Wanted, reached: Any) -> Wanted:
    """The same need, held to strictly more than what was reached."""
    step = 1 if isinstance(reached, int) else max(abs(reached) * type(reached)(STRICTLY), type(reached)(STRICTLY))
    return (
        replace(one, least=reached + step, most=None) if one.least is not None else replace(one, most=reached - step)
    )


def _money(minor_units: Decimal) -> str:
    return with_unit(minor_units / 100, CURRENCY)
