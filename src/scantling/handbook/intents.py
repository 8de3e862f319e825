"""What an intent rests on, as figures: who asks, what is carried, and where it is written."""

from collections.abc import Mapping

from scantling.figures import Figure, Origin, Source, method
from scantling.figures.units import Count, Word

HABIT = Source("what programs and devices listen on (IANA service names); common practice", "common practice")
WRITTEN = Source("the brief's own line", "own derivation")


@method(HABIT, says="what is carried, for those who are there to ask")
def asked_for(carried: Word, among: Mapping[str, Count]) -> Word:  # noqa: ARG001 - lineage: an intent stands while its askers do
    """What an intent carries, and for whom it is there."""
    return carried


def lines_of(figure: Figure[object]) -> tuple[str, ...]:
    """The lines of the brief that a figure rests on, by their words, in order; assumed answers are none."""
    found: dict[str, None] = {}
    waiting, seen = [figure], set[int]()
    while waiting:
        one = waiting.pop(0)
        if id(one) in seen:
            continue
        seen.add(id(one))
        if isinstance(one.how, Origin) and one.how.kind == "brief" and not one.how.assumed:
            found.setdefault(one.id.removeprefix("brief.") or one.how.where)
        waiting += one.parents()
    return tuple(found)
