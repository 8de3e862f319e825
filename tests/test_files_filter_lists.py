"""The access lists: valid by the published model, never wider than the rules, and the same where they can say it all."""

import json
import shutil
import subprocess
import sysconfig
from pathlib import Path
from random import Random

import pytest

import kernel
from conftest import Scale
from random_rules import LEGS, Dice
from referees.access_lists import passes
from referees.filtering import Moment, Packet, deciding
from rule_samples import A, D, OFFICE_HOURS, nets, office
from scantling.figures.traffic import FIREWALL, OUTSIDE, FilterRule, RuleSet, Verdict
from scantling.outputs.files.access_lists import CHECK, lists, text_of, told

MODELS = Path(sysconfig.get_path("data"), "share/yang/modules")
NOON_ON_MONDAY = Moment(0, 12 * 60)


def complaints(text: str, folder: Path) -> str:
    """What the validator says of a file by the models of RFC 8343, 7224 and 8519 as published; nothing when it is valid."""
    (folder / "acl.json").write_text(text, "utf-8")
    program = shutil.which("yanglint", path=kernel.PATH)
    assert program, "yanglint is missing"
    command = CHECK.format(file=folder / "acl.json").split()
    paths = ["-p", str(MODELS / "ietf"), "-p", str(MODELS / "iana")]
    words = [str(next(MODELS.rglob(word))) if word.endswith(".yang") else word for word in command[1:]]
    run = subprocess.run([program, *paths, *words], capture_output=True, text=True, check=False)
    return run.stderr if run.returncode else ""


def test_the_published_model_takes_the_office(tmp_path: Path) -> None:
    assert complaints(text_of(lists(office())[0]), tmp_path) == ""


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ('"port": 445', '"port": 70000'),
        ("ietf-access-control-list:drop", "ietf-access-control-list:throw"),
        ("10.20.10.0/24", "10.20.10.0/33"),
        ('"egress-interface": "zone-20"', '"egress-interface": "zone-21"'),
    ],
)
def test_the_validator_sees_a_mistake(tmp_path: Path, right: str, wrong: str) -> None:
    text = text_of(lists(office())[0])
    assert right in text
    assert complaints(text.replace(right, wrong, 1), tmp_path)


def beginnings(dice: Dice, rules: RuleSet) -> list[Packet]:
    """First packets of something, from the zones and from the firewall itself."""
    packets = [dice.packet(rules.rules, own=own) for own in (False, True) for _ in range(40)]
    return [packet for packet in packets if packet.state == "new"]


def test_lists_pass_what_the_rules_pass_and_nothing_more(scale: Scale, tmp_path: Path) -> None:
    equal = 0
    for seed in range(scale(short=150, full=300)):
        dice = Dice(Random(seed))
        rules = dice.rules()
        content, unsaid = lists(rules)
        data = json.loads(text_of(content))
        exact = not unsaid.left_out and not unsaid.widened
        equal += exact
        for packet in beginnings(dice, rules):
            rule = deciding(packet, rules, NOON_ON_MONDAY)
            meant = rule is not None and rule.verdict is Verdict.ACCEPT
            passed = passes(data, packet, LEGS)
            assert passed <= meant, (seed, packet, rule)
            assert not exact or passed == meant, (seed, packet, rule)
    assert equal > 10
    assert complaints(text_of(content), tmp_path) == ""


FILES = FilterRule(
    "r-010", A, "Files", family=4, zone_in="staff", zone_out="servers", sources=nets("10.20.10.0/24"),
    targets=nets("10.20.20.5"), protocol="tcp", ports=((445, 445),), state="new", log=True,
)  # fmt: skip


def accepted(*rules: FilterRule) -> tuple[str, str]:
    """Numbers of the entries that accept at the staff's port, and what is said of the rest."""
    content, unsaid = lists(RuleSet("office", rules, LEGS, ()))
    aces = next(one for one in content["ietf-access-control-list:acls"]["acl"] if one["name"] == "zone-10-in-4")[
        "aces"
    ]["ace"]
    names = [ace["name"] for ace in aces if ace["actions"]["forwarding"].endswith(":accept")]
    return " ".join(names), told(unsaid)


def changed(**fields: object) -> FilterRule:
    values = {name: getattr(FILES, name) for name in FilterRule.__dataclass_fields__}
    return FilterRule(**{**values, **fields})


def test_what_can_be_said_is_said() -> None:
    assert accepted(FILES) == ("r-010", "Every accept is in it.")
    text = text_of(lists(RuleSet("office", (FILES,), LEGS, ()))[0])
    assert (
        '{"name": "r-010", "matches": {"ipv4": {"protocol": 6, "destination-ipv4-network": "10.20.20.5/32", '
        '"source-ipv4-network": "10.20.10.0/24"}, "tcp": {"destination-port": {"operator": "eq", "port": 445}}, '
        '"egress-interface": "zone-20"}, "actions": {"forwarding": "ietf-access-control-list:accept", '
        '"logging": "ietf-access-control-list:log-syslog"}}' in text
    )


def test_several_ports_and_sources_are_several_entries() -> None:
    wide = changed(ports=((445, 445), (139, 139)), sources=nets("10.20.10.0/26", "10.20.10.128/25"))
    assert accepted(wide)[0] == "r-010.1 r-010.2 r-010.3 r-010.4"


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"window": OFFICE_HOURS}, "hours"),
        ({"translated": True}, "a translated target"),
    ],
)
def test_what_cannot_be_said_is_left_out_and_told(fields: dict[str, object], reason: str) -> None:
    assert accepted(changed(**fields)) == ("", f"Left out, so that it is denied: 1 because of {reason} (r-010).")


def test_any_source_but_some_is_a_drop_above_an_accept() -> None:
    but = changed(not_sources=nets("10.20.10.9"), sources=())
    assert accepted(but) == ("r-010.2", "Every accept is in it.")
    later = changed(slug="r-020", sources=nets("10.20.10.0/28"))
    told_of = "Left out, so that it is denied: 1 because of a source that is any but some (r-020)."
    assert accepted(but, later) == ("r-010.2 r-020", told_of)  # in part: 10.20.10.9 no longer reaches the second
    gone = FilterRule("r-005", D, "gone", zone_in="staff", early=True, family=4, sources=nets("10.20.10.8/30"))
    assert accepted(gone, but, later) == ("r-010 r-020", "Every accept is in it.")


def test_a_drop_that_cannot_be_said_drops_more() -> None:
    closed = changed(slug="r-005", verdict=D, window=OFFICE_HOURS)
    names, said = accepted(closed, FILES)
    assert names == "r-010"  # still there, and never reached
    assert said == "Every accept is in it. Dropped more widely: 1 because of hours (r-005)."


def test_a_party_known_by_name_is_left_out_and_a_listed_one_is_not() -> None:
    to_party = changed(zone_out=OUTSIDE, targets=(), target_set="bank")
    for names, expected in (((), "r-010"), (("bank.example",), "")):
        rules = RuleSet("office", (to_party,), LEGS, (), (("bank", nets("203.0.113.0/26"), names),))
        data = lists(rules)[0]["ietf-access-control-list:acls"]["acl"]
        assert (expected == "r-010") == any(ace["name"] == "r-010" for one in data for ace in one["aces"]["ace"])


def test_foreign_sources_pass_nowhere() -> None:
    spoofed = FilterRule(
        "r-001", D, "not from here", zone_in="staff", early=True, family=4, not_sources=nets("10.20.10.0/24")
    )
    everything = FilterRule("r-002", A, "all", family=4, zone_in="staff", state="new")
    data = lists(RuleSet("office", (spoofed, everything), LEGS, ()))[0]["ietf-access-control-list:acls"]["acl"]
    entry = next(one for one in data if one["name"] == "zone-10-in-4")["aces"]["ace"][0]
    assert entry["matches"] == {"ipv4": {"source-ipv4-network": "10.20.10.0/24"}}


def test_replies_and_strays_have_no_place() -> None:
    established = FilterRule("r-001", A, "replies", state="established")
    stray = FilterRule("r-002", D, "strays", state="invalid")
    assert accepted(established, stray, FILES) == ("r-010", "Every accept is in it.")


def test_the_firewall_itself_is_all_that_it_answers_to() -> None:
    asked = changed(zone_out=FIREWALL, targets=(), protocol="udp", ports=((67, 67),))
    names, _ = accepted(asked)
    assert names == "r-010.1 r-010.2 r-010.3 r-010.4 r-010.5"  # three addresses, 224.0.0.0/4 and 255.255.255.255
