"""Names and the time: every resolver, the name server and every clock asked for what they must know, and for what no cache can."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count

from scantling.figures import FIREWALL, OUTSIDE, Host
from scantling.outputs.files.name_server import listens
from scantling.trials.rehearsal.building import SIXTH
from scantling.trials.rehearsal.inquiring import Patience, answered
from scantling.trials.rehearsal.noticing.watch import Watch
from scantling.trials.rehearsal.office import Segment, Station
from scantling.trials.rehearsal.questions import Question, asked_by, source_of
from scantling.trials.rehearsal.results import Answer
from scantling.trials.rehearsal.signs import Gathering, Seen, What

ITSELF = "localhost"
"""What every resolver knows by itself (RFC 6761 section 6.3)."""
TOLD = frozenset({"127.0.0.1"})
FRESH = "never-asked"
TRIES = 2
_number = count()


@dataclass(frozen=True, slots=True)
class Asked:
    """A question, and what its failing would be a sign of."""

    question: Question
    silent: What
    wrong: What
    holder: str


def name_signs(watch: Watch) -> Seen:
    """A holder shows a sign when nobody who asks it is answered, or when anybody is answered wrongly."""
    found = Gathering()
    asked = [*_all(watch)]
    answers = answered(
        [one.question for one in asked], watch.living.built.room, Patience(TRIES, watch.patience / TRIES)
    )
    said: dict[tuple[str, What, What], list[Answer]] = {}
    for one, answer in zip(asked, answers, strict=True):
        said.setdefault((one.holder, one.silent, one.wrong), []).append(answer)
    for (holder, silent, wrong), many in said.items():
        none = [answer for answer in many if _is_none(answer)]
        bad = [answer for answer in many if answer.wrong and not _is_none(answer)]
        found.look(
            silent, holder, seen=len(none) == len(many), detail=none[0].wrong if len(none) == len(many) else ""
        )
        if wrong is not silent:
            found.look(wrong, holder, seen=bool(bad), detail=f"{bad[0].asked}: {bad[0].wrong}" if bad else "")
    return found.seen()


def _is_none(answer: Answer) -> bool:
    """Whether nothing came, or only that there is no answer."""
    return bool(answer.wrong) and (answer.got in {"", "refused", "SERVFAIL", "REFUSED"})


def _all(watch: Watch) -> Iterator[Asked]:
    fresh = f"{FRESH}-{next(_number)}"
    for segment in watch.living.office.segments:
        for station in watch.stations[segment.slug][:1]:
            yield from _of_zone(watch, segment, station, fresh)
    yield from _zones(watch)
    yield from _outside_clocks(watch)


def _of_zone(watch: Watch, segment: Segment, station: Station, fresh: str) -> Iterator[Asked]:
    """What one station of a zone asks of all whom it is told of."""
    held = watch.living.held.get(station.slug, ())
    resolvers, times = asked_by(watch.living.plan, station, segment)
    for server in resolvers:
        source, holder = source_of(held, server), _holder(watch, "lookups", server)
        if source is not None and holder:
            whole = server.version == watch.living.families[0]
            for name, told, silent, wrong in _names(watch, segment, fresh, whole=whole):
                yield Asked(Question(station.slug, source, server, name, "A", told), silent, wrong, holder)
    for server in times:
        source, holder = source_of(held, server), _holder(watch, "time", server)
        if source is not None and holder:
            yield Asked(Question(station.slug, source, server), What.NO_TIME, What.WRONG_TIME, holder)


def _names(
    watch: Watch, segment: Segment, fresh: str, *, whole: bool
) -> Iterator[tuple[str, frozenset[str], What, What]]:
    """What itself knows, what the office knows where that is told (all names, or one), and what only somebody outside can say."""
    yield ITSELF, TOLD, What.NO_LOOKUPS, What.NO_LOOKUPS
    if segment.domain and watch.names:
        for name, host in [*watch.names.items()][: None if whole else 1]:
            yield name, frozenset({str(host)}), What.NO_INSIDE, What.WRONG_INSIDE
        yield f"{fresh}.{segment.domain}", frozenset(), What.NO_INSIDE, What.WRONG_INSIDE
    yield f"{fresh}.{_beyond(watch)}", frozenset(), What.NO_OUTSIDE, What.NO_OUTSIDE


def _beyond(watch: Watch) -> str:
    """A domain outside of which the office says nothing itself."""
    inside = [one.domain for one in watch.living.office.segments if one.domain]
    outside = (name.partition(".")[2] for name, _ in watch.living.office.outside_names)
    return next((one for one in outside if not any(one.endswith(domain) for domain in inside)), "example")


def _holder(watch: Watch, does: str, server: Host) -> str:
    return next((one.holder for one in watch.serving(does) if server in one.addresses), "")


def _zones(watch: Watch) -> Iterator[Asked]:
    """The name server itself, asked on its own machine: no cable and no resolver lies between."""
    for one in watch.serving("names"):
        hosts, port = listens(one)
        for host in hosts:
            for name, told in watch.names.items():
                question = Question(one.holder, host, host, name, "A", frozenset({str(told)}), port)
                yield Asked(question, What.NO_ZONES, What.WRONG_ZONES, one.holder)


def _outside_clocks(watch: Watch) -> Iterator[Asked]:
    """Clocks outside, asked by those who go by them."""
    clocks = dict(watch.living.office.outside_names)
    for one in watch.serving("time"):
        sources = _sources(watch, one.holder)
        for server in (host for name in one.upstream for host in clocks.get(name, ())):
            source = next((host for host in sources if host.version == server.version), None)
            if source is not None and server.version != SIXTH:
                yield Asked(
                    Question(one.holder, source, server), What.NO_TIME_OUTSIDE, What.WRONG_TIME_OUTSIDE, OUTSIDE
                )


def _sources(watch: Watch, holder: str) -> Sequence[Host]:
    """Addresses that a holder goes out by."""
    if holder != FIREWALL:
        return watch.living.held.get(holder, ())
    lent: Mapping[str, Host] = watch.living.lent
    ways = watch.living.office.ways
    return [
        host
        for way in ways
        if not way.standby
        for host in (*way.own, *([lent[way.slug]] if way.slug in lent else []))
    ]
