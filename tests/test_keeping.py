"""What was issued stays: offices change at random and no number, network, run or address moves; netaddr is the judge."""

from hypothesis import given
from hypothesis import strategies as st

from address_judges import apart, apart_sixth, enough, facts, holds, holds_sixth, read
from address_plans import KINDS, MORE_SERVICES, ZONES, Small, addressed, keeping
from conftest import examples
from scantling.figures import Address, Address6, Leg, Name, Prefix, Range, Reservation, Subnet, Zone

SLUGS = ("pcs", "printers", "phones", "phones-2", "phones-2-2", "a", "x-ray")
Devices = st.dictionaries(
    st.sampled_from(SLUGS), st.tuples(st.sampled_from(KINDS), st.sampled_from(ZONES), st.integers(1, 9)), max_size=5
)
Offices = st.builds(
    Small,
    devices=Devices,
    heads=st.integers(1, 12),
    services=st.frozensets(st.sampled_from(MORE_SERVICES), max_size=4),
    visitors=st.sampled_from((0, 0, 20, 60)),
    block=st.sampled_from(("", "10.44.0.0/20", "172.20.16.0/20")),
    prefix6=st.sampled_from(("", "2001:db8:44::/48", "2001:db8:44:f0::/62", "2001:db8:9::/64")),
)
"""The small blocks do not hold the zones' usual third numbers, so that places have to be looked for; nor do the long prefixes."""
KIT = """\
kit:
  lp: {name: Printer, kind: printer, do: keep, zone: staff, hardware_address: "00:00:5e:00:53:01"}
  handset: {name: Telephone, kind: phones, do: keep, zone: phones, hardware_address: "00:00:5e:00:53:02"}
  switch: {name: Switch, do: keep, zone: management, hardware_address: "00:00:5e:00:53:03"}
  firewall: {name: Old firewall, do: keep, zone: management, hardware_address: "00:00:5e:00:53:04"}
  gateway: {name: Odd one, do: keep, zone: staff, hardware_address: "00:00:5e:00:53:05"}
"""
"""Things that stand, one called like a machine, one like gateways are."""
Steps = st.lists(Offices, min_size=1, max_size=3)
"""An office that has changed in every way at once: devices, people, zones, machines, visitors, each added or gone."""
dear = examples(short=25, full=60)
"""Each example is several address plans."""


@dear
@given(Offices, Steps)
def test_nothing_that_was_issued_moves_whatever_changes(first: Small, steps: list[Small]) -> None:
    """Kept after every step, the standing file only grows, and every plan keeps all of it."""
    stands = keeping(KIT, addressed(first, KIT))
    for office in steps:
        plan = addressed(office, stands)
        issued = read(stands)
        holds(plan, issued)
        apart(plan, issued)
        holds_sixth(plan, issued)
        apart_sixth(plan, issued)
        enough(plan)
        grown = keeping(stands, plan)
        assert set(stands.splitlines()) <= set(grown.splitlines())
        stands = grown


@dear
@given(Offices, Steps)
def test_removing_and_adding_back_gives_the_same(first: Small, steps: list[Small]) -> None:
    """Whatever came and went in between, and was kept, the first office gets its own again."""
    stands = keeping(KIT, addressed(first, KIT))
    before = addressed(first, stands)
    for office in steps:
        stands = keeping(stands, addressed(office, stands))
    after = addressed(first, stands)
    assert {(a.slug, a.address) for a in before.records(Address)} == {
        (a.slug, a.address) for a in after.records(Address)
    }
    assert facts(before, Prefix, ("network", "gateway")) == facts(after, Prefix, ("network", "gateway"))
    assert facts(before, Address6, ("address",)) == facts(after, Address6, ("address",))
    assert facts(before, Reservation, ("address",)) == facts(after, Reservation, ("address",))
    assert {(s.slug, s.network) for s in before.records(Subnet)} == {
        (s.slug, s.network) for s in after.records(Subnet)
    }
    assert {(r.slug, r.first, r.last) for r in before.records(Range)} <= {
        (r.slug, r.first, r.last) for r in after.records(Range)
    }
    assert {(z.slug, z.number.value) for z in before.records(Zone)} == {
        (z.slug, z.number.value) for z in after.records(Zone)
    }


@dear
@given(Offices)
def test_keeping_a_plan_changes_nothing_in_it(office: Small) -> None:
    """The same brief beside what it issued gives the same records, and has nothing new to keep."""
    plan = addressed(office, KIT, named=True)
    stands = keeping(KIT, plan)
    again = addressed(office, stands, named=True)
    for kind, words in (
        (Subnet, ("network", "gateway")),
        (Range, ("first", "last", "purpose")),
        (Address, ("address",)),
        (Prefix, ("network", "gateway")),
        (Address6, ("address",)),
        (Reservation, ("address", "hardware_address")),
        (Leg, ("interface", "networks", "own")),
        (Name, ("name", "holder", "addresses")),
    ):
        assert facts(plan, kind, words) == facts(again, kind, words)
    for id_, figure in plan.ledger.figures.items():
        if id_.startswith(("addresses.", "zones.", "sixth.register", "legs.", "register.")):
            assert str(again.ledger.figures[id_].value) == str(figure.value), id_
    assert keeping(stands, again) == stands
    assert again.codes() == plan.codes()
