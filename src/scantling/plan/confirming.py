"""A plan with what a second solver said of its purchase: a word of confirmation, or a stop (P-3)."""

from dataclasses import replace

from scantling.figures import Figure, Finding, Origin, Weight
from scantling.figures.numbers import in_currency
from scantling.figures.units import TRUTH
from scantling.handbook.sizing import negated
from scantling.plan.make import Plan, Told
from scantling.plan.purchase import Confirmation

RULE = "two solvers that share no code must come to the same price"


def with_confirmation(plan: Plan, said: Confirmation) -> Plan:
    """The same plan, with the second solver's word in it; where the two differ nobody is to order from it (P-3)."""
    said = replace(said, says=in_currency(said.says, plan.currency))
    if not said.finished:
        return replace(plan, confirmed=said)
    agrees = Figure(
        said.agrees, TRUTH, Origin("standard", f"{RULE}: {said.says}"), None, "", "The second solver agrees"
    )
    finding = Finding(
        "P-3", Weight.STOP, negated.of(given=agrees), said.says,
        "Do not order from this plan: two programs that should agree do not, so one of them is wrong. Report it with the brief.",
    )  # fmt: skip
    if said.agrees:
        return replace(plan, confirmed=said, checked=(*plan.checked, finding))
    return replace(plan, confirmed=said, findings=(Told(finding, said.says), *plan.findings))
