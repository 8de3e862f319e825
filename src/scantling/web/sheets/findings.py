"""Every finding in red pencil, what was looked at and found well, and what cannot be changed later."""

from collections.abc import Iterable

from scantling.web.state import State
from scantling.web.parts import Part, Sheet, View
from scantling.web.rendering import render


def sheets(state: State) -> Iterable[Sheet]:
    """The sheet of findings, where there is a plan."""
    if state.plan is not None:
        yield Sheet("G", "Findings", parts, 60, "findings")


def parts(view: View) -> Iterable[Part]:
    """One part a weight."""
    plan = view.state.plan
    assert plan is not None
    numbered = list(enumerate(plan.findings, 1))
    for weight, says in (
        ("stop", "Do not buy or build before this is put right."),
        ("mend", "To be put right before handover."),
        ("note", "To be told to the client."),
    ):
        notes = [entry for entry in numbered if entry[1].weight == weight]
        id_ = f"findings-{weight}"
        yield Part(
            id_,
            render("findings.html.j2", view, id=id_, weight=weight, says=says, notes=notes, well=len(plan.checked)),
        )
