"""Rules loaded, listed and changed in a room, and the rule that decides over a packet found by what the kernel tells."""

import json
import re
from collections.abc import Sequence
from ipaddress import ip_address
from subprocess import CompletedProcess
from typing import Any

import pytest

from own_namespace import apart
from recorder_lab import FILTER, SENT, Lab
from scantling.trials.probe.probing import Kind
from scantling.trials.rehearsal.loading import LoadingError, in_room, listing, load, replaced
from scantling.trials.rehearsal.rooms import here
from scantling.trials.rehearsal.rule_parts import parts
from scantling.trials.rehearsal.tracer import Sent, Step, comments, deciding, traced

MANY = 700
"""Rules that no ordinary user can load at once."""
LONG = (
    "table inet office\ndelete table inet office\ntable inet office {\n\tset known {\n\t\ttype ipv4_addr\n\t}\n"
    "\tchain forward {\n\t\ttype filter hook forward priority filter; policy drop;\n"
    + "".join(
        f"\t\tip saddr {{ 10.{place // 200}.{place % 200}.0/24, 192.0.2.{place % 250} }} tcp dport {{ 80, {1000 + place} }}"
        f' counter accept comment "r-{place}"\n'
        for place in range(MANY)
    )
    + "\t}\n}\n"
).encode()
COUNTED = r'"(packets|bytes|handle)": \d+'
"""What differs between two loads of the same file."""


def plain(listed: Any) -> str:
    return re.sub(COUNTED, "", json.dumps(listed))


def test_a_short_file_is_loaded_as_it_is() -> None:
    given: list[tuple[Sequence[str], bytes]] = []

    def run(command: Sequence[str], rules: bytes) -> "CompletedProcess[bytes]":
        given.append((command, rules))
        return CompletedProcess(command, 0, b"", b"")

    assert load(run, FILTER) == 1
    assert given == [(("nft", "-f", "-"), FILTER)]


def test_a_long_file_is_loaded_in_parts_and_every_rule_stands_in_its_order() -> None:
    def work() -> Any:
        run = in_room(here("firewall"))
        whole = run(["nft", "-f", "-"], LONG)
        many = load(run, LONG)
        first = listing(run)
        again = load(run, LONG)
        return whole.stderr, many, again, first, listing(run)

    refused, many, again, first, second = apart(work)
    assert b"Message too long" in refused  # so there is need of parts
    assert many == again > 1
    assert [one["rule"]["comment"] for one in first if "rule" in one] == [f"r-{place}" for place in range(MANY)]
    assert plain(first) == plain(second)


@pytest.mark.parametrize("most", [600, 5_000, 18_000])
def test_parts_of_any_length_come_to_the_same(most: int) -> None:
    def work() -> Any:
        run = in_room(here("firewall"))
        load(run, LONG)
        before = listing(run)
        pieces = parts(LONG.decode(), most)
        for piece in pieces:
            assert not run(["nft", "-f", "-"], piece.encode()).returncode
        return before, listing(run), max(map(len, pieces[1:]))

    before, after, longest = apart(work)
    assert plain(before) == plain(after)
    assert longest <= most


def test_parts_are_made_smaller_until_the_kernel_takes_them() -> None:
    sizes: list[int] = []

    def run(command: Sequence[str], rules: bytes) -> "CompletedProcess[bytes]":
        sizes.append(len(rules))
        wrong = len(rules) > 4_000
        return CompletedProcess(command, int(wrong), b"", b"netlink: Error: Message too long\n" if wrong else b"")

    assert load(run, LONG) > len(LONG) // 4_000
    taken = [size for size in sizes if size <= 4_000]
    assert max(taken) > 2_000


def test_what_is_wrong_with_rules_is_said() -> None:
    def work() -> Any:
        run = in_room(here("firewall"))
        with pytest.raises(LoadingError) as wrong:
            load(run, b"table inet office {\n\tchain forward {\n\t\ttcp dport nowhere accept\n\t}\n}\n")
        with pytest.raises(LoadingError) as odd:
            replaced(run, {"family": "inet", "table": "office", "chain": "forward", "handle": 1, "expr": []})
        return str(wrong.value), str(odd.value), listing(run)

    wrong, odd, nothing = apart(work)
    assert wrong.startswith("the rules can't be loaded: ")
    assert "nowhere" in wrong
    assert odd.startswith("the rules can't be changed: ")
    assert nothing == []


def test_one_rule_is_changed_in_its_place_and_back() -> None:
    def work() -> Any:
        run = in_room(here("firewall"))
        load(run, FILTER)
        before = listing(run)
        rule = next(one["rule"] for one in before if "rule" in one and one["rule"]["comment"] == "r-6 web")
        replaced(run, {**rule, "expr": [*rule["expr"][:-1], {"drop": None}]})
        changed = listing(run)
        replaced(run, rule)
        return before, changed, listing(run)

    before, changed, after = apart(work)
    assert plain(before) == plain(after)
    different = [(one, other) for one, other in zip(before, changed, strict=True) if one != other]
    assert [(one["rule"]["comment"], one["rule"]["expr"][-1]) for one, _ in different] == [
        ("r-6 web", {"accept": None})
    ]
    assert [other["rule"]["expr"][-1] for _, other in different] == [{"drop": None}]
    assert [one["rule"]["handle"] for one in before if "rule" in one] == [
        one["rule"]["handle"] for one in changed if "rule" in one
    ]


@pytest.mark.parametrize("family", [4, 6])
def test_the_rule_that_decides_is_found(family: int) -> None:
    near, far = SENT[family]
    echo, own = 20005, ip_address("10.20.10.1" if family == 4 else "2001:db8:10::1")
    packets = {
        "let pass": Sent(near, 20001, Kind.UDP, far),
        "dropped": Sent(near, 20002, Kind.UDP, far),
        "opened": Sent(near, 20003, Kind.TCP, far),
        "rejected": Sent(near, 20004, Kind.TCP, far),
        "tunnel": Sent(near, 47, Kind.RAW, far),
        "taken": Sent(near, 20006, Kind.UDP, own),
        "never sent": Sent(near, 20007, Kind.UDP, far),
        "echo": Sent(near, echo, Kind.ECHO, far),
    }

    def work() -> Any:
        lab = Lab()

        def send() -> None:
            lab.udp(family, 20001, (far, 123))
            lab.udp(family, 20002, (far, 124))
            lab.tcp(family, 20003, (far, 443))
            lab.tcp(family, 20004, (far, 25))
            lab.udp(family, 20006, (own, 53))
            lab.udp(family, 20099, (far, 124))  # not asked about
            lab.raw(family, 47, far, bytes(8))
            lab.echo(family, far, echo)

        told = traced(lab.firewall, lab.run, list(packets.values()), send)
        rules = comments(listing(lab.run))
        tables = lab.run(["nft", "list", "tables"], b"").stdout
        return {name: told[packet] for name, packet in packets.items()}, rules, tables

    told, rules, tables = apart(work)
    found = {name: deciding(steps) for name, steps in told.items()}
    said = {name: rules.get((one.table, one.chain, one.handle)) for name, one in found.items() if one}
    assert said == {
        "let pass": "r-7 time", "dropped": None, "opened": "r-6 web", "rejected": "r-10 mail", "tunnel": "r-9 tunnels",
        "taken": "r-3 names", "echo": "r-8 echoes",
    }  # fmt: skip
    assert found["dropped"] == Step("office", "forward", 0, "drop")  # by the chain's policy
    assert told["never sent"] == ()
    assert told["rejected"][-1].verdict == "drop"
    assert b"tracer" not in tables


def test_only_the_first_packet_of_a_try_is_told_of() -> None:
    near, far = SENT[4]
    packet = Sent(near, 20001, Kind.UDP, far)

    def work() -> Any:
        lab = Lab()

        def send() -> None:
            lab.udp(4, 20001, (far, 123))
            for _ in range(5):
                lab.open[-1].sendto(b"again", (str(far), 123))

        return traced(lab.firewall, lab.run, [packet], send)[packet]

    assert [step.chain for step in apart(work)] == ["early", "incoming", "forward", "leaving"]


def test_a_false_source_is_decided_on_where_it_enters() -> None:
    _, far = SENT[4]
    false = ip_address("192.0.2.77")
    packet = Sent(false, 20001, Kind.FALSE, far)

    def work() -> Any:
        lab = Lab()
        told = traced(lab.firewall, lab.run, [packet], lambda: lab.segment(false, far, 20001, 443, flags=2))
        return told[packet], comments(listing(lab.run))

    steps, rules = apart(work)
    assert [(step.chain, rules[step.table, step.chain, step.handle], step.verdict) for step in steps] == [
        ("early", "r-1 not behind this port", "drop")
    ]


def test_too_many_packets_are_refused() -> None:
    with pytest.raises(ValueError, match="65 packets can't be traced at once"):
        traced(here("home"), in_room(here("home")), [Sent(*SENT[4][:1], 1, Kind.UDP, SENT[4][1])] * 65, lambda: None)
