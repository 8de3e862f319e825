"""The recorder read by our own words, against what nft itself lists, and against packets that were really sent."""

import json
import re
import socket
import time
from ipaddress import ip_address
from typing import Any

import pytest

from own_namespace import apart
from recorder_lab import FILTER, OPENING, RESET, SENT, SETTLED, VERSIONS, Lab, office
from scantling.trials.probe.probing import Kind
from scantling.trials.rehearsal.loading import in_room, listing, load
from scantling.trials.rehearsal.recorder import SETS, TABLE, Recorder

COUNTED = r'"packets": \d+, "bytes": \d+'


@pytest.mark.parametrize("family", [4, 6])
def test_every_kind_of_try_is_found_and_told_apart(family: int) -> None:
    near, far = SENT[family]

    def work() -> Any:
        lab = Lab()
        lab.udp(family, 20001, (far, 123))
        lab.udp(family, 20002, (far, 124))
        lab.tcp(family, 20003, (far, 443))
        lab.tcp(family, 20004, (far, 444))
        lab.echo(family, far, 20005)
        lab.raw(family, 47, far, bytes(8))
        lab.raw(family, 132, far, bytes(12))
        lab.udp(family, 19999, (far, 123))  # the office's own traffic is not noted
        time.sleep(SETTLED)
        noted = lab.recorder.read()

        def track(number: int, kind: Kind, *sent: Any) -> Any:
            asked = (near, number, kind, *sent)
            return noted.entered(*asked), noted.left(*asked), noted.taken(*asked)

        tries: list[tuple[Any, ...]] = [
            (20001, Kind.UDP, far, 123), (20002, Kind.UDP, far, 124), (20003, Kind.TCP, far, 443),
            (20004, Kind.TCP, far, 444), (20005, Kind.ECHO, far), (47, Kind.RAW, far), (132, Kind.RAW, far),
            (19999, Kind.UDP, far, 123), (20001, Kind.TCP, far, 123), (20001, Kind.UDP, far, 125), (50, Kind.RAW, far),
        ]  # fmt: skip
        return [track(*one) for one in tries], [track(one[0], one[1]) for one in tries], noted.full()

    told, without_target, full = apart(work)
    nothing = (False, None, None)
    assert told == [
        (True, (far, 123), None),
        (True, None, None),  # dropped
        (True, (far, 443), None),
        (True, None, None),
        (True, (far, 20005), None),
        (True, (far, 47), None),
        (True, None, None),
        *[nothing] * 4,  # from a port below those of tries; another protocol; another target; never sent
    ]
    assert [*without_target[:7], without_target[7], without_target[8]] == told[:9]
    assert without_target[9] == told[0]  # known by its sender alone
    assert full == ()


@pytest.mark.parametrize("family", [4, 6])
def test_what_the_firewall_takes_and_what_it_begins_itself(family: int) -> None:
    near, far = SENT[family]
    own = ip_address("10.20.10.1" if family == 4 else "2001:db8:10::1")
    outgoing = ip_address("10.20.20.1" if family == 4 else "2001:db8:20::1")

    def work() -> Any:
        lab = Lab()
        lab.udp(family, 20001, (own, 53))
        lab.udp(family, 20002, (own, 54))
        lab.udp(family, 20003, (far, 124), lab.firewall)
        time.sleep(SETTLED)
        noted = lab.recorder.read()
        asked = [
            (near, 20001, Kind.UDP, own, 53),
            (near, 20002, Kind.UDP, own, 54),
            (outgoing, 20003, Kind.UDP, far, 124),
        ]
        return [(noted.entered(*one), noted.left(*one), noted.taken(*one)) for one in asked]

    assert apart(work) == [(True, None, (own, 53)), (True, None, None), (True, (far, 124), None)]


def test_what_is_published_leaves_with_the_address_it_is_given() -> None:
    near, far = SENT[4]
    own = ip_address("10.20.10.1")

    def work() -> Any:
        lab = Lab()
        lab.tcp(4, 20001, (own, 8080))
        lab.tcp(4, 20002, (own, 8081))
        time.sleep(SETTLED)
        noted = lab.recorder.read()
        asked = [
            (near, 20001, Kind.TCP, own, 8080),
            (near, 20002, Kind.TCP, own, 8081),
            (near, 20001, Kind.TCP, far, 443),
        ]
        return [(noted.entered(*one), noted.left(*one), noted.taken(*one)) for one in asked]

    assert apart(work) == [
        (True, (far, 443), None),  # with its own source still, though that is hidden a step later
        (True, None, None),
        (False, None, None),  # it was not sent there
    ]


def test_strays_and_false_sources_are_noted_before_anything_judges_them() -> None:
    near, far = SENT[4]
    false = ip_address("192.0.2.77")

    def work() -> Any:
        lab = Lab()
        lab.segment(near, far, 20001, 443, flags=RESET)  # a reset of nothing
        lab.segment(false, far, 20002, 443, flags=OPENING)  # an opening from elsewhere
        time.sleep(SETTLED)
        before = lab.recorder.read()
        load(lab.run, FILTER.replace(b"ct state invalid counter drop", b"ct state invalid counter accept"))
        lab.recorder.clear()
        lab.segment(near, far, 20001, 443, flags=RESET)
        time.sleep(SETTLED)
        after = lab.recorder.read()
        return [
            (noted.entered(*one), noted.left(*one))
            for noted in (before, after)
            for one in ((near, 20001, Kind.STRAY, far, 443), (false, 20002, Kind.FALSE, far, 443))
        ]

    assert apart(work) == [(True, None), (True, None), (True, (far, 443)), (False, None)]


def test_an_answer_is_no_try() -> None:
    """Somebody answers from a high port: that is no try of theirs that left."""
    near, far = SENT[4]

    def work() -> Any:
        lab = Lab()
        load(lab.run, FILTER.replace(b"udp dport 123", b"udp dport 40000"))
        server = lab.stations[20].socket(socket.AF_INET, socket.SOCK_DGRAM)
        server.bind((str(far), 40000))
        server.settimeout(5)
        lab.udp(4, 20001, (far, 40000))
        _, caller = server.recvfrom(64)
        server.sendto(b"here", caller)
        lab.open[-1].settimeout(5)
        assert lab.open[-1].recv(64) == b"here"
        noted = lab.recorder.read()
        return caller[0], noted.left(near, 20001, Kind.UDP), noted.left(far, 40000, Kind.UDP)

    assert apart(work) == ("10.20.20.1", (far, 40000), None)


def test_neighbours_and_groups_do_not_fill_it() -> None:
    def work() -> Any:
        lab = Lab()
        station = lab.stations[10]
        with station.entered():
            index = socket.if_nametoindex("e0")
        for target, family in (("224.0.0.251", 4), ("255.255.255.255", 4), ("ff02::fb", 6), ("fe80::1", 6)):
            one = station.socket(VERSIONS[family], socket.SOCK_DGRAM)
            one.setsockopt(socket.SOL_SOCKET, socket.SO_BROADCAST, 1)
            one.bind(("", 20001))
            one.sendto(b"try", (target, 5353) if family == 4 else (target, 5353, 0, index))
        time.sleep(SETTLED)
        return lab.recorder.read().noted

    assert not any(apart(work).values())


def test_none_is_lost_among_many(scale: Any) -> None:
    """Read as soon as all are sent, while the kernel may still be making room for them."""
    many, (near, far) = scale(short=3_000, full=15_000), SENT[4]

    def work() -> Any:
        lab, lost = Lab(), []
        for _ in range(3):
            lab.recorder.clear()
            for place in range(many):
                with lab.bound(4, socket.SOCK_DGRAM, 20000 + place, None) as one:
                    one.sendto(b"try", (str(far), 123 + place % 2))
            lab.open.clear()
            noted = lab.recorder.read()
            for place in range(many):
                asked = (near, 20000 + place, Kind.UDP, far, 123 + place % 2)
                passed = noted.left(*asked) == ((far, 123) if place % 2 == 0 else None)
                lost += [] if noted.entered(*asked) and passed else [place]
        return lost

    assert apart(work) == []


def test_connections_are_forgotten() -> None:
    """What was allowed once goes on as established, until it is forgotten; then it begins anew, and is dropped."""
    near, far = SENT[4]

    def work() -> Any:
        lab = Lab()
        server = lab.stations[20].socket(socket.AF_INET, socket.SOCK_DGRAM)
        server.bind((str(far), 123))
        server.settimeout(5)
        lab.udp(4, 20001, (far, 123))
        server.sendto(b"here", server.recvfrom(64)[1])
        time.sleep(SETTLED)
        load(lab.run, FILTER.replace(b"udp dport 123", b"udp dport 125"))
        found = []
        for forget in (False, True):
            lab.recorder.talk.empty(TABLE, SETS)
            if forget:
                lab.recorder.clear()
            lab.open[-1].sendto(b"again", (str(far), 123))
            time.sleep(SETTLED)
            noted = lab.recorder.read()
            found.append((noted.entered(near, 20001, Kind.UDP), noted.left(near, 20001, Kind.UDP)))
        return found

    assert apart(work) == [(True, (far, 123)), (True, None)]


def test_the_recorder_changes_nothing_of_the_generated_rules() -> None:
    def work() -> Any:
        firewall, _ = office()
        run = in_room(firewall)
        load(run, FILTER)
        before = listing(run)
        Recorder(firewall, run).install()
        Recorder(firewall, run).install()  # once more, in place of the first
        recorder = run(["nft", "-j", "list", "table", "inet", TABLE], b"").stdout
        return before, listing(run), json.loads(recorder)["nftables"]

    before, after, recorder = (re.sub(COUNTED, "", json.dumps(lists)) for lists in apart(work))
    assert before == after
    parts = [part for one in json.loads(recorder) if "rule" in one for part in one["rule"]["expr"]]
    assert parts
    assert not any({"drop", "accept", "reject", "jump", "goto", "queue", "mangle"} & set(part) for part in parts)
