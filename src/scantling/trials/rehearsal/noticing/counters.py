"""The firewall's own counters and sets, looked at where it keeps out what is meant to pass: which chain counts it, and is a set empty."""

from collections.abc import Mapping, Sequence
from typing import Any

from scantling.figures import FIREWALL
from scantling.trials.probe.probing import Judgement
from scantling.trials.rehearsal.loading import listing
from scantling.trials.rehearsal.noticing.watch import Watch, filled_sets
from scantling.trials.rehearsal.prober import Manner, tried
from scantling.trials.rehearsal.signs import Gathering, What
from scantling.trials.rehearsal.trying import quiet

FEW = 24
Listing = Sequence[Mapping[str, Any]]
FORWARD, INPUT = "forward", "input"


def second_look(watch: Watch, kept_out: Sequence[Judgement], found: Gathering) -> None:
    """Make some of these tries again between two readings of the counters. Raises OSError."""
    published = [one.probe for one in kept_out if one.probe.arrives]
    passing = [one.probe for one in kept_out if FIREWALL not in {one.probe.source, one.probe.target}]
    chosen, listed = (published or passing)[:FEW], listing(watch.living.run)
    if chosen:
        before = counted(listed)
        tried(chosen, watch.trial.rooms, watch.trial.ports, watch.living.recorder, quiet, Manner(again=()))
        listed = listing(watch.living.run)
        after = counted(listed)
        rise = {chain: after.get(chain, 0) - before.get(chain, 0) for chain in (FORWARD, INPUT)}
        found.look(What.STILL, FIREWALL, seen=not rise[FORWARD])
        if published:
            found.look(What.TAKEN_ITSELF, FIREWALL, seen=rise[INPUT] >= len(chosen) > rise[FORWARD])
    full = filled_sets(listed)
    for name in watch.sets:
        found.look(What.EMPTY, name, seen=name not in full)


def counted(listed: Listing) -> dict[str, int]:
    """Packets that the rules of each chain have dropped, or that have begun something."""
    found: dict[str, int] = {}
    for rule in (one["rule"] for one in listed if "rule" in one):
        if not _is_of_replies(rule):
            packets = sum(
                part["counter"]["packets"] for part in rule["expr"] if isinstance(part.get("counter"), dict)
            )
            found[rule["chain"]] = found.get(rule["chain"], 0) + packets
    return found


def _is_of_replies(rule: Mapping[str, object]) -> bool:
    """Whether a rule is for what has begun already."""
    return "established" in str(rule.get("expr"))
