"""Faults of what gives addresses: the server gone, its pool too small, its settings wrong, a second one, the relay, the provider."""

import copy
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from ipaddress import IPv4Address, IPv4Network
from typing import Any

from scantling.trials.rehearsal.busiest import bare
from scantling.trials.rehearsal.faults.fault import Ground, LeftOut, Mishap
from scantling.trials.rehearsal.faults.mending import ended_for_a_while, running_of
from scantling.trials.rehearsal.faults.rogue import Rogue
from scantling.trials.rehearsal.office import Segment, Station
from scantling.trials.rehearsal.outside_lending import Line
from scantling.trials.rehearsal.services.adapter import Running
from scantling.trials.rehearsal.services.kea import told
from scantling.trials.rehearsal.session import Living

Settings = dict[str, Any]
FOURTH, SIXTH = "kea-dhcp4", "kea-dhcp6"


def server_gone(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """The address server ends."""
    for program, words in ((FOURTH, "address server"), (SIXTH, "address server for IPv6")):
        running = running_of(ground.living, program)
        slug = f"{program}-gone"
        if running is None or (program == SIXTH and not _given6(ground.living)):
            yield LeftOut(slug, f"no {words} runs that devices ask")
        else:
            where = f"{words} on {running.job.machine}"
            yield Mishap(slug, f"the {where} ends", where, partial(ended_for_a_while, ground.living, running))


def _given6(living: Living) -> bool:
    return living.built.sixth and any(one.family == 6 and one.address is not None for one in living.given)  # noqa: PLR2004


def relay_frozen(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """The relay stands still."""
    relay = ground.living.relay
    if relay is None:
        yield LeftOut("relay-frozen", "no relay runs")
        return

    @contextmanager
    def lasts() -> Iterator[None]:
        relay.pause()
        try:
            yield
        finally:
            relay.stop()  # what came meanwhile would be answered late and all at once
            relay.start()

    yield Mishap("relay-frozen", "the relay on the firewall stands still", "relay on the firewall", lasts)


def pool_too_small(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """A pool holds no more addresses than are lent already."""
    running, segment = running_of(ground.living, FOURTH), _lending(ground.living)
    if running is None or segment is None:
        yield LeftOut("pool-too-small", "no zone has a pool that is lent from")
        return

    def shrunk(fourth: Settings) -> None:
        lent = sorted(_lent(ground.living, segment))
        _subnet(fourth, segment)["pools"] = [{"pool": f"{host} - {host}"} for host in lent]

    yield Mishap(
        "pool-too-small", f"the pool of {segment.slug} holds no more addresses than are lent already",
        f"address pool of {segment.slug}", lambda: with_settings(running, shrunk),
    )  # fmt: skip


def wrong_way_out(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """The address server tells a zone a wrong way out."""
    running, segment = running_of(ground.living, FOURTH), _lending(ground.living)
    if running is None or segment is None:
        yield LeftOut("wrong-way-out", "no zone has a pool that is lent from")
        return

    def astray(fourth: Settings) -> None:
        told = _subnet(fourth, segment)["option-data"]
        next(one for one in told if one["name"] == "routers")["data"] = str(segment.network4.broadcast_address - 1)

    yield Mishap(
        "wrong-way-out", f"the address server tells {segment.slug} a wrong way out",
        f"settings of the address server on {running.job.machine}", lambda: with_settings(running, astray),
    )  # fmt: skip


def rogue(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """Somebody plugs in a device of their own that gives addresses."""
    segment = _lending(ground.living)
    bearer = _last_with_address(ground.living, segment) if segment else None
    if segment is None or bearer is None:
        yield LeftOut("second-address-server", "no zone has a pool that is lent from")
        return
    station, own = bearer
    built = ground.living.built

    @contextmanager
    def lasts() -> Iterator[None]:
        lends = Line(own, segment.network4.broadcast_address - 2, segment.network4.netmask)
        plugged = Rogue(built.rooms[station.slug], built.interfaces[station.slug], lends)
        plugged.start()
        try:
            yield
        finally:
            plugged.stop()

    yield Mishap(
        "second-address-server", f"{station.slug} in {segment.slug} gives addresses, too",
        f"second address server in {segment.slug}", lasts,
    )  # fmt: skip


def provider_lends_nothing(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """The provider's address server is silent."""
    lines = [*ground.living.lent]
    if not lines:
        yield LeftOut("provider-lends-nothing", "every line has an address of the office's own")

    @contextmanager
    def lasts(line: str) -> Iterator[None]:
        ground.living.outside.stop_lending(line)
        try:
            yield
        finally:
            ground.living.outside.start_lending(line)

    for line in lines[:1]:
        yield Mishap(
            "provider-lends-nothing", f"the provider lends no address on line {line} any more",
            f"provider on line {line}", partial(lasts, line),
        )  # fmt: skip


def _subnet(fourth: Settings, segment: Segment) -> Settings:
    """The server's settings for a zone."""
    subnets: list[Settings] = fourth["subnet4"]
    return next(one for one in subnets if IPv4Network(one["subnet"]) == segment.network4)


@contextmanager
def with_settings(running: Running, change: Callable[[Settings], None]) -> Iterator[None]:
    """The address server goes by changed settings; afterwards by its file again."""
    whole: Settings = bare(json.loads(running.job.files[0].content))
    changed = copy.deepcopy(whole)
    change(changed["Dhcp4"])
    told(running, "config-set", changed)
    try:
        yield
    finally:
        told(running, "config-reload")


def _lending(living: Living) -> Segment | None:
    """The first zone in which somebody was lent an address out of a pool."""
    return next((one for one in living.office.segments if one.lends and _lent(living, one)), None)


def _lent(living: Living, segment: Segment) -> set[IPv4Address]:
    hosts = (one.address for one in living.given)
    return {host for host in hosts if isinstance(host, IPv4Address) and host in segment.network4}


def _last_with_address(living: Living, segment: Segment) -> tuple[Station, IPv4Address] | None:
    here = (one for one in reversed(living.office.stations) if one.zone == segment.slug)
    with_address = (
        (one, host) for one in here for host in living.held.get(one.slug, ()) if isinstance(host, IPv4Address)
    )
    return next(with_address, None)


SORTS = (server_gone, relay_frozen, pool_too_small, wrong_way_out, rogue, provider_lends_nothing)
