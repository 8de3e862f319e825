"""Servers that are given other files while they run; and one file more in the folder makes one service more."""

import dataclasses
import json
import time
from collections.abc import Callable
from itertools import count
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
from served_offices import Stood, of_fold, files_of, stood

ZONE = "names/ad.foldandfell.example.zone"
RESOLVER = "lookups/firewall/unbound.conf"
CLOCK = "time/directory/chrony.conf"
LEASES = "addresses/kea-dhcp4.conf"
LONG = 15.0


def with_content(job: Job, path: str, changed_content: bytes) -> Job:
    """The same server with one file changed."""
    files = tuple(dataclasses.replace(one, content=changed_content) if one.path == path else one for one in job.files)
    assert files != job.files
    return dataclasses.replace(job, files=files)


def newer(zone: bytes) -> bytes:
    """A zone with one name more, all names below it, and a higher serial."""
    serial = next(word for word in zone.split() if word.isdigit() and len(word) == 10)
    more = b"fresh.ad.foldandfell.example. IN A 10.71.20.60\n*.fresh.ad.foldandfell.example. IN A 10.71.20.60\n"
    return zone.replace(serial, str(int(serial) + 1).encode(), 1) + b"\n" + more


def until(asked: Callable[[], tuple[str, list[str]]], told: list[str]) -> tuple[str, list[str]]:
    """The answer, once it is this one, or the last after a while."""
    end = time.monotonic() + LONG
    while (answer := asked())[1] != told and time.monotonic() < end:
        time.sleep(0.05)
    return answer


@pytest.mark.parametrize("hidden", [(), ("nsd",)])
def test_a_changed_zone_is_answered_and_copied_without_a_new_start(hidden: tuple[str, ...]) -> None:
    """The server of names takes it while it runs, and tells the resolver, which fetches its copy (RFC 1996, RFC 5936)."""
    # that a name isn't there is remembered, so each is asked for once
    below, number = "fresh.ad.foldandfell.example", count()

    def work(there: Stood) -> tuple[Any, ...]:
        there.hide(*hidden)
        there.rise()
        before = there.of("nsd")
        resolver = there.job("unbound").hosts[0]
        first = there.ask("spare-staff", resolver, "before.ad.foldandfell.example")
        after = services.reconfigured(before, with_content(before.job, ZONE, newer(of_fold(ZONE))))
        services.awaited([after])
        itself = there.ask("copies", after.job.hosts[0], below)
        copied = (
            ()
            if hidden
            else until(lambda: there.ask("spare-staff", resolver, f"{next(number)}.{below}"), ["10.71.20.60"])
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
    mine = of_fold(RESOLVER).replace(b"access-control: 10.71.30.0/26 allow", b"access-control: 10.71.30.0/26 refuse")

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
    longer = json.loads(of_fold(LEASES))
    longer["Dhcp4"]["valid-lifetime"] = 4321
    wrong = of_fold(LEASES).replace(b'"authoritative"', b'"authoritativ"')

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
    mine = of_fold(CLOCK).replace(b"local stratum 12", b"local stratum 7").replace(b"server ", b"# server ")

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
