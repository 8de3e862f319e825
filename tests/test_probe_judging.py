"""The judge of probes, line by line of its table; and what is told of those that went otherwise than meant."""

from dataclasses import replace
from ipaddress import IPv4Address

import pytest
from hypothesis import given
from hypothesis import strategies as st
from offices import example
from probe_samples import Stood

from scantling.figures import FIREWALL
from scantling.trials.probe.intended import header
from scantling.trials.probe.judging import judge, judged
from scantling.trials.probe.probing import Expected, Heard, Judgement, Kind, Probe, Seen, Verdict
from scantling.trials.probe.telling import Teller, cells, matrix, mismatches
from scantling.trials.proof.packet import headers, office, read_words


ALLOWED = Probe(
    7,
    "laptops-01",
    IPv4Address("10.0.30.9"),
    Kind.TCP,
    "files",
    IPv4Address("10.0.20.5"),
    445,
    Expected.ALLOWED,
    "files",
)
KEPT_OUT = replace(ALLOWED, expected=Expected.KEPT_OUT, answers="")
UNHEARD = replace(ALLOWED, answers="")
RIGHT = Seen(7, Heard.ANSWER, "files", 445, "10.0.30.9", entered=True, left=True)
REFUSED, SILENT = Seen(7, Heard.REFUSED), Seen(7, Heard.SILENCE)
REFUSED_IN, REFUSED_OUT = Seen(7, Heard.REFUSED, entered=True), Seen(7, Heard.REFUSED, entered=True, left=True)
SILENT_IN, SILENT_OUT = Seen(7, Heard.SILENCE, entered=True), Seen(7, Heard.SILENCE, entered=True, left=True)
TABLE = [
    (ALLOWED, RIGHT, Verdict.AS_MEANT),
    (ALLOWED, replace(RIGHT, answerer="monitor"), Verdict.WRONG_HOST),
    (ALLOWED, replace(RIGHT, answered_at=446), Verdict.WRONG_HOST),
    (ALLOWED, replace(RIGHT, seen_as="203.0.113.45"), Verdict.WRONG_SOURCE),
    (ALLOWED, replace(RIGHT, seen_as=""), Verdict.AS_MEANT),
    (ALLOWED, replace(RIGHT, entered=False, left=False), Verdict.NEVER_CAME),
    (ALLOWED, REFUSED_IN, Verdict.REJECTED),
    (ALLOWED, REFUSED_OUT, Verdict.CLOSED),
    (ALLOWED, SILENT_IN, Verdict.DROPPED),
    (ALLOWED, SILENT_OUT, Verdict.DEAD),
    (ALLOWED, SILENT, Verdict.NEVER_CAME),
    (ALLOWED, REFUSED, Verdict.NEVER_CAME),
    (UNHEARD, SILENT_OUT, Verdict.AS_MEANT),
    (UNHEARD, REFUSED_OUT, Verdict.AS_MEANT),
    (UNHEARD, SILENT_IN, Verdict.DROPPED),
    (UNHEARD, REFUSED_IN, Verdict.REJECTED),
    (KEPT_OUT, RIGHT, Verdict.LET_THROUGH),
    (KEPT_OUT, replace(RIGHT, left=False), Verdict.LET_THROUGH),
    (KEPT_OUT, SILENT_IN, Verdict.AS_MEANT),
    (KEPT_OUT, REFUSED_IN, Verdict.AS_MEANT),
    (KEPT_OUT, SILENT_OUT, Verdict.LET_THROUGH),
    (KEPT_OUT, REFUSED_OUT, Verdict.LET_THROUGH),
    (KEPT_OUT, SILENT, Verdict.NEVER_CAME),
    (KEPT_OUT, replace(RIGHT, entered=False, left=False), Verdict.NEVER_CAME),
]


@pytest.mark.parametrize(("probe", "seen", "verdict"), TABLE)
def test_each_line_of_the_table_is_judged_as_it_stands(probe: Probe, seen: Seen, verdict: Verdict) -> None:
    assert judge(probe, seen) == Judgement(probe, seen, verdict)


def test_what_is_led_elsewhere_is_known_by_where_it_arrives() -> None:
    led = replace(ALLOWED, address=IPv4Address("203.0.113.45"), port=8443, arrives=(IPv4Address("10.0.20.5"), 443))
    assert judge(led, replace(RIGHT, answered_at=443)).well
    assert judge(led, replace(RIGHT, answered_at=8443)).verdict is Verdict.WRONG_HOST
    masked = replace(ALLOWED, seen_as=IPv4Address("203.0.113.45"))
    assert judge(masked, replace(RIGHT, seen_as="203.0.113.45")).well
    assert judge(masked, RIGHT).verdict is Verdict.WRONG_SOURCE


SEEN = st.builds(
    Seen, st.just(7), st.sampled_from(Heard), st.sampled_from(["", "files", "monitor"]), st.sampled_from([0, 445]),
    st.sampled_from(["", "10.0.30.9"]), st.booleans(), st.booleans(),
)  # fmt: skip


@given(st.sampled_from([ALLOWED, UNHEARD, KEPT_OUT]), SEEN)
def test_nothing_is_well_that_did_not_come_in_or_fared_otherwise(probe: Probe, seen: Seen) -> None:
    judgement = judge(probe, seen)
    if judgement.well and probe.expected is Expected.KEPT_OUT:
        assert (seen.entered, seen.left) == (True, False)
    elif judgement.well:
        assert seen.entered
        assert seen.left or seen.heard is Heard.ANSWER


def test_a_probe_of_which_nothing_was_seen_is_no_result() -> None:
    with pytest.raises(KeyError):
        judged([ALLOWED], [])


# --------------------------------------------------------------------------------------------------------- the sentences


def as_meant(probe: Probe) -> Seen:
    """What is seen of a probe when all goes well."""
    if probe.expected is Expected.KEPT_OUT:
        return Seen(probe.id, Heard.SILENCE, entered=True)
    port = probe.arrives[1] if probe.arrives else probe.port
    seen = Seen(probe.id, Heard.ANSWER, probe.answers, port, str(probe.seen_as or probe.source_address), True, True)  # noqa: FBT003
    return seen if probe.answers else Seen(probe.id, Heard.SILENCE, entered=True, left=True)


def teller(stood: Stood) -> Teller:
    return Teller(stood.case, stood.office, stood.now)


def probe_of(stood: Stood, source: str, target: str, kind: Kind, port: int) -> Probe:
    return next(
        one for one in stood.probes
        if (one.source, one.target, one.kind, one.port, one.family) == (source, target, kind, port, 4)
    )  # fmt: skip


def test_when_all_goes_as_meant_there_is_nothing_to_tell() -> None:
    stood = Stood(example("millrace"))
    assert mismatches(judged(stood.probes, map(as_meant, stood.probes)), teller(stood)) == ()


def test_a_leak_names_device_target_port_rule_and_packet() -> None:
    stood = Stood(example("millrace"))
    leak = probe_of(stood, "visitors-0001", "files", Kind.TCP, 445)
    seen = Seen(leak.id, Heard.ANSWER, "files", 445, str(leak.source_address), entered=True, left=True)
    (told,) = mismatches([judge(leak, seen)], teller(stood), {leak.id: "oops"})
    assert told.says == (
        f"visitors-0001 ({leak.source_address}) reached machine files (10.44.20.25) by tcp 445 in IPv4,"
        ' and no intent asks for it: let through by rule "oops".'
    )
    assert (told.cause, told.rule, told.many) == ("oops", "oops", 1)
    assert told.packet == f"{leak.source_address} tcp 10.44.20.25:445 at tue 12:00 v4"


def test_what_is_dropped_names_the_line_of_the_brief() -> None:
    stood = Stood(example("millrace"))
    lost = probe_of(stood, "printers-01", "files", Kind.TCP, 445)
    (told,) = mismatches([judge(lost, Seen(lost.id, Heard.SILENCE, entered=True))], teller(stood))
    line = stood.case.names.line(lost.reason)
    assert line
    assert told.line == line
    assert line in told.says
    assert "printers-01 (10.44.30.21) did not reach machine files (10.44.20.25) by tcp 445 in IPv4" in told.says


def test_many_of_one_cause_are_told_once_with_their_number() -> None:
    stood = Stood(example("millrace"))
    leaks = [
        one
        for one in stood.probes
        if one.source == "visitors-0001" and one.target == "files" and one.kind is Kind.TCP
    ]
    seen = [Seen(one.id, Heard.SILENCE, entered=True, left=True) for one in leaks]
    (told,) = mismatches(judged(leaks, seen), teller(stood), {one.id: "oops" for one in leaks})
    assert told.many == len(leaks) > 1
    assert told.says.endswith(f"; and so did {len(leaks) - 1} more tries.")


def test_a_zone_that_is_cut_off_is_one_cause_and_a_lone_station_is_its_own() -> None:
    stood = Stood(example("millrace"))
    for stations, cause in (
        (["visitors-0001", "visitors-0002", "spare-guests"], "guests"),
        (["visitors-0001"], "visitors-0001"),
    ):
        lost = [one for one in stood.probes if one.source in stations]
        (told,) = mismatches(judged(lost, [Seen(one.id, Heard.SILENCE) for one in lost]), teller(stood))
        assert told.cause == cause
        assert "never came to the firewall" in told.says


def test_what_goes_around_the_firewall_is_told_as_such() -> None:
    stood = Stood(example("millrace"))
    one = probe_of(stood, "visitors-0001", "files", Kind.TCP, 445)
    seen = Seen(one.id, Heard.ANSWER, "files", 445, str(one.source_address))
    (told,) = mismatches([judge(one, seen)], teller(stood))
    assert told.says.endswith("and it never came to the firewall, yet machine files answers: it went around.")


def test_a_machine_that_is_dead_is_the_cause_of_all_that_it_does_not_answer() -> None:
    stood = Stood(example("millrace"))
    seen = [
        Seen(one.id, Heard.SILENCE, entered=True, left=True) if one.answers == "files" else as_meant(one)
        for one in stood.probes
    ]
    told = mismatches(judged(stood.probes, seen), teller(stood))
    assert [(one.cause, one.many) for one in told] == [("files", sum(one.answers == "files" for one in stood.probes))]
    assert "but nobody answers there" in told[0].says


def test_every_packet_that_is_told_is_read_again_as_the_same_try() -> None:
    stood = Stood(example("brackwater"))
    tell = teller(stood)
    places = office(stood.plan, stood.case.rules.legs)
    grounds = [court.ground for court in stood.case.courts]
    sample = [one for one in stood.probes if one.kind in {Kind.TCP, Kind.UDP, Kind.ECHO, Kind.STRAY}][::37]
    sample = [one for one in sample if one.source != FIREWALL]  # known by its word, whichever its address
    for probe in [one for one in sample if one.target != "party-time-upstream"]:
        words = read_words(tell.packet(probe))
        (_, found) = next(iter(headers(words, places, grounds, ())))
        meant_by = tell.meant[probe.family]
        wanted = header(meant_by, probe)
        assert (found.state, found.carried, found.source) == (wanted.state, wanted.carried, wanted.source), probe
        # the firewall is known by one word, and a party of networks and names by another
        by_word = probe.address in meant_by.aims.own or probe.address in meant_by.moving
        assert found.target == wanted.target or by_word, probe


def test_counts_add_up() -> None:
    stood = Stood(example("fold"))
    judgements = judged(stood.probes, map(as_meant, stood.probes))
    wrong = judge(kept_out_of(stood), Seen(kept_out_of(stood).id, Heard.SILENCE, entered=True, left=True))
    judgements[wrong.probe.id] = wrong
    for many in (cells(judgements, teller(stood)), matrix(judgements, teller(stood))):
        assert sum(one.tried for one in many) == len(judgements)
        assert sum(one.passed for one in many) == sum(one.passed for one in judgements)
        assert all(one.tried == one.passed + one.kept_out for one in many)
        assert sum(one.wrong for one in many) == 1
    found = {(one.source, one.target, one.carried): one for one in cells(judgements, teller(stood))}
    assert found["staff", "servers", "tcp 445"].passed > 0


def kept_out_of(stood: Stood) -> Probe:
    """A try that is kept out."""
    return next(one for one in stood.probes if one.expected is Expected.KEPT_OUT)
