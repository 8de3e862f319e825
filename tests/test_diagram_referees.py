"""The interval diagram against engines of other kinds: z3, a BDD library, rectangles taken apart, corner points, networks as sets.

z3 (de Moura & Bjorner, TACAS 2008), CUDD through dd, netaddr's sets of networks; the last two roads are plain Python.
"""

from random import Random

import netaddr
import pytest
from box_lists import BoxList, another, changed, office, sites, small
from conftest import Scale
from referees.bits import Bits
from referees.corners import corners, first_place
from referees.rectangles import decided
from referees.solving import Solving

from scantling.trials.proof.diagram import (
    Box,
    Diagram,
    Space,
    differences,
    first_match,
    intersect,
    minus,
    of_boxes,
    union,
)

LISTS = {
    "office": lambda count, seed: office(count, zones=5, seed=seed),
    "office in IPv6": lambda count, seed: office(count, zones=5, bits=128, seed=seed),
    "many sites": lambda count, seed: sites(count, seed=seed),
}


def never_deciding(listed: BoxList) -> list[int]:
    numbers = first_match(Space(listed.dimensions), listed.numbered, -1)
    return sorted({*range(len(listed.rules))} - numbers.deciding())


@pytest.mark.parametrize("kind", LISTS)
def test_never_deciding_by_z3_and_bdd(kind: str, scale: Scale) -> None:
    for seed in range(scale(short=2, full=5)):
        listed = LISTS[kind](scale(short=40, full=100), seed)
        hidden = never_deciding(listed)
        assert Solving(listed.lasts).never_deciding(listed.boxes) == hidden
        assert Bits(listed.lasts).never_deciding(listed.boxes) == hidden


def test_never_deciding_in_long_lists(scale: Scale) -> None:
    """Here z3 is too slow for each rule; the BDD is not."""
    for listed in (office(scale(short=200, full=600)), sites(scale(short=200, full=3000))):
        assert Bits(listed.lasts).never_deciding(listed.boxes) == never_deciding(listed)


@pytest.mark.parametrize("kind", LISTS)
def test_equality_by_z3_and_bdd(kind: str, scale: Scale) -> None:
    """One rule changed: proved equal by all three, or each has a point that tells the lists apart."""
    random = Random(5)
    for seed in range(scale(short=3, full=10)):
        listed = LISTS[kind](scale(short=30, full=80), seed)
        other = changed(random, listed)
        space = Space(listed.dimensions)
        one, two = first_match(space, listed.rules, "drop"), first_match(space, other.rules, "drop")
        told = Solving(listed.lasts).apart(listed.rules, other.rules, "drop")
        bits = Bits(listed.lasts)
        same = bits.where(listed.rules, "drop", "accept") == bits.where(other.rules, "drop", "accept")
        assert (differences(one, two) is None) == (told is None) == same
        if told is not None:
            assert one.decide(told) != two.decide(told)
            _apart(one, two, listed, other)


def _apart(one: Diagram[str], two: Diagram[str], listed: BoxList, other: BoxList) -> None:
    """Our own counterexample, judged by reading both lists from the top."""
    found = differences(one, two)
    assert found is not None
    verdicts = []
    for rules in (listed.rules, other.rules):
        place = first_place([box for box, _ in rules], found.witness)
        verdicts.append(rules[place][1] if place >= 0 else "drop")
    assert verdicts[0] != verdicts[1]


def test_equality_without_what_never_decides(scale: Scale) -> None:
    """Proved by z3 as well: the same without the rules that never decide."""
    for seed in range(scale(short=2, full=8)):
        listed = sites(scale(short=60, full=150), seed=seed)
        shorter = [rule for place, rule in enumerate(listed.rules) if place not in set(never_deciding(listed))]
        space = Space(listed.dimensions)
        assert first_match(space, shorter, "drop") == first_match(space, listed.rules, "drop")
        assert Solving(listed.lasts).apart(listed.rules, shorter, "drop") is None


def test_reachability_of_zone_pairs_by_z3(scale: Scale) -> None:
    zones = 5
    for seed in range(scale(short=1, full=2)):
        listed = office(scale(short=40, full=80), zones, seed=seed)
        space, solving = Space(listed.dimensions), Solving(listed.lasts)
        found = first_match(space, listed.rules, "drop")
        for zone in range(zones):
            for other in range(zones):
                first = (10 << 24) + (other << 8)
                pair = space.box(state=((0, 0),), place=((zone, zone),), target=((first, first + 255),))
                told = solving.reached(listed.rules, "drop", "accept", pair)
                assert ("accept" in found.deciding_in(pair)) == (told is not None)
                assert told is None or found.restrict(pair, "drop").decide(told) == "accept"


def test_counts_by_rectangles_and_bdd(scale: Scale) -> None:
    """Points that each rule decides: exactly by rectangles; those accepted also by the BDD, while it can count so far."""
    random = Random(6)
    for _ in range(scale(short=30, full=600)):
        listed = small(random, most_rules=6, wide=11)
        numbers = first_match(Space(listed.dimensions), listed.numbered, -1)
        assert [numbers.count(place) for place in range(len(listed.rules))] == decided(listed.boxes)
        verdicts, bits = first_match(Space(listed.dimensions), listed.rules, "d"), Bits(listed.lasts)
        assert verdicts.count("a") == bits.count(bits.where(listed.rules, "d", "a"))


def test_every_corner(scale: Scale) -> None:
    """One point for all that no box tells apart: the whole space, however wide it is."""
    random = Random(7)
    for _ in range(scale(short=20, full=300)):
        listed = small(random, most_rules=5, wide=128)
        numbers = first_match(Space(listed.dimensions), listed.numbered, -1)
        count = dict.fromkeys([-1, *range(len(listed.rules))], 0)
        for point, many in corners(listed.lasts, listed.boxes):
            place = first_place(listed.boxes, point)
            assert numbers.decide(point) == place
            count[place] += many
        assert {place: numbers.count(place) for place in count} == count
        assert numbers.deciding() == {place for place, many in count.items() if many}


def test_other_lists_at_every_corner(scale: Scale) -> None:
    random = Random(8)
    for _ in range(scale(short=20, full=300)):
        listed = small(random, most_rules=4, wide=64)
        other = another(random, listed, most_rules=4)
        space = Space(listed.dimensions)
        found = differences(first_match(space, listed.rules, "a"), first_match(space, other.rules, "a"))
        apart = 0
        for point, many in corners(listed.lasts, [*listed.boxes, *other.boxes]):
            values = [
                {place: rule[1] for place, rule in enumerate(one.rules)}.get(first_place(one.boxes, point), "a")
                for one in (listed, other)
            ]
            apart += many if values[0] != values[1] else 0
        assert (found.count if found else 0) == apart


@pytest.mark.parametrize(("version", "bits"), [(4, 32), (6, 128)])
def test_networks_by_netaddr(version: int, bits: int, scale: Scale) -> None:
    """Networks joined, met and taken away as netaddr does it."""
    random, space = Random(9), Space([("address", 2**bits - 1)])
    for _ in range(scale(short=30, full=600)):
        some, others = ([_network(random, version, bits) for _ in range(random.randint(0, 12))] for _ in range(2))
        one, two = (of_boxes(space, [_box(network) for network in networks]) for networks in (some, others))
        their, theirs = netaddr.IPSet(some), netaddr.IPSet(others)
        assert _ranges(union(one, two)) == _spans(their | theirs)
        assert _ranges(intersect(one, two)) == _spans(their & theirs)
        assert _ranges(minus(one, two)) == _spans(their - theirs)
        assert one.count(value=True) == their.size


def _network(random: Random, version: int, bits: int) -> netaddr.IPNetwork:
    """Near others, so that they often lie inside each other."""
    start = netaddr.IPAddress("192.0.2.0" if version == 4 else "2001:db8::", version)
    length = random.randint(bits - 12, bits)
    return netaddr.IPNetwork((int(start) ^ random.getrandbits(12), length), version=version).cidr


def _box(network: netaddr.IPNetwork) -> Box:
    return (((network.first, network.last),),)


def _ranges(found: Diagram[bool]) -> list[tuple[int, int]]:
    return [span for box in found.boxes(value=True) for span in box[0]]


def _spans(found: netaddr.IPSet) -> list[tuple[int, int]]:
    return [(int(one.first), int(one.last)) for one in found.iter_ipranges()]


def test_five_thousand_points_say_little(scale: Scale) -> None:
    """Why it is proved and not tried: one pair of addresses turned round, and chance doesn't find it."""
    random = Random(10)
    listed = sites(scale(short=200, full=1000))
    space, rules = Space(listed.dimensions), [*listed.rules]
    deciding = first_match(space, listed.numbered, -1)
    narrow = [at for at, (box, _) in enumerate(rules) if all(form[0][0] == form[-1][1] for form in box[:2])]
    place = next(at for at in narrow if at in deciding.deciding())
    rules[place] = rules[place][0], "accept" if rules[place][1] == "drop" else "drop"
    one, two = first_match(space, listed.rules, "drop"), first_match(space, rules, "drop")
    chance = ([random.randint(0, last) for last in listed.lasts] for _ in range(5000))
    assert all(one.decide(point) == two.decide(point) for point in chance)
    found = differences(one, two)
    assert found is not None
    assert deciding.decide(found.witness) == place
