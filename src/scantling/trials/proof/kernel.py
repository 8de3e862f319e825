"""What becomes of every packet by a kernel's listing: hooks, priorities, jumps, maps and translations followed to the end."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Any, NamedTuple

from scantling.figures import FIREWALL
from scantling.trials.proof.fields import Condition, WordError, address_of
from scantling.trials.proof.headers import FIELDS, PORTS, Box, Ground
from scantling.trials.proof.rulings import DROPPED, PASSED, Outcome, Ruling, Stage
from scantling.trials.proof.leading import BEGINNING, Late, Led, rulings
from scantling.trials.proof.listing import STOPPED, Chain, Listed, Listing, RuleFileError
from scantling.trials.proof.matching import Reading, met
from scantling.trials.proof.spans import both, holds, less

DEEPEST, MOST = 16, 200_000
SILENT = frozenset({"counter", "log", "comment", "continue", "set"})
"""Statements that decide nothing."""
VERDICTS = {"accept": True, "drop": False, "reject": False}
NAT_PRIORITY = -100
"""Where the kernel changes targets, when no chain says it otherwise (NF_IP_PRI_NAT_DST)."""
NOTHING = "no such packet"
LEADS, MASKS = {"dnat"}, {"masquerade", "snat"}


class Step(NamedTuple):
    """One decision of a chain with all its jumps followed: some headers, what is done with them, which rule says so."""

    conditions: list[Condition]
    verdict: str
    """accept, drop, dnat, masquerade, or return, which is resolved while chains are followed."""
    by: str
    given: Mapping[str, Any] = {}


@dataclass
class Kernel:
    """A listing in one family."""

    ground: Ground
    listing: Listing
    reading: Reading
    hook: str = ""
    steps: int = field(default=0)

    def stages(self) -> tuple[Stage, ...]:
        """The lists that a packet goes through, in order. Raises RuleFileError."""
        nat = self._only("prerouting")
        leads = list(self._leads(nat))
        before = [one for one in self._hooked("prerouting") if one.priority < (nat.priority if nat else NAT_PRIORITY)]
        after = [one for one in self._hooked("prerouting") if one not in before]
        found = [self._stage([(chain, self._doors())], []) for chain in before]
        found += [self._stage([(chain, self._doors())], leads) for chain in after]
        ways = [("input", self._doors(self.ground.firewall)), ("output", self._itself())]
        ways.insert(1, ("forward", self._doors(less(self.ground.addresses, self.ground.firewall))))
        many = {hook: self._hooked(hook) for hook, _ in ways}
        for place in range(max(1, *(len(chains) for chains in many.values()))):
            asked = [(many[hook][place], region) for hook, region in ways if place < len(many[hook])]
            bare = [(hook, region) for hook, region in ways if not many[hook] and not place]
            found.append(self._stage(asked, leads, bare))
        through = (*self._doors(less(self.ground.addresses, self.ground.firewall)), *self._itself())
        found += [self._stage([(chain, through)], leads) for chain in self._hooked("postrouting")]
        if masks := tuple(self._masks(self._only("postrouting"))):
            found.append(Stage(masks, Ruling((), PASSED, "")))
        first = found[0]
        found[0] = first._replace(rulings=(Ruling(self.ground.never, DROPPED, NOTHING), *first.rulings))
        return tuple(found)

    def _hooked(self, hook: str) -> list[Chain]:
        return self.listing.hooked(hook, "filter", self.ground.family)

    def _only(self, hook: str) -> Chain | None:
        """The one chain that translates at a hook. Raises RuleFileError where there are more."""
        for odd in ("input", "output"):
            for chain in self.listing.hooked(odd, "nat", self.ground.family):
                if chain.rules:
                    raise RuleFileError(f"{chain.told}: translations at {odd} are not known: {STOPPED}")
        found = [one for one in self.listing.hooked(hook, "nat", self.ground.family) if one.rules]
        if len(found) > 1:
            raise RuleFileError(f"{found[1].told}: a second chain of translations at {hook} is not known: {STOPPED}")
        return found[0] if found else None

    # -------------------------------------------------------------------------------------------------- stages

    def _doors(self, targets: Any = None) -> tuple[Box, ...]:
        ground = self.ground
        return ground.box(place=ground.doors, target=ground.addresses if targets is None else targets)

    def _itself(self) -> tuple[Box, ...]:
        return self.ground.box(place=self.ground.places(FIREWALL))

    def _stage(
        self,
        asked: Sequence[tuple[Chain, tuple[Box, ...]]],
        leads: Sequence[Led],
        bare: Sequence[tuple[str, tuple[Box, ...]]] = (),
    ) -> Stage:
        """Chains that different packets go through at one time; without any chain everything passes."""
        late = [one for chain, region in asked for one in self._late(chain, region)]
        late += [Late(region, PASSED, f"no chain at {hook}: everything passes") for hook, region in bare]
        return Stage(rulings(self.ground, leads, late), Ruling((), PASSED, ""))

    def _late(self, chain: Chain, region: tuple[Box, ...]) -> Iterator[Late]:
        """The steps of a chain on the packets of one region, its policy last."""
        for step in self._followed(chain):
            if step.verdict not in VERDICTS:
                raise RuleFileError(f"{step.by}: {step.verdict} in a chain that filters is not known: {STOPPED}")
            outcome = PASSED if VERDICTS[step.verdict] else DROPPED
            marked = any("translated" in one for one in step.conditions)
            for box, only in product(region, (True, False) if marked else (None,)):
                if boxes := tuple(self._boxes(step.conditions, box, translated=bool(only))):
                    yield Late(boxes, outcome, step.by, only)

    def _boxes(self, conditions: Sequence[Condition], region: Box, *, translated: bool) -> Iterator[Box]:
        """The conditions as boxes inside a region, of what was translated or of what was not."""
        mark = ((int(translated),) * 2,)
        for one in conditions:
            if "translated" not in one or both(one["translated"], mark):
                box = tuple(
                    both(whole, one[name]) if name in one else whole
                    for name, whole in zip(FIELDS, region, strict=True)
                )
                if all(box):
                    yield box

    def _leads(self, chain: Chain | None) -> Iterator[Led]:
        """What has its target changed, and before what comes later, what has not."""
        doors = self._doors()[0]
        for step in self._followed(chain) if chain is not None else ():
            boxes = self._boxes(met(step.conditions, [{"state": BEGINNING}]), doors, translated=False)
            to, port = self._new_target(step) if step.verdict in LEADS else (None, 0)
            if step.verdict not in {*LEADS, "accept"}:
                raise RuleFileError(f"{step.by}: {step.verdict} where targets are changed is not known: {STOPPED}")
            yield from (Led(box, to, port, step.by) for box in boxes)

    def _new_target(self, step: Step) -> tuple[int, int]:
        said, family = step.given, self.ground.family
        port = said.get("port", 0)
        if set(said) - {"addr", "port", "family"} or not isinstance(port, int) or not 0 <= port < PORTS:
            raise RuleFileError(f"{step.by}: dnat {dict(said)} is not known: {STOPPED}")
        try:
            return address_of(said.get("addr"), family), port
        except WordError as wrong:
            raise RuleFileError(f"{step.by}: {wrong}") from None

    def _masks(self, chain: Chain | None) -> Iterator[Ruling]:
        """What leaves under one of the firewall's own addresses."""
        leaves = self.ground.box(state=BEGINNING, target=self.ground.outside)
        for step in self._followed(chain) if chain is not None else ():
            if step.verdict not in {*MASKS, "accept"}:
                raise RuleFileError(f"{step.by}: {step.verdict} where sources are changed is not known: {STOPPED}")
            if step.verdict == "snat" and not self._is_own(step):
                raise RuleFileError(
                    f"{step.by}: it gives a source that is none of the firewall's own addresses: {STOPPED}"
                )
            boxes = tuple(box for region in leaves for box in self._boxes(step.conditions, region, translated=False))
            masked = step.verdict in MASKS
            yield Ruling(boxes, Outcome(passes=True, masked=masked), "")

    def _is_own(self, step: Step) -> bool:
        try:
            number = address_of(step.given.get("addr"), self.ground.family)
        except WordError as wrong:
            raise RuleFileError(f"{step.by}: {wrong}") from None
        return set(step.given) <= {"addr", "family"} and holds(self.ground.own, ((number, number),))

    # ------------------------------------------------------------------------------------------------ following

    def _followed(self, chain: Chain) -> list[Step]:
        """The chain with every jump followed, its policy as the last step. Raises RuleFileError."""
        self.hook, self.steps = chain.hook, 0
        if chain.kind == "nat" and chain.policy != "accept":
            raise RuleFileError(f"{chain.told}: it drops what it does not translate: {STOPPED}")
        policy = [Step([{}], chain.policy, f"{chain.told}: its policy")]
        return [*self._walk(chain, policy, 0), *(policy if chain.kind != "nat" else ())]

    def _walk(self, chain: Chain, rest: Sequence[Step], depth: int) -> list[Step]:
        """Steps of a chain, without what comes when it ends; `rest` is that, for those who return early."""
        if depth > DEEPEST:
            raise RuleFileError(f"{chain.told}: jumps go deeper than {DEEPEST} chains, as the kernel never lets them")
        found: list[Step] = []
        for rule in reversed(chain.rules):
            here: list[Step] = []
            for conditions, verdict in self._decisions(rule):
                here += self._step(rule, conditions, verdict, ([*found, *rest], rest, depth))
            found = [*here, *found]
            self.steps += len(here)
            if self.steps > MOST:
                raise RuleFileError(f"{chain.told}: its jumps come to more than {MOST} steps: {STOPPED}")
        return found

    def _step(
        self,
        rule: Listed,
        conditions: list[Condition],
        verdict: Mapping[str, Any],
        after: tuple[list[Step], Sequence[Step], int],
    ) -> list[Step]:
        """One verdict: a step, or those of the chain that it leads to. `after`: what follows here, what follows the chain, depth."""
        following, rest, depth = after
        word, said = _only(verdict, rule)
        if word in {"jump", "goto"}:
            name = said.get("target") if isinstance(said, dict) else None
            chain = self.listing.chains.get((rule.table, str(name)))
            if chain is None:
                raise RuleFileError(f"{rule.told}: there is no chain {name!r} to {word} to")
            inner = self._walk(chain, following if word == "jump" else rest, depth + 1)
            return _under(conditions, [*inner, *(rest if word == "goto" else ())])
        if word == "return":
            return _under(conditions, rest)
        return [Step(conditions, word, rule.key, said if isinstance(said, dict) else {})]

    def _decisions(self, rule: Listed) -> list[tuple[list[Condition], Mapping[str, Any]]]:
        """What a rule decides, for which headers; nothing where it only counts or logs."""
        matches: list[Mapping[str, Any]] = []
        limited, found = False, list[tuple[list[Condition], Mapping[str, Any]]]()
        for statement in rule.statements:
            ((word, said),) = statement.items()
            if word == "match":
                matches.append(said)
            elif word == "limit":
                limited = True
            elif word == "vmap":
                found += self.reading.keyed(rule, matches, self.hook, said)
            elif word in {*VERDICTS, *LEADS, *MASKS, "jump", "goto", "return"}:
                found.append((self.reading.conditions(rule, matches, self.hook), statement))
            elif word not in SILENT and not _traces(word, said):
                raise RuleFileError(f"{rule.told}: the statement {word!r} is not known: {STOPPED}")
        if limited and found:
            raise RuleFileError(f"{rule.told}: whether it decides depends on how many packets come: {STOPPED}")
        if not found:
            self.reading.conditions(rule, matches, self.hook)
        return found


def _only(verdict: Any, rule: Listed) -> tuple[str, Any]:
    """The one word of a verdict, and what is said with it. Raises RuleFileError."""
    if not isinstance(verdict, dict) or len(verdict) != 1:
        raise RuleFileError(f"{rule.told}: {verdict!r} is no verdict: {STOPPED}")
    ((word, said),) = verdict.items()
    return str(word), said


def _traces(word: str, said: Any) -> bool:
    """Whether a statement only marks packets that are to be traced."""
    return word == "mangle" and isinstance(said, dict) and said.get("key") == {"meta": {"key": "nftrace"}}


def _under(conditions: Sequence[Condition], steps: Sequence[Step]) -> list[Step]:
    """The same steps for those headers only."""
    narrowed = [step._replace(conditions=met(conditions, step.conditions)) for step in steps]
    return [step for step in narrowed if step.conditions]
