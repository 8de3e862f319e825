"""Rehearsals from files that are broken, with servers that fail, of a large zone, and of names that mean harm."""

import json
from dataclasses import replace
from functools import cache, partial
from itertools import cycle
from typing import Any

import pytest
from conftest import Scale
from hostile import EVERYTHING, HOSTILE
from hostile_briefs import spread
from offices import changed, fold, planned

from scantling.cli.rehearsed import show_rehearsed
from scantling.figures.spelled import unfit
from scantling.trials.rehearsal import rehearsing, services
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.report import evidence
from scantling.trials.rehearsal.sandbox import RehearsalError
from unlucky_offices import (
    AS_USUAL, FOURTH, IN_STATIONS, against, assert_as_meant, at_once, in_place_of, more,
    office, ready, rehearse, replaced, spoilt, swapped, unlucky, without,
)  # fmt: skip

RULES = "firewall/rules.nft"
LEASES = "addresses/kea-dhcp4.conf"
SWITCHES = "firewall/forwarding.conf"
ZONE = "names/ad.foldandfell.example.zone"
NAMES = "names/nsd.conf"
RESOLVER = "lookups/firewall/unbound.conf"
CLOCK = "time/directory/chrony.conf"
CLOCKS = "time/machines-servers/chrony.conf"
REFUSED_NAME = "\x1b[31mred\x1b[0m\nand two lines"


# ------------------------------------------------------------------------------------------------------------ bad files

FORWARD = b"chain forward {"
BROKEN = {
    "rules that nft doesn't know": (RULES, swapped(FORWARD, FORWARD + b"\n\t\tnonsense here"), ("rules", ":107:3-10: Error")),
    "a wrong word for addresses": (LEASES, swapped(b'"authoritative"', b'"authoritativ"'), (LEASES, ":35.5-18", "authoritativ")),
    "half a file for addresses": (LEASES, lambda content: content[: len(content) // 2], (LEASES, "syntax error", "unexpected end")),
    "no file for addresses": (LEASES, lambda _: b"", (LEASES, ":1.1", "syntax error")),
    "a wrong address in a zone": (ZONE, swapped(b"10.71.20.22", b"10.71.20.322"), (ZONE, "zone:16", "10.71.20.322")),
    "a wrong word for the server of names": (NAMES, swapped(b"hide-version:", b"hide-versions:"), (NAMES, "nsd.conf:11", "hide-versions")),
    "a wrong word for the resolver": (RESOLVER, swapped(b"prefetch:", b"prefetches:"), (RESOLVER, "unbound.conf:21", "prefetches")),
    "a wrong word for a clock": (CLOCK, swapped(b"driftfile", b"driftfiles"), (CLOCK, "line 8", "Invalid directive")),
    "a wrong word for who takes the time": (CLOCKS, more(b"nonsense 1\n"), (CLOCKS, "line 14", "Invalid directive")),
    "letters that are none": (CLOCK, more(b"\xff\xfe\x00\n"), (CLOCK, "Invalid directive")),
    "a switch that no kernel has": (SWITCHES, more(b"net.ipv4.ip_forwardy = 1\n"), ("forwarding.conf", "ip_forwardy", "No such file")),
}  # fmt: skip
"""By what is broken: the file, how, and words of its own program that must be told, the file among them."""


@cache
def broken() -> dict[str, tuple[str, Any]]:
    """What came of each, three at a time."""
    ready(office())
    lucks = {name: spoilt({path: change}) for name, (path, change, _) in BROKEN.items()}
    works = [partial(unlucky, office(), [luck], FOURTH) for luck in lucks.values()]
    found = [one for place in range(0, len(works), 3) for one in at_once(*works[place : place + 3])]
    return dict(zip(lucks, found, strict=True))


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_file_is_told_by_its_own_program_s_line(name: str) -> None:
    how, told = broken()[name]
    assert how == "raised"
    assert isinstance(told, RehearsalError)
    assert all(words in str(told) for words in BROKEN[name][2]), str(told)
    assert "mistake of its own" not in str(told)
    assert "Traceback" not in str(told)


def test_all_files_that_are_broken_are_told_at_once() -> None:
    """One server ends; what is wrong with the others' files is told all the same."""
    wrong = {
        path: change
        for path, change, _ in (BROKEN[name] for name in ("a wrong address in a zone", "a wrong word for a clock"))
    }
    told = against(office(), spoilt({**wrong, RESOLVER: swapped(b"prefetch:", b"prefetches:")}), wish=FOURTH)
    assert all(f"\n{path}: " in told for path in (ZONE, CLOCK, RESOLVER))


def test_a_stand_in_tells_of_a_file_that_it_can_not_read() -> None:
    wrong = spoilt({RESOLVER: more(b"server:\naccess-control: everybody allow\n")})
    told = against(office(), without("unbound"), wrong, wish=FOURTH)
    assert f"what stands in for unbound can't read {RESOLVER}: 'everybody' does not appear to be" in told


# ---------------------------------------------------------------------------------------------------- daemons that fail


def test_a_daemon_that_dies_at_its_start_is_told_with_its_last_lines() -> None:
    told = against(office(), in_place_of("nsd", "#!/bin/sh\necho no luck today >&2\nexit 3\n"), wish=FOURTH)
    assert told.startswith("nsd on directory ended with 3; its last lines: no luck today")
    assert NAMES in told


def test_a_daemon_that_hangs_is_given_up_and_told_with_its_last_lines() -> None:
    def hasty() -> None:
        services.awaited.__defaults__ = (4.0,)

    told = against(office(), hasty, in_place_of("nsd", "#!/bin/sh\necho one moment\nexec sleep 600\n"), wish=FOURTH)
    assert told.startswith("nsd on directory doesn't answer after 4 s; its last lines: one moment")


# ------------------------------------------------------------------------------------------------ large, and hostile text


def test_a_zone_of_more_than_a_thousand_devices(scale: Scale) -> None:
    """More than one bridge has ports for, in the full tier; every one with an address of its own."""
    many = scale(short=60, full=1100)
    row = "kind: laptop, count: {}, zone: staff"
    found = rehearse(planned(changed(fold(), row.format(4), row.format(many))), wish=replace(AS_USUAL, everyone=True))
    assert_as_meant(found)
    lent = [one.address for one in found.leases if one.family == 4]
    assert len({*lent}) == len(lent) >= many
    assert all(lent)


def test_hostile_names_in_every_field_of_the_brief_change_nothing() -> None:
    """As many devices as there are hostile strings; what is told of them is plain text."""
    found = rehearse(planned(spread(fold())), wish=FOURTH)
    assert_as_meant(found)
    assert found.stations >= IN_STATIONS + len(HOSTILE)
    assert json.loads(evidence(found))["compared"]["office"] == found.office


def relabelled(drawn: Office) -> Office:
    """The same office; everything in it is called by the next of the hostile strings, those too that no brief may hold."""
    words = cycle(EVERYTHING)
    stations = tuple(replace(one, label=next(words)) for one in drawn.stations)
    segments = tuple(replace(one, label=next(words)) for one in drawn.segments)
    return replace(drawn, name=REFUSED_NAME, stations=stations, segments=segments)


def test_labels_that_no_brief_may_hold_do_no_harm_in_what_is_told_either(capsys: pytest.CaptureFixture[str]) -> None:
    """With a rule that lets too much through, so that sentences are told about them: the page, and the evidence."""

    def strike() -> None:
        replaced(
            rehearsing, "designed", lambda draw: lambda *words, **more_words: relabelled(draw(*words, **more_words))
        )

    oops = b'chain forward {\n\t\tiifname "zone-30" oifname "zone-20" counter accept comment "oops"'
    found = rehearse(office(), strike, spoilt({RULES: swapped(FORWARD, oops)}), wish=FOURTH)
    assert not found.well
    assert any("oops" in one.rule or "oops" in one.says for one in found.mismatches)
    show_rehearsed(found)
    page = capsys.readouterr().out
    assert "oops" in page
    assert {letter for letter in page if unfit(letter)} <= {"\n"}
    told = evidence(found)
    assert told.isascii()
    assert json.loads(told)["compared"]["office"] == REFUSED_NAME
