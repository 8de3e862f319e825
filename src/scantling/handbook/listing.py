"""Compiled rules as lines that people read, those of both families together."""

from collections.abc import Iterator, Sequence
from dataclasses import fields

from scantling.figures import FIREWALL, FilterRule, Net
from scantling.handbook.hours import written_hours

MOST = 3
BOTH = (4, 6)
OWN = frozenset({"slug", "family", "sources", "not_sources", "targets", "translated"})
COMMON = tuple(field.name for field in fields(FilterRule) if field.name not in OWN)
"""What a rule and its twin in the other family have alike."""


def rule_rows(rules: Sequence[FilterRule]) -> list[tuple[str, ...]]:
    """Number, verdict, way, from, to, what and when, what for; a rule and its twin in the other family are one row."""
    return [_row(pair) for pair in _pairs(rules)]


def _pairs(rules: Sequence[FilterRule]) -> Iterator[tuple[FilterRule, ...]]:
    """Neighbours that differ in nothing but their family and its addresses."""
    waiting: tuple[FilterRule, ...] = ()
    for rule in rules:
        if waiting and (waiting[0].family, rule.family) == BOTH and _bare(waiting[0]) == _bare(rule):
            yield (*waiting, rule)
            waiting = ()
        else:
            if waiting:
                yield waiting
            waiting = (rule,)
    if waiting:
        yield waiting


def _bare(rule: FilterRule) -> tuple[object, ...]:
    return tuple(getattr(rule, name) for name in COMMON)


def _row(pair: tuple[FilterRule, ...]) -> tuple[str, ...]:
    one = pair[0]
    families = "" if len(pair) > 1 or not one.family else f"IPv{one.family} "
    way = f"{one.zone_in or 'any'} to {one.zone_out or ('all on the link' if one.zone_in == FIREWALL else 'any')}"
    return (
        ", ".join(rule.slug for rule in pair), str(one.verdict), f"{one.zone_in}, before routing" if one.early else way,
        _sources(pair), _targets(pair), families + _what(one), one.comment,
    )  # fmt: skip


def _sources(pair: Sequence[FilterRule]) -> str:
    but = [net for rule in pair for net in rule.not_sources]
    return f"all but {nets(but)}" if but else nets([net for rule in pair for net in rule.sources])


def _targets(pair: Sequence[FilterRule]) -> str:
    return f"set {pair[0].target_set}" if pair[0].target_set else nets([net for rule in pair for net in rule.targets])


def nets(many: Sequence[Net]) -> str:
    """Networks, the first few of many."""
    words = [str(one.network_address) if one.prefixlen == one.max_prefixlen else str(one) for one in many[:MOST]]
    more = f" and {len(many) - MOST} more" if len(many) > MOST else ""
    return (", ".join(words) + more) or "any"


def _what(rule: FilterRule) -> str:
    spans = ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in rule.ports)
    state = "" if rule.state in {"", "new"} else rule.state
    hours = f"({written_hours(rule.window)})" if rule.window else ""
    return " ".join(word for word in (rule.protocol or ("" if state else "any"), spans, state, hours) if word)
