"""What a fault of the drill is: what happens, where it is, and how it comes and goes; each heals after itself."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass

from scantling.trials.rehearsal.session import Living
from scantling.trials.rehearsal.trying import Trial


@dataclass(frozen=True, slots=True)
class Ground:
    """Where faults happen."""

    living: Living
    trial: Trial


@dataclass(frozen=True, slots=True)
class Mishap:
    """One fault of one office."""

    slug: str
    what: str
    """What happens, in a sentence's words."""
    component: str
    """Where."""
    lasts: Callable[[], AbstractContextManager[None]]
    """It lasts as long as what is given back is entered, and is healed afterwards."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A fault that an office has no place for."""

    slug: str
    why: str


Sorts = Callable[[Ground], Iterator[Mishap | LeftOut]]
"""A sort of fault: all the places that an office has for it, or why there is none."""
