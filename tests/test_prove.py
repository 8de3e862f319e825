"""The command prove and its verb: proved or not, a packet followed, files of rules, and whatever a person may type wrong."""

import json
import subprocess
import sys
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st
from prove_runs import ENV, MILLRACE, run
from offices import BRIEFS, example, planned

from hostile import HOSTILE
from scantling import UserError, api
from scantling.figures import Address
from scantling.trials.proof.packet import PacketError, read_words


def test_an_example_is_proved_in_words() -> None:
    told = run(MILLRACE)
    assert (told.returncode, told.stderr) == (0, "")
    assert told.stdout.startswith("Proof of the compiled rules: proved\n")
    assert "for every packet there can be, in IPv4 and IPv6" in told.stdout
    assert "How many things may begin, from row to column" in told.stdout
    assert "Not shown by any proof of rules:" in told.stdout
    assert "Traffic inside one zone never meets the firewall" in told.stdout
    assert "\x1b" not in told.stdout


def test_json_is_the_same_every_time_and_says_it_all() -> None:
    one, two = run(MILLRACE, "--json"), run(MILLRACE, "--json")
    assert one.returncode == 0
    assert one.stdout == two.stdout
    data = json.loads(one.stdout)
    assert data["proved"] is True
    assert data["evidence"]["verdict"] == "proved"
    assert {"doors", "machines", "differences", "idle", "pairs", "unshown"} <= set(data["evidence"])


def test_the_plan_keeps_its_proof() -> None:
    proof = example("fold").proof
    assert proof is not None
    assert proof.says == "proved"
    assert planned(BRIEFS["fold"].read_text("utf-8")).proof is not None


# ---------------------------------------------------------------------------------------------------------- one packet


def asked(words: str, name: str = "millrace") -> api.Proving:
    """One packet, followed."""
    return api.prove(example(name), packet=words)


FOLLOWED = [
    ("guest tcp files:445", [False, False]),  # without its plural, as people say it
    ("guests tcp files:445 v4", [False]),
    ("staff tcp files:445", [True, True]),
    ("staff tcp files:445 v6", [True]),
    ("payments tcp processor:443", [True, True]),
    ("payments tcp outside:443", [False, False]),
    ("stage ping files", [False, False]),
    ("stage udp outside:53 reply", [True, True]),
    ("staff tcp files:445 stray", [False, False]),
    ("ticket-maker tcp application:443 at tue 10:00", [True]),
    ("ticket-maker tcp application:443 at tue 09:59", [False]),
    ("ticket-maker tcp application:443 at mon 12:00", [False]),
    ("outside tcp application:443 at tue 10:00 v4", [False]),
    ("outside tcp files:445", [False, False]),
    ("monitor icmp recorder", [True]),
    ("staff esp outside", [False, False]),
    ("staff 47 outside", [False, False]),
]


@pytest.mark.parametrize(("words", "passes"), FOLLOWED)
def test_a_packet_is_followed(words: str, passes: list[bool]) -> None:
    """By what the brief of Millrace promises."""
    found = asked(words).traced
    assert [one.passes for one in found] == passes
    assert all(one.meant for one in found)
    assert all(one.rule for one in found)


def test_a_packet_names_rule_intent_line_and_way() -> None:
    (one,) = asked("ticket-maker tcp application:443 at wed 11:00").traced
    assert "allow-ticket-help" in one.intent
    assert "traffic.allow.ticket-help" in one.line
    assert "brief.yaml:" in one.line
    assert any("its target is changed to 10.44.20." in step for step in one.way)
    assert one.hours == "tue-fri 10:00-16:00"
    (web,) = asked("staff tcp outside:443 v4").traced
    assert "bears the firewall's own address from there on" in web.way


def test_a_packet_from_a_false_source_is_told_as_what_it_is() -> None:
    server = next(one.address for one in example("millrace").records(Address) if one.holder == "files")
    (one,) = asked(f"{server}@guests tcp files:445").traced
    assert one.passes is False
    assert "calls itself" in one.says
    assert "not behind this port" in one.rule


def test_a_packet_inside_one_zone_never_meets_the_firewall() -> None:
    for one in asked("staff tcp staff:80").traced:
        assert one.passes is None
        assert "the firewall is never asked" in one.says


def test_each_packet_told_can_be_asked_for_again() -> None:
    for words, _ in FOLLOWED:
        for one in asked(words).traced:
            (again,) = asked(one.packet).traced
            assert (again.passes, again.packet.split(" at ")[0]) == (one.passes, one.packet.split(" at ")[0]), words


WRONG = [
    ("gests tcp files:445", "did you mean guests?"), ("guests tcp fils:445", "did you mean files?"),
    ("guests tpc files:445", "did you mean tcp?"), ("guests tcp files:99999", "from 0 to 65535 is accepted"),
    ("guests tcp files:-1", "is no port"), ("guests tcp files", "tcp needs a port; write files:443"),
    ("guests tcp", 'write it like "guests tcp files:445"'), ("guests tcp files:445 at frii 21:00", "did you mean fri?"),
    ("guests tcp files:445 at fri 25:00", "is no time of day"), ("guests tcp files:445 tomorrow", '"tomorrow" is not understood'),
    ("guests icmp files:300", "is no message type"), ("guests icmp [::1]", "no addresses of one family"),
    ("guests icmpv6 files v4", "no addresses of IPv4"), ("guests tcp [::1:80", "is no target"), ("guests 256 files", "is no protocol"),
    ("staff@nowhere tcp files:445", "is no zone, machine, device or party"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "says"), WRONG)
def test_words_that_mean_no_packet_are_told_with_what_would_be_taken(words: str, says: str) -> None:
    with pytest.raises(UserError) as told:
        asked(words)
    assert str(told.value).startswith("--packet: ")
    assert says in str(told.value)


def test_the_command_ends_with_two_for_a_wrong_packet_and_with_no_traceback() -> None:
    told = run(MILLRACE, "--packet", "gests tcp files:445")
    assert told.returncode == 2
    assert "did you mean guests?" in told.stderr
    assert "Traceback" not in told.stderr


@given(st.one_of(st.text(max_size=60), st.sampled_from(HOSTILE), st.text("abcdefgst :.[]@0123456789/", max_size=40)))
def test_any_words_are_a_packet_or_a_sentence(words: str) -> None:
    with suppress(PacketError):
        assert read_words(words).source


def test_the_meaning_never_calls_the_compiler() -> None:
    """Whatever the intents' side of the proof imports, directly or not, is not the compiler (nor what it rests on)."""
    script = (
        "import sys; import scantling.trials.proof.meaning; "
        "print([name for name in sys.modules if name.startswith('scantling.handbook.') and name.rsplit('.')[-1] in "
        "{'filtering', 'numbered', 'set_aside', 'translating', 'spoken'}])"
    )
    told = subprocess.run([sys.executable, "-c", script], env=ENV, text=True, capture_output=True, check=True)
    assert told.stdout == "[]\n"
