"""Looks around a living office as somebody would who was called in: every check, one pass, and the signs that it shows."""

from concurrent.futures import ThreadPoolExecutor

from scantling.trials.rehearsal.noticing.addresses import (
    announcement_signs, lending_signs, offer_signs, renewal_signs, sixth_signs,
)  # fmt: skip
from scantling.trials.rehearsal.noticing.census import census_signs
from scantling.trials.rehearsal.noticing.flows import flow_signs
from scantling.trials.rehearsal.noticing.names import name_signs
from scantling.trials.rehearsal.noticing.watch import Watch, watch
from scantling.trials.rehearsal.signs import Seen, together

__all__ = ["Watch", "noticed", "watch"]
ASIDE = (offer_signs, renewal_signs, sixth_signs, lending_signs, announcement_signs, census_signs, name_signs)
"""Checks that mostly wait, each in a thread of its own."""


def noticed(one: Watch) -> Seen:
    """One pass. Raises OSError."""
    with ThreadPoolExecutor(len(ASIDE)) as threads:
        found = [*threads.map(lambda check: check(one), ASIDE)]
    # after the others: to begin it makes the firewall forget all connections
    return together([*found, flow_signs(one)])
