"""What stands: read with every contradiction at its place, laid over the purchase, never bought twice."""

from collections import Counter

import pytest
from offices import changed, fold, millrace, planned
from hypothesis import given, settings
from hypothesis import strategies as st

from scantling import UserError, api
from scantling.figures import PRICE, Address, Option, Subnet, Zone
from scantling.plan.make import Plan


def as_bought(plan: Plan) -> str:
    """A standing file in which everything that a plan chose has been bought."""
    lines = ["bought:"]
    for slot, option in plan.purchase.chosen.options.items():
        parts = Counter({row.slug: 0 for row, _ in option.parts})
        for row, count in option.parts:
            parts[row.slug] += count
        lines += [
            f"  {slot}-{slug}: {{serves: {slot}, article: {slug}, count: {count}, built: {option.slug}}}"
            for slug, count in parts.items()
        ]
    return "\n".join(lines) + "\n"


def paid(plan: Plan) -> int:
    """What the chosen options cost, in minor units, reckoned from rows and counts."""
    return sum(
        int(row.get(PRICE) * 100) * count for option in plan.purchase.chosen.options.values() for row, count in option.to_buy
        if row.get(PRICE) is not None
    )  # fmt: skip


@pytest.mark.parametrize("text", [millrace(), fold()], ids=["millrace", "fold"])
def test_the_same_brief_buys_nothing_twice(text: str) -> None:
    first = planned(text)
    again = api.plan_text(text, stands=as_bought(first))
    slugs = {slot: option.slug for slot, option in first.purchase.chosen.options.items()}
    assert {slot: option.slug for slot, option in again.purchase.chosen.options.items()} == slugs
    assert paid(first) > 0
    assert paid(again) == 0
    assert not any(option.changes for option in again.purchase.chosen.options.values())


def test_growth_adds_to_what_stands_and_prices_only_the_difference() -> None:
    text = fold()
    stands = as_bought(planned(text))
    more = changed(text, "size: 2.2 TB", "size: 12 TB")
    grown = api.plan_text(more, stands=stands)
    unaided = api.plan_text(more)
    assert paid(grown) < paid(unaided)
    assert grown.purchase.chosen.options["host"].slug == planned(text).purchase.chosen.options["host"].slug
    moved = [slot for slot, stood in grown.purchase.chosen.stood.items() if stood.gave_way.value]
    assert moved
    assert all(grown.purchase.chosen.stood[slot].because for slot in moved)


def test_replacing_is_the_price_of_the_set_without_the_part() -> None:
    """Where all else stands and is free, that is the cheapest part which fits beside it."""
    text = fold()
    stands = as_bought(planned(text))
    with_all = api.plan_text(text, stands=stands)
    for slot in ("host", "ups", "fast"):
        without = "\n".join(line for line in stands.splitlines() if not line.startswith(f"  {slot}-")) + "\n"
        told = with_all.purchase.chosen.stood[slot].replacing.value
        assert int(told * 100) == paid(api.plan_text(text, stands=without))


def test_a_part_that_took_anothers_place_counts_as_that() -> None:
    first = planned(millrace())
    bulk = first.purchase.chosen.options["bulk"]
    ((row, count),) = bulk.parts
    line = f"  bulk-{row.slug}: {{serves: bulk, article: {row.slug}, count: {count}, built: {bulk.slug}}}\n"
    swapped = (
        f"  bulk-{row.slug}: {{serves: bulk, article: {row.slug}, count: {count - 1}, built: {bulk.slug}}}\n"
        f"  bulk-swapped: {{serves: bulk, article: spin-16, stands_for: {row.slug}}}\n"
    )
    again = api.plan_text(millrace(), stands=changed(as_bought(first), line, swapped))
    assert again.purchase.chosen.options["bulk"].slug == bulk.slug
    assert paid(again) == 0


def test_what_is_to_retire_is_not_counted() -> None:
    stands = "kit:\n  old: {kind: host, article: tower-mid-8, serves: host, do: retire}\n"
    assert paid(api.plan_text(millrace(), stands=stands)) == paid(planned(millrace()))
    kept = changed(stands, "do: retire", "do: reuse")
    assert paid(api.plan_text(millrace(), stands=kept)) < paid(planned(millrace()))


@pytest.mark.parametrize("empty", ["", "\n", "# nothing stands\n", "---\n", "kit: {}\n"])
def test_nothing_standing_changes_nothing(empty: str) -> None:
    from scantling.plan.telling import canonical  # noqa: PLC0415 - one comparison

    assert canonical(api.plan_text(fold(), stands=empty)) == canonical(planned(fold()))


@pytest.mark.parametrize(
    ("stands", "says"),
    [
        ("kit:\n  a: {article: floor-24, do: keep}\n", "standing.yaml:2:16: kit.a.article: serves is missing beside it"),
        ("kit:\n  a: {article: flor-24, serves: cabinet, do: keep}\n", "did you mean floor-24?"),
        ("kit:\n  a: {article: floor-24, serves: cabinet, do: burn}\n", "standing.yaml:2:47: kit.a.do: "),
        ("bought:\n  a: {article: floor-24, serves: cabinet, on: 2026-02-30}\n", "2026-02-30 is not a day of the calendar"),
        ("bougth:\n  a: {article: floor-24}\n", "did you mean bought?"),
        ("issued:\n  zones:\n    a: {number: 1, network: 10.0.0.0/24, gateway: 10.0.1.1}\n", "standing.yaml:3:51: "),
        ("issued:\n  ranges:\n    r: {zone: a, purpose: x, first: 10.0.0.9, last: 10.0.0.2}\n", 'no zone "a" is issued'),
    ],
)  # fmt: skip
def test_mistakes_are_told_at_their_place(stands: str, says: str) -> None:
    with pytest.raises(UserError, match=r"standing\.yaml") as caught:
        api.plan_text(fold(), stands=stands)
    assert says in str(caught.value)


def test_what_serves_nothing_is_said() -> None:
    plan = api.plan_text(fold(), stands="bought:\n  a: {article: floor-24, serves: cabnet}\n")
    told = next(told for told in plan.findings if told.finding.code == "P-4")
    assert "cabnet" in told.says


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from(["a", "b"]), st.integers(1, 9)), max_size=4),
    st.dictionaries(st.sampled_from("ab"), st.integers(1, 9)),
)
def test_price_is_what_is_beyond_the_standing_counts(parts: list[tuple[str, int]], pool: dict[str, int]) -> None:
    """Counted piece by piece: each piece is free while one like it is left."""
    from scantling.catalogue import Article  # noqa: PLC0415 - two rows
    from decimal import Decimal  # noqa: PLC0415 - as above

    from scantling.plan.laying import over  # noqa: PLC0415 - as above

    rows = {slug: Article("thing", slug, {"price": Decimal(price)}) for slug, price in (("a", "3.10"), ("b", "5"))}
    option = over(Option("x", tuple((rows[slug], count) for slug, count in parts)), pool, "")
    left, price = dict(pool), Decimal(0)
    for slug, count in parts:
        for _ in range(count):
            if left.get(slug, 0):
                left[slug] -= 1
            else:
                price += rows[slug].get(PRICE)
    assert option.price == price
    assert option.get(PRICE) == price or not parts


def test_work_is_reckoned_only_on_what_is_new() -> None:
    """Nothing new, no work; a larger array alone brings work on the server, and none on the switches."""
    first = planned(fold())
    stands = as_bought(first) + "issued:\n  addresses:\n" + "".join(
        f"    {a.slug}: {{zone: {a.zone}, holder: {a.holder}, address: {a.address}}}\n"
        for a in first.records(Address) if a.holder != "gateway"
    )  # fmt: skip
    zones = "".join(
        f"    {n.slug}: {{number: {z.number.value}, network: {n.network}, gateway: {n.gateway}}}\n"
        for n in first.records(Subnet) for z in first.records(Zone) if z.slug == n.slug
    )  # fmt: skip
    stands = changed(stands, "issued:\n", "issued:\n  zones:\n" + zones)
    assert api.plan_text(fold(), stands=stands).figures["money.labour.total"].value == 0
    grown = api.plan_text(changed(fold(), "size: 2.2 TB", "size: 12 TB"), stands=stands).figures
    assert grown["money.labour.server.hours"].value > 0
    assert grown["money.labour.network.hours"].value == 0
    assert grown["money.labour.machines.hours"].value == 0


def test_old_kit_beside_what_was_bought_changes_nothing() -> None:
    """The tower that gave way to a bought server is told once, not kept in the way of it for ever."""
    old = "kit:\n  tower: {article: tower-old-4, serves: host, do: reuse, since: 2014-05-05}\n"
    first = api.plan_text(fold(), stands=old)
    assert "K-6" in {told.finding.code for told in first.findings}
    again = api.plan_text(fold(), stands=old + as_bought(planned(fold())))
    assert paid(again) == 0
    assert not again.purchase.chosen.options["host"].changes
    assert not {"K-3", "K-6"} & {told.finding.code for told in again.findings}


def test_what_stands_but_is_of_no_use_is_named() -> None:
    stands = "kit:\n  a: {article: switch-8-open, serves: switch, do: keep}\n"
    (says,) = [told.says for told in api.plan_text(fold(), stands=stands).findings if told.finding.code == "K-6"]
    assert "1 × switch-8-open" in says
    assert "Switch ports" in says


def test_a_part_that_is_of_another_kind_is_told_as_that() -> None:
    stands = "bought:\n  a: {serves: ups, article: rack-8}\n"
    (says,) = [told.says for told in api.plan_text(fold(), stands=stands).findings if told.finding.code == "K-6"]
    assert "the kind of part that is wanted there" in says
