"""Which packets of a passage match a rule, as the rule sees them; read afresh from the rule, for the bit cube alone."""

from collections.abc import Iterable
from typing import NamedTuple

from scantling.figures import FIREWALL, FilterRule, RuleSet, Transport, Window
from scantling.trials.cube import Box
from scantling.trials.rehearsal.passages import (
    DAY, LAST_CARRIED, MINUTE, NUMBERS, STEP, TYPE, WEEK, WIDTH, Form, Passage, networks, shared, united, without,
)  # fmt: skip

MESSAGES = {"icmp": 4, "icmpv6": 6}


class View(NamedTuple):
    """How rules see the packets of a passage, or those of them whose target is changed."""

    chain: str
    toward: str
    targets: Form
    carried: Form
    """What of the passage is seen so, by its targets and what it carries, as it is sent."""
    to: int | None = None
    """The new target; nothing: it stays."""
    port: int = 0
    """The new port; nothing: it stays."""


def matching(rule: FilterRule, passage: Passage, view: View, rules: RuleSet) -> Box | None:
    """The packets of a passage, as they are sent, that match a rule as they are seen; nothing where it is about others."""
    family = passage.family
    if (
        rule.family not in {0, family}
        or MESSAGES.get(rule.protocol, family) != family
        or not _there(rule, passage, view)
    ):
        return None
    addressed = [named for named in (rule.sources, rule.targets) if named]
    if any(all(net.version != family for net in named) for named in addressed):
        return None
    whole: Form = ((0, (1 << WIDTH[family]) - 1),)
    sources = networks(rule.sources, family) if rule.sources else whole
    targets = networks(rule.targets, family) if rule.targets else whole
    if rule.target_set:
        targets = shared(
            targets, networks(next(nets for slug, nets, _ in rules.sets if slug == rule.target_set), family)
        )
    what = carried(Transport(rule.protocol or "any", *ports) for ports in rule.ports or ((0, STEP - 1),))
    if view.to is not None and not rule.early:
        targets = whole if shared(targets, ((view.to, view.to),)) else ()
        what = _as_sent(what, view)
    return (targets, without(sources, networks(rule.not_sources, family)), what, seconds(rule.window))


def _there(rule: FilterRule, passage: Passage, view: View) -> bool:
    """Whether a rule is asked about a passage, and speaks of its places and its state."""
    if rule.zone_in not in {"", passage.zone}:
        return False
    if rule.early:
        return passage.zone != FIREWALL
    led = view.to is not None
    return rule.zone_out in {"", view.toward} and rule.state in {"", passage.state} and (led or not rule.translated)


def _as_sent(what: Form, view: View) -> Form:
    """What a packet carried before its port was changed."""
    if not view.port:
        return what
    protocols = {number // STEP for pair in view.carried for number in pair}
    reached = [one for one in protocols if shared(what, ((one * STEP + view.port,) * 2,))]
    return united(*(of(one) for one in reached))


def of(protocol: int) -> Form:
    """All that one protocol carries."""
    return ((protocol * STEP, protocol * STEP + STEP - 1),)


def carried(many: Iterable[Transport]) -> Form:
    """Protocols and ports, or message types with all their codes. Raises KeyError for a protocol without a number here."""
    found: list[Form] = []
    for one in many:
        if one.protocol == "any":
            return ((0, LAST_CARRIED),)
        start, step = NUMBERS[one.protocol] * STEP, TYPE if one.protocol in MESSAGES else 1
        last = min((one.last + 1) * step, STEP) - 1
        found.append(((start + one.first * step, start + last),))
    return united(*found)


def seconds(window: Window | None) -> Form:
    """Hours of a rule as seconds of the week, its last minute whole."""
    if window is None:
        return ((0, WEEK - 1),)
    begins, ends = window.first * MINUTE, window.last * MINUTE + MINUTE - 1
    return united(*(((day * DAY + begins, day * DAY + ends),) for day in window.days))
