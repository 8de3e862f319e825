"""Work in hand: children of the office that tell their steps, can be stopped, wait their turn and never outlive it."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from shutil import copyfile

import pytest

from offices import BRIEFS
from scantling import UserError, api
from scantling.outputs.weighed import as_plain
from scantling.plan.telling import identity
from scantling.web import kinds
from scantling.web.errand import Errand, Outcome
from scantling.web.jobs import Job, Jobs
from scantling.web.kinds import KINDS, Place

PATIENCE = 120.0


@pytest.fixture
def place(tmp_path: Path) -> Place:
    copyfile(BRIEFS["fold"], tmp_path / "brief.yaml")
    return Place(tmp_path, tmp_path / "brief.yaml")


@pytest.fixture
def told() -> list[str]:
    return []


@pytest.fixture
def jobs(place: Place, told: list[str]) -> Iterator[Jobs]:
    made = Jobs(place, told.append)
    yield made
    made.close()


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> None:
    """Work that tells one step and then does nothing for a long time."""
    script = "import sys, time; sys.stderr.write('> sleeping\\n'); sys.stderr.flush(); time.sleep(600)"
    monkeypatch.setattr("scantling.web.jobs.command", lambda *_: [sys.executable, "-c", script])


def until(jobs: Jobs, id_: str, step: str) -> Job:
    """The work once it tells a step."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        job = next(one for one in jobs.every if one.id == id_)
        if job.step == step:
            return job
        time.sleep(0.02)
    raise AssertionError(f"{id_} never told {step}")


def alive(group: int) -> bool:
    """Whether any process of a group lives."""
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return False
    return True


def gone(group: int) -> bool:
    """Whether the whole group has ended, with a little time to do so."""
    end = time.monotonic() + 10
    while alive(group) and time.monotonic() < end:
        time.sleep(0.02)
    return not alive(group)


def test_the_files_are_written_step_by_step_and_told(jobs: Jobs, place: Place, told: list[str]) -> None:
    begun = jobs.start("files")
    job = jobs.wait(begun.id, PATIENCE)
    assert (job.code, job.says, job.words) == (0, "The files are written.", ())
    assert job.steps == 2
    assert job.step == "Writing the files"
    assert (place.folder / "files/files.txt").is_file()
    assert "work" in told
    assert told[-1] == "redraw"
    assert not jobs.outdated(job)
    place.brief.write_text(place.brief.read_text().replace("heads: 4", "heads: 5"))
    assert jobs.outdated(job)


def test_a_weighing_is_kept_with_the_plan_it_is_of(jobs: Jobs, place: Place) -> None:
    job = jobs.wait(jobs.start("weighing").id, PATIENCE)
    assert (job.code, job.words) == (0, ())
    made = api.plan(place.brief)
    assert jobs.kept_of["weighing"] == identity(made)
    assert api.weighed_json(made, jobs.kept["weighing"]) == api.weighed_json(made, api.weigh(made))


def test_a_weighing_outlives_the_office(jobs: Jobs, place: Place) -> None:
    """An office opened later has it from the folder, to the last price, with its plan's fingerprint; taken up when it is asked for."""
    assert jobs.wait(jobs.start("weighing").id, PATIENCE).code == 0
    later = Jobs(place, lambda _: None)
    assert not later.kept
    later.recall()
    assert later.kept_of == jobs.kept_of
    assert as_plain(later.kept["weighing"]) == as_plain(jobs.kept["weighing"])
    assert later.unread == ""
    file = place.folder / "weighing" / "weighing.json"
    file.write_text(file.read_text().replace('"dropped": "', '"dropped": "1', 1))
    harmed = Jobs(place, lambda _: None)
    harmed.recall()
    assert not harmed.kept
    assert "somebody has changed it" in harmed.unread
    assert harmed.wait(harmed.start("weighing").id, PATIENCE).code == 0
    assert harmed.unread == ""
    assert as_plain(harmed.kept["weighing"]) == as_plain(jobs.kept["weighing"])
    harmed.close()


def test_a_weighing_that_can_not_be_kept_says_so_at_once(jobs: Jobs, place: Place) -> None:
    (place.folder / "weighing").write_text("a file where the folder should be")
    job = jobs.wait(jobs.start("weighing").id, PATIENCE)
    assert job.code == 2
    assert "weighing" in job.words[-1]
    assert "is a file" in job.words[-1]


def test_what_a_person_must_mend_is_the_last_word(jobs: Jobs, place: Place) -> None:
    place.brief.write_text("office: {name: 3 TB of nothing\n")
    job = jobs.wait(jobs.start("files").id, PATIENCE)
    assert job.code == 2
    assert job.says == "It could not be done."
    assert any(line.startswith("brief.yaml:") for line in job.words)
    assert not (place.folder / "files").exists()


@pytest.mark.usefixtures("slow")
def test_two_go_on_at_once_and_the_third_waits(jobs: Jobs) -> None:
    first, second, third = (jobs.start(key) for key in ("book", "files", "weighing"))
    assert [job.state for job in jobs.in_hand] == ["going on", "going on", "waiting"]
    assert "waits" in jobs.last("weighing").says  # type: ignore[union-attr]
    until(jobs, first.id, "sleeping")
    jobs.stop(first.id)
    jobs.wait(first.id, PATIENCE)
    until(jobs, third.id, "sleeping")
    assert {job.id for job in jobs.in_hand} == {second.id, third.id}


@pytest.mark.usefixtures("slow")
def test_what_waits_can_be_taken_back(jobs: Jobs) -> None:
    ids = [jobs.start(key).id for key in ("book", "files", "weighing")]
    job = jobs.stop(ids[2])
    assert (job.state, job.says) == ("ended", "Stopped. What lay there before is as it was.")


@pytest.mark.usefixtures("slow")
def test_the_same_work_is_not_begun_twice(jobs: Jobs) -> None:
    jobs.start("book")
    with pytest.raises(UserError, match="The book is in hand already"):
        jobs.start("book")


def test_unknown_work_and_unknown_choices_are_refused(jobs: Jobs) -> None:
    with pytest.raises(UserError, match="no such work"):
        jobs.start("../../bin/sh")
    with pytest.raises(UserError, match="choose one of"):
        jobs.start("rehearsal", {"family": "--help"})
    with pytest.raises(UserError, match="no work"):
        jobs.stop("book-99")
    assert jobs.every == ()


@pytest.mark.usefixtures("slow")
def test_nothing_outlives_the_office(jobs: Jobs) -> None:
    begun = [jobs.start("book"), jobs.start("files")]
    for job in begun:
        until(jobs, job.id, "sleeping")
    groups = [jobs._errands[job.id].group for job in begun]
    assert all(alive(group) for group in groups)
    jobs.close()
    assert all(gone(group) for group in groups)
    assert jobs.in_hand == ()
    with pytest.raises(UserError, match="closing"):
        jobs.start("book")


def test_a_command_that_will_not_stop_is_ended_with_all_it_started(tmp_path: Path) -> None:
    stubborn = (
        "import signal, subprocess, sys, time; signal.signal(signal.SIGINT, signal.SIG_IGN);"
        "subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(600)']);"
        "sys.stderr.write('> ready\\n'); sys.stderr.flush(); time.sleep(600)"
    )
    heard: list[str] = []
    ended: list[Outcome] = []
    one = Errand([sys.executable, "-c", stubborn], heard.append, ended.append)
    end = time.monotonic() + PATIENCE
    while not heard and time.monotonic() < end:
        time.sleep(0.02)
    began = time.monotonic()
    one.stop()
    assert one.wait(PATIENCE)
    assert 2.5 < time.monotonic() - began < 10
    assert ended[0].code == -signal.SIGKILL
    assert gone(one.group)


def test_work_ends_when_the_office_is_killed(tmp_path: Path) -> None:
    """Even a server that is ended without a word leaves nothing running: its pipe closes, and the minder sees it."""
    server = (
        "import sys, time\nfrom scantling.web.errand import Errand\n"
        "words = [sys.executable, '-c', \"import sys, time; sys.stderr.write('> on'); sys.stderr.flush(); time.sleep(600)\"]\n"
        "one = Errand(words, print, print)\nprint(one.group, flush=True)\ntime.sleep(600)\n"
    )
    process = subprocess.Popen([sys.executable, "-c", server], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    with process.stdout as lines:
        group = int(lines.readline())
        assert alive(group)
        process.kill()
        process.wait(PATIENCE)
        assert gone(group)


def test_every_choice_is_an_option_of_its_command(place: Place) -> None:
    """Each command is read by the real reader of options; --help ends it before it does anything."""
    for kind in KINDS.values():
        for key, choice in kind.choices.items():
            for word in choice.words:
                words = kinds.command(kind, place, kinds.chosen(kind, {key: word}))
                done = subprocess.run(
                    [*words, "--help"], check=False, capture_output=True, text=True, timeout=PATIENCE
                )
                assert done.returncode == 0, done.stderr


def test_no_folder_of_the_client_gives_modules_to_the_command(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    (place.folder / "scantling.py").write_text("raise SystemExit(99)")
    monkeypatch.chdir(place.folder)
    words = kinds.command(KINDS["files"], place, {})
    assert subprocess.run([*words, "--list"], check=False, capture_output=True, timeout=PATIENCE).returncode == 0
