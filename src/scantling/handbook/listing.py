"""A compiled rule as a line that people read."""

from collections.abc import Sequence

from scantling.figures import FIREWALL, FilterRule, Net
from scantling.handbook.hours import written_hours

FAMILY = {0: "", 4: "IPv4", 6: "IPv6"}
MOST = 3


def rule_row(rule: FilterRule) -> tuple[str, ...]:
    """Number, verdict, way, from, to, what, hours, what for."""
    way = f"{rule.zone_in or 'any'} to {rule.zone_out or ('all on the link' if rule.zone_in == FIREWALL else 'any')}"
    before = "before routing: " if rule.early else ""
    return (
        rule.slug, str(rule.verdict), before + (rule.zone_in if rule.early else way), _sources(rule), _targets(rule), _what(rule),
        written_hours(rule.window) if rule.window else "", rule.comment,
    )  # fmt: skip


def _sources(rule: FilterRule) -> str:
    return f"all but {nets(rule.not_sources)}" if rule.not_sources else nets(rule.sources)


def _targets(rule: FilterRule) -> str:
    return f"set {rule.target_set}" if rule.target_set else nets(rule.targets)


def nets(many: Sequence[Net]) -> str:
    """Networks, the first few of many."""
    words = [str(one.network_address) if one.prefixlen == one.max_prefixlen else str(one) for one in many[:MOST]]
    more = f" and {len(many) - MOST} more" if len(many) > MOST else ""
    return (", ".join(words) + more) or "any"


def _what(rule: FilterRule) -> str:
    spans = ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in rule.ports)
    state = "" if rule.state in {"", "new"} else rule.state
    return " ".join(
        word for word in (FAMILY[rule.family], rule.protocol or ("" if state else "any"), spans, state) if word
    )
