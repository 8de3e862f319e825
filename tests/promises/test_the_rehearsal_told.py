"""The promises of what a rehearsal is asked for besides, what it tells, and what becomes of it in bad luck."""

import json
import os
import pty
import re
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest

import test_rehearsal_addresses as addresses
import test_rehearsal_agreement as agreement
import test_rehearsal_linespeed as linespeed
import test_rehearsal_second as second
from conftest import Scale
from offices import BRIEFS, changed
from rehearsal_runs import ENV, paged, started, told, with_files
from scantling import api
from scantling.trials.rehearsal.sandbox import RehearsalError

# -------------------------------------------------------------------------------------------------------- 6 busiest day


@pytest.mark.slow
def test_the_busiest_day_is_lived_with_the_real_server_and_as_foreseen(tmp_path: Path) -> None:
    """The busiest day with the real address server: refusals as foreseen within 5 %, both lease times side by side."""
    done = started(str(BRIEFS["millrace"]), "--busiest-day", "--out", str(tmp_path))
    assert done.returncode == 0, done.stdout + done.stderr
    short, long = api.read_rehearsal(tmp_path / "rehearsal.json").days
    assert short.lease < long.lease
    assert short.refused <= long.refused
    for one in (short, long):
        assert abs(one.refused - one.predicted) <= 0.05 * max(one.predicted, one.comers / 20)
        assert one.held
    assert re.search(r"lease 2 h +lease 8 h", done.stdout)
    assert (tmp_path / "T-3.svg").is_file()


# ------------------------------------------------------------------------------------------------------------- 7 live


def test_the_office_stays_up_to_look_around_in() -> None:
    """`--live` keeps the office up: a shell on any machine, a capture of a zone, the proof again after an edit."""
    done = started(str(BRIEFS["fold"]), "--live", input="help\n", timeout=60)
    said = done.stdout.partition("not the box that will be installed")[2].lower() + done.stderr.lower()
    for word in ("shell", "capture", "again"):
        assert word in said


# ------------------------------------------------------------------------------------------------------------ 8 modes


@pytest.mark.slow
def test_everyone_and_years_of_growth_stand_up_more_stations() -> None:
    """Representative, everyone, and the office as it has grown: each more stations than the one before."""
    few, now, later = (
        told("fold", *words)["compared"] for words in ((), ("--everyone",), ("--everyone", "--year", "5"))
    )
    assert few["stations"] < now["stations"] < later["stations"]
    assert [one["well"] for one in (few, now, later)] == [True] * 3


def test_one_family_alone_can_be_rehearsed() -> None:
    """`--family 4` tries IPv4 alone."""
    assert told("fold", "--family", "4")["compared"]["families"] == [4]
    assert told("fold", "--family", "4")["code"] == 0


def test_it_says_what_it_is_at_on_a_terminal() -> None:
    """Progress is told step by step on a terminal."""
    mine, theirs = pty.openpty()
    words = [sys.executable, "-m", "scantling", "rehearse", str(BRIEFS["fold"])]
    seen = b""
    with subprocess.Popen(words, env={**ENV, "TERM": "xterm"}, stdout=subprocess.DEVNULL, stderr=theirs) as going:
        os.close(theirs)
        end = time.monotonic() + 60
        while (going.poll() is None or select.select([mine], [], [], 0)[0]) and time.monotonic() < end:
            try:
                seen += os.read(mine, 4096) if select.select([mine], [], [], 0.1)[0] else b""
            except OSError:  # the other end has gone
                break
    os.close(mine)
    for step in (b"starting the servers", b"asking for addresses", b"trying"):
        assert step in seen


# ----------------------------------------------------------------------------------------------------------- 9 report


def test_the_page_says_everything_and_its_limits() -> None:
    """The page: what stood, what was real, what stood in, the matrix, the agreement, what can't be rehearsed, the limit."""
    said = paged("fold")
    for words in (
        "everything went as meant", "way in", "14: the firewall, machines", "kea-dhcp4 on directory", "stand-in",
        "let through + kept out", "intents, proof and real packets say the same", "What can't be rehearsed here:", "VLAN tags",
        "Radio", "Delay and loss", "What was rehearsed is the generated files, not the box that will be installed.",
    ):  # fmt: skip
        assert words in said, words


def test_the_evidence_is_the_same_every_time() -> None:
    """Deterministic JSON with a digest of every file and one over all that is compared."""
    first = told("fold")
    again = json.loads(started(str(BRIEFS["fold"]), "--json").stdout)
    assert {key: first[key] for key in again} == again
    assert re.fullmatch(r"[0-9a-f]{64}", again["digest"])
    assert all(re.fullmatch(r"[0-9a-f]{64}", one["digest"]) for one in again["compared"]["files"])


def test_a_rehearsal_leaves_its_record_and_drawings(tmp_path: Path) -> None:
    """With --out the record and the sheets of the rehearsal are written, by day and by night."""
    done = started(str(BRIEFS["fold"]), "--out", str(tmp_path))
    assert done.returncode == 0, done.stderr
    assert {path.name for path in tmp_path.iterdir()} == {"rehearsal.json", "T-1.svg", "T-1-night.svg"}
    assert api.read_rehearsal(tmp_path / "rehearsal.json").well


def test_the_book_carries_the_rehearsal(tmp_path: Path) -> None:
    """The handover book tells of the rehearsal, with its digest and its sheets."""
    assert started(str(BRIEFS["fold"]), "--out", str(tmp_path)).returncode == 0
    words = [sys.executable, "-m", "scantling", "book", str(BRIEFS["fold"]), "--no-weigh", "--out", str(tmp_path)]
    done = subprocess.run(
        [*words, "--rehearsal", str(tmp_path / "rehearsal.json")], env=ENV, check=False, capture_output=True
    )
    assert done.returncode == 0, done.stderr
    digest = json.loads((tmp_path / "rehearsal.json").read_text("ascii"))["digest"]
    page = (tmp_path / "book.html").read_text("utf-8")
    assert digest[:16] in page
    assert "T-1" in page


# ------------------------------------------------------------------------------------------------------------ bad luck


def test_too_few_open_files_are_told_plainly() -> None:
    """Too few file descriptors: said before anything fails, with how many are needed; exit code not zero."""
    done = started(str(BRIEFS["fold"]), before="ulimit -n 24;")
    assert done.returncode == 2
    assert "24 files open" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_missing_program_is_stood_in_for_and_said() -> None:
    """A server program that is missing here is stood in for, and the page says so; flows are tried all the same."""
    hidden = "unshare -Urm sh -c 'mount --bind /dev/null /usr/sbin/nsd && exec \"$@\"' sh"
    done = started(str(BRIEFS["fold"]), "--json", before=hidden)
    assert done.returncode == 0, done.stdout + done.stderr
    names = [one for one in json.loads(done.stdout)["compared"]["services"] if one["service"] == "office names"]
    assert [one["real"] for one in names] == [False]
    assert "nsd isn't installed" in names[0]["why"]


def test_a_server_that_dies_at_start_is_told_with_its_last_lines() -> None:
    """An unreadable generated file or a daemon that dies at start is told with the daemon's own words."""
    with pytest.raises(RehearsalError) as wrong:
        with_files("fold", {"names/nsd.conf": b"server:\n  no-such-word: yes\n"})
    assert "nsd" in str(wrong.value)
    assert "no-such-word" in str(wrong.value) or "unknown" in str(wrong.value)


@pytest.mark.slow
def test_a_zone_of_more_than_a_thousand_devices_stands_up_or_says_why_not(tmp_path: Path) -> None:
    """A zone of 1,100 devices is rehearsed, or told plainly what is too small for it."""
    text = changed(BRIEFS["fold"].read_text("utf-8"), "kind: laptop, count: 4,", "kind: laptop, count: 1100,")
    (tmp_path / "brief.yaml").write_text(text, "utf-8")
    done = started("--everyone", cwd=tmp_path)
    assert "Traceback" not in done.stderr
    assert re.search(r"1,1\d\d: the firewall", done.stdout) or (done.returncode == 2 and "stations" in done.stderr)


# -------------------------------------------------------------------------------------------------- checks from outside


def test_our_own_client_and_relay_do_as_others_do() -> None:
    """Our own address client is given what BusyBox's is, and a second relay brings the same answers as our own."""
    second.test_busyboxs_client_is_given_the_same()
    second.test_a_second_relay_brings_the_same_answers()


@pytest.mark.slow
def test_the_proof_and_the_kernel_agree_on_random_rules(scale: Scale) -> None:
    """On random rule sets the exact proof says of each packet what the kernel does with it (500,000 verdicts in the long tests)."""
    lists, tries, least = scale(short=4, full=310), scale(short=150, full=800), scale(short=1_000, full=500_000)
    assert agreement.verdicts(range(7000, 7000 + lists), tries) > least


def test_a_pool_is_lent_to_its_last_address_and_not_beyond() -> None:
    """With one device more than a pool has addresses, exactly one gets none."""
    addresses.test_a_pool_lends_exactly_what_it_has("staff", 1)


def test_a_line_passes_its_planned_speed() -> None:
    """A bounded line passes its speed within a tenth."""
    linespeed.test_a_bounded_port_passes_its_speed_within_a_tenth(50)
