"""The rules as access lists of the open model (RFC 8519) in JSON: firewall/acl.json, one list a port, direction and family."""

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any

from scantling.figures.traffic import Leg, Net, RuleSet, Verdict
from scantling.outputs.files import Written
from scantling.outputs.files.access_entries import FAMILY, NUMBERS, Entry, List, Unsaid, entries
from scantling.outputs.files.packet_filter_text import IPV4, IPV6, interface, slug
from scantling.plan.make import Plan

MODEL = "ietf-access-control-list"
LAYERS = {number: name for name, number in NUMBERS.items() if name in {"tcp", "udp"}}
MESSAGES = {NUMBERS[name] for name in FAMILY}
LINE = 440
WAYS = ((True, "in", "ingress"), (False, "out", "egress"))
KEPT_OUT = (
    "It says who may begin to speak to whom: replies need a box that remembers connections, and no list can say that. "
    "What the firewall itself sends is in the lists of what goes out."
)
CHECK = (
    "yanglint -t config -i -F ietf-access-control-list:match-on-ipv4,ipv4,match-on-ipv6,ipv6,match-on-tcp,match-on-udp,"
    "match-on-icmp,interface-attachment ietf-interfaces.yang iana-if-type.yang ietf-access-control-list.yang {file}"
)


def write(plan: Plan) -> Iterator[Written]:
    """The lists, and what they leave unsaid."""
    for rules in plan.records(RuleSet):
        content, unsaid = lists(rules)
        yield Written(
            path="firewall/acl.json",
            content=text_of(content).encode(),
            what=f"The same rules for a box that takes access lists of RFC 8519. {KEPT_OUT} {told(unsaid)}",
            goes="To whatever box takes such lists by NETCONF or RESTCONF, instead of rules.nft.",
            load="Name its ports as in the file, or the file's as its own; then put the data with its management program.",
            undo="Take the attachment points away again.",
            checked_by=CHECK,
        )


def text_of(content: Mapping[str, Any]) -> str:
    """JSON in plain letters, an entry a line wherever it fits."""
    return _laid(content, "") + "\n"


def _laid(value: Any, margin: str) -> str:
    """A value on one line if that is short, else each of its parts on lines of their own."""
    if not isinstance(value, dict | list):
        return json.dumps(value)
    if _left(value, LINE) >= 0 and len(whole := json.dumps(value)) <= LINE:
        return whole
    if isinstance(value, dict):
        parts = [f"{json.dumps(key)}: {_laid(part, margin + ' ')}" for key, part in value.items()]
    else:
        parts = [_laid(part, margin + " ") for part in value]
    opening, closing = "{}" if isinstance(value, dict) else "[]"
    return f"{opening}\n{margin} " + f",\n{margin} ".join(parts) + f"\n{margin}{closing}"


def _left(value: Any, room: int) -> int:
    """How many letters of a line are left at the most once a value stands on it; below nothing as soon as it can't."""
    if not isinstance(value, dict | list):
        return room - (len(value) if isinstance(value, str) else 1)
    for part in value.values() if isinstance(value, dict) else value:
        room = _left(part, room)
        if room < 0:
            break
    return room


def told(unsaid: Unsaid) -> str:
    """What lists can't say, and what becomes of it, in sentences."""
    sentences = [
        f"Left out, so that it is denied: {_reasons(unsaid.left_out)}."
        if unsaid.left_out
        else "Every accept is in it.",
        f"Dropped more widely: {_reasons(unsaid.widened)}." if unsaid.widened else "",
    ]
    return " ".join(sentence for sentence in sentences if sentence)


def _reasons(rules: Mapping[str, str]) -> str:
    """How many rules for which reason, and which."""
    by_reason: dict[str, list[str]] = {}
    for number, reason in rules.items():
        by_reason.setdefault(reason, []).append(number)
    return "; ".join(
        f"{len(many)} because of {reason} ({', '.join(many)})" for reason, many in sorted(by_reason.items())
    )


def lists(rules: RuleSet) -> tuple[dict[str, Any], Unsaid]:
    """The whole data tree and what it leaves unsaid. Raises FilesError."""
    unsaid = Unsaid()
    legs = sorted(rules.legs, key=lambda leg: leg.interface)
    made = [
        _list(rules, leg, inward, family, unsaid) for leg in legs for inward, _, _ in WAYS for family in (IPV4, IPV6)
    ]
    ports = [{"name": interface(leg.interface), "type": "iana-if-type:ethernetCsmacd"} for leg in legs]
    content = {
        "ietf-interfaces:interfaces": {"interface": ports},
        f"{MODEL}:acls": {
            "acl": made,
            "attachment-points": {"interface": [_attached(leg) for leg in legs]},
        },
    }
    return content, unsaid


def _name(leg: Leg, way: str, family: int) -> str:
    return f"{interface(leg.interface)}-{way}-{family}"


def _attached(leg: Leg) -> dict[str, Any]:
    def sets(way: str) -> dict[str, Any]:
        return {"acl-sets": {"acl-set": [{"name": _name(leg, way, family)} for family in (IPV4, IPV6)]}}

    return {"interface-id": leg.interface, **{point: sets(way) for _, way, point in WAYS}}


def _list(rules: RuleSet, leg: Leg, inward: bool, family: int, unsaid: Unsaid) -> dict[str, Any]:  # noqa: FBT001
    found = entries(List(rules, leg, inward, family, unsaid))
    aces = [_entry(name, entry, family, inward=inward) for name, entry in zip(named(found), found, strict=True)]
    if not aces or "matches" in aces[-1]:
        aces.append({"name": "default", "actions": {"forwarding": _action(Verdict.DROP)}})
    return {
        "name": _name(leg, "in" if inward else "out", family),
        "type": f"{MODEL}:ipv{family}-acl-type",
        "aces": {"ace": aces},
    }


def named(found: Sequence[Entry]) -> Iterator[str]:
    """Each entry by the number of its rule; where a rule has more of them, r-010.1 and on."""
    many, so_far = Counter(entry.rule for entry in found), Counter[str]()
    for entry in found:
        so_far[entry.rule] += 1
        yield slug(entry.rule, "rule") + (f".{so_far[entry.rule]}" if many[entry.rule] > 1 else "")


def _action(verdict: Verdict) -> str:
    return f"{MODEL}:{verdict.value}"


def _entry(name: str, entry: Entry, family: int, *, inward: bool) -> dict[str, Any]:
    matches = _matches(entry, family, inward=inward)
    return {
        "name": name,
        **({"matches": matches} if matches else {}),
        "actions": {
            "forwarding": _action(entry.verdict),
            **({"logging": f"{MODEL}:log-syslog"} if entry.log else {}),
        },
    }


def _matches(entry: Entry, family: int, *, inward: bool) -> dict[str, Any]:
    """Conditions of an entry; none where everything matches."""
    header = {
        **({"protocol": entry.protocol} if entry.protocol is not None else {}),
        **_network("destination", entry.target, family),
        **_network("source", entry.source, family),
    }
    found: dict[str, Any] = {f"ipv{family}": header} if header else {}
    if entry.ports and entry.protocol in LAYERS:
        found[LAYERS[entry.protocol]] = {"destination-port": _ports(entry.ports)}
    if entry.ports and entry.protocol in MESSAGES:
        found["icmp"] = {"type": entry.ports[0]}
    if entry.other:
        found["egress-interface" if inward else "ingress-interface"] = interface(entry.other)
    return found


def _network(side: str, network: Net | None, family: int) -> dict[str, str]:
    return {f"{side}-ipv{family}-network": _written(network)} if network else {}


@lru_cache(2000)
def _written(network: Net) -> str:
    """A network as text; a few stand in thousands of entries."""
    return str(network)


def _ports(ports: Sequence[int]) -> dict[str, Any]:
    first, last = ports
    return {"operator": "eq", "port": first} if first == last else {"lower-port": first, "upper-port": last}
