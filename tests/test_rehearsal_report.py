"""The evidence of a rehearsal: alike each time, read back to the letter, and refused in a sentence where somebody touched it."""

import hashlib
import json
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostile import EVERYTHING
from offices import example
from rehearsal_samples import BARE, EVERY, LARGE, SMALL, WRONG, checked, hostile
from scantling import UserError, api
from scantling.trials.rehearsal.recalled import RecordError, read, read_file
from scantling.trials.rehearsal.report import LIMIT, evidence, otherwise, record
from scantling.trials.rehearsal.results import Agreement, Lease, Rehearsed

every = pytest.mark.parametrize("name", EVERY)


def told(found: Rehearsed) -> dict[str, Any]:
    """The evidence as data."""
    whole: dict[str, Any] = json.loads(evidence(found))
    return whole


@every
def test_a_record_gives_the_rehearsal_back(name: str) -> None:
    assert read(record(EVERY[name])) == EVERY[name]


@every
def test_the_evidence_is_ascii_and_in_order(name: str) -> None:
    text = evidence(EVERY[name])
    assert text.isascii()
    assert text == json.dumps(json.loads(text), indent=1, sort_keys=True) + "\n"
    assert told(EVERY[name])["limit"] == LIMIT


@every
def test_the_digest_is_that_of_the_compared_part(name: str) -> None:
    """SHA-256 (FIPS 180-4) by the sha256sum of coreutils, over the part as RFC 8785 writes such data."""
    whole = told(EVERY[name])
    plain = json.dumps(whole["compared"], sort_keys=True, separators=(",", ":"))
    program = shutil.which("sha256sum")
    assert program is not None
    done = subprocess.run([program], input=plain, text=True, capture_output=True, check=True)
    assert done.stdout.split()[0] == whole["digest"]


def test_every_file_stands_there_with_its_digest() -> None:
    files = {one["path"]: one["digest"] for one in told(LARGE)["compared"]["files"]}
    assert files == {one.path: one.digest for one in LARGE.checked}
    assert files["names/7.zone"] == hashlib.sha256(b"names/7.zone").hexdigest()


ALIKE: dict[str, Rehearsed] = {
    "times": replace(SMALL, seconds=(("trying", 99.0),)),
    "who was lent which address": replace(
        SMALL, leases=tuple(replace(one, address="10.71.30.99", server="later") for one in SMALL.leases)
    ),
    "the way in": replace(SMALL, way_in="root"),
    "the order of files": replace(SMALL, checked=SMALL.checked[::-1]),
    "the order of tries": replace(SMALL, cells=SMALL.cells[::-1]),
}
UNLIKE: dict[str, Rehearsed] = {
    "a file": replace(SMALL, checked=(*SMALL.checked[1:], checked("other"))),
    "a lease that is wrong": replace(SMALL, leases=(replace(SMALL.leases[0], wrong="none"), SMALL.leases[1])),
    "an answer that is wrong": replace(SMALL, answers=(replace(SMALL.answers[0], wrong="silence"),)),
    "a try": replace(SMALL, cells=(replace(SMALL.cells[0], tried=51), *SMALL.cells[1:])),
    "a try that was let through": replace(SMALL, cells=(replace(SMALL.cells[0], passed=27), *SMALL.cells[1:])),
    "a stand-in": replace(SMALL, played=(replace(SMALL.played[0], real=False), *SMALL.played[1:])),
    "a year": replace(SMALL, year=3),
    "nothing stood up": BARE,
}


@pytest.mark.parametrize("what", ALIKE)
def test_what_comes_out_otherwise_each_time_is_not_compared(what: str) -> None:
    assert told(ALIKE[what])["digest"] == told(SMALL)["digest"]


@pytest.mark.parametrize("what", UNLIKE)
def test_what_matters_is_compared(what: str) -> None:
    assert told(UNLIKE[what])["digest"] != told(SMALL)["digest"]


def test_the_same_things_give_the_same_bytes_but_for_the_way_in() -> None:
    for what, found in ALIKE.items():
        assert (evidence(found) == evidence(SMALL)) == (what != "the way in")


def test_the_hour_of_a_rehearsal_is_of_no_weight() -> None:
    """Packets and differences bear the moment they were sent; what passes may depend on it."""
    later = replace(
        WRONG,
        mismatches=tuple(
            replace(one, packet=one.packet.replace("fri 21:00", "mon 03:07")) for one in WRONG.mismatches
        ),
        agreement=replace(
            WRONG.agreement or Agreement(0, 0, 0, ""),
            differences=("guests to files: the packet fares otherwise [x tcp y:445 at mon 03:07 v4]",),
        ),
        cells=tuple(replace(one, passed=one.passed + 1, kept_out=one.kept_out - 1) for one in WRONG.cells),
    )
    assert later != WRONG
    assert evidence(later) == evidence(WRONG)


def test_what_the_hastened_server_did_is_recorded_and_not_compared() -> None:
    off = replace(WRONG, days=tuple(replace(one, refused=one.refused + 1, held=one.held[1:]) for one in WRONG.days))
    assert evidence(off) == evidence(WRONG)
    assert read(record(off)) == off


@every
def test_how_many_things_went_otherwise_and_whether_all_is_well_say_the_same(name: str) -> None:
    found = EVERY[name]
    assert found.well == (not otherwise(found) and not found.why_not)


def test_a_thing_that_shows_twice_counts_once() -> None:
    """A file, two causes, two faults, a planted error; wrong lease, wrong answer and difference are told by the causes."""
    assert otherwise(WRONG) == 6
    assert (
        otherwise(replace(WRONG, mismatches=())) == 7
    )  # without causes the lease and the difference stand for themselves


@given(st.sampled_from(EVERYTHING))
def test_hostile_text_is_read_back_as_it_was(text: str) -> None:
    found = hostile(text)
    assert read(record(found)) == found
    assert evidence(found).isprintable() or evidence(found).replace("\n", "").isprintable()


# --------------------------------------------------------------------------------------------------------- bad records


def spoiled(**change: Any) -> str:
    """A record with one part changed."""
    return json.dumps({**json.loads(record(SMALL)), **change})


def run_with(**change: Any) -> str:
    """A record of which something that came out once was changed."""
    whole = json.loads(record(SMALL))
    return json.dumps({**whole, "this_run": {**whole["this_run"], **change}})


BAD = {
    "nothing": ("", "the record:1:1: this is not JSON"),
    "half": (record(SMALL)[:300], "this is not JSON"),
    "deep": ("[" * 200_000, "nested too deep"),
    "a list": ("[]", "no record of a rehearsal"),
    "something else": ('{"a": 1}', "no record of a rehearsal"),
    "a later form": (spoiled(form=9), "has form 9"),
    "a hostile form": (spoiled(form="\x1b[31m"), "<U+001B>"),
    "the evidence alone": (evidence(SMALL), "what --json prints"),
    "a number that is none": (record(SMALL).replace('"year": 0', '"year": NaN'), "NaN is no number"),
    "a huge number": (record(SMALL).replace('"year": 0', f'"year": {"9" * 5000}'), "digits"),
    "a text for a number": (run_with(year="three"), "this_run.year: a whole number is wanted"),
    "a number for a text": (run_with(office=3), "this_run.office: a text is wanted, not 3"),
    "yes for a number": (run_with(stations=True), "this_run.stations: a whole number is wanted"),
    "an object for a list": (run_with(leases={}), "this_run.leases: a list is wanted"),
    "a list for an object": (run_with(leases=[[]]), "this_run.leases.0: an object is wanted"),
    "a pair of three": (run_with(seconds=[["a", 1, 2]]), "this_run.seconds.0: 2 entries are wanted, not 3"),
    "a strange key": (run_with(other=1), "this_run: other is not known here"),
    "a missing key": (run_with(leases=[{"station": "a"}]), "this_run.leases.0: zone is missing"),
    "a run of another": (run_with(year=2), "its parts don't belong together"),
    "another digest": (spoiled(digest="0" * 64), "its parts don't belong together"),
    "no compared part": (spoiled(compared={}), "its parts don't belong together"),
}  # fmt: skip


@pytest.mark.parametrize("what", BAD)
def test_a_bad_record_is_refused_in_a_sentence(what: str) -> None:
    text, says = BAD[what]
    with pytest.raises(RecordError) as wrong:
        read(text)
    assert says in str(wrong.value)
    assert str(wrong.value).startswith("the record:")
    assert "rehearse again with --out" in str(wrong.value)
    assert str(wrong.value).isprintable()


@given(st.data())
def test_whatever_is_changed_is_noticed_or_of_no_weight(data: st.DataObject) -> None:
    """One letter of the record, changed at random: refused, or what is compared is the same as before."""
    text = record(SMALL)
    place = data.draw(st.integers(0, len(text) - 1))
    letter = data.draw(st.characters(codec="ascii"))
    try:
        found = read(text[:place] + letter + text[place + 1 :])
    except RecordError:
        return
    assert told(found)["digest"] == told(SMALL)["digest"]


def test_a_file_that_is_missing_a_folder_or_no_text_is_told(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="there is no such file"):
        read_file(tmp_path / "none.json")
    with pytest.raises(RecordError, match="this is a folder"):
        read_file(tmp_path)
    (tmp_path / "bytes.json").write_bytes(b"\xff\xfe")
    with pytest.raises(RecordError, match="byte 0 is no text"):
        read_file(tmp_path / "bytes.json")


def test_a_rehearsal_of_another_plan_is_told_by_its_files() -> None:
    made = example("fold")
    own = tuple(
        replace(checked(one.path), digest=hashlib.sha256(one.content).hexdigest())
        for one in api.files(made)
        if one.path.startswith(("firewall/", "names/"))
    )
    assert not api.of_another_plan(made, replace(SMALL, checked=own))
    other = replace(SMALL, checked=(replace(own[0], digest="0" * 64), *own[1:], checked("names/gone.zone")))
    assert set(api.of_another_plan(made, other)) == {own[0].path, "names/gone.zone"}


def test_a_record_is_written_beside_its_drawings_or_not_at_all(tmp_path: Path) -> None:
    made = example("fold")
    names = api.write_rehearsal(made, WRONG, tmp_path / "out").names
    assert set(names) == {path.name for path in (tmp_path / "out").iterdir()}
    assert set(names) == {"rehearsal.json", *(f"T-{n}{look}.svg" for n in (1, 2, 3) for look in ("", "-night"))}
    assert api.read_rehearsal(tmp_path / "out" / "rehearsal.json") == WRONG
    assert set(api.write_rehearsal(made, SMALL, tmp_path / "out").left) == set(names) - {
        "rehearsal.json",
        "T-1.svg",
        "T-1-night.svg",
    }
    (tmp_path / "file").write_text("x", "utf-8")
    for folder in (tmp_path / "file", tmp_path / "file" / "below"):
        with pytest.raises(UserError, match="is a file"):
            api.may_write(folder)
    api.may_write(tmp_path / "not" / "there" / "yet")
    assert not (tmp_path / "not").exists()
    with pytest.raises(UserError):
        api.write_rehearsal(made, SMALL, tmp_path / "file")
    assert (tmp_path / "file").read_text("utf-8") == "x"


def test_a_lease_that_was_not_given_is_named_in_the_evidence() -> None:
    zones = told(WRONG)["compared"]["leases"]
    assert {
        "zone": "staff",
        "family": 4,
        "asked": 2,
        "wrong": ["laptops-02: Laptops 2: no address was given"],
    } in zones
    assert sum(one["asked"] for one in told(LARGE)["compared"]["leases"]) == len(LARGE.leases)
    assert isinstance(LARGE.leases[0], Lease)
