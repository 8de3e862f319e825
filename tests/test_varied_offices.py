"""Two hundred offices drawn at random: each is planned, within the trade's bands, confirmed, and keeps what it issued."""

from collections.abc import Iterator
from functools import lru_cache

import pytest
from conftest import Scale
from offices import changed
from varied_offices import varied

from scantling import api
from scantling.figures import Array, Copy, Machine, Zone
from scantling.plan.make import Plan

GROUPS = 10


@pytest.fixture(scope="module", params=range(GROUPS))
def group(request: pytest.FixtureRequest) -> int:
    """One of ten groups; of the module, so that all that is asked of a group's offices is asked in one go."""
    return int(request.param)


def seeds(group: int, many: int) -> Iterator[int]:
    """So many seeds of one group of ten."""
    return iter(range(group, many * GROUPS, GROUPS))


@lru_cache(maxsize=24)  # a group's
def plan_of(seed: int) -> Plan:
    """The plan of an office drawn at random."""
    return api.plan_text(varied(seed))


def value(plan: Plan, id_: str) -> float:
    """A figure's plain number."""
    return float(plan.figures[id_].value)


def test_offices_drawn_at_random_keep_to_the_bands(group: int, scale: Scale) -> None:
    """Bands of the trade, common practice without a source, for every office; where needs gave way the plan says so."""
    for seed in seeds(group, scale(short=2, full=20)):
        plan = plan_of(seed)
        assert varied(seed) == varied(seed)
        assert plan.proof is not None
        assert (plan.proof.says, plan.proof.holding) == ("proved", plan.proof.intents), seed
        if plan.provisional:
            assert plan.stops, seed
            continue
        bounds(plan, seed)


def bounds(plan: Plan, seed: int) -> None:
    """What must hold of any office that was planned whole."""
    assert not [told for told in plan.stops if told.finding.code in ("P-1", "P-3", "M-4", "M-6")], seed
    assert plan.confirmed is not None
    assert plan.confirmed.agrees, seed
    assert value(plan, "host.cores.virtual") <= 4 * value(plan, "host.cores.bought"), seed
    floors, expected = value(plan, "host.memory.floors"), value(plan, "host.memory.expected")
    assert floors <= expected <= value(plan, "host.memory.ceilings"), seed
    assert value(plan, "host.memory.bought") >= expected + max(4, 0.1 * expected), seed
    assert 0 < value(plan, "power.shared") <= 80, seed
    for array in plan.records(Array):
        filled = array.filled_horizon.value / array.usable.value
        assert array.slug == "boot" or filled <= 0.8 + 1e-9, (seed, array.slug)
    assert len(plan.records(Copy)) >= 2, seed
    assert any(copy.off_line for copy in plan.records(Copy)) or "B-1" in {
        told.finding.code for told in plan.findings
    }, seed
    slugs = [machine.slug for machine in plan.records(Machine)]
    assert len(slugs) == len(set(slugs)), seed
    networks = [plan.figures[f"addresses.{zone.slug}.subnet"].value for zone in plan.records(Zone)]
    assert not [1 for n, one in enumerate(networks) for other in networks[:n] if one.overlaps(other)], seed


def test_more_of_anything_never_gets_less(group: int, scale: Scale) -> None:
    """More people, more data, a longer hold: never fewer cores, less memory, fewer ports, smaller subnets, less room, a lower price."""
    for seed in seeds(group, scale(short=2, full=8)):
        text, plan = varied(seed), plan_of(seed)
        heads = next(line for line in text.splitlines() if "heads: " in line)
        count = int(heads.split("heads: ")[1].split(",")[0])
        more = changed(text, heads, heads.replace(f"heads: {count},", f"heads: {count + 12},"))
        grown = api.plan_text(more)
        if plan.provisional or grown.provisional:
            continue
        for id_ in (
            "host.cores.needed",
            "host.memory.needed",
            "wiring.ports.needed",
            "storage.operations.needed",
            "power.needed",
        ):
            assert value(plan, id_) <= value(grown, id_), (seed, id_)
        assert plan.purchase.best[0].price <= grown.purchase.best[0].price, seed
