"""Access lists of the open model (RFC 8519) in JSON, read back: what becomes of the first packet of everything."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from ipaddress import ip_network
from typing import Any

from scantling.trials.proof.fields import Condition, comes_in, goes_out
from scantling.trials.proof.headers import CODES, FIELDS, IPV4, NUMBERS, PORTS, Box, Ground
from scantling.trials.proof.rulings import DROPPED, PASSED, Ruling, Stage
from scantling.trials.proof.listing import STOPPED, RuleFileError
from scantling.trials.proof.matching import met
from scantling.trials.proof.spans import Spans, joined, less

ACLS, MODEL = "ietf-access-control-list:acls", "ietf-access-control-list:"
NOTHING = "no such packet"
HEADERS = {4: "ipv4", 6: "ipv6"}
OTHER_SIDE = {"ingress": "egress-interface", "egress": "ingress-interface"}
FORWARDING = {"accept": PASSED, "drop": DROPPED, "reject": DROPPED}
NOTE = "Access lists know no connections and no translations: only who may begin to speak to whom is judged."


@dataclass
class AccessLists:
    """The lists of a file in one family, at the ports they are attached to."""

    ground: Ground
    data: Mapping[str, Any]
    notes: dict[str, None] = field(default_factory=dict)

    def stages(self) -> tuple[Stage, ...]:
        """First the list at the port that a packet comes in by, then that of the port that it leaves by. Raises RuleFileError."""
        self.notes[NOTE] = None
        try:
            return self._stages()
        except (KeyError, TypeError, AttributeError, ValueError) as wrong:  # not laid out as RFC 8519 has it
            raise RuleFileError(f"these are no access lists as RFC 8519 lays them out ({wrong}): {STOPPED}") from None

    def _stages(self) -> tuple[Stage, ...]:
        into = [
            one for place, leg in enumerate(self.ground.legs) for one in self._at(place, leg.interface, "ingress")
        ]
        out = [one for place, leg in enumerate(self.ground.legs) for one in self._at(place, leg.interface, "egress")]
        unless = Ruling((), PASSED, "")
        never = Ruling(self.ground.never, DROPPED, NOTHING)
        return (Stage((never, *into), unless), Stage(tuple(out), unless))

    def _at(self, place: int, interface: str, way: str) -> Iterator[Ruling]:
        """What the lists at one port, one way, make of the packets there; what no entry matches is dropped."""
        points = self.data.get("attachment-points", {}).get("interface", [])
        point: Mapping[str, Any] = next((one for one in points if one.get("interface-id") == interface), {})
        region: list[Condition] = [{"place": ((place, place),)}] if way == "ingress" else self._leaving(place)
        names = [one["name"] for one in point.get(way, {}).get("acl-sets", {}).get("acl-set", [])]
        mine = [
            one
            for one in map(self._list, names)
            if str(one.get("type", "")).endswith(f"ipv{self.ground.family}-acl-type")
        ]
        if not mine:
            self.notes[f"No list is attached at {interface}, {way}: there everything passes."] = None
            return
        for one in mine:
            for entry in one.get("aces", {}).get("ace", []):
                yield self._entry(entry, str(one["name"]), region, way)
        yield Ruling(tuple(self._boxes(region)), DROPPED, f"the end of the lists at {interface}, {way}")

    def _leaving(self, place: int) -> list[Condition]:
        """What leaves by a port; what comes in for the firewall itself leaves by none."""
        return [one for one in goes_out(self.ground, self._unknown).means(((place, place),)) if all(one.values())]

    def _list(self, name: str) -> Mapping[str, Any]:
        found = self._lists.get(name)
        if found is None:
            raise RuleFileError(f"a port has the list {name!r} attached, which is not in the file")
        return found

    @cached_property
    def _lists(self) -> dict[str, Mapping[str, Any]]:
        return {str(one.get("name")): one for one in self.data.get("acl", [])}

    # ---------------------------------------------------------------------------------------------------- an entry

    def _entry(self, entry: Mapping[str, Any], name: str, region: Sequence[Condition], way: str) -> Ruling:
        told = f"entry {entry.get('name')} of list {name}"
        try:
            action = str(entry["actions"]["forwarding"]).removeprefix(MODEL)
            found = list(region)
            for part, said in entry.get("matches", {}).items():
                found = met(found, self._part(part, said, way))
            return Ruling(tuple(self._boxes(found)), FORWARDING[action], told)
        except (KeyError, TypeError, ValueError, AttributeError) as wrong:
            raise RuleFileError(f"{told}: {wrong} is not known: {STOPPED}") from None

    def _boxes(self, conditions: Sequence[Condition]) -> Iterator[Box]:
        for one in conditions:
            yield from self.ground.box(**{name: spans for name, spans in one.items() if name in FIELDS})

    def _part(self, part: str, said: Any, way: str) -> list[Condition]:
        """One group of conditions. Raises KeyError, ValueError."""
        if part == HEADERS[self.ground.family]:
            return self._header(said)
        if part in {"tcp", "udp"}:
            return [self._ports(part, said)]
        if part == "icmp":
            return [self._message(said)]
        if part == OTHER_SIDE[way]:
            if way == "ingress":
                other = goes_out(self.ground, self._unknown)
                return other.means(other.read(said))
            other = comes_in(self.ground, self._unknown)
            return other.means(other.read(said))
        raise KeyError(part)

    def _unknown(self, name: str) -> None:
        self.notes[
            f"The file names the port {name!r}, which the plan has not: nothing comes in or leaves by it here."
        ] = None

    def _header(self, said: Mapping[str, Any]) -> list[Condition]:
        found: Condition = {}
        for word, value in said.items():
            if word == "protocol":
                found["carried"] = ((int(value) * PORTS, int(value) * PORTS + PORTS - 1),)
            elif word in {f"{side}-ipv{self.ground.family}-network" for side in ("source", "destination")}:
                axis = "source" if word.startswith("source") else "target"
                found[axis] = self.ground.networks([ip_network(value)])
            else:
                raise KeyError(word)
        return [found] if all(found.values()) else []

    def _ports(self, protocol: str, said: Mapping[str, Any]) -> Condition:
        start = NUMBERS[protocol] * PORTS
        found: Condition = {"carried": ((start, start + PORTS - 1),)}
        for word, value in said.items():
            spans = _port_spans(value)
            if word == "destination-port":
                found["carried"] = joined((start + first, start + last) for first, last in spans)
            elif word == "source-port":
                found["source_port"] = spans
            else:
                raise KeyError(word)
        return found

    def _message(self, said: Mapping[str, Any]) -> Condition:
        start = NUMBERS["icmp" if self.ground.family == IPV4 else "icmpv6"] * PORTS
        if set(said) - {"type", "code"} or "type" not in said:
            raise KeyError(*said)
        first = start + int(said["type"]) * CODES
        code = int(said["code"]) if "code" in said else None
        return {"carried": ((first, first + CODES - 1),) if code is None else ((first + code, first + code),)}


def _port_spans(said: Mapping[str, Any]) -> Spans:
    """One port with its operator, or a range of them (RFC 8519 section 4.2). Raises KeyError."""
    if "lower-port" in said:
        return ((int(said["lower-port"]), int(said["upper-port"])),)
    port, whole = int(said["port"]), ((0, PORTS - 1),)
    found = {
        "eq": ((port, port),),
        "lte": ((0, port),),
        "gte": ((port, PORTS - 1),),
        "neq": less(whole, ((port, port),)),
    }
    return found[said.get("operator", "eq")]
