"""Both example offices and twenty generated ones of 5 to 50 people against the bands of the trade.

The bands are common practice, no source, as the trade tells them; where one has a source it is named. The catalogue was
fixed before they were run: a band that does not hold is a strict expected failure with the number measured.
"""

from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from generated_offices import HEADS, SMALL, STEPS, brief
from offices import changed, codes, fold, millrace, planned

from scantling.catalogue.columns import MEDIUM, SIZE
from scantling.figures import Array, Copy, Machine
from scantling.plan.make import Plan

SMALL_OFFICES = [heads for heads in HEADS if heads <= SMALL]
LARGER_OFFICES = [heads for heads in HEADS if heads > SMALL]
OFFICES = ["millrace", "fold", *HEADS]
MACHINES = {  # cores and ceiling in GiB, least and most
    "directory": ((2, 4), (4, 12)),
    "firewall": ((2, 4), (2, 8)),
    "controller": ((2, 2), (8, 8)),
    "monitor": ((2, 2), (4, 4)),
    "filter": ((1, 2), (2, 4)),
    "copies": ((2, 4), (4, 8)),
}


def plan_of(office: str | int) -> Plan:
    """The plan of an office by name or head count."""
    return planned({"millrace": millrace, "fold": fold}[office]() if isinstance(office, str) else brief(office))


def value(plan: Plan, id_: str) -> Any:
    """A figure's plain value."""
    return plan.figures[id_].value


def ending(plan: Plan, start: str, end: str) -> list[float]:
    """Values of all figures with such ids."""
    found = [float(f.value) for id_, f in plan.figures.items() if id_.startswith(start) and id_.endswith(end)]
    assert found, f"no figure {start}*{end}"
    return found


def test_the_offices_are_twenty_and_alike_each_time() -> None:
    assert len(set(HEADS)) == 20
    assert min(HEADS) == 5
    assert max(HEADS) == 50
    for heads in HEADS:
        assert brief(heads) == brief(heads)
        assert value(plan_of(heads), "people.heads") == heads


@pytest.mark.parametrize("office", OFFICES)
def test_every_generated_office_can_be_planned_without_a_stop(office: str | int) -> None:
    plan = plan_of(office)
    assert not plan.stops, [told.says for told in plan.stops]
    assert not plan.provisional


@pytest.mark.parametrize("office", ["fold", *SMALL_OFFICES])
def test_an_office_of_5_to_15_gets_8_to_12_cores_and_64_gib(office: str | int) -> None:
    plan = plan_of(office)
    assert 8 <= value(plan, "host.cores.bought") <= 12
    assert value(plan, "host.memory.bought") == 64


@pytest.mark.parametrize("office", ["millrace", *LARGER_OFFICES])
def test_an_office_of_15_to_50_gets_16_to_24_cores(office: str | int) -> None:
    assert 16 <= value(plan_of(office), "host.cores.bought") <= 24


@pytest.mark.parametrize(
    "office",
    [
        pytest.param(
            heads,
            marks=pytest.mark.xfail(
                raises=AssertionError,
                strict=True,
                reason="16 people need 95.86 GiB, and 96 GiB hold that: cheaper than 128 GiB, and enough",
            )
            if heads == 16
            else (),
        )
        for heads in ("millrace", *LARGER_OFFICES)
    ],
)
def test_an_office_of_15_to_50_gets_128_gib(office: str | int) -> None:
    assert value(plan_of(office), "host.memory.bought") == 128


def test_five_people_do_not_get_five_times_what_they_need() -> None:
    plan = plan_of(5)
    assert value(plan, "host.cores.bought") < 2 * value(plan, "host.cores.needed")
    assert value(plan, "host.memory.bought") < 2 * value(plan, "host.memory.needed")
    assert "M-5" not in codes(plan)


def test_more_people_never_get_fewer_cores_or_less_memory() -> None:
    for fewer, more in pairwise(STEPS):
        for id_ in ("host.cores.needed", "host.cores.bought", "host.memory.needed", "host.memory.bought"):
            assert value(plan_of(fewer), id_) <= value(plan_of(more), id_), f"{id_}: {fewer} and {more} people"


def test_the_ceilings_of_the_seven_usual_machines_come_to_60_gib() -> None:
    """12 + 8 + 8 + 16 + 4 + 4 + 8 = 60, just under 64 before the host's own share."""
    extra = "".join(
        f"  {name}: {{profile: {profile}, down: 24 h, lost: 24 h}}\n"
        for name, profile in (
            ("wireless", "wireless controller"), ("monitor", "network monitor"), ("filter", "content filter"),
        )
    )  # fmt: skip
    plan = planned(changed(brief(5), "services:\n", "services:\n" + extra))
    assert len(plan.records(Machine)) == 7
    assert value(plan, "host.memory.ceilings") == 60


@pytest.mark.parametrize("office", OFFICES)
def test_memory_holds_what_is_expected_and_ceilings_beyond_it_are_told(office: str | int) -> None:
    plan = plan_of(office)
    bought = value(plan, "host.memory.bought")
    assert (
        value(plan, "host.memory.floors")
        <= value(plan, "host.memory.expected")
        <= value(plan, "host.memory.ceilings")
    )
    assert bought >= value(plan, "host.memory.expected") + max(4, 0.1 * value(plan, "host.memory.expected"))
    assert ("M-9" in codes(plan)) == (value(plan, "host.memory.ceilings") + value(plan, "host.memory.host") > bought)


@pytest.mark.parametrize("office", OFFICES)
def test_the_usual_machines_are_of_the_usual_size(office: str | int) -> None:
    seen = {machine.slug: machine for machine in plan_of(office).records(Machine)}
    assert {"directory", "firewall", "copies"} <= set(seen)
    for slug in set(MACHINES) & set(seen):
        (fewest, most), (least, highest) = MACHINES[slug]
        assert fewest <= seen[slug].cores.value <= most, slug
        assert least <= seen[slug].ceiling.value <= highest, slug


@pytest.mark.parametrize("office", OFFICES)
def test_virtual_cores_share_real_ones_at_most_four_to_one(office: str | int) -> None:
    plan = plan_of(office)
    assert value(plan, "host.cores.virtual") <= 4 * value(plan, "host.cores.bought")


@pytest.mark.parametrize("office", OFFICES)
def test_a_fifth_of_every_array_is_free_at_the_horizon(office: str | int) -> None:
    assert min(ending(plan_of(office), "arrays.", ".free")) >= 20


@pytest.mark.parametrize("office", OFFICES)
def test_the_battery_unit_carries_at_most_four_fifths(office: str | int) -> None:
    plan = plan_of(office)
    assert 0 < value(plan, "power.shared") <= 80
    assert value(plan, "power.lasts") >= 10


@pytest.mark.parametrize("office", OFFICES)
def test_the_nightly_run_is_over_in_8_hours(office: str | int) -> None:
    nightly = [copy.window.value for copy in plan_of(office).records(Copy) if copy.how == "every night"]
    assert nightly
    assert max(nightly) <= 8


@pytest.mark.parametrize("office", OFFICES)
def test_the_rough_price_is_made_as_quotes_are(office: str | int) -> None:
    """Labour 30 to 60 % of a small project; 5 to 15 % for what nobody thought of."""
    plan = plan_of(office)
    net = value(plan, "money.net")
    assert Decimal("0.30") <= value(plan, "money.labour.total") / net <= Decimal("0.60")
    before = value(plan, "money.sum")
    assert Decimal("0.05") <= value(plan, "money.contingency") / before <= Decimal("0.15")


@pytest.mark.parametrize("office", OFFICES)
def test_office_zones_are_no_larger_than_a_24_and_management_is_apart(office: str | int) -> None:
    plan = plan_of(office)
    assert value(plan, "addresses.staff.prefix") >= 24
    assert "addresses.management.prefix" in plan.figures


@pytest.mark.parametrize("text", [millrace(), changed(brief(20), "people: 20, days", "people: 450, days")])
def test_450_visitors_do_not_get_a_24(text: str) -> None:
    """A /24 lends 234 addresses beside its static range; half of 450 with 1.2 devices each are more."""
    plan = planned(text)
    assert value(plan, "addresses.visitors.peak") > 234
    assert value(plan, "addresses.guests.prefix") <= 23
    assert value(plan, "addresses.visitors.pool") >= value(plan, "addresses.visitors.peak")


def test_few_visitors_do_get_a_24_or_less() -> None:
    assert value(plan_of(20), "addresses.guests.prefix") >= 24


@pytest.mark.parametrize("office", OFFICES)
def test_large_spinning_disks_are_not_kept_by_one_parity_disk(office: str | int) -> None:
    """Above about 4 TB a spinning disk, two parity disks or mirrored pairs are preferred."""
    plan = plan_of(office)
    for array in plan.records(Array):
        (disk, _), *_ = plan.purchase.chosen.options[array.slug].parts
        if array.level == "single parity" and disk.get(MEDIUM) == "spinning":
            assert disk.get(SIZE) <= 4, array.slug
