"""Tries in the kernel: every way in which a flow can fare is told apart, in both versions, as an ordinary user; the kernel is the judge."""

import resource
import socket
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from ipaddress import ip_address
from typing import Any

import pytest
from own_namespace import apart
from probe_lab import FORWARDING, PUBLIC, STRANGER, Lab, at, door
from scantling.figures import FIREWALL
from scantling.trials.probe.probing import Expected, Heard, Judgement, Kind, Probe, Verdict
from scantling.trials.rehearsal import prober
from scantling.trials.rehearsal.aside import Aside
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.prober import Again, Manner
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.settings import settings

ECHO = {4: 8, 6: 128}
FAMILIES = (4, 6)
ONCE = Manner(again=())
SOON = Manner(again=(Again(0, 64, 0.1),))
Case = tuple[Probe, Verdict, Heard]


def probe(source: str, kind: Kind, target: str, port: int, family: int, **more: Any) -> Probe:
    """A try between two stations, meant to be allowed and answered unless told otherwise."""
    mine = {"firewall": door(20, family), "stranger": STRANGER[family]}
    start = mine[source] if source in mine else at(source, family)
    there = {"firewall": door(10, family), "stranger": STRANGER[family]}
    end = there[target] if target in there else at(target, family)
    answers = (
        target if kind in {Kind.TCP, Kind.UDP, Kind.ECHO} and more.get("expected") is not Expected.KEPT_OUT else ""
    )
    one = Probe(0, source, start, kind, target, end, port, Expected.ALLOWED, answers)
    return replace(one, **more)


def kept(source: str, kind: Kind, target: str, port: int, family: int, **more: Any) -> Probe:
    """A try that is meant to be kept out."""
    return probe(source, kind, target, port, family, expected=Expected.KEPT_OUT, answers="", **more)


def fared(probes: list[Probe], closed: Sequence[tuple[str, Kind, int]] = ()) -> list[Judgement]:
    """What becomes of tries in a lab of their own."""
    numbered = [replace(one, id=number) for number, one in enumerate(probes)]
    found: list[Judgement] = apart(lambda: Lab().tried(numbered, closed, SOON))
    return found


def check(cases: list[Case], closed: list[tuple[str, Kind, int]] | None = None) -> None:
    """Each case fares as it should."""
    found = fared([one for one, _, _ in cases], closed or ())
    wrong = [
        (one, verdict, heard)
        for one, (_, verdict, heard) in zip(found, cases, strict=True)
        if (one.verdict, one.seen.heard) != (verdict, heard)
    ]
    assert wrong == []


def both(make: Callable[[int], Iterator[Case]]) -> list[Case]:
    """The same cases in both versions."""
    return [case for family in FAMILIES for case in make(family)]


def test_what_is_allowed_is_answered_by_whom_it_should_be_and_what_is_not_is_dropped() -> None:
    def cases(family: int) -> Iterator[Case]:
        well, heard, silent = Verdict.AS_MEANT, Heard.ANSWER, Heard.SILENCE
        for source in ("laptop", "tablet"):
            yield probe(source, Kind.TCP, "files", 445, family), well, heard
            yield probe(source, Kind.TCP, "monitor", 80, family), well, heard
            yield probe(source, Kind.UDP, "monitor", 514, family), well, heard
            yield probe(source, Kind.ECHO, "files", ECHO[family], family), well, heard
            yield probe(source, Kind.ECHO, "firewall", ECHO[family], family), well, heard
            yield kept(source, Kind.TCP, "files", 444, family), well, silent
            yield kept(source, Kind.UDP, "files", 513, family), well, silent
            yield kept(source, Kind.TCP, "firewall", 22, family), well, silent
        yield probe("firewall", Kind.TCP, "files", 445, family), well, heard
        yield probe("firewall", Kind.UDP, "monitor", 514, family), well, heard
        yield kept("firewall", Kind.TCP, "files", 80, family), well, silent
        yield kept("firewall", Kind.UDP, "files", 80, family), well, silent
        yield kept("monitor", Kind.TCP, "laptop", 445, family), well, silent
        yield kept("monitor", Kind.ECHO, "laptop", ECHO[family], family), well, silent

    check(both(cases))


def test_what_goes_otherwise_than_meant_is_told_apart() -> None:
    def cases(family: int) -> Iterator[Case]:
        silent, refused = Heard.SILENCE, Heard.REFUSED
        yield kept("laptop", Kind.TCP, "files", 445, family), Verdict.LET_THROUGH, Heard.ANSWER
        yield kept("laptop", Kind.ECHO, "files", ECHO[family], family), Verdict.LET_THROUGH, Heard.ANSWER
        yield probe("laptop", Kind.TCP, "files", 444, family), Verdict.DROPPED, silent
        yield probe("laptop", Kind.UDP, "files", 513, family), Verdict.DROPPED, silent
        yield probe("monitor", Kind.ECHO, "laptop", ECHO[family], family), Verdict.DROPPED, silent
        yield probe("laptop", Kind.TCP, "files", 25, family), Verdict.REJECTED, refused
        yield probe("laptop", Kind.UDP, "files", 26, family), Verdict.REJECTED, refused
        yield probe("laptop", Kind.TCP, "files", 27, family), Verdict.REJECTED, refused
        yield probe("laptop", Kind.TCP, "files", 446, family), Verdict.CLOSED, refused
        yield probe("laptop", Kind.UDP, "files", 515, family), Verdict.CLOSED, refused
        nobody = at("files", family) + 70
        yield probe("laptop", Kind.TCP, "files", 445, family, address=nobody), Verdict.DEAD, silent
        yield probe("laptop", Kind.UDP, "files", 514, family, address=nobody), Verdict.DEAD, silent
        yield probe("laptop", Kind.ECHO, "files", ECHO[family], family, address=nobody), Verdict.DEAD, silent
        yield (
            probe("laptop", Kind.TCP, "files", 80, family, address=at("monitor", family)),
            Verdict.WRONG_HOST,
            Heard.ANSWER,
        )
        yield (
            probe("laptop", Kind.UDP, "files", 514, family, address=at("monitor", family)),
            Verdict.WRONG_HOST,
            Heard.ANSWER,
        )

    closed = [("files", Kind.TCP, 446), ("files", Kind.UDP, 515)]
    # whoever is mistaken for files listens too
    check([*both(cases), (kept("tablet", Kind.TCP, "monitor", 80, 4), Verdict.LET_THROUGH, Heard.ANSWER),
           (kept("tablet", Kind.UDP, "monitor", 514, 4), Verdict.LET_THROUGH, Heard.ANSWER)], closed)  # fmt: skip


def test_lines_to_the_outside_and_back_translate_as_they_should() -> None:
    inner = at("files", 4)

    def cases(family: int) -> Iterator[Case]:
        mine = PUBLIC[4] if family == 4 else None
        heard = Heard.ANSWER
        yield probe("laptop", Kind.TCP, "stranger", 443, family, seen_as=mine), Verdict.AS_MEANT, heard
        yield probe("laptop", Kind.UDP, "stranger", 443, family, seen_as=mine), Verdict.AS_MEANT, heard
        wrong = ip_address("203.0.113.9" if family == 4 else "2001:db8:9::9")
        yield probe("tablet", Kind.TCP, "stranger", 443, family, seen_as=wrong), Verdict.WRONG_SOURCE, heard
        yield kept("tablet", Kind.TCP, "stranger", 80, family), Verdict.AS_MEANT, Heard.SILENCE
        there = {"address": PUBLIC[4], "arrives": (inner, 443)} if family == 4 else {}
        yield probe("stranger", Kind.TCP, "files", 443, family, **there), Verdict.AS_MEANT, heard
        yield kept("stranger", Kind.TCP, "files", 445, family), Verdict.AS_MEANT, Heard.SILENCE
        yield (
            kept("stranger", Kind.TCP, "firewall", 22, family, address=PUBLIC[family]),
            Verdict.AS_MEANT,
            Heard.SILENCE,
        )

    astray = probe("stranger", Kind.TCP, "files", 8443, 4, address=PUBLIC[4], arrives=(inner, 443))
    listens = kept("laptop", Kind.TCP, "monitor", 443, 4)
    check([*both(cases), (astray, Verdict.WRONG_HOST, Heard.ANSWER), (listens, Verdict.AS_MEANT, Heard.SILENCE)])


def test_other_protocols_strays_and_false_sources_are_known_by_what_the_recorder_notes() -> None:
    def cases(family: int) -> Iterator[Case]:
        silent, refused = Heard.SILENCE, Heard.REFUSED
        for number in (47, 132):  # the target's kernel says that it does not speak them
            yield probe("laptop", Kind.RAW, "files", number, family), Verdict.AS_MEANT, refused
            yield kept("tablet", Kind.RAW, "files", number, family), Verdict.LET_THROUGH, refused
        yield kept("laptop", Kind.RAW, "monitor", 51, family), Verdict.AS_MEANT, silent
        yield kept("laptop", Kind.RAW, "files", 50, family), Verdict.AS_MEANT, refused
        yield probe("tablet", Kind.RAW, "files", 50, family), Verdict.REJECTED, refused
        yield kept("laptop", Kind.STRAY, "files", 445, family), Verdict.AS_MEANT, silent
        false = at("monitor", family)
        yield kept("laptop", Kind.FALSE, "files", 445, family, source_address=false), Verdict.AS_MEANT, silent
        yield kept("monitor", Kind.STRAY, "laptop", 445, family), Verdict.AS_MEANT, silent
        yield kept("firewall", Kind.STRAY, "files", 445, family), Verdict.LET_THROUGH, silent
        borrowed = at("laptop", family) + 60
        yield (
            probe("laptop", Kind.TCP, "files", 445, family, source_address=borrowed, answers=""),
            Verdict.AS_MEANT,
            silent,
        )
        yield kept("laptop", Kind.UDP, "files", 513, family, source_address=borrowed), Verdict.AS_MEANT, silent

    check(both(cases))


def test_who_is_cut_off_never_comes_to_the_firewall() -> None:
    tries = [
        replace(make(source, kind, "files", port, family), id=0)
        for family in FAMILIES
        for source in ("cut", "laptop")
        for kind, port, make in (
            (Kind.TCP, 445, probe),
            (Kind.UDP, 514, probe),
            (Kind.TCP, 444, kept),
            (Kind.RAW, 47, kept),
        )
    ]
    numbered = [replace(one, id=number) for number, one in enumerate(tries)]

    def work() -> list[Judgement]:
        lab = Lab()
        with Netlink(lab.rooms["switch"]) as switch:
            switch.down("p-cut")
        return lab.tried(numbered, (), SOON)

    for one in apart(work):
        if one.probe.source == "cut":
            assert one.verdict is Verdict.NEVER_CAME, one
        else:
            assert one.verdict is not Verdict.NEVER_CAME, one


def test_a_firewall_that_does_not_forward_is_told_from_one_that_drops_only_by_its_counters() -> None:
    def work() -> list[Judgement]:
        lab = Lab()
        settings(lab.rooms[FIREWALL], dict.fromkeys(FORWARDING, "0"))
        return lab.tried(
            [replace(probe("laptop", Kind.TCP, "files", 445, family), id=family) for family in FAMILIES], (), ONCE
        )

    assert [(one.verdict, one.seen.entered, one.seen.left) for one in apart(work)] == [
        (Verdict.DROPPED, True, False)
    ] * 2


def real_service(room: Room, port: int, answer: Callable[[bytes], bytes]) -> None:
    """A service in a process of its own, in both versions; it dies with whoever started it."""
    here = room.socket(socket.AF_INET6, socket.SOCK_DGRAM)
    here.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 0)
    here.bind(("::", port))

    def serve() -> None:
        while True:
            said, who = here.recvfrom(512)
            here.sendto(answer(said), who)

    Aside(f"service at {port}", serve).start()


def named(said: bytes, *, well: bool) -> bytes:
    """An answer that refuses, to what was asked or to something else (RFC 1035 section 4.1.1)."""
    return (said[:2] if well else b"\0\1") + bytes([0x80, 5]) + said[4:]


def timed(said: bytes, *, well: bool) -> bytes:
    """A server's answer with the time that was asked with, or without (RFC 5905 section 7.3)."""
    return bytes([0x24]) + bytes(23) + (said[40:48] if well else bytes(8)) + bytes(16)


def test_real_services_are_asked_in_their_own_words_and_any_answer_of_theirs_counts() -> None:
    tries = [
        probe("laptop", Kind.UDP, "firewall", port, family, first=first)
        for family in FAMILIES
        for port, first in ((53, "names"), (123, "time"))
    ]
    numbered = [replace(one, id=number) for number, one in enumerate(tries)]

    def work() -> list[list[Judgement]]:
        found = []
        for well in (True, False):
            lab = Lab()
            real_service(lab.rooms[FIREWALL], 53, partial(named, well=well))
            real_service(lab.rooms[FIREWALL], 123, partial(timed, well=well))
            found.append(lab.tried(numbered, (), Manner({"laptop": "files.office.example"}, ())))
        return found

    well, odd = apart(work)
    assert [(one.verdict, one.seen.answerer) for one in well] == [(Verdict.AS_MEANT, "firewall")] * 4
    assert {one.verdict for one in odd} == {Verdict.DEAD}


def test_tries_keep_to_the_files_that_may_be_open_and_what_is_to_pass_goes_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tries = [probe(source, Kind.TCP, "files", 445, 4) for source in ("laptop", "tablet") for _ in range(40)]
    tries += [
        kept(source, Kind.TCP, "files", 444, 4) for source in ("laptop", "tablet", "cut", "monitor") for _ in range(5)
    ]
    numbered = [replace(one, id=number) for number, one in enumerate(tries)]
    monkeypatch.setattr(prober, "free_files", lambda: 24)
    found = [*prober.batches(numbered)]
    assert sorted(one.id for batch in found for one in batch) == list(range(100))
    assert max(sum(one.expected is Expected.ALLOWED for one in batch) for batch in found) == 12
    assert max(len({one.source for one in batch if one.expected is Expected.KEPT_OUT}) for batch in found) == 3
    order = [one.expected for batch in found for one in batch]
    assert order == sorted(order, key=lambda one: one is Expected.KEPT_OUT)


def test_too_few_open_files_are_said_before_anything_is_tried() -> None:
    def work() -> str:
        lab = Lab()
        lab.answering({"files": {(Kind.TCP, 445)}})
        resource.setrlimit(resource.RLIMIT_NOFILE, (40, 40))
        with pytest.raises(OSError, match="raise the limit of open files") as said:
            lab.tried([replace(probe("laptop", Kind.TCP, "files", 445, 4), id=0)], (), ONCE)
        return str(said.value)

    assert "may hold 40 files open" in apart(work)
