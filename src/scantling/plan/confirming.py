"""A plan with what was found when it was put to the test: a second solver's word (P-3), the proof of its rules (R-1)."""

from dataclasses import replace

from scantling.figures import Figure, Finding, Origin, Weight
from scantling.figures.numbers import in_currency
from scantling.figures.units import TRUTH
from scantling.handbook.sizing import negated
from scantling.plan.evidence import Evidence
from scantling.plan.make import Plan, Told
from scantling.plan.purchase import Confirmation

RULE = "two solvers that share no code must come to the same price"
EXACT = "rules must do with every packet what the intents mean"


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


def with_proof(plan: Plan, said: Evidence) -> Plan:
    """The same plan, with the proof of its firewall's rules in it; where they do something else nobody is to build it (R-1)."""
    holds = Figure(
        said.proved, TRUTH, Origin("standard", f"{EXACT}: {said.says}"), None, "", "The rules do what is meant"
    )
    first = said.differences[0].says if said.differences else "Every packet fares as is meant."
    finding = Finding(
        "R-1", Weight.STOP, negated.of(given=holds), f"The firewall's rules do something else than is meant ({said.says}). {first}",
        "Look at scantling prove. Where two intents want the same port outside, give one of them another; else report it with the brief.",
    )  # fmt: skip
    if said.proved:
        return replace(plan, proof=said, checked=(*plan.checked, finding))
    return replace(plan, proof=said, findings=(Told(finding, finding.says), *plan.findings))
