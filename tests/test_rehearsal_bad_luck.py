"""Rehearsals that meet with bad luck: each thing that is missing, broken or too small is said plainly, and nothing is left over."""

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from ipaddress import IPv4Address
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from offices import example
from ordinary_user import OPEN

from scantling.cli.terminal import BAD_INPUT, FINE, STOPPED
from scantling.figures import Pool
from scantling.trials.rehearsal import bare, rehearsing
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.limits import ALWAYS, AT_LEAST, EACH
from scantling.trials.rehearsal.report import compared_part, evidence
from scantling.trials.rehearsal.results import Rehearsed
from scantling.trials.rehearsal.unlent import by_hand
from scantling.trials.rehearsal.wish import Wish
from unlucky_offices import (
    AS_USUAL, FOURTH, IN_STATIONS, against, assert_as_meant, at_once, commanded, few_files, few_neighbours, lacking,
    office, ready, rehearse, replaced, shut, spoilt, swapped, timed, usual, without,
)  # fmt: skip
from untouched_host import watched

SERVERS = ("nsd", "unbound", "kea-dhcp4", "kea-dhcp6", "chronyd")
LEASES = "addresses/kea-dhcp4.conf"
RESOLVER = "lookups/firewall/unbound.conf"
CLOCK = "time/directory/chrony.conf"
SCARCE = 100


# ---------------------------------------------------------------------------------------------------------- no rights


def test_with_every_way_shut_files_are_read_and_rules_proved_and_that_is_said() -> None:
    """All three ways with their reasons; every parser that needs no rights takes its files; the proof holds; not called well."""
    found = rehearse(office(), shut, wish=Wish())
    assert found.way_in == rehearsing.BARE
    assert found.why_not.count("switched off for ordinary users") == 3
    assert not found.well
    assert found.stations == 0
    assert [one.says for one in found.checked if one.says] == []
    readers = {one.parser for one in found.checked}
    assert readers >= {
        "kea-dhcp4",
        "kea-dhcp6",
        "unbound-checkconf",
        "nsd-checkconf",
        "named-checkzone",
        "chronyd",
        "sh",
    }
    assert not readers & bare.LEFT_OUT
    assert found.notes == (bare.PORTLESS,)
    assert found.agreement is not None
    assert found.agreement.probes == 0
    assert found.agreement.differences == ()
    assert found.not_rehearsed[0].startswith("Everything that is done with packets")


def test_with_every_way_shut_a_broken_file_is_told_at_its_own_line() -> None:
    """By the path of the plan, not by where it lay for a moment: the evidence is alike each time."""
    wrong = {LEASES: swapped(b'"authoritative"', b'"authoritativ"'), RESOLVER: swapped(b"prefetch:", b"prefetches:")}
    one, two = (rehearse(office(), shut, spoilt(wrong), wish=Wish()) for _ in range(2))
    says = {file.path: file.says for file in one.checked if file.says}
    assert set(says) == {LEASES, RESOLVER}
    assert f"{LEASES}:35.5-18: got unexpected keyword" in says[LEASES]
    assert f"{RESOLVER}:21: error: unknown keyword 'prefetches'" in says[RESOLVER]
    assert evidence(one) == evidence(two)


# ---------------------------------------------------------------------------------------------------- missing programs


@pytest.mark.parametrize("program", SERVERS)
def test_a_server_that_is_not_installed_is_stood_in_for_and_everything_else_tried(program: str) -> None:
    """Labelled, with what isn't tried for that; nobody waits in vain; every flow still goes as meant."""
    found = rehearse(office(), without(program), wish=AS_USUAL if program == "kea-dhcp6" else FOURTH)
    assert_as_meant(found)
    assert {one.program for one in found.played if one.real} == {*SERVERS} - {program}
    standing = [one for one in found.played if not one.real and program in one.why]
    assert standing
    assert all(one.why.startswith(f"{program} isn't installed: ") for one in standing)
    if program.startswith("kea"):
        assert any(
            one.startswith(f"{program} isn't installed, so nobody lends IPv{program[-1]}") for one in found.notes
        )


def test_with_no_server_installed_every_flow_is_still_tried_and_what_is_not_judged_is_said() -> None:
    """The same tries as with all of them."""
    found = rehearse(office(), without(*SERVERS))
    assert_as_meant(found)
    assert found.agreement == usual().agreement
    assert len(found.answers) == len(usual().answers)
    assert {one.program for one in found.played if one.real} == set()
    assert {one.family for one in found.leases} == {6}, "nothing is lent; announcements still make addresses"
    told = [one for one in found.notes if "isn't installed" in one]
    assert [one.partition(" ")[0] for one in told] == ["kea-dhcp4", "kea-dhcp6"]
    assert all(one.endswith("whether each is lent the right one, through the relay, was not tried.") for one in told)


def test_addresses_set_by_hand_are_those_planned() -> None:
    """Millrace with everybody in it, which keeps some: each as kept, else one of its zone's pool, none twice; nobody without."""
    pools, drawn = example("millrace").records(Pool), designed(example("millrace"), everyone=True)
    asking = [one for one in drawn.stations if one.asks]
    held = {one.station: one.address for one in by_hand(drawn, asking, pools, 4)}
    assert len({*held.values()}) == len(held) == len(asking) > 100
    assert {one.slug for one in asking if any(host.version == 4 for host in one.kept)}
    for one in asking:
        kept, mine = [host for host in one.kept if host.version == 4], held[one.slug]
        assert isinstance(mine, IPv4Address)
        assert mine in kept if kept else any(pool.first <= mine <= pool.last for pool in pools)
        assert mine in drawn.segment(one.zone).network4


@pytest.mark.parametrize("name", ["nft", "sysctl"])
def test_without_what_a_firewall_is_made_by_nothing_is_stood_up(name: str) -> None:
    """The reason, and what to install; files and proof as far as they go."""
    with TemporaryDirectory() as folder:  # the runner's own are shut to others whenever another run begins
        Path(folder).chmod(0o755)
        for program in {*rehearsing.NEEDED} - {name}:
            Path(folder, program).symlink_to(shutil.which(program, path=bare.BESIDE) or "")

        def strike() -> None:
            replaced(rehearsing, "BESIDE", lambda _: folder)

        found = rehearse(office(), strike)
    reason = "is not installed here, without which there is no firewall to try: install"
    assert found.why_not == f"{name} {reason} {rehearsing.NEEDED[name]}"
    assert not found.well
    assert found.stations == 0
    assert any(one.parser for one in found.checked)


# -------------------------------------------------------------------------------------------------- limits of the machine


def test_too_few_open_files_are_told_with_the_number_needed_and_that_number_is_enough() -> None:
    needed = ALWAYS + EACH * IN_STATIONS + AT_LEAST
    told = against(office(), few_files(needed - 1))
    assert f"one process may hold {needed - 1} files open here, {IN_STATIONS} stations need {needed}" in told
    assert "ulimit -Hn" in told
    assert f"may hold {SCARCE} files open" in against(office(), few_files(SCARCE))
    assert "Too many open files" in against(office(), few_files(8))
    found = rehearse(office(), few_files(needed))
    assert_as_meant(found)
    assert found.stations == IN_STATIONS


def neighbours_listed() -> None:
    """At the end, who of those that hold addresses is not for good among the firewall's neighbours, by the kernel's own list."""

    def counting(perform: Callable[[Any, Wish], Rehearsed]) -> Callable[[Any, Wish], Rehearsed]:
        def performed(living: Any, wish: Wish) -> Rehearsed:
            found = perform(living, wish)
            listed = json.loads(living.run(["ip", "-j", "neigh", "show", "nud", "permanent"]).stdout)
            held = {str(host) for hosts in living.held.values() for host in hosts}
            missing = held - {one["dst"] for one in listed}
            return replace(found, notes=(*found.notes, f"missing {len(missing)} of {len(held)}"))

        return performed

    replaced(rehearsing, "performed", counting)


def test_too_small_a_table_of_neighbours_is_filled_beforehand_and_that_is_said() -> None:
    found = rehearse(office(), few_neighbours(40), neighbours_listed, wish=FOURTH)
    assert_as_meant(found)
    assert any("hardware addresses were written down beforehand" in one for one in found.notes)
    missing, _, held = found.notes[-1].removeprefix("missing ").partition(" of ")
    assert int(missing) == 0 < int(held)
    otherwise = rehearse(office(), few_neighbours(100_000), neighbours_listed, wish=FOURTH)
    assert not any("written down beforehand" in one for one in otherwise.notes)
    assert otherwise.notes[-1] == f"missing {held} of {held}"


@pytest.mark.parametrize("part", ["bridges", "veth", "IPv6", "nf_tables"])
def test_a_part_that_the_kernel_lacks_is_named(part: str) -> None:
    told = against(office(), lacking(part))
    assert "this kernel lacks what an office is built from" in told
    assert f": {part}" in told
    assert "(Operation not supported)" in told


# ---------------------------------------------------------------------------------------------- others, and the host itself


def test_two_rehearsals_at_once_do_not_disturb_each_other() -> None:
    """The same names, addresses and ports, at the same time: each comes out as it does alone."""
    ready(office())
    (_, one), (_, two) = at_once(partial(timed, office()), partial(timed, office()))
    assert one[1] < two[2]
    assert two[1] < one[2]
    assert_as_meant(one[0])
    assert compared_part(one[0]) == compared_part(two[0]) == compared_part(usual())


@pytest.mark.parametrize("way", OPEN)
def test_the_host_s_own_network_stays_as_it_is(way: str) -> None:
    """Addresses, ways, switches, mounts, as root the rules too: looked at from outside with each step, before and after."""
    found, states = watched(office(), way)
    assert found.well
    assert len(found.seconds) > 5
    assert len(states) == 1


# ----------------------------------------------------------------------------------------------------------- the command


def test_the_command_says_it_on_its_page_or_in_a_sentence_and_ends_otherwise_than_well() -> None:
    """1 where nothing could be stood up, 2 with one sentence where something broke; 0 with stand-ins, said by name."""
    stopped = commanded(office(), [], shut)
    assert stopped.code == STOPPED
    assert "nothing could be stood up here; the files were read and the rules proved, no more" in " ".join(
        stopped.out.split()
    )
    assert "switched off for ordinary users" in stopped.out
    assert stopped.err == ""
    died = commanded(office(), ["--family", "4"], spoilt({CLOCK: swapped(b"driftfile", b"driftfiles")}))
    assert died.code == BAD_INPUT
    assert died.out == ""
    assert "Invalid directive at line 8" in died.err
    assert CLOCK in died.err
    assert "Traceback" not in died.err
    stood_in = commanded(office(), ["--family", "4"], without("kea-dhcp4"))
    assert stood_in.code == FINE
    page = " ".join(stood_in.out.split())
    assert "stand-in addresses in IPv4 on directory: kea-dhcp4 isn't installed" in page
    assert "set by hand" in page
