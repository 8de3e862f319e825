"""What this machine's own network is, looked at while an office is rehearsed on it."""

import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ordinary_user import as_ordinary, in_child
from unlucky_offices import ONE, ready

from scantling.plan.make import Plan
from scantling.trials.rehearsal.bare import BESIDE
from scantling.trials.rehearsal.rehearsing import rehearsed
from scantling.trials.rehearsal.results import Rehearsed
from scantling.trials.rehearsal.wish import Wish

IP, NFT = (shutil.which(name, path=BESIDE) or name for name in ("ip", "nft"))
OLDER = ("valid_life_time", "preferred_life_time")
"""What runs down by itself."""


def host_network() -> Iterator[str]:
    """What this machine's own network is, as far as whoever asks may see it: addresses, ways, neighbours' limits, rules, mounts."""
    for words in (["addr"], ["route", "show", "table", "all"], ["-6", "route", "show", "table", "all"], ["rule"]):
        told = subprocess.run([IP, "-j", *words], capture_output=True, check=True)
        yield json.dumps([_ageless(one) for one in json.loads(told.stdout or b"[]")], sort_keys=True)
    for setting in ("ipv4/ip_forward", "ipv6/conf/all/forwarding", "ipv4/conf/all/rp_filter"):
        yield Path("/proc/sys/net", setting).read_text("utf-8")
    yield "\n".join(
        sorted(line.split(" ", 2)[2] for line in Path("/proc/self/mountinfo").read_text("utf-8").splitlines())
    )
    if os.geteuid() == 0:
        yield subprocess.run([NFT, "list", "ruleset"], capture_output=True, check=True, text=True).stdout


def _ageless(one: Any) -> Any:
    if isinstance(one, dict):
        return {key: _ageless(value) for key, value in one.items() if key not in OLDER}
    return [_ageless(each) for each in one] if isinstance(one, list) else one


def watched(plan: Plan, way: str) -> tuple[Rehearsed, set[tuple[str, ...]]]:
    """A rehearsal by a way, and every state that the host's network was in meanwhile, looked at with each step that is told."""
    ready(plan)

    def work() -> tuple[Rehearsed, set[tuple[str, ...]]]:
        states = {tuple(host_network())}
        found = rehearsed(plan, Wish(way_in=way), lambda _: states.add(tuple(host_network())))
        return found, states | {tuple(host_network())}

    return as_ordinary(work) if way == ONE else in_child(work)
