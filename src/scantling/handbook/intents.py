"""What an intent rests on, as figures: who asks, what is carried, and where it is written."""

from collections.abc import Mapping

from scantling.figures import Figure, Origin, Source, method
from scantling.figures.units import Count, Word

HABIT = Source("what programs and devices listen on (IANA service names); common practice", "common practice")


@method(HABIT, says="what is carried, as long as those are there who ask and answer")
def asked_for(carried: Word, among: Mapping[str, Count]) -> Word:  # noqa: ARG001 - an intent rests on its ends
    """What an intent carries."""
    return carried


@method(HABIT, says="what is carried, from the places that are named")
def managed_by(carried: Word, places: Word) -> Word:  # noqa: ARG001 - it rests on the places
    """What management is carried by."""
    return carried


@method(HABIT, says="a protocol or port that a standard keeps, as long as the choice stands")
def chosen_for(carried: Word, choice: Word) -> Word:  # noqa: ARG001 - it rests on the choice
    """What a choice lets through, or shuts."""
    return carried


def lines_of(figure: Figure[object]) -> tuple[str, ...]:
    """The lines of the brief that a figure rests on, by their words, in order; answers that were assumed are none."""
    found: dict[str, None] = {}
    waiting, seen = [figure], set[int]()
    while waiting:
        one = waiting.pop(0)
        if id(one) not in seen:
            seen.add(id(one))
            waiting += one.parents()
            if isinstance(one.how, Origin) and one.how.kind == "brief" and not one.how.assumed:
                found.setdefault(one.id.removeprefix("brief.") or one.how.where)
    return tuple(found)
