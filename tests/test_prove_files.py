"""Files of rules in place of the plan's own: the kernel's listing, access lists, two lists, and files that are none."""

import json
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from conftest import costly
from hypothesis import given
from hypothesis import strategies as st
from offices import example
from prove_runs import MILLRACE, run

import kernel
from scantling import UserError, api
from scantling.figures import RuleSet
from scantling.outputs.files.access_lists import lists, text_of
from scantling.outputs.files.packet_filter import rules_text
from scantling.plan.evidence import Evidence
from scantling.trials.proof import nodes
from scantling.trials.proof.listing import RuleFileError
from scantling.trials.proof.proving import case
from scantling.trials.proof.rulefile import side_of

IN_T = {"family": "inet", "table": "t"}


def rules(name: str = "millrace") -> RuleSet:
    """An example's list."""
    (found,) = example(name).records(RuleSet)
    return found


def listing(change: Callable[[list[dict[str, Any]]], None] | None = None, name: str = "millrace") -> str:
    """What the kernel lists of an example's rules, changed afterwards."""
    objects = kernel.listing(rules_text(rules(name), []))
    if change is not None:
        change(objects)
    return json.dumps({"nftables": objects})


def evidence(found: api.Proving) -> Evidence:
    """What was proved."""
    assert found.evidence is not None
    return found.evidence


def test_a_listing_of_the_kernel_is_proved_and_equal(tmp_path: Path) -> None:
    file = tmp_path / "live.json"
    file.write_text(listing(), "utf-8")
    told = run(MILLRACE, "--rules", str(file))
    assert (told.returncode, told.stderr) == (0, "")
    assert "Proof of live.json: proved" in told.stdout
    assert "the compiled rules and live.json: equal, every packet fares alike" in told.stdout


def let_everybody_in(objects: list[dict[str, Any]]) -> None:
    """A rule that somebody tried out one evening and left there."""
    spare = next(one for one in objects if one.get("rule", {}).get("chain") == "forward")
    first = objects.index(spare)
    match = {"match": {"op": "==", "left": {"payload": {"protocol": "tcp", "field": "dport"}}, "right": 3389}}
    rule = {**spare["rule"], "handle": 9999, "comment": "only for tonight", "expr": [match, {"accept": None}]}
    objects.insert(first, {"rule": rule})


def test_a_rule_that_somebody_left_in_the_kernel_is_explained(tmp_path: Path) -> None:
    file = tmp_path / "live.json"
    file.write_text(listing(let_everybody_in), "utf-8")
    found = api.prove(example("millrace"), rules=file)
    assert not found.proved
    one = evidence(found).differences[0]
    assert one.kind == "open"
    assert "more pairs of places" in one.says
    assert 'rule 9999 of chain forward in table inet office "only for tonight" lets it through' in one.says
    assert "by tcp 3389" in one.says
    assert "no intent asks for it" in one.says
    assert found.compared[0].differences
    told = run(MILLRACE, "--rules", str(file))
    assert told.returncode == 1
    assert "OPEN" in told.stdout
    assert "only for tonight" in told.stdout
    (again,) = api.prove(example("millrace"), rules=file, packet=one.packet).traced
    assert again.passes is True
    assert again.meant is False


def test_two_lists_are_held_against_each_other(tmp_path: Path) -> None:
    one, two = tmp_path / "monday.json", tmp_path / "tuesday.json"
    one.write_text(listing(), "utf-8")
    two.write_text(listing(let_everybody_in), "utf-8")
    same = api.prove(example("millrace"), rules=one, against=one)
    assert same.proved
    assert not same.compared[1].differences
    other = run(MILLRACE, "--rules", str(one), "--against", str(two))
    assert other.returncode == 1
    assert "monday.json against tuesday.json" in other.stdout
    assert "packet: " in other.stdout
    assert "of monday.json does not let through" in " ".join(other.stdout.split())
    assert run(MILLRACE, "--against", str(one)).returncode == 0


def test_our_access_lists_let_through_nothing_unasked(tmp_path: Path) -> None:
    """RFC 8519 knows neither hours nor translations nor names: what can't be said is left out, and told as shut."""
    file = tmp_path / "acl.json"
    content, unsaid = lists(rules())
    file.write_text(text_of(content), "utf-8")
    found = api.prove(example("millrace"), rules=file)
    kinds = {one.kind for one in evidence(found).differences}
    assert kinds == {"barred"}
    assert unsaid.left_out
    assert {one.intent for one in evidence(found).differences} >= {"allow-ticket-help"}
    assert all(door.asked for door in evidence(found).doors)
    assert any("Access lists know no connections" in note for note in evidence(found).notes)


def test_a_wrong_entry_of_an_access_list_is_explained(tmp_path: Path) -> None:
    content, _ = lists(rules())
    acls = content["ietf-access-control-list:acls"]["acl"]
    for one in acls:
        one["aces"]["ace"].insert(
            0, {"name": "oops", "matches": {}, "actions": {"forwarding": "ietf-access-control-list:accept"}}
        )
    file = tmp_path / "acl.json"
    file.write_text(json.dumps(content), "utf-8")
    found = api.prove(example("millrace"), rules=file)
    assert any(one.kind == "open" and "entry oops of list" in one.says for one in evidence(found).differences)


def test_a_set_that_names_filled_is_proved_as_it_stands(tmp_path: Path) -> None:
    """What the names of a party answered stands in the kernel's set; one address stands for all of that."""

    def fill(objects: list[dict[str, Any]]) -> None:
        filled = next(one["set"] for one in objects if one.get("set", {}).get("name") == "party-processor-4")
        filled["elem"] = ["198.51.100.201", {"range": ["203.0.113.8", "203.0.113.9"]}]

    file = tmp_path / "live.json"
    file.write_text(listing(fill), "utf-8")
    found = api.prove(example("millrace"), rules=file)
    assert found.proved
    assert any("are what the names of processor answered" in note for note in evidence(found).notes)


NO_RULES = {
    "{}": 'neither "nftables"', "[]": "holds no chain at all", "": "this is no JSON", "{": "this is no JSON",
    '{"nftables": 3}': "is no list", '{"nftables": [{"rule": {}}]}': "does not say its family",
    "table inet x {\n}\n": "this is a script for nft", "office:\n  name: x\n": "this is no JSON",
    '{"ietf-access-control-list:acls": []}': "is no dict", "[[[[" * 4000: "nested too deep",
    '{"nftables": [{"chain": {"family": "inet", "table": "t", "name": "c", "type": "filter", "hook": "forward", "policy": "drop"}}, '
    '{"rule": {"family": "inet", "table": "t", "chain": "c", "handle": 3, "expr": [{"match": {}}]}}]}': "rule 3 of chain c",
}  # fmt: skip


@pytest.mark.parametrize("text", NO_RULES)
def test_a_file_that_is_no_list_of_rules_is_told(text: str, tmp_path: Path) -> None:
    file = tmp_path / "rules.json"
    file.write_text(text, "utf-8")
    with pytest.raises(UserError) as told:
        api.prove(example("fold"), rules=file)
    assert str(told.value).startswith("rules.json")
    assert NO_RULES[text] in str(told.value)


def test_a_missing_file_a_folder_and_bytes_are_told(tmp_path: Path) -> None:
    for path, says in ((tmp_path / "none.json", "there is no such file"), (tmp_path, "this is a folder")):
        with pytest.raises(UserError, match=says):
            api.prove(example("fold"), rules=path)
    odd = tmp_path / "odd.json"
    odd.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(UserError, match=r"odd\.json"):
        api.prove(example("fold"), rules=odd)


WORDS = (
    "match",
    "left",
    "right",
    "op",
    "set",
    "chain",
    "rule",
    "family",
    "table",
    "name",
    "expr",
    "accept",
    "prefix",
    "meta",
    "key",
)
ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(WORDS), inner, max_size=4),
    max_leaves=12,
)


@costly
@given(ANYTHING)
def test_any_data_is_a_listing_or_a_sentence(data: object) -> None:
    """Whatever stands in a file, nothing but a sentence comes of it."""
    one = case(example("fold"))
    assert one is not None
    chain = {**IN_T, "name": "c", "type": "filter", "hook": "forward", "prio": 0, "policy": "drop"}
    match = {"rule": {**IN_T, "chain": "c", "handle": 1, "expr": [{"match": data}, {"accept": None}]}}
    jump = {"rule": {**IN_T, "chain": "c", "handle": 1, "expr": [{"jump": data}]}}
    map_ = {
        "rule": {**IN_T, "chain": "c", "handle": 1, "expr": [{"vmap": {"key": data, "data": {"set": [[1, data]]}}}]}
    }
    entry = {"acl": [{"name": "l", "type": "x:ipv4-acl-type", "aces": {"ace": [data]}}], "attachment-points": data}
    files: list[object] = [
        {"nftables": many} for many in ([{"chain": chain}, match], [{"chain": chain}, jump], [{"chain": chain}, map_])
    ]
    files += [{"nftables": [data]}, {"nftables": data}, {"ietf-access-control-list:acls": entry}]
    for file in files:
        with suppress(RuleFileError):
            assert side_of(json.dumps(file), "rules.json", one).about == "rules.json"


def test_rules_too_tangled_to_prove_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A list whose diagram would not fit into memory: one sentence with the file's name."""
    file = tmp_path / "tangled.json"
    file.write_text(listing(), "utf-8")
    made = example("millrace")
    monkeypatch.setattr(nodes, "MOST_EDGES", 100)
    with pytest.raises(UserError, match=r"tangled\.json: these rules can't be proved: more than 100 edges"):
        api.prove(made, file)
