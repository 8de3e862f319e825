"""Reads the conditions of kernel rules as headers; whatever it does not know it refuses, it never passes over it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from ipaddress import ip_network
from itertools import product
from typing import Any

from scantling.trials.proof import fields
from scantling.trials.proof.fields import LAST_CARRIED, PORTED, Condition, Field, WordError
from scantling.trials.proof.headers import IPV4, IPV6, NUMBERS, PORTS, Ground
from scantling.trials.proof.listing import STOPPED, Listed, Listing, RuleFileError
from scantling.trials.proof.spans import Spans, both, holds, joined, less

Statement = Mapping[str, Any]
OPS: Mapping[str, Callable[[Spans, int], Spans]] = {
    "==": lambda spans, last: spans,  # noqa: ARG005 - all of them are called alike
    "in": lambda spans, last: spans,  # noqa: ARG005
    "!=": lambda spans, last: less(((0, last),), spans),
    "<": lambda spans, last: both(((0, spans[0][0] - 1),), ((0, last),)),
    "<=": lambda spans, last: ((0, spans[0][1]),),  # noqa: ARG005
    ">": lambda spans, last: both(((spans[0][1] + 1, last),), ((0, last),)),
    ">=": lambda spans, last: ((spans[0][0], last),),
}
NOT_THERE = {"output": ("iif", "iifname"), "input": ("oif", "oifname"), "prerouting": ("oif", "oifname")}
"""Ports that a packet has not at some places of its way; kernels differ in what a "not" then means."""
FAMILY_WORDS = {"nfproto": {"ipv4": IPV4, "ipv6": IPV6}, "protocol": {"ip": IPV4, "ip6": IPV6}}


@dataclass
class Reading:
    """The rules of a listing in one family: reads conditions, and keeps what it took for granted."""

    ground: Ground
    listing: Listing
    parties: Mapping[str, tuple[str, Spans]] = field(default_factory=dict)
    """By name of a set: the party whose names fill it, and the networks that are listed for it."""
    notes: dict[str, None] = field(default_factory=dict)

    def conditions(self, rule: Listed, matches: Sequence[Statement], hook: str) -> list[Condition]:
        """All headers for which every match of a rule holds, as alternatives. Raises RuleFileError."""
        try:
            return self._conditions(rule, matches, hook)
        except WordError as wrong:
            raise RuleFileError(f"{rule.told}: {wrong}") from None
        except (KeyError, TypeError, AttributeError, ValueError, IndexError):  # data that no kernel writes
            raise RuleFileError(f"{rule.told}: {_short([*matches])} is not known: {STOPPED}") from None

    def _conditions(self, rule: Listed, matches: Sequence[Statement], hook: str) -> list[Condition]:
        found: list[Condition] = [{}]
        for match in sorted(matches, key=_of_any_transport):
            if _of_any_transport(match) and not all(_says_ported(one) for one in found):
                raise WordError(f"ports are asked of a protocol that may have none: {STOPPED}")
            found = met(found, self._match(match, rule, hook))
        return found

    def keyed(
        self, rule: Listed, matches: Sequence[Statement], hook: str, given: Statement
    ) -> list[tuple[list[Condition], Any]]:
        """A map of verdicts: for each key the headers that come to it, and the verdict. Raises RuleFileError."""
        try:
            data = given["data"]
            pairs = [(key, verdict) for key, verdict in (self._elements(data, rule))]
        except (KeyError, TypeError, ValueError, WordError):
            raise RuleFileError(f"{rule.told}: {_short(given)} is not known: {STOPPED}") from None
        asked = [{"op": "==", "left": given["key"], "right": {"set": [key]}} for key, _ in pairs]
        return [
            (self.conditions(rule, [*matches, match], hook), verdict)
            for match, (_, verdict) in zip(asked, pairs, strict=True)
        ]

    # ------------------------------------------------------------------------------------------------ one match

    def _match(self, match: Statement, rule: Listed, hook: str) -> list[Condition]:
        op, left, right = match["op"], match["left"], match["right"]
        if op not in OPS:
            raise WordError(f"the comparison {op!r} is not known: {STOPPED}")
        if "ct" in left and left["ct"].get("key") == "status":
            return _translated(op, right)
        if "fib" in left:
            return self._local(left["fib"], op, right)
        if "concat" in left:
            return self._several(left["concat"], op, right, rule)
        asked = self._field(left)
        if op == "!=" and left.get("meta", {}).get("key") in NOT_THERE.get(hook, ()):
            raise WordError(f"{left['meta']['key']} != at {hook} means one thing here and another there: {STOPPED}")
        if op not in {"==", "in", "!="} and not isinstance(right, int | str):
            raise WordError(f"{op} wants one value: {STOPPED}")
        if isinstance(right, list) and op != "in":
            raise WordError(f"{op} with several flags at once is not known: {STOPPED}")
        return asked.means(OPS[op](self._spans(asked, right, rule), asked.last))

    def _several(self, left: Sequence[Statement], op: str, right: Any, rule: Listed) -> list[Condition]:
        """Several fields in one: every element of the set is an alternative."""
        if op != "==":
            raise WordError(f"{op} of several fields at once is not known: {STOPPED}")
        asked = [self._field(one) for one in left]
        elements = self._elements(right, rule)
        found: list[Condition] = []
        for element in elements:
            words = _bare(element)["concat"]
            if len(words) != len(asked):
                raise WordError(f"{_short(element)} does not have as many parts as what is asked")
            here: list[Condition] = [{}]
            for one, word in zip(asked, words, strict=True):
                here = met(here, one.means(self._spans(one, word, rule)))
            found += here
        return found

    def _elements(self, right: Any, rule: Listed) -> Sequence[Any]:
        if isinstance(right, str) and right.startswith("@"):
            elements: Sequence[Any] = self._named(right, rule).get("elem", [])
            return elements
        found: Sequence[Any] = right.get("set", [right])
        return found

    def _spans(self, asked: Field, right: Any, rule: Listed) -> Spans:
        """What stands on the right of a match, as numbers."""
        if isinstance(right, str) and right.startswith("@"):
            return self._named_spans(asked, right, rule)
        if isinstance(right, list) or (isinstance(right, dict) and "set" in right):
            many = right if isinstance(right, list) else right["set"]
            return joined(span for one in many for span in self._spans(asked, one, rule))
        return less(self._span(asked, _bare(right)), asked.apart)

    def _span(self, asked: Field, one: Any) -> Spans:
        """A word, a network, or a range."""
        if not isinstance(one, dict):
            return asked.read(one)
        ((kind, said),) = one.items()
        if kind == "prefix":
            try:
                network = ip_network(f"{said['addr']}/{said['len']}")
            except ValueError as wrong:
                raise WordError(f"{wrong}") from None
            asked.read(str(network.network_address))
            return ((int(network.network_address), int(network.broadcast_address)),)
        if kind == "range":
            first, last = (asked.read(word) for word in said)
            if first and last and first[0][0] > last[0][1]:
                raise WordError(f"{_short(one)} runs backwards")
            return ((first[0][0], last[0][1]),)
        raise WordError(f"{_short(one)} is not known: {STOPPED}")

    def _named(self, name: str, rule: Listed) -> Mapping[str, Any]:
        found = self.listing.sets.get((rule.table, name.removeprefix("@")))
        if found is None:
            raise WordError(f"there is no set called {name!r} in the table {rule.table}")
        if {"dynamic", "timeout"} & set(found.get("flags", [])):
            raise WordError(f"what is in the set {name!r} comes and goes by itself: {STOPPED}")
        return found

    def _named_spans(self, asked: Field, name: str, rule: Listed) -> Spans:
        elements = self._named(name, rule).get("elem", [])
        spans = joined(span for one in elements for span in self._spans(asked, one, rule))
        if name.removeprefix("@") not in self.parties or not asked.apart:
            return spans
        party, listed = self.parties[name.removeprefix("@")]
        if not holds(listed, spans):
            self.notes[
                f"Set {name}: addresses beyond those listed are what the names of {party} answered; they are not judged."
            ] = None
        moving = self.ground.moving_address(party)
        return joined([*both(spans, listed), (moving, moving)])

    # ------------------------------------------------------------------------------------------------- the fields

    def _field(self, left: Statement) -> Field:
        """What is asked. Raises KeyError where it is not known."""
        ((kind, said),) = left.items()
        if kind == "ct" and "dir" in said:
            raise KeyError(kind)
        return self._known[kind, said.get("protocol", ""), said.get("field", said.get("key", ""))]

    @cached_property
    def _known(self) -> dict[tuple[str, str, str], Field]:
        ground, unknown = self.ground, self._unknown_port
        known = {
            ("ct", "", "state"): fields.states(ground), ("meta", "", "l4proto"): fields.protocols(ground),
            ("meta", "", "day"): fields.days(), ("meta", "", "hour"): fields.hours(),
            ("payload", "ip", "protocol"): fields.protocols(ground, IPV4), ("payload", "th", "dport"): fields.ports(PORTED, "carried"),
            ("payload", "th", "sport"): fields.ports(PORTED, "source_port"),
        }  # fmt: skip
        for name in ("iif", "iifname"):
            known["meta", "", name] = fields.comes_in(ground, unknown)
        for name in ("oif", "oifname"):
            known["meta", "", name] = fields.goes_out(ground, unknown)
        for name, words in FAMILY_WORDS.items():
            known["meta", "", name] = fields.families(ground, words)
        for header, family in (("ip", IPV4), ("ip6", IPV6)):
            known["payload", header, "saddr"] = fields.addresses(ground, "source", family)
            known["payload", header, "daddr"] = fields.addresses(ground, "target", family)
        for name in PORTED:
            known["payload", name, "dport"] = fields.ports((name,), "carried")
            known["payload", name, "sport"] = fields.ports((name,), "source_port")
        for name in ("icmp", "icmpv6"):
            known["payload", name, "type"] = fields.messages(ground, name)
            known["payload", name, "code"] = fields.messages(ground, name, codes=True)
        return known

    def _unknown_port(self, name: str) -> None:
        self.notes[
            f"The file names the port {name!r}, which the plan has not: nothing comes in or leaves by it here."
        ] = None

    def _local(self, fib: Mapping[str, Any], op: str, right: Any) -> list[Condition]:
        """Targets that are the firewall's own: at the port that the packet comes in by, or anywhere."""
        flags = set(fib.get("flags", []))
        if (fib.get("result"), op, right) != ("type", "==", "local") or flags not in ({"daddr"}, {"daddr", "iif"}):
            raise WordError(f"this question to the routes is not known: {STOPPED}")
        if flags == {"daddr"}:
            return [{"target": self.ground.own}]
        places = range(len(self.ground.legs))
        return [{"place": ((place, place),), "target": self.ground.own_at(place)} for place in places]


def _translated(op: str, right: Any) -> list[Condition]:
    """Whether the target was changed; other marks of a connection are not known."""
    if op != "in" or right not in ("dnat", ["dnat"]):
        raise WordError(f"this mark of a connection is not known: {STOPPED}")
    return [{"translated": ((1, 1),)}]


def met(some: Sequence[Condition], others: Sequence[Condition]) -> list[Condition]:
    """What holds by one alternative of each; alternatives that nothing can meet are left out."""
    found = [_both(one, other) for one, other in product(some, others)]
    return [one for one in found if all(one.values())]


def _both(one: Condition, other: Condition) -> Condition:
    shared = {name: both(one[name], other[name]) for name in one.keys() & other.keys()}
    return {**one, **other, **shared}


def _bare(element: Any) -> Any:
    """An element of a set without its comment, counter and the like."""
    return element["elem"]["val"] if isinstance(element, dict) and "elem" in element else element


def _of_any_transport(match: Statement) -> bool:
    """Whether ports are asked without saying of which protocol."""
    left = match.get("left", {})
    parts = left["concat"] if isinstance(left, dict) and "concat" in left else [left]
    says = any(one.get("meta", {}).get("key") == "l4proto" for one in parts)
    return not says and any(one.get("payload", {}).get("protocol") == "th" for one in parts)


def _says_ported(one: Condition) -> bool:
    """Whether only protocols with ports are left, because the rule says so by itself."""
    wide = joined((NUMBERS[name] * PORTS, NUMBERS[name] * PORTS + PORTS - 1) for name in PORTED)
    return holds(wide, one.get("carried", ((0, LAST_CARRIED),)))


def _short(data: Any) -> str:
    told = repr(data).replace("'", '"')
    return told if len(told) <= 100 else told[:99] + "…"  # noqa: PLR2004 - as long as a line bears
