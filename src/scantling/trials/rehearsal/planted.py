"""Plants errors in the rules, one at a time: each a single change in one chain, as a tired hand makes it, chosen evenly.

The file that is loaded is the generated file but for this one change: the changed list goes through the writer that wrote the
generated file, and of what it writes one chain takes the place of the same chain there.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from scantling.figures import FilterRule, RuleSet, Translation, Verdict
from scantling.outputs.files import FilesError
from scantling.outputs.files.packet_filter import chains_of, rules_text
from scantling.trials.rehearsal.cubing import Cubing, Effect
from scantling.trials.rehearsal.slips import SLIPS, astray

INCOMING, LEAVING = "incoming", "leaving"
"""Chains in which addresses are translated."""
FILTER, NAT = "inet office", "ip office-nat"
TABLES = {**dict.fromkeys(("early", "input", "forward", "output"), FILTER), INCOMING: NAT, LEAVING: NAT}
ENOUGH = 150
"""Errors with an effect that are planted at least, where there are so many."""
LEFT_OUT, SWAPPED, OPENED = "left out", "swapped with the next", "everything accepted before the end"
OPEN_SLUG = "r-00000"


@dataclass(frozen=True)
class Planted:
    """One single change."""

    change: str
    rule: str
    """Slug of the rule or translation."""
    chain: str
    """Where it stands; in other chains nothing changes."""
    family: int
    """0: both."""
    rules: RuleSet
    """The list with the change, which holds in this chain alone."""

    @cached_property
    def lines(self) -> tuple[str, ...]:
        """The rules of its chain. Raises FilesError where they can't be written."""
        mine = tuple(rule for rule in self.rules.rules if self.chain in chains_of(rule))
        return chain_lines(rules_text(replace(self.rules, rules=mine, sets=()), []), self.chain)

    def text(self, generated: str) -> str:
        """The generated file with this one change. Raises FilesError."""
        return with_chain(generated, self.chain, self.lines)

    def amendment(self, generated: str, listing: Sequence[Mapping[str, Any]], *, back: bool = False) -> str:
        """What nft does to a kernel that holds the generated rules, so that it holds those with the change; or back again.

        Only the lines that differ are touched: what sets hold stays. `listing`: as the kernel lists its rules just then.
        Raises FilesError, ValueError where the kernel holds other rules.
        """
        as_planned = chain_lines(generated, self.chain)
        before, after = (self.lines, as_planned) if back else (as_planned, self.lines)
        return amended(before, after, f"{TABLES[self.chain]} {self.chain}", handles(listing, self.chain))


@dataclass(frozen=True)
class Wrong:
    """A planted error with what the bit cube says of it."""

    planted: Planted
    effect: Effect | None


def chain_lines(text: str, chain: str) -> tuple[str, ...]:
    """The rules of one chain of a file, as they stand there."""
    _, _, rest = text.partition(f"\n\tchain {chain} {{\n")
    inside, _, _ = rest.partition("\n\t}")
    return tuple(line.strip() for line in inside.splitlines()[1:])


def with_chain(text: str, chain: str, lines: Sequence[str]) -> str:
    """The file with other rules in one chain."""
    before, opening, rest = text.partition(f"\n\tchain {chain} {{\n")
    kind, _, _ = rest.partition("\n")
    _, closing, following = rest.partition("\n\t}")
    inside = "".join(f"\n\t\t{line}" for line in lines)
    return f"{before}{opening}{kind}{inside}{closing}{following}"


def handles(listing: Sequence[Mapping[str, Any]], chain: str) -> list[int]:
    """Handles of the rules of a chain, in order."""
    family, _, table = TABLES[chain].partition(" ")
    rules = (one["rule"] for one in listing if "rule" in one)
    return [one["handle"] for one in rules if (one["family"], one["table"], one["chain"]) == (family, table, chain)]


def amended(before: Sequence[str], after: Sequence[str], chain: str, held: Sequence[int]) -> str:
    """Statements for nft that put some rules of a chain in the place of others. Raises ValueError for another number of rules."""
    if len(held) != len(before):
        raise ValueError(f"chain {chain} holds {len(held)} rules and not the {len(before)} that were loaded")
    shorter = min(len(before), len(after))
    first = next((place for place in range(shorter) if before[place] != after[place]), shorter)
    last = next((at for at in range(shorter - first) if before[-1 - at] != after[-1 - at]), shorter - first)
    new = after[first : len(after) - last]
    # each is put after the one before it, the last of them first; before the first rule of all there is nothing
    ordered = [f"add rule {chain} handle {held[first - 1]} {line}" for line in reversed(new)] if first else [
        f"insert rule {chain} {line}" for line in reversed(new)
    ]  # fmt: skip
    gone = [f"delete rule {chain} handle {handle}" for handle in held[first : len(held) - last]]
    return "\n".join([*ordered, *gone, ""])


def candidates(rules: RuleSet) -> Iterator[Planted]:
    """Every single change of every rule and translation; some can't be written, or change nothing in the file."""
    yield from _of_rules(rules)
    yield from _of_translations(rules)


def _of_rules(rules: RuleSet) -> Iterator[Planted]:
    for place, rule in enumerate(rules.rules):
        for chain in chains_of(rule):
            yield from (
                Planted(change, rule.slug, chain, rule.family, changed)
                for change, changed in _of_rule(rules, place, chain)
            )


def _of_rule(rules: RuleSet, place: int, chain: str) -> Iterator[tuple[str, RuleSet]]:
    """Every single change of one rule in one chain."""
    rule, zones = rules.rules[place], list(dict.fromkeys(leg.zone for leg in rules.legs))
    later = range(place + 1, len(rules.rules))
    following = next((at for at in later if _stands(rules.rules[at], chain, rule)), None)
    yield LEFT_OUT, _with(rules, place)
    for change, slip in SLIPS.items():
        changed = slip(rule, zones)
        if changed is not None and changed != rule and chain in _chains(changed):
            yield change, _with(rules, place, changed)
    if following is not None:
        yield SWAPPED, _swapped(rules, place, following)
    elif not rule.early:
        anything = FilterRule(OPEN_SLUG, Verdict.ACCEPT, "Whatever", family=rule.family)
        yield OPENED, _with(rules, place, anything, rule)


def _stands(one: FilterRule, chain: str, like: FilterRule) -> bool:
    return chain in chains_of(one) and one.family in {0, like.family} | ({4, 6} if not like.family else set())


def _chains(rule: FilterRule) -> tuple[str, ...]:
    try:
        return chains_of(rule)
    except FilesError:
        return ()


def _with(rules: RuleSet, place: int, *instead: FilterRule) -> RuleSet:
    return replace(rules, rules=(*rules.rules[:place], *instead, *rules.rules[place + 1 :]))


def _swapped(rules: RuleSet, one: int, other: int) -> RuleSet:
    many = [*rules.rules]
    many[one], many[other] = many[other], many[one]
    return replace(rules, rules=tuple(many))


def _of_translations(rules: RuleSet) -> Iterator[Planted]:
    for place, one in enumerate(rules.translations):
        chain = INCOMING if one.kind == "target" else LEAVING
        wrongs: list[tuple[str, tuple[Translation, ...]]] = [(LEFT_OUT, ())]
        wrongs += [(change, (changed,)) for change, changed in astray(one)]
        for change, instead in wrongs:
            many = (*rules.translations[:place], *instead, *rules.translations[place + 1 :])
            yield Planted(change, one.slug, chain, 4, replace(rules, translations=many))


# ---------------------------------------------------------------------------------------------------------- choice


def chosen(rules: RuleSet, cubing: Cubing, enough: int = ENOUGH) -> tuple[Wrong, ...]:
    """Changes chosen evenly over kinds, chains, families and rules, until enough of them have an effect; the same every time.

    Of each kind in each chain and family one is taken in turn, of a rule that was taken least so far; of those without an
    effect one of each kind is kept, as a trial of the trial.
    """
    choice = _Choice(rules_text(rules, []), cubing)
    groups: dict[tuple[str, str, int], list[Planted]] = {}
    for one in candidates(rules):
        groups.setdefault((one.change, one.chain, one.family), []).append(one)
    found: list[Wrong] = []
    while any(groups.values()):
        for many in [many for many in groups.values() if many]:
            found += choice.next_of(many)
            if choice.effects >= enough:
                return tuple(found)
    return tuple(found)


@dataclass
class _Choice:
    """What was chosen so far."""

    generated: str
    cubing: Cubing
    taken: Counter[str] = field(default_factory=Counter)
    """How often each rule was."""
    effects: int = 0
    """How many have an effect."""
    idle: set[str] = field(default_factory=set)
    """Kinds of which one without an effect was."""

    def next_of(self, many: list[Planted]) -> Iterator[Wrong]:
        """The next of a group that has an effect, and the first without one, if its kind still lacks it."""
        while many:
            one = min(many, key=lambda planted: self.taken[planted.rule])
            many.remove(one)
            effect = self.cubing.effect(one.rules, one.chain)
            if (effect is None and one.change in self.idle) or not self._is_one(one):
                continue
            yield Wrong(one, effect)
            if effect is not None:
                self.taken[one.rule] += 1
                self.effects += 1
                return
            self.idle.add(one.change)

    def _is_one(self, one: Planted) -> bool:
        """Whether it can be written, and changes the file."""
        try:
            return one.lines != chain_lines(self.generated, one.chain)
        except FilesError:
            return False
