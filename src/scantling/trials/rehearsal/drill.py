"""The drill: one fault after the other in the living office, each noticed from its signs, located, healed, and looked for again."""

import time
from collections.abc import Callable, Mapping

from scantling.figures import Server
from scantling.trials.rehearsal.faults import Ground, LeftOut, Mishap, Sorts, mishaps
from scantling.trials.rehearsal.locating import AND, located
from scantling.trials.rehearsal.noticing import Watch, noticed, settled, watch
from scantling.trials.rehearsal.results import Fault
from scantling.trials.rehearsal.session import Living
from scantling.trials.rehearsal.signs import Seen
from scantling.trials.rehearsal.trying import Trial

LOOKS, PAUSE = 4, 0.3
"""How often it is looked where a fault is, and whether all is well again, before it is said that it isn't; seconds between two."""


def drilled(living: Living, trial: Trial, what: Sorts = mishaps) -> tuple[Fault, ...]:
    """Every fault that the office has a place for. Notes what it has none for, and what was seen before any. Raises OSError."""
    one = settled(watch(living, trial))
    living.notes += [f"Before the drill: {words}." for words in one.known.words()]
    found: list[Fault] = []
    for mishap in [*what(Ground(living, trial))]:
        if isinstance(mishap, LeftOut):
            living.notes.append(f"Not drilled: {mishap.slug}, for {mishap.why}.")
        else:
            found.append(suffered(one, mishap))
            living.inside.tell(told(found[-1]))
    return tuple(found)


def suffered(one: Watch, mishap: Mishap) -> Fault:
    """One fault, from the moment it happens until it is healed."""
    with mishap.lasts():
        seen, where = sought(lambda: looked(one), holders(one.living))
    left = looked(one)
    for _ in range(LOOKS - 1):
        if left.signs:
            time.sleep(PAUSE)
            left = left.also(looked(one))
    still = tuple(f"afterwards still: {words}" for words in left.words())
    return Fault(mishap.slug, mishap.what, mishap.component, where, (*seen.words(), *still), healed=not still)


def sought(look: Callable[[], Seen], who: Mapping[str, str]) -> tuple[Seen, str]:
    """Look until one place is found, each time by what was seen twice in a row: on a busy machine answers may come late once."""
    last = seen = look()
    where = located(seen, who)
    for _ in range(LOOKS - 1):
        if where and AND not in where:
            break
        again = look()
        seen, last = last.also(again), again
        where = located(seen, who)
    return seen, where


def looked(one: Watch) -> Seen:
    """What is seen by now and was not seen before."""
    return noticed(one).beyond(one.known)


def holders(living: Living) -> Mapping[str, str]:
    """Who does what in the plan, as the rules that locate name it."""
    return {"addresses": next((one.holder for one in living.plan.records(Server) if one.does == "addresses"), "")}


def told(fault: Fault) -> str:
    """How it went, in a line."""
    where = (
        f"located: {fault.located}" if fault.located else "not noticed" if not fault.signs else "noticed, not located"
    )
    return f"drill: {fault.what}; {where}{'' if fault.healed else '; NOT healed'}"
