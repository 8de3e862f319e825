"""Questions for names and the time that went otherwise, grouped by what stands in their way, each with the brief's line."""

from collections.abc import Iterator, Mapping, Sequence

from scantling.figures import Host
from scantling.trials.probe.aims import Aims, Now
from scantling.trials.probe.choosing import Try
from scantling.trials.probe.intended import CLOCK, DOMAIN, Intended
from scantling.trials.probe.probing import Kind
from scantling.trials.rehearsal.questions import Question
from scantling.trials.rehearsal.results import Answer, Mismatch
from scantling.trials.rehearsal.session import Living

Group = tuple[str, Host, int, str]
"""Zone that asks, server, port, and the intent that keeps it out; else how the answer was wrong."""


def unanswered(living: Living, now: Now, asked: Sequence[Question], answers: Sequence[Answer]) -> Iterator[Mismatch]:
    """One for each zone, server and reason."""
    meant = {family: Intended(living.case, Aims(living.office, now, family)) for family in now.families}
    zones = {one.slug: one.zone for one in living.office.stations}
    groups: dict[Group, list[tuple[Question, Answer]]] = {}
    for question, answer in zip(asked, answers, strict=True):
        if answer.wrong:
            groups.setdefault(_group(question, answer, zones, meant), []).append((question, answer))
    for (zone, server, port, why), many in groups.items():
        yield _told(living, (zone, server, port, why), many)


def _group(question: Question, answer: Answer, zones: Mapping[str, str], meant: Mapping[int, Intended]) -> Group:
    zone, port = zones[question.station], DOMAIN if question.name else CLOCK
    family = question.server.version
    if family in meant and meant[family].aims.at.get(question.server) != question.station:
        one = Try(question.station, zone, question.source, Kind.UDP, "", question.server, port)
        if not _same(meant[family], zone, question.server) and not (said := meant[family].said(one)).passes:
            return zone, question.server, port, f"kept out {said.by}"
    return zone, question.server, port, answer.wrong


def _same(meant: Intended, zone: str, server: Host) -> bool:
    """Whether both are in one zone, so that the firewall is never asked."""
    return any(
        server in net for leg in meant.aims.legs(zone) for net in leg.networks if net.version == server.version
    ) and not any(server in leg.own for leg in meant.aims.legs(zone))


def _told(living: Living, group: Group, many: Sequence[tuple[Question, Answer]]) -> Mismatch:
    zone, server, port, why = group
    names, question = living.case.names, many[0][0]
    what = "names" if port == DOMAIN else "the time"
    stations = list(dict.fromkeys(one.station for one, _ in many))
    who = stations[0] + (f" and {len(stations) - 1} more in {names.zone(zone)}" if len(stations) > 1 else "")
    by = why.removeprefix("kept out ")
    if why.startswith("kept out "):
        known = by in living.case.names.flows
        reason = f"intent {names.intent(by)} forbids it" if known else "no intent lets them through"
        return Mismatch(
            f"{who}: told to ask {server} for {what}, and {reason}.", f"{what} from {server}", names.line(by) if known else "",
            many=len(many),
        )  # fmt: skip
    return Mismatch(f"{who} asked {question.words}: {why}.", f"{what} from {server}", many=len(many))
