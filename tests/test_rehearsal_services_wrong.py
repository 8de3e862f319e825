"""Servers with bad files, without their ports or addresses, or that end by themselves: each says what is wrong, none is left."""

import dataclasses
import os
import signal
from pathlib import Path
from typing import Any

import pytest

from scantling.outputs.files import Written
from scantling.trials.rehearsal import services
from scantling.trials.rehearsal.results import Checked
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.services.checking import Checking
from served_offices import Stood, of_fold, changed, files_of, ip, stood

ZONE = "names/ad.foldandfell.example.zone"
RESOLVER = "lookups/firewall/unbound.conf"
CLOCK = "time/directory/chrony.conf"
LEASES = "addresses/kea-dhcp4.conf"
BAD = {
    "kea-dhcp4": (LEASES, b'"authoritative"', b'"authoritativ"', "authoritativ"),
    "kea-dhcp6": ("addresses/kea-dhcp6.conf", b"/96", b"/196", "/196"),
    "nsd": ("names/nsd.conf", b"hide-version: yes", b"hide-versions: yes", "hide-versions"),
    "unbound": (RESOLVER, b"prefetch: yes", b"prefetches: yes", "prefetches"),
    "chronyd": (CLOCK, b"driftfile", b"driftfiles", "line 8"),
}
"""By program: one of its files, a word of it, a wrong one, and what the program then says."""


def bad(program: str) -> tuple[Written, ...]:
    """Fold & Fell's files, one of them wrong."""
    path, right, wrong, _ = BAD[program]
    assert of_fold(path).count(right) >= 1
    return changed("fold", {path: of_fold(path).replace(right, wrong)})


@pytest.mark.parametrize("program", BAD)
def test_a_bad_file_is_told_and_ends_the_program_with_its_last_lines(program: str) -> None:
    """By the parser before anything starts; and by the program itself, whose last lines are in the error. Nothing is left running."""
    path, _, _, word = BAD[program]

    def work(there: Stood) -> tuple[list[Any], str, bool]:
        checked = there.check()
        there.jobs = [job for job in there.jobs if job.program == program and path in job.paths]
        try:
            there.rise()
        except RehearsalError as told:
            return checked, str(told), anybody(there)
        return checked, "", anybody(there)

    checked, told, left = stood("fold", work, bad(program))
    assert {one.path for one in checked if one.says} == {path}
    assert word in next(one.says for one in checked if one.says)
    assert told.startswith(f"{program} on ")
    assert "last lines" in told
    assert word in told
    assert not left


def anybody(there: Stood) -> bool:
    """Whether any server runs in the sandbox."""
    names = {one.program for one in services.jobs(there.office, there.plan, files_of("fold"))}
    comms = [Path(f"/proc/{one.name}/comm") for one in Path("/proc").iterdir() if one.name.isdigit()]
    return any(one.read_text("utf-8").strip() in names for one in comms if one.exists())


def test_a_bad_zone_is_told_by_both_readers_and_missed_when_the_server_runs() -> None:
    wrong = of_fold(ZONE).replace(b"10.71.20.22", b"10.71.20.322", 1)

    def work(there: Stood) -> tuple[list[Any], str]:
        there.jobs = [job for job in there.jobs if job.program == "nsd"]
        with pytest.raises(RehearsalError) as told:
            there.rise()
        return there.check(), str(told.value)

    checked, told = stood("fold", work, changed("fold", {ZONE: wrong}))
    says = {one.path: one.says for one in checked if one.says}
    assert set(says) == {ZONE}
    assert f"nsd-checkzone: error: /etc/nsd/zones/{ZONE.removeprefix('names/')}:" in says[ZONE]
    assert "named-checkzone: " in says[ZONE]
    assert "doesn't hold ad.foldandfell.example; its last lines" in told


def test_a_port_that_the_file_names_must_be_there() -> None:
    def work(there: Stood) -> list[Any]:
        ip(there.room("directory"), ["link set dev zone-20 down", "link set dev zone-20 name other"])
        return there.check()

    says = {one.path: one.says for one in stood("fold", work) if one.says}
    assert set(says) == {LEASES, "addresses/kea-dhcp6.conf"}
    assert all("zone-20" in one for one in says.values())


def test_files_are_read_while_other_work_goes_on() -> None:
    """The same told as by waiting, for good files and bad ones, while the servers start from the same files."""

    def work(there: Stood) -> tuple[list[Checked], list[Checked]]:
        reading = Checking(there.jobs, there.trees.__getitem__, there.room)
        there.rise()
        return reading.result(), there.check()

    beside, waited = stood("fold", work)
    assert beside == waited
    assert len(beside) == len({one.path for one in beside}) > 10

    def broken(there: Stood) -> str:
        reading = Checking(there.jobs, there.trees.__getitem__, dict[str, Room]().__getitem__)
        with pytest.raises(RehearsalError) as told:
            reading.result()
        return str(told.value)

    wrong = of_fold(ZONE).replace(b"10.71.20.22", b"10.71.20.322", 1)
    bad_ones = stood(
        "fold",
        lambda there: Checking(there.jobs, there.trees.__getitem__, there.room).result(),
        changed("fold", {ZONE: wrong}),
    )
    assert {one.path for one in bad_ones if one.says} == {ZONE}
    assert stood("fold", broken).startswith("the files' parsers couldn't be run: KeyError")


def test_who_can_not_have_its_address_says_so() -> None:
    def work(there: Stood) -> str:
        ip(there.room("directory"), ["addr flush dev zone-20"])
        with pytest.raises(RehearsalError) as told:
            there.rise()
        return str(told.value)

    assert "nsd on directory ended with 1; its last lines: " in stood("fold", work)


def test_one_that_ends_later_is_noticed() -> None:
    def work(there: Stood) -> str:
        there.jobs = [job for job in there.jobs if job.program == "nsd"]
        running = there.rise()
        assert running[0].process is not None
        os.kill(running[0].process.pid, signal.SIGKILL)
        running[0].process.wait()
        with pytest.raises(RehearsalError) as told:
            services.awaited(running)
        return str(told.value)

    assert "nsd on directory ended with -9; its last lines: " in stood("fold", work)


def test_one_that_never_answers_is_given_up() -> None:
    def work(there: Stood) -> str:
        there.jobs = [job for job in there.jobs if job.program == "nsd"]
        running = there.rise()
        assert running[0].process is not None
        os.kill(running[0].process.pid, signal.SIGSTOP)
        lonely = dataclasses.replace(running[0].job, port=54)
        with pytest.raises(RehearsalError) as told:
            services.awaited([dataclasses.replace(running[0], job=lonely)], 0.3)
        os.kill(running[0].process.pid, signal.SIGCONT)
        return str(told.value)

    assert "nsd on directory doesn't answer after 0.3 s; its last lines: " in stood("fold", work)
