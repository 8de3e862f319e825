"""Small rule scripts for nftables, their listings by the kernel, and what these make of packets given by hand."""

from functools import cache
from ipaddress import ip_address
from typing import Any

import kernel
from flow_samples import LEGS
from scantling.figures import Transport
from scantling.trials.proof.headers import DAY, HOUR, INVALID, MINUTE, NEW, REPLY, Ground, Header, carried, grounds
from scantling.trials.proof.kernel import Kernel
from scantling.trials.proof.listing import read_listing
from scantling.trials.proof.matching import Reading
from scantling.trials.proof.rulings import Outcome, Stage, fate

RELATED = 2
FRAME = """table inet t {{
	{before}
	chain way {{
		type filter hook {hook} priority 0; policy {policy};
		{rules}
	}}
}}
"""


@cache
def listed(script: str) -> tuple[Any, ...]:
    """The objects of the kernel's listing of a script that it took."""
    return tuple(kernel.listing(script))


def framed(rules: str, hook: str = "forward", policy: str = "drop", before: str = "") -> str:
    """A script of one chain."""
    return FRAME.format(rules=rules, hook=hook, policy=policy, before=before)


def stages_of(
    objects: tuple[Any, ...], family: int = 4, notes: dict[str, None] | None = None
) -> tuple[Ground, tuple[Stage, ...]]:
    """What a listing makes of every packet of one family, on the small office of tests/flow_samples.py."""
    ground = next(one for one in grounds(LEGS, []) if one.family == family)
    listing = read_listing(objects)
    return ground, Kernel(ground, listing, Reading(ground, listing, {}, {} if notes is None else notes)).stages()


def packet(words: str, ground: Ground) -> Header:
    """A packet as `zone source target protocol[:port] [state] [day hour:minute]`; zones by name, `mobile` the second line."""
    zone, source, target, what, *rest = words.split()
    protocol, _, port = what.partition(":")
    number = int(port or 0)
    states = {"new": NEW, "reply": REPLY, "related": RELATED, "stray": INVALID}
    state = next((states[word] for word in rest if word in states), NEW)
    second = next((moment(word) for word in rest if ":" in word), 0)
    places = {leg.slug: place for place, leg in enumerate(ground.legs)} | {"firewall": ground.itself}
    lines = {leg.interface: place for place, leg in enumerate(ground.legs)}
    line = next((lines[word.removeprefix("by-")] for word in rest if word.startswith("by-")), lines["outside-1"])
    code = next((int(word.removeprefix("code-")) for word in rest if word.startswith("code-")), 0)
    start = carried(Transport(protocol, number, number))[0][0]
    sport = next((int(word.removeprefix("from-")) for word in rest if word.startswith("from-")), 40000)
    return Header(
        state, places[zone], int(ip_address(target)), int(ip_address(source)), start + (code if protocol.startswith("icmp") else 0),
        second, line, sport,
    )  # fmt: skip


def moment(word: str) -> int:
    """mon/10:30 as seconds of the week."""
    day, _, clock = word.partition("/")
    hour, minute = clock.split(":")
    return (
        ("mon", "tue", "wed", "thu", "fri", "sat", "sun").index(day) * DAY + int(hour) * HOUR + int(minute) * MINUTE
    )


def becomes(script: str, words: str, family: int = 4) -> Outcome:
    """What becomes of a packet by a script that the kernel took and listed."""
    ground, stages = stages_of(listed(script), family)
    return fate(stages, packet(words, ground)).outcome


def passes(rules: str, words: str, family: int = 4, **frame: str) -> bool:
    """Whether a packet passes one chain of rules."""
    return becomes(framed(rules, **frame), words, family).passes
