"""Planted errors in offices that live: proof and packets both notice each that has an effect."""

from collections.abc import Mapping
from functools import partial

import dns.rdata
import dns.rdataclass
import dns.rdatatype
import pytest

from conftest import Scale
from ordinary_user import as_ordinary, quiet
from planted_offices import running
from scantling.figures import FIREWALL
from scantling.outputs.files import Written, written
from scantling.trials.rehearsal.addressing import addressed
from scantling.trials.rehearsal.parties import filled
from scantling.trials.rehearsal.results import PlantedError
from scantling.trials.rehearsal.sandbox import Inside, run
from scantling.trials.rehearsal.sensitivity import Setting, bench, sensed, sensitivity
from scantling.trials.rehearsal.session import Living, stood_up
from scantling.trials.rehearsal.trying import Trial, trial

OFFICES = ("millrace", "fold", "brackwater")


@pytest.mark.slow
def test_proof_and_packets_notice_every_error_planted_in_a_living_office(scale: Scale) -> None:
    """As an ordinary user; every error with an effect is noticed by both, and none by packets that has none.

    All that a rehearsal plants are a promise's (tests/promises/test_the_rehearsal.py).
    """
    work = partial(planted_alive, "fold", files_of("fold"), scale(short=25, full=60))
    found = as_ordinary(lambda: run(work, quiet, "one-id"))
    telling = [one for one in found if one.effect]
    assert len(telling) == scale(short=25, full=60)
    assert [one for one in telling if not one.proof] == []
    assert [one for one in telling if not one.packets] == []
    assert [one for one in found if not one.effect and one.packets] == []
    assert any(not one.effect for one in found)


def files_of(name: str) -> dict[str, Written]:
    """An example's files. An ordinary user may not be able to read Python's own: what comes lazily is fetched now."""
    for kind in ("A", "AAAA", "PTR", "SOA", "NS"):
        dns.rdata.get_rdata_class(dns.rdataclass.IN, dns.rdatatype.from_text(kind))  # type: ignore[no-untyped-call]
    return {file.path: file for file in written(running(name).case.plan)}


def planted_alive(name: str, files: Mapping[str, Written], enough: int, inside: Inside) -> tuple[PlantedError, ...]:
    """An example stood up and tried, then errors planted in it."""
    one = alive(name, files, inside)
    return sensed(one, one.judge(), told, enough)


def alive(name: str, files: Mapping[str, Written], inside: Inside) -> Trial:
    """An example stood up, everybody with an address, everything ready to be tried."""
    there = running(name)
    living = Living(there.case.plan, there.case, there.office, inside, files)
    stood_up(living)
    addressed(living)
    filled(living)
    return trial(living)


def told(_done: int, _many: int) -> None:
    """Nothing is told."""


@pytest.mark.slow
def test_packets_that_are_not_sent_notice_nothing() -> None:
    """The trial of the trial: with no try on the way of an error, it is not said to be noticed; the proof needs none."""
    work = partial(planted_blind, "fold", files_of("fold"))
    found = as_ordinary(lambda: run(work, quiet, "one-id"))
    telling = [one for one in found if one.effect]
    assert telling
    assert all(one.proof and not one.packets for one in telling)


def planted_blind(name: str, files: Mapping[str, Written], inside: Inside) -> tuple[PlantedError, ...]:
    """Errors of the forward chain, with tries from the firewall alone."""
    one = alive(name, files, inside)
    there, own = running(name), [probe for probe in one.probes if probe.source == FIREWALL][:40]
    setting = Setting(there.case, there.office, one.now, one.living.rules().decode(), own)
    wrongs = [wrong for wrong in setting.chosen(60) if wrong.planted.chain == "forward" and wrong.effect is not None]
    return sensitivity(setting, bench(one), told, [wrong for wrong in wrongs if not wrong.effect.answer][:6])  # type: ignore[union-attr]
