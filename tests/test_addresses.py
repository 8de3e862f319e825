"""Addresses: the register, the visitors' pool; every finding raised from a changed brief; netaddr as the referee."""

import netaddr
import pytest

from offices import changed, fold, millrace, planned
from scantling import UserError
from scantling.figures import Address, Lasting, Machine, Pool, Range, Subnet, Zone

MILLRACE, FOLD = millrace(), fold()

BLOCK = "block: 10.44.0.0/16"


def _found(text: str) -> dict[str, str]:
    return {told.finding.code: told.says for told in planned(text).findings}


def _network(line: str) -> str:
    return changed(MILLRACE, BLOCK, line)


@pytest.mark.parametrize("text", [MILLRACE, FOLD, _network("block: 192.168.40.0/24"), _network("block: 10.0.0.0/8")])
def test_register_has_no_overlap_and_no_address_twice(text: str) -> None:
    """Subnets apart; every range and address inside its subnet; nothing given twice."""
    plan = planned(text)
    nets = {subnet.slug: netaddr.IPNetwork(str(subnet.network)) for subnet in plan.records(Subnet)}
    assert set(nets) == {zone.slug for zone in plan.records(Zone)}
    assert netaddr.IPSet(nets.values()).size == sum(net.size for net in nets.values())
    for slug, net in nets.items():
        runs = [r for r in plan.records(Range) if r.zone == slug]
        spans = [netaddr.IPRange(str(r.first), str(r.last)) for r in runs]
        assert netaddr.IPSet(spans).issubset(netaddr.IPSet([net]))
        assert netaddr.IPSet(spans).size == sum(span.size for span in spans)
        assert net[0] not in netaddr.IPSet(spans)
        assert net[-1] not in netaddr.IPSet(spans)
    given = [str(address.address) for address in plan.records(Address)]
    assert len(set(given)) == len(given)
    for address in plan.records(Address):
        assert netaddr.IPAddress(str(address.address)) in nets[address.zone]


def test_every_machine_and_gateway_has_an_address() -> None:
    """In each of its zones; the gateway is the first address."""
    plan = planned(MILLRACE)
    held = {(address.holder, address.zone) for address in plan.records(Address)}
    assert held >= {(machine.slug, zone) for machine in plan.records(Machine) for zone in machine.zones}
    for subnet in plan.records(Subnet):
        assert subnet.gateway == subnet.network[1]
        assert ("gateway", subnet.slug) in held


def test_third_number_is_the_zones() -> None:
    """Where the block is wide enough."""
    plan = planned(MILLRACE)
    numbers = {zone.slug: zone.number.value for zone in plan.records(Zone)}
    for subnet in plan.records(Subnet):
        assert str(subnet.network).split(".")[2] == str(numbers[subnet.slug])


def test_a_show_night_does_not_get_a_24() -> None:
    """297 devices at the peak, and 1 in 10 of them again as a new one, want a pool of 388 (Erlang B, 1 in 10,000) and a /23."""
    plan = planned(MILLRACE)
    pool = next(pool for pool in plan.records(Pool) if pool.slug == "guests")
    assert (pool.size.value, pool.lease.value) == (388, 2)
    assert pool.peak.value == pytest.approx(326.7)
    assert int(pool.last) - int(pool.first) + 1 == 388
    guests = next(subnet for subnet in plan.records(Subnet) if subnet.slug == "guests")
    assert guests.network.prefixlen == 23
    assert plan.figures["addresses.visitors.cautious"].value == 397


def test_a_longer_lease_wants_a_larger_pool() -> None:
    """With a day's lease the matinee's addresses are still taken in the evening, and those of the day before."""
    sizes = [
        planned(_network(f"{BLOCK}\n  guest_lease: {lease}")).figures["addresses.visitors.pool"].value
        for lease in ("1 h", "4 h", "8 h", "24 h")
    ]  # fmt: skip
    assert sizes == sorted(sizes)
    assert sizes[0] < sizes[-1]


@pytest.mark.parametrize(
    ("code", "line"),
    [
        ("A-1", f"{BLOCK}\n  guest_pool: 250"),
        ("A-2", "block: 192.168.0.0/16"),
        ("A-3", "block: 10.44.0.0/23"),
        ("A-4", f"{BLOCK}\n  others: {{printer-firm: 10.44.60.0/24}}"),
        ("A-5", "block: 203.0.113.0/24"),
    ],
)  # fmt: skip
def test_findings_of_the_network_section(code: str, line: str) -> None:
    """Each is raised by one changed line, and not without it."""
    assert code not in _found(MILLRACE)
    assert code in _found(_network(line))


def test_a1_says_how_many_get_none() -> None:
    """Erlang B of 250 addresses for 326.7 devices: 0.2438, so about 80 devices go without."""
    plan = planned(_network(f"{BLOCK}\n  guest_pool: 250"))
    assert plan.figures["addresses.visitors.without"].value == pytest.approx(80, abs=3)
    assert (
        str(plan.figures["addresses.visitors.without"].value)
        in _found(_network(f"{BLOCK}\n  guest_pool: 250"))["A-1"]
    )


def test_visitors_who_do_not_join_want_no_addresses() -> None:
    """A pool of none, and nobody refused."""
    plan = planned(changed(MILLRACE, "join: 55 %", "join: 0 %"))
    assert plan.figures["addresses.visitors.pool"].value == 0
    assert "A-1" not in {told.finding.code for told in plan.findings}
    assert not [pool for pool in plan.records(Pool) if pool.slug == "guests"]


def test_a6_a_prefix_pinned_too_long() -> None:
    """Pins are part of the brief."""
    pin = "\npins:\n  addresses.guests.prefix: {value: 24, because: habit}\n"
    assert "A-6" in _found(MILLRACE + pin)
    assert "A-6" not in _found(MILLRACE + pin.replace("24", "22"))


def test_g1_the_address_plan_is_not_confirmed() -> None:
    """Raised at Fold & Fell, who have not confirmed it; not at the Millrace, who have."""
    about = {(t.finding.code, t.finding.about) for t in planned(FOLD).findings}
    assert ("G-1", "address-plan") in about
    assert ("G-1", "address-plan") not in {(t.finding.code, t.finding.about) for t in planned(MILLRACE).findings}
    confirmed = {lasting.slug: lasting.confirmed.value for lasting in planned(MILLRACE).records(Lasting)}
    assert confirmed["address-plan"]


def test_without_a_block_the_house_chooses_one_clear_of_all() -> None:
    """The first candidate, and the next one when an outside party has the first."""
    text = changed(MILLRACE, f"{BLOCK}\n  ", "")
    assert str(planned(text).figures["addresses.block"].value) == "10.44.0.0/16"
    others = changed(MILLRACE, BLOCK, "others: {printer-firm: 10.44.0.0/20}")
    plan = planned(others)
    assert str(plan.figures["addresses.block"].value) == "10.71.0.0/16"
    assert plan.figures["addresses.other-clashes"].value == 0


def test_devices_that_come_back_as_new_ones_take_more_addresses() -> None:
    """A tenth more (house rule addresses.anew): RFC 9724 tells of devices that change their hardware address."""
    figures = planned(MILLRACE).figures
    joins, comes = figures["addresses.visitors.joining"].value, figures["people.visitors.arrivals"].value
    assert sum(joins.values) == pytest.approx(1.1 * sum(comes.values))
    assert figures["addresses.visitors.peak"].value == pytest.approx(1.1 * 297)


def test_a2_a_home_that_is_named_counts_as_the_usual_ones_do() -> None:
    """Whoever works from a network with the office's numbers can't reach it; without a block the house keeps clear of it."""
    home = "homes: {orla: 10.44.32.0/24}"
    assert "A-2" in _found(_network(f"{BLOCK}\n  {home}"))
    clear = changed(MILLRACE, BLOCK, home)
    assert "A-2" not in _found(clear)
    assert str(planned(clear).figures["addresses.block"].value) == "10.71.0.0/16"


@pytest.mark.parametrize("room", ["255.255.255.255/32", "10.44.0.0/30"])
def test_a_block_pinned_too_small_for_any_zone_is_told_with_its_line(room: str) -> None:
    """Not as a fault of the program: the pin, its value and its place."""
    text = MILLRACE + f"\npins:\n  addresses.room: {{value: {room}, because: a slip of the pen}}\n"
    line = text.splitlines().index("pins:") + 2
    with pytest.raises(UserError, match=rf"addresses\.room = {room} \(brief\.yaml:{line}\).*has no place for"):
        planned(text)
