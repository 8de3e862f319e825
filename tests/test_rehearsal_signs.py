"""Signs of faults lead to one place and never to a wrong one; whoever locates sees signs alone, and tries become signs."""

import ast
import inspect
from collections.abc import Mapping
from functools import cache
from typing import Any

import pytest

from offices import example
from scantling.figures import FIREWALL, OUTSIDE
from scantling.trials.probe.judging import judge
from scantling.trials.probe.probing import Expected, Heard, Judgement, Kind, Probe, Seen as Tried
from scantling.trials.rehearsal import locating
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.locating import RULES, Rule, located
from scantling.trials.rehearsal.noticing.flows import gathered
from scantling.trials.rehearsal.office import Office, Sort
from scantling.trials.rehearsal.signs import Gathering, Seen, Sign, What, together

WHO = {"addresses": "directory"}
ZONES = ("staff", "guests")


def seen(*signs: tuple[What, str], looked: Mapping[What, tuple[str, ...]] | None = None) -> Seen:
    """Signs, and further places at which nothing was seen."""
    found = Gathering()
    for what, where in signs:
        found.look(what, where, seen=True)
    for what, places in (looked or {}).items():
        for where in places:
            found.look(what, where, seen=(what, where) in signs)
    return found.seen()


def everywhere(*many: What) -> list[tuple[What, str]]:
    """Signs in every zone."""
    return [(what, zone) for what in many for zone in ZONES]


SILENT = everywhere(What.NO_OFFER, What.NO_NEWCOMER)
CASES: dict[str, Seen] = {
    "address server on directory": seen(*SILENT, *everywhere(What.UNRENEWED)),
    "relay on the firewall": seen(*SILENT, looked={What.UNRENEWED: ZONES}),
    "address pool of staff": seen((What.NO_NEWCOMER, "staff"), looked={What.NO_NEWCOMER: ZONES, What.NO_OFFER: ZONES}),
    "address server for IPv6 on directory": seen(*everywhere(What.NO_OFFER6), looked={What.NO_OFFER: ZONES}),
    "second address server in guests": seen((What.FOREIGN, "guests"), (What.WRONG_TOLD, "guests")),
    # a cable that is out takes everything behind it along
    "cable of zone guests": seen(
        (What.ZONE_LOST, "guests"), (What.NO_OFFER, "guests"), (What.NO_NEWCOMER, "guests"), (What.LOST, "visitors-0001"),
        (What.ABSENT, FIREWALL), looked={What.NO_OFFER: ZONES},
    ),
    "cable of zone servers": seen(
        (What.ZONE_LOST, "servers"), *SILENT, *everywhere(What.UNRENEWED), (What.DEAD, "files"), (What.NO_LOOKUPS, "filter"),
        (What.NO_TIME, "directory"), (What.NO_OUTSIDE, "filter"),
    ),
    "cable of files": seen((What.ABSENT, "files"), (What.DEAD, "files"), (What.LOST, "files")),
    "gateway set on files": seen((What.AFAR, "files"), looked={What.ABSENT: ("files",)}),
    "service on files": seen((What.CLOSED, "files"), looked={What.ABSENT: ("files",)}),
    "address of files": seen((What.TWICE, "files"), (What.OTHER, "files"), (What.DEAD, "files")),
    "line fibre": seen((What.LINE_DEAD, "fibre"), (What.NO_OUTSIDE, "filter"), (What.NO_TIME_OUTSIDE, OUTSIDE), (What.NOT_LENT, "fibre")),
    "names outside": seen((What.NO_OUTSIDE, "filter"), (What.NO_OUTSIDE, FIREWALL), looked={What.LINE_DEAD: ("fibre",)}),
    # a resolver that ends leaves those without answers who ask it in turn
    "lookups on filter": seen(
        (What.NO_LOOKUPS, "filter"), (What.NO_OUTSIDE, "filter"), (What.NO_OUTSIDE, FIREWALL), (What.CLOSED, "filter"),
    ),
    "name server on directory": seen((What.NO_ZONES, "directory"), (What.CLOSED, "directory"), (What.NO_INSIDE, "filter")),
    "office names on directory": seen((What.WRONG_ZONES, "directory"), (What.WRONG_INSIDE, "filter")),
    "clock on directory": seen((What.NO_TIME, "directory"), (What.CLOSED, "directory")),
    "clocks outside": seen((What.WRONG_TIME_OUTSIDE, OUTSIDE)),
    "provider on line standby": seen((What.NOT_LENT, "standby"), looked={What.LINE_DEAD: ("fibre",)}),
    "forwarding on the firewall": seen(
        (What.NOTHING_PASSED, FIREWALL), (What.STILL, FIREWALL), (What.SWALLOWED, "files"), (What.UNPUBLISHED, "application"),
    ),
    "rules on the firewall": seen((What.SWALLOWED, "files"), looked={What.STILL: (FIREWALL,), What.EMPTY: ("party-updates-4",)}),
    "sets of parties on the firewall": seen((What.EMPTY, "party-updates-4"), (What.SWALLOWED, "party-updates")),
    "translation of sources on the firewall": seen((What.UNMASKED, "fibre")),
    "port translation on the firewall": seen((What.UNPUBLISHED, "application"), (What.TAKEN_ITSELF, FIREWALL)),
    "announcements of the firewall": seen(*everywhere(What.NO_NEWS)),
    "socket of laptops-01": seen((What.ELSEWHERE, "laptops-01"), (What.LOST, "laptops-01")),
}  # fmt: skip
"""By the place where the fault is: what a technician sees (from experience, no source)."""


@pytest.mark.parametrize("component", CASES)
def test_signs_lead_to_the_place_of_the_fault(component: str) -> None:
    """Each set of signs to its place, though many of them would fit elsewhere, too."""
    assert located(CASES[component], WHO) == component


def test_without_a_sign_there_is_no_place() -> None:
    """Nothing seen, nothing said."""
    assert located(seen(looked=dict.fromkeys(What, ("staff", "files", FIREWALL))), WHO) == ""
    assert located(Seen(), WHO) == ""


def test_two_places_are_both_told() -> None:
    """Nobody guesses between them."""
    both = together([CASES["cable of files"], seen((What.ABSENT, "copies"))])
    assert located(both, WHO) == "cable of copies and cable of files"


def test_what_is_not_everywhere_is_not_the_server() -> None:
    """One zone without offers is neither the server's nor the relay's fault."""
    one = seen(
        (What.NO_OFFER, "guests"),
        (What.NO_NEWCOMER, "guests"),
        looked={What.NO_OFFER: ZONES, What.NO_NEWCOMER: ZONES},
    )
    assert located(one, WHO) not in {"address server on directory", "relay on the firewall"}


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.component)
def test_every_line_of_the_table_can_be_reached(rule: Rule) -> None:
    """Signs that are just what a line asks for lead to its component: no line stands behind one that takes all it could get."""
    assert located(just(rule), WHO) == rule.component.format(where="x", **WHO)


def just(rule: Rule) -> Seen:
    """What a rule asks for and nothing else."""
    signs = [(what, "x") for what in rule.here] + [(what, "y") for what in rule.everywhere]
    return seen(*signs, looked=dict.fromkeys((*rule.here, *rule.not_here, *rule.nowhere), ("x", "z")))


def test_whoever_locates_knows_signs_alone() -> None:
    """The module that locates looks at nothing but signs: neither at the office nor at what was done to it."""
    tree = ast.parse(inspect.getsource(locating))
    imported = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert imported == {"collections.abc", "dataclasses", "scantling.trials.rehearsal.signs"}
    assert not any(isinstance(node, ast.Import) for node in ast.walk(tree))


# ----------------------------------------------------------------------------------------------------- signs, as data


def test_what_was_seen_before_is_no_sign_and_not_looked_for() -> None:
    """A zone that never renews doesn't keep a dead server from being located."""
    before = seen((What.UNRENEWED, "guests"), looked={What.UNRENEWED: ZONES})
    now = seen(*SILENT, *everywhere(What.UNRENEWED))
    left = now.beyond(before)
    assert left.at(What.UNRENEWED) == {"staff"}
    assert left.everywhere(What.UNRENEWED)
    assert located(left, WHO) == "address server on directory"


def test_a_second_look_keeps_what_is_seen_twice() -> None:
    """What passed by is no sign."""
    first, second = seen((What.ABSENT, "files"), (What.NO_TIME, "x")), seen((What.ABSENT, "files"), (What.LOST, "y"))
    assert {(one.what, one.where) for one in first.also(second).signs} == {(What.ABSENT, "files")}


def test_signs_are_told_once_with_all_their_places() -> None:
    """One line for each thing seen."""
    told = Seen(
        (Sign(What.NO_OFFER, "staff"), Sign(What.NO_OFFER, "guests"), Sign(What.TWICE, "files", "a and b"))
    ).words()
    assert told == (
        "files (a and b): more than one device answers for its address",
        "guests, staff: no address server makes an offer to a known device",
    )


@cache
def fold() -> Office:
    """The smallest office, as it stands."""
    return designed(example("fold"))


def tried(source: str, target: str, expected: Expected, what: Tried, **more: Any) -> Judgement:
    """One judged try between two stations."""
    stations = {one.slug: one for one in fold().stations}
    address = next(iter((*stations[target].fixed, fold().segments[0].gateway4)))
    start = next(iter((*stations[source].fixed, fold().segments[0].gateway4)))
    answers = target if expected is Expected.ALLOWED else ""
    return judge(Probe(0, source, start, Kind.TCP, target, address, 445, expected, answers, **more), what)


def through(heard: Heard, answerer: str = "", *, entered: bool = True, left: bool = True) -> Tried:
    """What was seen of a try."""
    return Tried(0, heard, answerer, 445 if answerer else 0, entered=entered, left=left)


DEAD, KEPT = through(Heard.SILENCE), through(Heard.SILENCE, left=False)
NEVER, WELL = through(Heard.SILENCE, entered=False, left=False), through(Heard.ANSWER, "files")
FLOWS: list[tuple[list[tuple[str, str, Expected, Tried]], dict[What, set[str]]]] = [
    ([("workstations-01", "files", Expected.ALLOWED, WELL)], {}),
    ([("workstations-01", "files", Expected.ALLOWED, DEAD)], {What.DEAD: {"files"}}),
    (
        [("workstations-01", "files", Expected.ALLOWED, DEAD), (FIREWALL, "files", Expected.ALLOWED, WELL)],
        {What.AFAR: {"files"}},
    ),
    ([("workstations-01", "files", Expected.ALLOWED, through(Heard.REFUSED))], {What.CLOSED: {"files"}}),
    (
        [("workstations-01", "files", Expected.ALLOWED, NEVER), ("laptops-01", "files", Expected.ALLOWED, WELL)],
        {What.LOST: {"workstations-01"}},
    ),
    (
        [("workstations-01", "files", Expected.ALLOWED, NEVER), ("laptops-01", "files", Expected.ALLOWED, NEVER)],
        {What.LOST: {"workstations-01", "laptops-01"}, What.ZONE_LOST: {"staff"}},
    ),
    (
        [
            ("workstations-01", "files", Expected.ALLOWED, KEPT),
            ("laptops-01", "directory", Expected.ALLOWED, through(Heard.ANSWER, "directory")),
        ],
        {What.SWALLOWED: {"files"}},
    ),
    ([("workstations-01", "files", Expected.ALLOWED, KEPT)], {What.SWALLOWED: {"files"}, What.NOTHING_PASSED: {FIREWALL}}),
    ([("spare-management", "files", Expected.KEPT_OUT, DEAD)], {What.LET_THROUGH: {"files"}}),
    ([("spare-management", "files", Expected.KEPT_OUT, KEPT)], {}),
    ([("workstations-01", "files", Expected.ALLOWED, through(Heard.ANSWER, "copies"))], {What.OTHER: {"files"}}),
    ([("workstations-01", "stranger", Expected.ALLOWED, DEAD)], {What.LINE_DEAD: {"fibre"}}),
]  # fmt: skip


@pytest.mark.parametrize("number", range(len(FLOWS)))
def test_tries_show_what_is_wrong_and_nothing_else(number: int) -> None:
    """Judged tries become signs by station, zone and line."""
    tries, wanted = FLOWS[number]
    found = gathered([tried(*one) for one in tries], fold()).seen()
    assert {what: set(found.at(what)) for what in What if found.at(what)} == wanted


def test_stations_of_the_samples_are_those_of_the_office() -> None:
    """The samples above speak of stations that there are."""
    there = {one.slug for one in fold().stations if one.sort is not Sort.FIREWALL}
    assert {"workstations-01", "laptops-01", "files", "directory", "copies", "spare-management", "stranger"} <= there
