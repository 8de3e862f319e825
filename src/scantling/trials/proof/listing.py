"""The kernel's listing of its packet filter (nft -j list ruleset): what stands in it, held to be what it says it is."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

FAMILIES = {"ip": (4,), "ip6": (6,), "inet": (4, 6)}
"""Tables that judge packets of the Internet's protocols."""
ELSEWHERE = {"arp", "bridge", "netdev"}
STOPPED = "it can't be judged, so nothing is proved"


class RuleFileError(Exception):
    """A file of rules that can't be read as one, in a person's words, with the place."""


@dataclass(frozen=True)
class Listed:
    """One rule as the kernel lists it."""

    table: str
    chain: str
    handle: int
    comment: str
    statements: tuple[Mapping[str, Any], ...]

    @property
    def key(self) -> str:
        """What it is called here; no other rule is called so."""
        return f"{self.table} {self.chain} {self.handle}"

    @property
    def told(self) -> str:
        """What it is called for a person."""
        said = f' "{self.comment}"' if self.comment else ""
        return f"rule {self.handle} of chain {self.chain} in table {self.table}{said}"


@dataclass(frozen=True)
class Chain:
    """A chain; `hook` is empty for one that others jump to."""

    table: str
    family: str
    name: str
    kind: str = ""
    hook: str = ""
    priority: int = 0
    policy: str = "accept"
    rules: tuple[Listed, ...] = ()

    @property
    def told(self) -> str:
        """What it is called for a person."""
        return f"chain {self.name} in table {self.table}"


@dataclass
class Listing:
    """All of it: chains and named sets by table and name."""

    chains: dict[tuple[str, str], Chain] = field(default_factory=dict)
    sets: dict[tuple[str, str], Mapping[str, Any]] = field(default_factory=dict)

    def hooked(self, hook: str, kind: str, family: int) -> list[Chain]:
        """The chains at one place of a packet's way, in the order they are asked."""
        mine = [one for one in self.chains.values() if (one.hook, one.kind) == (hook, kind)]
        return sorted((one for one in mine if family in FAMILIES[one.family]), key=lambda one: one.priority)

    def rules(self) -> list[Listed]:
        """Every rule, chain by chain."""
        return [rule for chain in self.chains.values() for rule in chain.rules]


def read_listing(objects: Sequence[Any]) -> Listing:
    """The objects of a listing. Raises RuleFileError naming the first that is none."""
    found, rules = Listing(), dict[tuple[str, str], list[Listed]]()
    for place, one in enumerate(objects, 1):
        kind, said = _one(one, place)
        table = f"{said.get('family', '')} {said.get('table', said.get('name', ''))}"
        if kind in {"chain", "rule", "set", "map"} and said.get("family") in ELSEWHERE:
            raise RuleFileError(f"object {place}: a {kind} of the family {said['family']}: {STOPPED}")
        if kind == "chain":
            found.chains[table, str(said["name"])] = _chain(table, said)
        elif kind == "rule":
            listed = _rule(table, said, place)
            rules.setdefault((table, listed.chain), []).append(listed)
        elif kind in {"set", "map"}:
            found.sets[table, str(said["name"])] = said
        elif kind not in {"metainfo", "table", "counter", "ct helper", "limit", "quota"}:
            raise RuleFileError(f"object {place}: a {kind!r} is not known: {STOPPED}")
    for key, many in rules.items():
        if key not in found.chains:
            raise RuleFileError(f"{many[0].told}: there is no such chain in the file")
        found.chains[key] = _with(found.chains[key], many)
    if not found.chains:
        raise RuleFileError(
            "it holds no chain at all: it is a listing of nothing; write it with: nft -j list ruleset"
        )
    return found


def _one(one: Any, place: int) -> tuple[str, Mapping[str, Any]]:
    """An object's kind and what it says."""
    if not isinstance(one, dict) or len(one) != 1:
        raise RuleFileError(
            f"object {place}: one object of one kind was looked for, as nft -j list ruleset writes them"
        )
    ((kind, said),) = one.items()
    if not isinstance(said, dict):
        raise RuleFileError(f"object {place}: what the {kind!r} says is no object")
    if kind in {"chain", "rule", "set", "map"}:
        wanted = ("family", "table", *(("chain",) if kind == "rule" else ("name",)))
        if missing := [word for word in wanted if not isinstance(said.get(word), str)]:
            raise RuleFileError(f"object {place}: the {kind} does not say its {missing[0]}")
        if said["family"] not in FAMILIES and said["family"] not in ELSEWHERE:
            raise RuleFileError(f"object {place}: the family {said['family']!r} is not known: {STOPPED}")
    return kind, said


def _chain(table: str, said: Mapping[str, Any]) -> Chain:
    priority, policy = said.get("prio", 0), said.get("policy", "accept")
    if not isinstance(priority, int) or policy not in {"accept", "drop"}:
        raise RuleFileError(f"chain {said['name']}: its priority or policy is none: {priority!r}, {policy!r}")
    hook, kind = str(said.get("hook", "")), str(said.get("type", ""))
    known = {"", "prerouting", "input", "forward", "output", "postrouting"}
    if hook not in known or (hook and kind not in {"filter", "nat"}):
        raise RuleFileError(f"chain {said['name']}: {kind} chains at {hook} are not known: {STOPPED}")
    return Chain(table, str(said["family"]), str(said["name"]), kind, hook, priority, str(policy))


def _rule(table: str, said: Mapping[str, Any], place: int) -> Listed:
    statements, handle = said.get("expr", []), said.get("handle", place)
    if not isinstance(statements, list) or not all(isinstance(one, dict) and len(one) == 1 for one in statements):
        raise RuleFileError(f"object {place}: the rule's expr is no list of statements")
    if not isinstance(handle, int):
        raise RuleFileError(f"object {place}: the rule's handle {handle!r} is no number")
    return Listed(table, str(said["chain"]), handle, str(said.get("comment", "")), tuple(statements))


def _with(chain: Chain, rules: Sequence[Listed]) -> Chain:
    handles = [one.handle for one in rules]
    if len(set(handles)) != len(handles):
        raise RuleFileError(f"{chain.told}: two rules have the same handle; it is no listing of the kernel's")
    return Chain(
        chain.table, chain.family, chain.name, chain.kind, chain.hook, chain.priority, chain.policy, tuple(rules)
    )


def parsed(text: str, name: str) -> Any:
    """The data of a JSON file. Raises RuleFileError with line and column."""
    try:
        return json.loads(text)
    except json.JSONDecodeError as wrong:
        raise RuleFileError(
            f"{name}:{wrong.lineno}:{wrong.colno}: this is no JSON ({wrong.msg}); write the file with: nft -j list ruleset"
        ) from None
    except RecursionError:
        raise RuleFileError(f"{name}: it is nested too deep to be a file of rules") from None
