"""What an intent rests on, as figures: who asks, what is carried, and where it is written."""

from collections.abc import Mapping

from scantling.figures import Figure, Origin, Source, method
from scantling.figures.units import Count, Hours, Word

CHOICES = "traffic.lookups."
"""Answers that are no part of a named thing."""
HABIT = Source("what programs and devices listen on (IANA service names); common practice", "common practice")


@method(HABIT, says="what is carried, as long as the services are wanted and those are there who ask and answer")
def asked_for(carried: Word, wanted: Mapping[str, Hours], among: Mapping[str, Count]) -> Word:  # noqa: ARG001 - it rests on them
    """What an intent carries, for services by the time that each may be down, and among so many."""
    return carried


@method(HABIT, says="what is carried, from the places that are named")
def managed_by(carried: Word, places: Word) -> Word:  # noqa: ARG001 - it rests on the places
    """What management is carried by."""
    return carried


@method(HABIT, says="a protocol or port that a standard keeps, as long as the choice stands")
def chosen_for(carried: Word, choice: Word) -> Word:  # noqa: ARG001 - it rests on the choice
    """What a choice lets through, or shuts."""
    return carried


def lines_of(figure: Figure[object], most: int | None = None) -> tuple[str, ...]:
    """The lines of the brief that a figure rests on, by their words, nearest first; answers that were assumed are none.

    With `most` no more than so many are looked for.
    """
    found: dict[str, None] = {}
    waiting, seen = [figure], {id(figure)}
    for one in waiting:  # it grows on the way
        for parent in one.parents():
            if id(parent) not in seen:
                seen.add(id(parent))
                waiting.append(parent)
        how = one.how
        if isinstance(how, Origin) and how.kind == "brief" and not how.assumed:
            found.setdefault(_line(one.id.removeprefix("brief.") or how.where))
            if len(found) == most:
                break
    return tuple(found)


def _line(path: str) -> str:
    """The named thing that an answer belongs to: services.files of services.files.down; a choice by zone is one itself."""
    return path.rpartition(".")[0] if path.count(".") > 1 and not path.startswith(CHOICES) else path
