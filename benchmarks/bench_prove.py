"""The interval diagram against the z3 solver and a BDD library (CUDD), on the same lists of rules in the same run.

An office has zones, hosts and services and most of its rules lie apart; a list of many sites has a thousand networks and no order.
"""

import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from random import Random
from time import perf_counter

sys.path.append(str(Path(__file__).parent.parent / "tests"))

from box_lists import Box, BoxList, changed, office, sites
from measuring import Row, best
from referees.bits import Bits
from referees.solving import Solving
from scantling.trials.cube import Cube
from scantling.trials.proof.anomalies import anomalies
from scantling.trials.proof.diagram import Diagram, Space, differences, first_match

ZONES, LONG = 14, 10_000
NETWORKS = {32: (10 << 24, 8), 128: (0x20010DB8 << 96, 64)}
"""Of both families where the first zone begins, and the bits of a zone; as the lists have it."""
Rules = tuple[tuple[Box, str], ...]


def _numbered(listed: BoxList) -> Diagram[int]:
    return first_match(Space(listed.dimensions), listed.numbered, -1)


def _hidden(listed: BoxList) -> list[int]:
    """Build the diagram and name the rules that never decide."""
    return sorted({*range(len(listed.rules))} - _numbered(listed).deciding())


def _pairs(listed: BoxList, bits: int) -> Iterator[frozenset[str]]:
    """Build the diagram of verdicts and walk every ordered pair of zones."""
    space = Space(listed.dimensions)
    found = first_match(space, listed.rules, "drop")
    start, width = NETWORKS[bits]
    for zone in range(ZONES):
        for other in range(ZONES):
            first = start + (other << width)
            pair = space.box(place=((zone, zone),), target=((first, first + (1 << width) - 1),))
            yield found.deciding_in(pair)


def _by_bdd(listed: BoxList) -> list[int]:
    return Bits(listed.lasts).never_deciding(listed.boxes)


def _by_solver(listed: BoxList) -> list[int]:
    return Solving(listed.lasts).never_deciding(listed.boxes)


def bench_office() -> list[Row]:
    """200 rules, 14 zones: both families, every pair; and what the two families cost apart."""
    lists = {bits: office(200, ZONES, bits) for bits in NETWORKS}
    whole = best(lambda: [[*_pairs(listed, bits)] for bits, listed in lists.items()])
    ours = {bits: best(partial(_hidden, listed)) for bits, listed in lists.items()}
    bdd = {bits: best(partial(_by_bdd, listed), repeats=2) for bits, listed in lists.items()}
    solver = best(partial(_by_solver, lists[32]), repeats=1)
    return [
        Row("200 rules, 14 zones, all pairs, both", whole, "BDD: never deciding, both", sum(bdd.values()), "under 50 ms"),
        Row("200 rules: which never decide, IPv4", ours[32], "z3: the same", solver, "reported"),
        Row("200 rules: which never decide, IPv4", ours[32], "BDD: the same", bdd[32], "reported"),
        Row("200 rules: which never decide, IPv6", ours[128], "BDD: the same", bdd[128], "reported"),
    ]  # fmt: skip


def bench_thousand() -> list[Row]:
    """1,000 rules of both kinds: which never decide, equality after one change, anomalies of all pairs."""
    rows = []
    for label, listed in (("office", office(1000, ZONES)), ("sites", sites(1000)), ("sites, IPv6", sites(1000, 128))):
        hidden, bdd = best(partial(_hidden, listed)), best(partial(_by_bdd, listed), repeats=1)
        rows.append(Row(f"1,000 rules never decide, {label}", hidden, "BDD: the same", bdd, "under 0.25 s"))
    listed = sites(1000)
    hidden, solver = best(partial(_hidden, listed)), best(partial(_by_solver, listed), repeats=1)
    rows.append(Row("1,000 rules never decide, sites", hidden, "z3: the same", solver, "under 0.25 s"))
    pairs = best(lambda: [*anomalies(Space(listed.dimensions), listed.rules)], repeats=3)
    return [
        *rows,
        Row("1,000 rules: anomalies of all pairs", pairs, "which never decide", hidden, "reported"),
        *_equal(listed),
    ]


def _equal(listed: BoxList) -> list[Row]:
    """Proved equal without the rules that never decide; and one rule changed, told with a witness."""
    idle = {*_hidden(listed)}
    same = tuple(rule for place, rule in enumerate(listed.rules) if place not in idle)
    wrong = changed(Random(2), listed).rules  # noqa: S311 - for variety, not for secrets

    def ours(other: Rules) -> object:
        space = Space(listed.dimensions)
        return differences(first_match(space, listed.rules, "drop"), first_match(space, other, "drop"))

    def theirs(other: Rules) -> object:
        return Solving(listed.lasts).apart(listed.rules, other, "drop")

    return [
        Row(label, best(partial(ours, other)), "z3: the same", best(partial(theirs, other), repeats=1), "reported")
        for label, other in (
            ("two lists of 1,000 proved equal", same),
            ("one rule of 1,000 changed, a witness", wrong),
        )
    ]


def long_list(kind: str) -> tuple[float, int]:
    """Seconds, and peak megabytes of the whole process, for 10,000 rules."""
    listed = _long(kind)
    began = perf_counter()
    _hidden(listed)
    seconds = perf_counter() - began
    peak = next(
        line for line in Path("/proc/self/status").read_text("ascii").splitlines() if line.startswith("VmHWM")
    )
    return seconds, int(peak.split()[1]) // 1024


def _long(kind: str) -> BoxList:
    return office(LONG, ZONES) if kind == "office" else sites(LONG)


def bench_ten_thousand() -> list[Row]:
    """10,000 rules, each kind in a process of its own for its memory."""
    rows = []
    for kind in ("office", "sites"):
        with ProcessPoolExecutor(1, get_context("spawn")) as alone:
            seconds, memory = alone.submit(long_list, kind).result()
        bdd = best(partial(_by_bdd, _long(kind)), repeats=1)
        rows.append(Row(f"10,000 rules, {kind}: {memory} MB", seconds, "BDD: the same", bdd, "under 2 s and 1 GB"))
    return rows


def bench_planted() -> list[Row]:
    """One changed rule judged, by each of the two engines; the cube has all boxes from the beginning."""
    listed, random = office(40, 4), Random(3)  # noqa: S311 - as above
    lists = [changed(random, listed) for _ in range(50)]
    cube = Cube(listed.lasts, [box for one in (listed, *lists) for box in one.boxes])
    space = Space(listed.dimensions)
    parts, right = cube.first_match(listed.rules, "drop"), first_match(space, listed.rules, "drop")
    bits = best(lambda: [cube.differing(parts, cube.first_match(one.rules, "drop")) for one in lists], repeats=3) / 50
    nodes = best(lambda: [differences(right, first_match(space, one.rules, "drop")) for one in lists], repeats=3) / 50
    return [
        Row(
            "one of 40 rules changed, by the diagram", nodes, f"by the cube of {cube.cells:,} cells", bits, "reported"
        )
    ]
