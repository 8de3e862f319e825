"""Servers whose files are bad, change while they run, or that end by themselves; and one file more makes one service more."""

import dataclasses
import json
import os
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from offices import example
from scantling.figures import Name
from scantling.outputs.files import Written
from scantling.trials.rehearsal import services
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.services import kea
from scantling.trials.rehearsal.services.adapter import Job, placed
from served_offices import Stood, changed, files_of, ip, stood

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
LONG = 15.0


def content(path: str) -> bytes:
    """A generated file of Fold & Fell's."""
    return next(one.content for one in files_of("fold") if one.path == path)


def bad(program: str) -> tuple[Written, ...]:
    """Fold & Fell's files, one of them wrong."""
    path, right, wrong, _ = BAD[program]
    assert content(path).count(right) >= 1
    return changed("fold", {path: content(path).replace(right, wrong)})


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
    wrong = content(ZONE).replace(b"10.71.20.22", b"10.71.20.322", 1)

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


def with_content(job: Job, path: str, changed_content: bytes) -> Job:
    """The same server with one file changed."""
    files = tuple(dataclasses.replace(one, content=changed_content) if one.path == path else one for one in job.files)
    assert files != job.files
    return dataclasses.replace(job, files=files)


def newer(zone: bytes) -> bytes:
    """A zone with one name more and a higher serial."""
    serial = next(word for word in zone.split() if word.isdigit() and len(word) == 10)
    return (
        zone.replace(serial, str(int(serial) + 1).encode(), 1) + b"\nfresh.ad.foldandfell.example. IN A 10.71.20.60\n"
    )


def until(asked: Callable[[], tuple[str, list[str]]], told: list[str]) -> tuple[str, list[str]]:
    """The answer, once it is this one, or the last after a while."""
    end = time.monotonic() + LONG
    while (answer := asked())[1] != told and time.monotonic() < end:
        time.sleep(0.05)
    return answer


@pytest.mark.parametrize("hidden", [(), ("nsd",)])
def test_a_changed_zone_is_answered_and_copied_without_a_new_start(hidden: tuple[str, ...]) -> None:
    """The server of names takes it while it runs, and tells the resolver, which fetches its copy (RFC 1996, RFC 5936)."""

    def work(there: Stood) -> tuple[Any, ...]:
        there.hide(*hidden)
        there.rise()
        before = there.of("nsd")
        resolver = there.job("unbound").hosts[0]
        first = there.ask("spare-staff", resolver, "before.ad.foldandfell.example")
        after = services.reconfigured(before, with_content(before.job, ZONE, newer(content(ZONE))))
        services.awaited([after])
        itself = there.ask("copies", after.job.hosts[0], "fresh.ad.foldandfell.example")
        copied = (
            ()
            if hidden
            else until(lambda: there.ask("spare-staff", resolver, "fresh.ad.foldandfell.example"), ["10.71.20.60"])
        )
        return first, itself, copied, before.process is after.process

    first, itself, copied, same = stood("fold", work)
    assert first == ("NXDOMAIN", [])
    assert itself == ("NOERROR", ["10.71.20.60"])
    assert same
    if not hidden:
        assert copied == ("NOERROR", ["10.71.20.60"])


@pytest.mark.parametrize("hidden", [(), ("unbound",)])
def test_a_changed_resolver_refuses_whom_it_must_without_a_new_start(hidden: tuple[str, ...]) -> None:
    mine = content(RESOLVER).replace(b"access-control: 10.71.30.0/26 allow", b"access-control: 10.71.30.0/26 refuse")

    def work(there: Stood) -> tuple[Any, ...]:
        there.hide(*hidden)
        there.rise()
        before, machine = (
            there.of("unbound"),
            next(one for one in there.plan.records(Name) if one.holder == "directory"),
        )
        first = there.ask("spare-staff", before.job.hosts[4], machine.name)
        after = services.reconfigured(before, with_content(before.job, RESOLVER, mine))
        services.awaited([after])
        second = until(lambda: there.ask("spare-staff", after.job.hosts[4], machine.name), [])
        return first, second, before.process is after.process

    first, second, same = stood("fold", work)
    assert first[0] == "NOERROR"
    assert second[0] == "REFUSED"
    assert same


def test_changed_leases_hold_at_once_and_bad_ones_are_refused() -> None:
    longer = json.loads(content(LEASES))
    longer["Dhcp4"]["valid-lifetime"] = 4321
    wrong = content(LEASES).replace(b'"authoritative"', b'"authoritativ"')

    def work(there: Stood) -> tuple[Any, ...]:
        there.jobs = [job for job in there.jobs if job.program == "kea-dhcp4"]
        running = there.rise()[0]
        after = services.reconfigured(running, with_content(running.job, LEASES, json.dumps(longer).encode()))
        services.awaited([after])
        settings = kea.told(after, "config-get")["arguments"]["Dhcp4"]
        with pytest.raises(RehearsalError) as told:
            services.reconfigured(after, with_content(after.job, LEASES, wrong))
        return settings["valid-lifetime"], after.process is running.process, str(told.value)

    seconds, same, told = stood("fold", work)
    assert seconds == 4321
    assert same
    assert told.startswith("kea-dhcp4 on directory refuses config-reload: ")
    assert "authoritativ" in told


def test_a_changed_clock_starts_anew() -> None:
    mine = content(CLOCK).replace(b"local stratum 12", b"local stratum 7").replace(b"server ", b"# server ")

    def work(there: Stood) -> tuple[bytes, bool]:
        there.jobs = [job for job in there.jobs if job.paths == (CLOCK,)]
        running = there.rise()[0]
        after = services.reconfigured(running, with_content(running.job, CLOCK, mine))
        services.awaited([after])
        return there.time("spare-servers", after.job.hosts[0]), after.process is running.process

    said, same = stood("fold", work)
    assert said[1] == 7
    assert not same


TOY = '''"""A toy."""
SERVES, PROGRAM, AFTER = "doors", "doord", ("chronyd",)
def wanted(office, plan, files):
    from scantling.trials.rehearsal.services.adapter import Job
    return [Job(SERVES, "firewall", PROGRAM, ())]
'''


def test_one_file_more_is_one_service_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Found by listing the folder, and put after what it needs; modules that serve nothing are none."""
    before = services.adapters()
    (tmp_path / "a_toy.py").write_text(TOY, "utf-8")
    monkeypatch.setattr(services, "__path__", [*services.__path__, str(tmp_path)])
    services.adapters.cache_clear()
    try:
        after = services.adapters()
        jobs = services.jobs(None, example("fold"), ()) if not before else []  # type: ignore[arg-type]
    finally:
        services.adapters.cache_clear()
    assert jobs == []
    assert [one.SERVES for one in after] == [*(one.SERVES for one in before), "doors"]
    programs = [one.PROGRAM for one in before]
    assert sorted(programs) == ["chronyd", "kea-dhcp4", "kea-dhcp6", "nsd", "unbound"]
    assert programs.index("nsd") < programs.index("unbound") < programs.index("chronyd")


def test_a_file_that_does_not_say_where_it_goes_is_refused() -> None:
    with pytest.raises(RehearsalError, match="doesn't say where on its machine it goes"):
        placed(Written("firewall/relay.txt", b"", "", "To whoever sets up the firewall.", "", ""))


def test_a_plan_without_a_file_that_a_server_needs_is_told() -> None:
    plan = example("fold")
    left = [one for one in files_of("fold") if one.path != "names/nsd.conf"]
    with pytest.raises(RehearsalError, match=r"no file names/nsd\.conf, which a server"):
        services.jobs(None, plan, left)  # type: ignore[arg-type]
