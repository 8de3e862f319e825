"""Flows: a few of all tries made again; what came of them gathered by station, zone and line; of what is kept out a second look."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence

from scantling.figures import FIREWALL, OUTSIDE
from scantling.trials.probe.judging import judged
from scantling.trials.probe.probing import Expected, Judgement, Verdict
from scantling.trials.rehearsal.noticing.watch import Watch
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.prober import Again, Manner, tried
from scantling.trials.rehearsal.recorder import Recorded, Recorder
from scantling.trials.rehearsal.signs import Gathering, What
from scantling.trials.rehearsal.trying import asked_name, quiet

AT_ONCE = 64
"""Tries that were not answered and are made once more: so many at one time."""
KEPT_OUT = frozenset({Verdict.DROPPED, Verdict.REJECTED})
UNANSWERED = frozenset({Verdict.DEAD, Verdict.CLOSED})


class Telling:
    """The recorder, and somebody who is told when it has forgotten everything."""

    def __init__(self, recorder: Recorder, cleared: Callable[[], None]) -> None:
        self.recorder, self.cleared = recorder, cleared

    def clear(self) -> None:
        """Forget everything, and tell."""
        self.recorder.clear()
        self.cleared()

    def read(self) -> Recorded:
        """What was noted since."""
        return self.recorder.read()


def flow_signs(watch: Watch, begun: Callable[[], None]) -> tuple[Gathering, list[Judgement]]:
    """Make the tries and gather what they show; and those that were kept out though they are meant to pass. Raises OSError.

    `begun` is told when the firewall has forgotten all connections.
    """
    living, trial = watch.living, watch.trial
    again = (Again(0, AT_ONCE, watch.patience / 2),)
    manner = Manner({one.source: asked_name(living, one.source) for one in watch.probes if one.first}, again)
    recorder = Telling(living.recorder, begun)
    judgements = judged(watch.probes, tried(watch.probes, trial.rooms, trial.ports, recorder, quiet, manner))
    return gathered(judgements, living.office), [one for one in judgements if one.verdict in KEPT_OUT]


def gathered(judgements: Sequence[Judgement], office: Office) -> Gathering:
    """What judgements show, without a look at anything else."""
    found = Gathering()
    zones = {one.slug: one.zone for one in office.stations}
    line = next((way.slug for way in office.ways if not way.standby), "")
    _sources(judgements, zones, found)
    _targets(judgements, zones, found)
    _outward(judgements, (zones, line), found)
    _kept_out(judgements, zones, found)
    for target, many in _by_target(one for one in judgements if one.probe.expected is Expected.KEPT_OUT).items():
        wrong = [one for one in many if one.verdict is Verdict.LET_THROUGH]
        found.look(What.LET_THROUGH, target, seen=bool(wrong), detail=_words(wrong))
    return found


def _by_target(many: Iterable[Judgement]) -> dict[str, list[Judgement]]:
    found: dict[str, list[Judgement]] = defaultdict(list)
    for one in many:
        found[one.probe.target or OUTSIDE].append(one)
    return found


def _words(many: Sequence[Judgement]) -> str:
    """How many, and the first of them."""
    if not many:
        return ""
    probe = many[0].probe
    more = f", and {len(many) - 1} more" if len(many) > 1 else ""
    return f"{probe.source} {probe.kind} {probe.port} on {probe.address}{more}"


def _sources(judgements: Sequence[Judgement], zones: Mapping[str, str], found: Gathering) -> None:
    """Stations and zones of which nothing came, in one of the families."""
    came: dict[tuple[str, int], list[bool]] = defaultdict(list)
    for one in judgements:
        if zones[one.probe.source] not in {FIREWALL, OUTSIDE}:
            came[one.probe.source, one.probe.family].append(one.verdict is not Verdict.NEVER_CAME)
    zonal: dict[tuple[str, int], list[bool]] = defaultdict(list)
    lost: dict[str, bool] = {}
    for (source, family), many in came.items():
        lost[source] = lost.get(source, False) or not any(many)
        zonal[zones[source], family] += many
    for source, yes in lost.items():
        found.look(What.LOST, source, seen=yes)
    for zone in {zone for zone, _ in zonal}:
        found.look(
            What.ZONE_LOST, zone, seen=any(not any(many) for (other, _), many in zonal.items() if other == zone)
        )


def _targets(judgements: Sequence[Judgement], zones: Mapping[str, str], found: Gathering) -> None:
    """Stations of the office that nobody hears, that refuse, or in whose stead another answers."""
    answering = (one for one in judgements if one.probe.expected is Expected.ALLOWED and one.probe.answers)
    for target, many in _by_target(answering).items():
        if zones.get(target) in {None, OUTSIDE}:
            continue
        passed = [one for one in many if one.seen.left]
        dead = [one for one in passed if one.verdict is Verdict.DEAD]
        closed = [one for one in passed if one.verdict is Verdict.CLOSED]
        near = [one for one in passed if zones[one.probe.source] == FIREWALL]
        beyond = [one for one in passed if one not in near]
        found.look(What.DEAD, target, seen=bool(dead) and len(dead) == len(passed), detail=_words(dead))
        afar = bool(beyond) and len(dead) < len(passed) and all(one in dead for one in beyond)
        found.look(What.AFAR, target, seen=afar, detail=_words(dead))
        found.look(What.CLOSED, target, seen=bool(closed), detail=_words(closed))
        other = [one for one in many if one.verdict is Verdict.WRONG_HOST and one.seen.entered]
        found.look(What.OTHER, target, seen=bool(other), detail=_words(other))


def _outward(judgements: Sequence[Judgement], places: tuple[Mapping[str, str], str], found: Gathering) -> None:
    """What goes out by the line: answered, and under the line's address."""
    zones, line = places
    outward = [
        one for one in judgements
        if zones.get(one.probe.target) == OUTSIDE and one.probe.expected is Expected.ALLOWED and one.probe.answers
    ]  # fmt: skip
    passed = [one for one in outward if one.seen.left]
    dead = [one for one in passed if one.verdict in UNANSWERED]
    if outward and line:
        found.look(What.LINE_DEAD, line, seen=bool(dead) and len(dead) == len(passed), detail=_words(dead))
        bare = [one for one in passed if one.verdict is Verdict.WRONG_SOURCE]
        found.look(What.UNMASKED, line, seen=bool(bare), detail=_words(bare))


def _kept_out(judgements: Sequence[Judgement], zones: Mapping[str, str], found: Gathering) -> None:
    """What the firewall swallows though it is meant to pass."""
    allowed = [one for one in judgements if one.probe.expected is Expected.ALLOWED]
    through = [one for one in allowed if FIREWALL not in {zones[one.probe.source], zones.get(one.probe.target)}]
    if through:
        nothing = all(one.verdict in {*KEPT_OUT, Verdict.NEVER_CAME} for one in through)
        found.look(What.NOTHING_PASSED, FIREWALL, seen=nothing and any(one.verdict in KEPT_OUT for one in through))
    for target, many in _by_target(one for one in allowed if one.probe.arrives).items():
        kept = [one for one in many if one.verdict in KEPT_OUT]
        found.look(What.UNPUBLISHED, target, seen=bool(kept) and len(kept) == len(many), detail=_words(kept))
    for target, many in _by_target(one for one in allowed if not one.probe.arrives).items():
        kept = [one for one in many if one.verdict in KEPT_OUT]
        found.look(What.SWALLOWED, target, seen=bool(kept), detail=_words(kept))
