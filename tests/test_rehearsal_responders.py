"""Responders in the kernel: they say who they are, can be muted, name a port that is taken, and end when told."""

import socket
from collections.abc import Callable
from functools import partial

import pytest
from own_namespace import apart
from probe_lab import PUBLIC, STRANGER, Lab, at
from scantling.trials.probe.probing import Expected, Kind, Probe, Verdict
from scantling.trials.rehearsal.prober import Manner
from scantling.trials.rehearsal.responders import RespondersError

ONCE = Manner(again=())
TCP4 = Probe(0, "laptop", at("laptop", 4), Kind.TCP, "files", at("files", 4), 445, Expected.ALLOWED, "files")
UDP6 = Probe(1, "laptop", at("laptop", 6), Kind.UDP, "monitor", at("monitor", 6), 514, Expected.ALLOWED, "monitor")
FAR4 = Probe(
    2,
    "laptop",
    at("laptop", 4),
    Kind.TCP,
    "stranger",
    STRANGER[4],
    443,
    Expected.ALLOWED,
    "stranger",
    None,
    PUBLIC[4],
)


def test_a_station_can_be_muted_and_heard_again_and_all_can_pause() -> None:
    tries = [TCP4, UDP6, FAR4]

    def work() -> list[list[Verdict]]:
        lab = Lab()
        found = [[one.verdict for one in lab.tried(tries, (), ONCE)]]
        assert lab.responders is not None
        all_of_them = lab.responders
        steps: list[Callable[[], None]] = [
            partial(all_of_them.mute, "files"), partial(all_of_them.mute, "stranger"), partial(all_of_them.unmute, "files"),
            partial(all_of_them.unmute, "stranger"), all_of_them.pause, all_of_them.go_on,
        ]  # fmt: skip
        for step in steps:
            step()
            found.append([one.verdict for one in lab.tried(tries, (), ONCE)])
        return found

    well, closed, dead = Verdict.AS_MEANT, Verdict.CLOSED, Verdict.DEAD
    assert apart(work) == [
        [well, well, well], [closed, well, well], [closed, well, dead], [well, well, dead], [well, well, well], [dead, dead, dead],
        [well, well, well],
    ]  # fmt: skip


def test_a_port_that_somebody_holds_already_is_named() -> None:
    def work() -> str:
        lab = Lab()
        holder = lab.rooms["files"].socket(socket.AF_INET6, socket.SOCK_STREAM)
        holder.bind(("::", 445))
        holder.listen()
        with pytest.raises(RespondersError) as said:
            lab.answering({"files": {(Kind.TCP, 445)}})
        return str(said.value)

    assert "nobody can listen at tcp 445 of files" in apart(work)


def test_responders_and_their_office_end_with_whoever_started_them() -> None:
    def work() -> bool:
        lab = Lab()
        lab.answering({"files": {(Kind.TCP, 445)}})
        assert lab.responders is not None
        lab.responders.stop()
        return lab.tried([TCP4], (), ONCE)[0].verdict is Verdict.CLOSED

    assert apart(work)
