"""What gets through from everywhere to everywhere, and to and from every machine: a diagram seen place by place."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from scantling.figures import FIREWALL, Flow, Host, Verdict
from scantling.plan.evidence import Door, Passing, Reach
from scantling.trials.proof.diagram import Diagram
from scantling.trials.proof.headers import NEW, Ground
from scantling.trials.proof.leading import end_of
from scantling.trials.proof.meaning import Meaning
from scantling.trials.proof.sides import Fate
from scantling.trials.proof.spans import Spans, both, joined, less
from scantling.trials.proof.steps import ends, runs_of, under
from scantling.trials.proof.telling import transports

STATE, PLACE, TARGET, SOURCE, CARRIED = range(5)
Pair = tuple[str, str]


@dataclass
class Seen:
    """What gets through in one family, by a diagram: carried numbers by pair of places, asked for or not."""

    ground: Ground
    diagram: Diagram[Fate]
    cache: dict[tuple[int, Spans], dict[str, Spans]] = field(default_factory=dict)

    def pairs(self, sources: Mapping[str, Spans] | None = None, targets: Spans | None = None) -> dict[Pair, Spans]:
        """What passes when it begins something, by where it comes from and where it ends; narrowed to some addresses."""
        found: dict[Pair, list[tuple[int, int]]] = {}
        zones = list(self._targets(targets))
        for place in range(len(self.ground.legs) + 1):
            zone = self.ground.zone_at(place)
            mine = self.ground.addresses if sources is None else sources.get(zone, ())
            if not mine:
                continue
            top = self._at(self._at(self.diagram.root, STATE, NEW), PLACE, place)
            below = [
                (target, node) for target, there in zones for node in under(self.diagram.space, top, TARGET, there)
            ]
            for target, node in below:
                for end, spans in self._carried(node, mine).items():
                    found.setdefault((zone, end or target), []).extend(spans)
        return {pair: joined(spans) for pair, spans in found.items() if spans}

    def _at(self, node: int, level: int, number: int) -> int:
        """The node below, for one number of a field."""
        return next(iter(under(self.diagram.space, node, level, ((number, number),))))

    def _targets(self, only: Spans | None) -> Iterator[tuple[str, Spans]]:
        for zone, there in self.ground.zones.items():
            if some := there if only is None else both(there, only):
                yield zone, some

    def _carried(self, node: int, sources: Spans) -> dict[str, Spans]:
        """What passes below a node from some sources, by the zone that it is led to, where it is led elsewhere."""
        key = (node, sources)
        if key not in self.cache:
            found: dict[str, list[tuple[int, int]]] = {}
            space = self.diagram.space
            below = under(space, node, SOURCE, sources)
            for first, last, child in [run for one in below for run in runs_of(space, one, CARRIED)]:
                for end in {
                    end.outcome.to for end in ends(space, child) if isinstance(end, Fate) and end.outcome.passes
                }:
                    found.setdefault(self._zone(end), []).append((first, last))
            self.cache[key] = {end: joined(spans) for end, spans in found.items()}
        return self.cache[key]

    def _zone(self, to: str) -> str:
        return self.ground.zone_of(end_of(to)) if to else ""


# ------------------------------------------------------------------------------------------------------ as evidence


@dataclass(frozen=True)
class Doors:
    """What gets through in both families, with the intents that ask for it."""

    flows: tuple[Flow, ...]
    seen: tuple[Seen, ...]
    unasked: tuple[Seen, ...] = ()
    """The same of what no intent asks for."""

    def all(self) -> tuple[Door, ...]:
        """Every ordered pair of different places, and whatever else is open."""
        open_ = self._pairs(self.seen)
        unasked = self._pairs(self.unasked)
        legs = self.seen[0].ground.legs
        places = [*dict.fromkeys(leg.zone for leg in legs), FIREWALL]
        pairs = [(one, other) for one in places for other in places if one != other or (one, other) in open_]
        return tuple(Door(*pair, self._passing(pair, open_.get(pair, {}), unasked.get(pair, {}))) for pair in pairs)

    def machine(self, holder: str, zone: str, hosts: Sequence[Host]) -> Reach:
        """What gets to one machine and from it."""
        into = self._pairs(self.seen, hosts=hosts)
        bad_in = self._pairs(self.unasked, hosts=hosts)
        out = self._pairs(self.seen, zone, hosts)
        bad_out = self._pairs(self.unasked, zone, hosts)
        return Reach(
            holder, zone, tuple(hosts),
            tuple((pair[0], one) for pair in into for one in self._passing(pair, into[pair], bad_in.get(pair, {}), hosts)),
            tuple((pair[1], one) for pair in out for one in self._passing(pair, out[pair], bad_out.get(pair, {}), hosts)),
        )  # fmt: skip

    def _pairs(
        self, seen: Iterable[Seen], zone: str = "", hosts: Sequence[Host] = ()
    ) -> dict[Pair, dict[int, Spans]]:
        """By pair of places and family: from some addresses of a zone, or to them, or all."""
        found: dict[Pair, dict[int, Spans]] = {}
        for one in seen:
            mine = joined((int(host), int(host)) for host in hosts if host.version == one.ground.family)
            if hosts and not mine:
                continue
            narrow: dict[str, Any] = {"sources": {zone: mine}} if zone else {"targets": mine} if hosts else {}
            pairs = one.pairs(**narrow)
            for pair, spans in pairs.items():
                found.setdefault(pair, {})[one.ground.family] = spans
        return found

    def _passing(
        self, pair: Pair, spans: Mapping[int, Spans], bad: Mapping[int, Spans], hosts: Sequence[Host] = ()
    ) -> tuple[Passing, ...]:
        """What passes, cut where the intents that ask for it change."""
        found: dict[tuple[Any, tuple[str, ...]], list[int]] = {}
        for one in self.seen:
            family = one.ground.family
            mine = [(flow.slug, what) for flow, what in self._asked.get((pair, family), ()) if _concerns(flow, hosts)]
            for part, flows in _cut(spans.get(family, ()), mine):
                for carried in transports(part):
                    found.setdefault((carried, flows), []).append(family)
            for carried in transports(bad.get(family, ())):
                found.setdefault((carried, ()), []).append(family)
        whole = {flow.slug for flow in self.flows if _is_whole(flow)}
        return tuple(
            Passing(carried, tuple(dict.fromkeys(families)), flows, whole=bool(whole & set(flows)) and not hosts)
            for (carried, flows), families in found.items()
        )

    @cached_property
    def _asked(self) -> Mapping[tuple[Pair, int], list[tuple[Flow, Spans]]]:
        """The intents between two places, with what they carry in a family."""
        found: dict[tuple[Pair, int], list[tuple[Flow, Spans]]] = {}
        for one in self.seen:
            meaning = Meaning(one.ground, self.flows)
            for flow in self.flows:
                if flow.verdict is Verdict.ACCEPT:
                    key = ((flow.source.zone, flow.target.zone), one.ground.family)
                    found.setdefault(key, []).append((flow, meaning.carried(flow.carried)))
        return found


def _concerns(flow: Flow, hosts: Sequence[Host]) -> bool:
    """Whether an intent is about one of some addresses, at either end."""
    if not hosts:
        return True
    ends = (flow.source, flow.target)
    return any(not end.networks or any(host in net for net in end.networks for host in hosts) for end in ends)


def _is_whole(flow: Flow) -> bool:
    """Whether an intent is for everybody at both ends, at all hours."""
    return not (flow.source.networks or flow.target.networks or flow.target.named or flow.window)


def _cut(spans: Spans, asked: Sequence[tuple[str, Spans]]) -> Iterator[tuple[Spans, tuple[str, ...]]]:
    """Runs in parts, each with the intents that ask for it."""
    left: list[tuple[Spans, tuple[str, ...]]] = [(spans, ())]
    for slug, mine in asked:
        parts = [(part, flows) for whole, known in left for part, flows in
                 ((both(whole, mine), (*known, slug)), (less(whole, mine), known))]  # fmt: skip
        left = [(part, flows) for part, flows in parts if part]
    yield from left
