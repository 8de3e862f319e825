"""Looks around a living office as somebody would who was called in: every check, one pass, and the signs that it shows."""

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Event

from scantling.trials.rehearsal.noticing.addresses import (
    announcement_signs, lending_signs, offer_signs, renewal_signs, sixth_signs,
)  # fmt: skip
from scantling.trials.rehearsal.noticing.census import census_signs
from scantling.trials.rehearsal.noticing.counters import second_look
from scantling.trials.rehearsal.noticing.flows import flow_signs
from scantling.trials.rehearsal.noticing.names import name_signs
from scantling.trials.rehearsal.noticing.watch import PATIENCE, PATIENT, Watch, watch
from scantling.trials.rehearsal.signs import Seen, together

__all__ = ["Watch", "noticed", "settled", "watch"]
ASIDE = (offer_signs, renewal_signs, sixth_signs, lending_signs, announcement_signs, census_signs, name_signs)
"""Checks that mostly wait, each in a thread of its own."""


def noticed(one: Watch) -> Seen:
    """One pass: tries and everything else at once. Raises OSError."""
    begun = Event()
    with ThreadPoolExecutor(len(ASIDE)) as threads:
        aside = [threads.submit(_when, begun, check, one) for check in ASIDE]
        try:
            flows, kept_out = flow_signs(one, begun.set)
        finally:
            begun.set()
        found = [other.result() for other in aside]
    if kept_out:
        second_look(one, kept_out, flows)
    return together([*found, flows.seen()])


def _when(begun: Event, check: Callable[[Watch], Seen], one: Watch) -> Seen:
    """Tries begin by making the firewall forget all connections: whatever else is asked comes after that."""
    begun.wait()
    return check(one)


def settled(one: Watch) -> Watch:
    """The same, knowing what is seen while nothing has happened, and how long answers take here. Raises OSError."""
    known = replace(one, patience=PATIENT)
    known = replace(known, known=noticed(known))
    begun = time.perf_counter()
    more = noticed(known)
    took = time.perf_counter() - begun
    return replace(known, known=together((known.known, more)), patience=min(max(PATIENCE, took), PATIENT))
