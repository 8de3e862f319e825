"""IPv4 addresses asked for in a planned office, as an ordinary user; the real server is the referee."""

from collections import Counter
from dataclasses import dataclass, replace
from ipaddress import IPv4Address
from time import sleep

import pytest

from address_lab import Lab
from address_offices import office, stood
from offices import example
from scantling.figures import Pool, Reservation
from scantling.trials.rehearsal.asking import Given, asked4, released4, renewed4
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.office import Office, Sort, Station
from scantling.trials.rehearsal.stations import hardware

AT_ONCE = 1.0
"""Patience of those who are to get nothing, seconds; rooms of one kernel answer within thousandths."""


@dataclass(frozen=True)
class Fourth:
    """What happened to everyone in IPv4."""

    given: list[Given]
    renewed: list[Given]
    after_release: list[Given]
    told: list[tuple[int, int]]


@pytest.fixture(scope="module")
def fourth() -> Fourth:
    """Everyone asks; those that may reach the server straight renew; one gives its address back and asks again."""

    def work(one: Lab) -> Fourth:
        told: list[tuple[int, int]] = []
        places = one.places()
        given = asked4(places, tell=lambda done, many: told.append((done, many)))
        one.bear({each.station: (each.address, each.prefix) for each in given if each.address})
        renewed = renewed4(one.places("management", "staff", "phones"), given)
        left = one.places("phones")[:1]
        released4(left, given)
        sleep(0.05)  # nobody answers a release; the server takes it within thousandths
        return Fourth(given, renewed, asked4(left), told)

    return stood(work, office(everyone=True))


def test_everyone_is_given_an_address_of_their_own(fourth: Fourth) -> None:
    assert not [one.refused for one in fourth.given if one.refused]
    assert len(fourth.given) == sum(one.asks for one in office(everyone=True).stations)
    assert not [host for host, many in Counter(one.address for one in fourth.given).items() if many > 1]


def test_it_comes_from_the_zones_pool_or_is_kept_for_who_asks(fourth: Fourth) -> None:
    pools = example("millrace").records(Pool)
    kept = {
        one.hardware_address: one.address
        for one in example("millrace").records(Reservation)
        if one.address.version == 4
    }
    seen: set[str] = set()
    for one in fourth.given:
        station = office(everyone=True).station(one.station)
        assert isinstance(one.address, IPv4Address)
        if station.hardware in kept:
            assert one.address == kept[station.hardware]
            seen.add(station.hardware)
        else:
            assert any(pool.first <= one.address <= pool.last for pool in pools if pool.slug == station.zone)
    assert seen == set(kept)


def test_everyone_is_told_what_the_zone_is_told(fourth: Fourth) -> None:
    for one in fourth.given:
        segment = office().segment(one.zone)
        assert one.router == segment.gateway4
        assert one.prefix == segment.network4.prefixlen
        assert one.resolvers == tuple(host for host in segment.resolvers if host.version == 4)
        assert one.times == tuple(host for host in segment.times if host.version == 4)
        assert one.domain == segment.domain
        lease = [pool.lease.value for pool in example("millrace").records(Pool) if pool.slug == one.zone]
        assert not lease or one.seconds == round(lease[0] * 3600)


def test_renewing_straight_keeps_the_address(fourth: Fourth) -> None:
    before = {one.station: one for one in fourth.given}
    assert len(fourth.renewed) == sum(one.zone in {"management", "staff", "phones"} for one in fourth.given)
    for one in fourth.renewed:
        assert one == before[one.station]


def test_an_address_given_back_is_lent_again(fourth: Fourth) -> None:
    assert [one.refused for one in fourth.after_release] == [""]


def test_progress_is_told_to_the_end(fourth: Fourth) -> None:
    assert fourth.told[-1] == (len(fourth.given), len(fourth.given))
    assert fourth.told == sorted(fourth.told)


def crowded(zone: str, many: int) -> Office:
    """The office with so many more devices in a zone, and no others that ask."""
    bare = [one for one in office().stations if not one.asks]
    number = office().segment(zone).number
    more = [
        Station(f"more-{n:03}", f"more {n}", Sort.DEVICE, zone, "more", hardware(number, 0x400 + n))
        for n in range(many)
    ]
    return replace(office(), stations=(*bare, *more))


@pytest.mark.parametrize(("zone", "too_many"), [("phones", 7), ("staff", 1), ("phones", -1)])
def test_a_pool_lends_exactly_what_it_has(zone: str, too_many: int) -> None:
    size = next(int(one.size.value) for one in example("millrace").records(Pool) if one.slug == zone)
    found = stood(lambda one: asked4(one.places(), AT_ONCE), crowded(zone, size + too_many))
    lent = [one.address for one in found if one.address]
    assert len(lent) == len(set(lent)) == min(size, size + too_many)
    assert sum(bool(one.refused) for one in found) == max(0, too_many)
    # two may be offered the last address; who comes second is told no, and offered nothing more
    taken_back = "the server took its offer back, and none made another"
    assert {one.refused for one in found if not one.address} <= {"no server offered an address", taken_back}


def test_a_frozen_relay_is_noticed_and_goes_on() -> None:
    def work(one: Lab) -> list[list[Given]]:
        places = one.places("staff")[:2]
        before = asked4(places)
        one.relay.pause()
        frozen = asked4(places, 0.4)
        one.relay.go_on()
        after = asked4(places)
        one.relay.stop()
        stopped = asked4(places, 0.4)
        one.relay.start()
        return [before, frozen, after, stopped, asked4(places)]

    before, frozen, after, stopped, again = stood(work)
    assert before == after == again
    assert {one.refused for one in (*frozen, *stopped)} == {"no server offered an address"}


def test_a_port_that_is_down_is_told_in_words() -> None:
    def work(one: Lab) -> list[Given]:
        station, room = one.places("staff")[0]
        link = Netlink(room)
        link.down(one.built.interfaces[station.slug])
        link.flush()
        return asked4([(station, room)])

    found = stood(work)
    assert found[0].refused.startswith("it can't ask: ")
