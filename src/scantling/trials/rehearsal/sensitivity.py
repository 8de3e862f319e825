"""How sensitive proof and packets are: each planted error is loaded into the living office, both look, and it is taken back.

Only the lines that differ are changed in the kernel; what it holds then is the generated file but for one change. Whether the
error has an effect is the bit cube's word; the proof is that of the kernel's own listing; packets are tries whose answer is known.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from scantling.figures import FIREWALL, OUTSIDE, FilterRule, Host
from scantling.trials.probe.aims import Aims, Now
from scantling.trials.probe.judging import judged
from scantling.trials.probe.probing import Judgement, Probe, Verdict
from scantling.trials.proof.proving import Case
from scantling.trials.rehearsal.agreeing import Listing, Referee, lent_to, living
from scantling.trials.rehearsal.boundaries import boundary_probes, key_of
from scantling.trials.rehearsal.cubing import Cubing
from scantling.trials.rehearsal.lists import difference
from scantling.trials.rehearsal.loading import NFT, LoadingError, Runner, listing
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.passages import Passages, standing
from scantling.trials.rehearsal.planted import ENOUGH, Planted, Wrong, chosen
from scantling.trials.rehearsal.prober import Again, Manner, tried
from scantling.trials.rehearsal.results import PlantedError
from scantling.trials.rehearsal.trying import Trial, asked_name, quiet

SILENT = frozenset({Verdict.AS_MEANT, Verdict.NEVER_CAME})
"""Verdicts that say nothing against the rules."""
AT_ONCE = Again(0, 64, 0.1)
Way = tuple[int, str, str]
"""Family, whence, whither."""
Tell = Callable[[int, int], None]


@dataclass(frozen=True)
class Bench:
    """The firewall of a living office, in which rules are changed and tried."""

    run: Runner
    """Starts a program on the firewall."""
    judge: Callable[[Sequence[Probe]], list[Judgement]]
    """Makes some tries and judges them; quickly, for many are to fail."""

    def amend(self, script: str) -> None:
        """Change rules in one step. Raises LoadingError."""
        told = self.run(NFT, script.encode())
        if told.returncode:
            raise LoadingError(f"a planted error can't be loaded: {told.stderr.decode(errors='replace').strip()}")

    def listing(self) -> Listing:
        """What the kernel holds. Raises LoadingError."""
        return listing(self.run)

    def notices(self, probes: Sequence[Probe]) -> bool:
        """Whether some try goes otherwise than meant. Raises OSError."""
        return bool(probes) and any(one.verdict not in SILENT for one in self.judge(probes))


@dataclass(frozen=True)
class Setting:
    """A living office whose rules are right, with tries that went as meant."""

    case: Case
    office: Office
    now: Now
    generated: str
    """The text of the rules, as they were loaded."""
    well: Sequence[Probe]
    """Tries that went as meant."""

    @cached_property
    def referee(self) -> Referee:
        """Proves what the kernel holds."""
        return Referee(living(self.case, self.office, self.now), self.office, self.now)

    def chosen(self, enough: int) -> tuple[Wrong, ...]:
        """Errors until so many have an effect."""
        rules = standing(self.case.rules, self.office.outside_names, lent_to(self.office, self.now))
        return chosen(self.case.rules, Cubing(rules, self.now.moment, self._likely(), self.now.families), enough)

    def _likely(self) -> Iterator[Host]:
        """Addresses that are somebody's."""
        for family in self.now.families:
            aims = Aims(self.office, self.now, family)
            yield from (address for _, address in aims.stations)
            yield from (address for _, address in aims.fronts)

    @cached_property
    def ways(self) -> Mapping[Way, tuple[Probe, ...]]:
        """Tries by family, whence they come, and whither they go."""
        legs = standing(self.case.rules, (), lent_to(self.office, self.now)).legs
        where = {family: Passages(legs, family) for family in self.now.families}
        zones = {one.slug: one.zone for one in self.office.stations}
        toward = {host: where[host.version].lies_in(int(host)) for host in {one.address for one in self.well}}
        found: dict[Way, list[Probe]] = {}
        for one in self.well:
            found.setdefault((one.family, zones[one.source], toward[one.address]), []).append(one)
        return {way: tuple(many) for way, many in found.items()}

    @cached_property
    def sharp(self) -> frozenset[int]:
        """Numbers of tries at boundaries."""
        keys = {key_of(one) for one in boundary_probes(self.case, self.office, self.now)}
        return frozenset(one.id for one in self.well if key_of(one) in keys)

    def groups(self, wrong: Wrong) -> Iterator[Sequence[Probe]]:
        """Tries in the order in which they may notice an error: those at boundaries on its way, all on its way, all there are."""
        near = self.near(wrong.planted)
        sharp = [one for one in near if one.id in self.sharp]
        yield sharp
        if len(near) > len(sharp):
            yield near
        if wrong.effect is not None:
            yield self.well

    def near(self, planted: Planted) -> list[Probe]:
        """Tries on whose way the changed rules have a word; of translations, all from outside and to it."""
        if planted.rules.translations != self.case.rules.translations:
            return [one for way, many in self.ways.items() if OUTSIDE in way for one in many]
        before, after = (
            sorted(many, key=lambda rule: not rule.early) for many in (self.case.rules.rules, planted.rules.rules)
        )
        change = difference(before, after)
        gone = before[change.first : change.until]
        ends = [rule for many in (gone, change.instead) for rule in (*many[:1], *many[-1:])]
        return [one for way, many in self.ways.items() if any(concerns(rule, *way) for rule in ends) for one in many]


def concerns(rule: FilterRule, family: int, zone: str, toward: str) -> bool:
    """Whether a rule may have a word on what goes from one place to another, or on the answer to it."""
    if rule.state == "established":
        return True
    led = zone == OUTSIDE and toward == FIREWALL
    there = rule.early or led or rule.zone_out in {"", toward}
    return rule.family in {0, family} and rule.zone_in in {"", zone} and there


def sensed(one: Trial, judgements: Sequence[Judgement], tell: Tell, enough: int = ENOUGH) -> tuple[PlantedError, ...]:
    """Errors planted in an office that was tried just now. Raises OSError, RuleFileError."""
    living = one.living
    well = [judgement.probe for judgement in judgements if judgement.well]
    setting = Setting(living.case, living.office, one.now, living.rules().decode(), well)
    return sensitivity(setting, bench(one), tell, setting.chosen(enough))


def bench(one: Trial) -> Bench:
    """Tries are made once more at most: of each error some are to fail."""
    names = {probe.source: asked_name(one.living, probe.source) for probe in one.probes if probe.first}
    manner = Manner(names, (AT_ONCE,))

    def judge(probes: Sequence[Probe]) -> list[Judgement]:
        return judged(probes, tried(probes, one.rooms, one.ports, one.living.recorder, quiet, manner))

    return Bench(one.living.run, judge)


def sensitivity(setting: Setting, bench: Bench, tell: Tell, wrongs: Sequence[Wrong]) -> tuple[PlantedError, ...]:
    """Every planted error with who noticed it. `tell`: how many are done, of how many. Raises OSError, RuleFileError.

    One error is taken back in the step that plants the next, where that stands in another chain.
    """
    many = alternating(wrongs)
    found: list[PlantedError] = []
    held, last = bench.listing(), None
    for wrong in many:
        planted, back = wrong.planted, ""
        if last is not None:
            back = last.amendment(setting.generated, held, back=True)
        if last is not None and last.chain == planted.chain:
            bench.amend(back)
            held, back = bench.listing(), ""
        bench.amend(back + planted.amendment(setting.generated, held))
        held, last = bench.listing(), planted
        proof = not setting.referee.proves_again(held)
        packets = any(bench.notices(probes) for probes in setting.groups(wrong))
        found.append(PlantedError(planted.change, planted.rule, wrong.effect is not None, proof, packets))
        tell(len(found), len(many))
    if last is not None:
        bench.amend(last.amendment(setting.generated, held, back=True))
    if not setting.referee.proves_again(bench.listing()):
        raise LoadingError("after the planted errors the firewall's rules are not what they were")
    return tuple(found)


def alternating(wrongs: Sequence[Wrong]) -> list[Wrong]:
    """The same errors, no two in a row in one chain while there are others; the same order every time."""
    waiting: dict[str, list[Wrong]] = {}
    for one in reversed(wrongs):
        waiting.setdefault(one.planted.chain, []).append(one)
    found: list[Wrong] = []
    while any(waiting.values()):
        last = found[-1].planted.chain if found else ""
        chain = max(waiting, key=lambda name: (bool(waiting[name]), name != last, len(waiting[name]), name))
        found.append(waiting[chain].pop())
    return found
