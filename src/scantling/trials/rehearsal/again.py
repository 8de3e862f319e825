"""Takes another plan into a living office: loads what differs and can be loaded, proves the rules anew, and tries their boundaries."""

import time
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from scantling.figures import Flow
from scantling.outputs.files import Written
from scantling.plan.make import Plan
from scantling.trials.probe.aims import Aims, Now
from scantling.trials.probe.choosing import Try, tries
from scantling.trials.probe.intended import Intended
from scantling.trials.probe.judging import judged
from scantling.trials.probe.ports import listeners, ports_of
from scantling.trials.probe.probing import Judgement, Probe
from scantling.trials.probe.spots import Spot, spots
from scantling.trials.proof.proving import Case, case
from scantling.trials.rehearsal import services
from scantling.trials.rehearsal.agreeing import Known, Referee, living as running
from scantling.trials.rehearsal.boundaries import key_of
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.loading import NFT, LoadingError, listing, load
from scantling.trials.rehearsal.noticing import Watch
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.parties import filled
from scantling.trials.rehearsal.planted import TABLES, amended, chain_lines, handles
from scantling.trials.rehearsal.prober import Again as Once, Manner, tried
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.services.running import digests
from scantling.trials.rehearsal.session import RULES, SETS
from scantling.trials.rehearsal.trying import Trial, asked_name, moment, quiet

SETTINGS = "firewall/forwarding.conf"
ONCE = (Once(0, 64, 0.1),)
A_FEW = 4
"""Of the tries that a pass makes, one in so many is made here: the proof is of all packets, and they show that it is of this office."""
TOLD = 20
"""Lines at most of what went otherwise than meant."""


@dataclass(frozen=True)
class Bench:
    """An office into which other plans are taken."""

    watch: Watch
    year: int
    known: Known = field(default_factory=dict)
    """What rules ask that the proof has read already."""

    def referee(self) -> Referee:
        """Who proves what the kernel lists, as things are meant by now."""
        living, now = self.watch.living, self.now()
        return Referee(running(living.case, living.office, now), living.office, now, self.known)

    def now(self) -> Now:
        """How things stand by now."""
        living = self.watch.living
        return replace(self.watch.trial.now, held=living.held, lent=living.lent, moment=moment())


def taken(bench: Bench, plan: Plan, files: Mapping[str, Written]) -> Iterator[str]:
    """Load it, prove it, try it; what is to be told of that, line by line. Raises RehearsalError, OSError."""
    living = bench.watch.living
    one = case(plan)
    if one is None:
        raise RehearsalError("the brief as it is by now has no rules for a firewall; nothing was changed")
    office = designed(plan, everyone=living.everyone, year=bench.year)
    apart = [*differences(living.office, office)]
    if apart:
        raise RehearsalError(
            f"the office itself is another one by now ({'; '.join(apart)}): leave, and rehearse it anew"
        )
    before, now = living.digests(), digests(files)
    changed = sorted(path for path in {*before, *now} if before.get(path) != now.get(path))
    if not changed:
        yield "nothing differs: every generated file is the same"
        return
    yield f"changed: {', '.join(changed)}"
    flows = _changed(living.case, one)
    begun = time.perf_counter()
    yield from loaded(bench, plan, files, set(changed))
    living.plan, living.case, living.files, living.papers, living.office = plan, one, files, None, office
    yield from proved(bench, flows)
    yield f"loaded, proved and tried in {time.perf_counter() - begun:.2f} s"


def differences(before: Office, now: Office) -> Iterator[str]:
    """In what an office can't be followed while it lives: stations, zones and lines."""
    old, new = ({one.slug: _bare(one) for one in office.stations} for office in (before, now))
    if gone := sorted(old.keys() - new.keys()):
        yield f"gone: {', '.join(gone)}"
    if come := sorted(new.keys() - old.keys()):
        yield f"new: {', '.join(come)}"
    if other := sorted(slug for slug in old.keys() & new.keys() if old[slug] != new[slug]):
        yield f"other addresses: {', '.join(other)}"
    zones, ways = before.segments != now.segments, before.ways != now.ways
    if zones or ways or before.legs != now.legs:
        yield "zones or lines differ"


def _bare(station: object) -> object:
    """A station without what files alone tell of it."""
    return replace(station, names=(), kept=(), label="")  # type: ignore[type-var]


def _changed(before: Case, now: Case) -> tuple[Flow, ...]:
    """Intents that are new or others, and those that are gone: tries are chosen by them."""
    old, new = ({flow.slug: flow for flow in one.flows} for one in (before, now))
    slugs = dict.fromkeys((*new, *old))
    return tuple(new.get(slug) or old[slug] for slug in slugs if _plain(old.get(slug)) != _plain(new.get(slug)))


def _plain(flow: Flow | None) -> object:
    return flow and (flow.source, flow.target, flow.carried, flow.verdict, flow.window)


# ------------------------------------------------------------------------------------------------------------ loading


def loaded(bench: Bench, plan: Plan, files: Mapping[str, Written], changed: set[str]) -> Iterator[str]:
    """Load what differs into what runs. Raises RehearsalError, LoadingError."""
    living = bench.watch.living
    if RULES in changed:
        yield ruled(bench, files[RULES].content.decode())
    firewall = living.trees["firewall"]
    for path in changed & {RULES, SETTINGS, SETS} & files.keys():
        firewall.put(f"/etc/office-firewall/{path.rpartition('/')[2]}", files[path].content)
    if SETTINGS in changed:
        living.run(["sysctl", "-q", "-p", "/etc/office-firewall/forwarding.conf"])
    jobs = services.jobs(living.office, plan, files.values())
    for place, one in enumerate(living.running):
        job = next((job for job in jobs if (job.program, job.machine) == (one.job.program, one.job.machine)), None)
        if job is not None and changed & {*job.paths, *one.job.paths}:
            living.running[place] = services.reconfigured(one, job)
            yield f"{job.program} on {job.machine} has read its files anew"
    services.awaited(living.running)


def ruled(bench: Bench, text: str) -> str:
    """The firewall has other rules, in one step; only the lines that differ where nothing else does, so that sets stay filled."""
    living = bench.watch.living
    before = living.rules().decode()
    if _around(before) != _around(text):
        load(living.run, text.encode())
        bench.known.clear()
        if SETS in living.files:
            filled(living)
        return "all rules loaded anew, and the sets of parties filled"
    held = listing(living.run)
    scripts = [
        amended(chain_lines(before, chain), chain_lines(text, chain), f"{table} {chain}", handles(held, chain))
        for chain, table in TABLES.items()
    ]
    script = "".join(one for one in scripts if one.strip())
    told = living.run(NFT, script.encode())
    if told.returncode:
        raise LoadingError(f"the rules can't be loaded: {told.stderr.decode('utf-8', 'replace').strip()}")
    count = sum(bool(line) for line in script.splitlines())
    return f"{count} rule{'s' if count != 1 else ''} put in or taken out, in one step"


def _around(text: str) -> str:
    """A file of rules without the lines of its chains."""
    for chain in TABLES:
        start, mark, rest = text.partition(f"\n\tchain {chain} {{\n")
        _, end, after = rest.partition("\n\t}")
        text = start + mark + end + after
    return text


# ------------------------------------------------------------------------------------------------- proving and trying


def proved(bench: Bench, flows: Sequence[Flow]) -> Iterator[str]:
    """The kernel's own listing against what is meant by now; real packets at the boundaries of what has changed, and some all over."""
    living, trial, now = bench.watch.living, bench.watch.trial, bench.now()
    referee, listed = bench.referee(), listing(living.run)
    many = f"{sum('rule' in one for one in listed)} rules as the kernel lists them"
    apart = () if referee.proves_again(listed) else referee.differences(referee.side(listed))
    yield f"proved: {many}: every packet fares as is meant" if not apart else f"NOT proved: {many}"
    yield from (f"  {one.says} [{one.packet}]" for one in apart[:TOLD])
    probes = [*boundaries(bench.watch, now, flows)]
    judgements = judge(bench.watch, probes)
    wrong = [one for one in judgements if not one.well]
    yield f"tried: {len(probes)} packets, {f'{len(wrong)} NOT as meant' if wrong else 'all as meant'}"
    if wrong:
        told = Trial(living, now, probes, ports_of(probes), trial.responders).told(judgements).mismatches
        yield from (f"  {one.says}" for one in told[:TOLD])


def boundaries(watch: Watch, now: Now, flows: Sequence[Flow]) -> Iterator[Probe]:
    """Tries of changed intents at their edges and just outside, from everywhere, and a few of all others; with what is meant by now."""
    living, seen = watch.living, set[object]()
    number = 0
    zones = {one.slug: one.zone for one in living.office.stations}
    for family in now.families:
        aims = Aims(living.office, now, family)
        meant = Intended(living.case, aims)
        about = {(spot, flow.target.zone) for flow in flows for spot in spots(flow.carried, family, edges=True)}
        near = (one for one in tries(aims, flows) if _is_about(one, about, zones)) if about else ()
        for one in (*near, *(_again(one, zones) for one in watch.probes[::A_FEW] if one.family == family)):
            probe = meant.probe(number, one)
            if key_of(probe) not in seen:
                seen.add(key_of(probe))
                number += 1
                yield probe


def _is_about(one: Try, about: Collection[tuple[Spot, str]], zones: Mapping[str, str]) -> bool:
    """Whether a try is at an edge of what has changed, toward where that leads."""
    return ((one.kind, one.port), zones.get(one.target, "")) in about


def _again(probe: Probe, zones: Mapping[str, str]) -> Try:
    return Try(
        probe.source, zones[probe.source], probe.source_address, probe.kind, probe.target, probe.address, probe.port
    )


def judge(watch: Watch, probes: Sequence[Probe]) -> list[Judgement]:
    """Try them, with somebody to answer wherever something is tried. Raises OSError."""
    living, trial = watch.living, watch.trial
    trial.responders.listen(listeners(probes, living.real()))
    names = {one.source: asked_name(living, one.source) for one in probes if one.first}
    seen = tried(
        probes, trial.rooms, ports_of(probes), living.recorder, quiet, Manner(names, ONCE, trial.responders.through)
    )
    return judged(probes, seen)
