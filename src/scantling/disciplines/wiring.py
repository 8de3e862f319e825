"""Wiring: how many ports the switches must have, what they must feed over the cables, and which switches do it.

Figures:
    wiring.radio.people         people and visitors' devices that join by radio at the same time, at most
    wiring.radio.needed         access points for them, until radio is planned
    wiring.radio.listed         access points that the brief lists
    wiring.radio.count          access points to buy, allowed for
    wiring.ports.wanted         switch ports of all zones
    wiring.ports.needed         the same with the house's spare
    wiring.powered.<slug>.watts watts set aside for the devices of one kind
    wiring.powered.count        ports that must feed a device
    wiring.powered.ports        the same with the house's spare
    wiring.powered.watts        watts set aside for all of them
    wiring.powered.needed       the same with the house's spare
    wiring.powered.taken        watts that the devices really take
    wiring.powered.mains        what feeding them draws from the mains
    wiring.uplinks.wanted       fast ports for the server
    wiring.switches             switches bought
    wiring.ports.free           ports that nobody has yet
    wiring.powered.used         share of the switches' power that is set aside
Demands: wiring.ports.given wiring.powered.given wiring.powered.ports-given wiring.uplinks.given wiring.managed
Findings: W-1 W-2 W-3.
Records: Port, Slot, Demand, Draw, Switching, Page.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from scantling.catalogue import Article, Catalogue, House, Practice
from scantling.catalogue.columns import (
    DEPTH, LIFT_WEIGHT, MANAGED, NOISE, POWER_BUDGET, POWERED_CLASS, POWERED_PORTS, SWITCH_PORTS, SWITCHES, UPLINKS, WATTS,
)  # fmt: skip
from scantling.figures import (
    Chosen, Crowd, Demand, Desk, Device, Draw, Every, Facts, Figure, Finding, Hosts, Machine, Of, Page, Port, Prose, Ruled,
    Slot, Switching, Visitors, Weight, Zone, total,
)  # fmt: skip
from scantling.figures.spelled import titled
from scantling.figures.units import COUNT, RATIO, SHARE, WATT, WORD
from scantling.handbook.sizing import (
    beyond,
    left_over,
    shared_out,
    shorter,
    times,
    used_share,
    with_headroom,
    with_spare,
)
from scantling.handbook.switching import CLASS_WATTS, NO_CLASS, Columns, drawn_to_feed, sets, still_missing

SPARE_PORTS, SPARE_WATTS = Practice("wiring.spare-ports", SHARE), Practice("wiring.spare-watts", SHARE)
MOST_FED, LEAST_FREE = Practice("wiring.most-fed", SHARE), Practice("wiring.least-free", COUNT)
EFFICIENCY, HOST_UPLINKS = Practice("wiring.efficiency", RATIO), Practice("wiring.host-uplinks", COUNT)
PEOPLE_EACH, RADIO_KIND = Practice("wiring.people-each", COUNT), Practice("wiring.radio-kind", WORD)
MORE_THAN_ONE = Practice("wiring.more-than-one", COUNT)
ACCESS_POINTS, MANAGEMENT, SWITCH = "access-points", "management", "switch"
COLUMNS_OF_A_SET = Columns(SWITCH_PORTS, POWERED_PORTS, UPLINKS, MANAGED, NOISE, (DEPTH, LIFT_WEIGHT))
NONE = total((), COUNT)


def asks_radio(
    catalogue: Catalogue,
    house: House,
    crowds: Every[Crowd],
    visitors: Every[Visitors],
    devices: Every[Device],
    desk: Desk,
) -> Iterator[Port]:
    """Access points are allowed for by the head until radio is planned; each wants a port that feeds it."""
    if not crowds and not visitors and not devices:
        return
    kind = catalogue.pick("device_kind", house[RADIO_KIND])
    at = desk.under("radio")
    people = {crowd.slug: crowd.horizon for crowd in crowds}
    active = {f"visitors {guest.slug}": guest.active for guest in visitors}
    many = at.figure(
        "people", total({**people, **active}, COUNT), "People and visitors' devices on the radio, at most"
    )
    needed = at.figure("needed", shared_out.of(count=many, each=house[PEOPLE_EACH]), "Access points for them")
    here = {device.slug: device.now for device in devices if device.kind == kind.slug}
    listed = at.figure("listed", total(here, COUNT), "Access points that the brief lists")
    count = at.figure("count", still_missing.of(needed=needed, listed=listed), "Access points to buy, allowed for")
    yield Port(ACCESS_POINTS, MANAGEMENT, count, *_fed(kind))


def _fed(kind: Article) -> tuple[Figure[float] | None, Figure[float] | None]:
    if kind.get(POWERED_CLASS) == NO_CLASS:
        return None, None
    return CLASS_WATTS.of(kind.figure(POWERED_CLASS)), kind.figure(WATTS)


def asks(  # noqa: PLR0913 - a trade's signature is what it reads
    catalogue: Catalogue,
    house: House,
    ports: Every[Port],
    zones: Every[Zone],
    devices: Every[Device],
    machines: Every[Machine],
    hosts: Every[Hosts],
    desk: Desk,
) -> Iterator[Slot | Demand | Draw | Switching]:
    """Switches with a port for everything, power for what hangs on them, and a way to the server."""
    if not devices and not machines:
        return
    wanted = desk.figure("ports.wanted", total([port.count for port in ports], COUNT), "Switch ports of all zones")
    needed = with_spare.of(count=wanted, spare=house[SPARE_PORTS])
    needed = desk.figure("ports.needed", needed, "Switch ports with the house's spare")
    fed, watts = _powered(ports, house, desk)
    link = house[HOST_UPLINKS] if machines else NONE
    if hosts:
        link = total({"one server": link, "the other": link}, COUNT)
    uplinks = desk.figure("uplinks.wanted", link, "Fast ports for the server")
    made = catalogue.once("sets of switches", lambda rows: tuple(sets(rows.every(SWITCH), COLUMNS_OF_A_SET)))
    yield Slot(SWITCH, made, "Switches")
    wants: tuple[tuple[str, str, Any, Figure[Any]], ...] = (
        ("ports.given", "Switch ports", SWITCH_PORTS, needed),
        ("powered.given", "Power that the switches can feed", POWER_BUDGET, watts),
        ("powered.ports-given", "Switch ports that feed", POWERED_PORTS, fed),
        ("uplinks.given", "Fast ports left when the switches are joined", UPLINKS, uplinks),
    )
    for id_, label, column, least in wants:
        yield desk.demand(id_, label, Of(SWITCH, column), at_least=least)
    if len(zones) > 1:
        yield desk.fit("managed", "Switches that can part the zones", Of(SWITCH, MANAGED))
    yield Draw("fed", desk.kept("powered.mains", WATT))
    yield Switching(
        "all", wanted, desk.kept("powered.watts", WATT), desk.ledger.figures.get("wiring.radio.count", NONE)
    )


def _powered(ports: Every[Port], house: House, desk: Desk) -> tuple[Figure[int], Figure[float]]:
    """Ports that must feed and the watts that they must be able to give, both with the house's spare."""
    at, feeding = desk.under("powered"), _feeding(ports)
    count = at.figure("count", total({key: p.count for key, p in feeding.items()}, COUNT), "Ports that must feed")
    fed = at.figure("ports", with_spare.of(count=count, spare=house[SPARE_PORTS]), "Ports that feed, with spare")
    watts, taken = {}, {}
    for key, port in feeding.items():
        if port.fed is not None:
            each = times.of(count=port.count, each=port.fed)
            watts[key] = at.under(key).figure("watts", each, f"{_said(port)}: watts set aside")
        if port.taken is not None:
            taken[key] = times.of(count=port.count, each=port.taken)
    all_watts = at.figure("watts", total(watts, WATT), "Watts set aside for all powered devices")
    needed = with_headroom.of(amount=all_watts, headroom=house[SPARE_WATTS])
    needed = at.figure("needed", needed, "Watts that the switches must be able to feed")
    given = at.figure("taken", total(taken, WATT), "Watts that the powered devices really take")
    mains = drawn_to_feed.of(delivered=given, efficiency=house[EFFICIENCY])
    at.figure("mains", mains, "What feeding them draws from the mains")
    return fed, needed


def _feeding(ports: Every[Port]) -> dict[str, Port]:
    """Ports that feed, by their slugs; two trades may use one slug."""
    named: dict[str, Port] = {}
    for port in ports:
        if port.fed is not None:
            again = sum(key == port.slug or key.startswith(f"{port.slug}-again") for key in named)
            named[port.slug if not again else f"{port.slug}-again-{again}"] = port
    return named


def _said(port: Port) -> str:
    return port.name or titled(port.slug)


def design(
    house: House, chosen: Chosen, ports: Every[Port], zones: Every[Zone], desk: Desk
) -> Iterator[Finding | Page]:
    """The switches as bought: what is left on them, and what stops when one does."""
    if not chosen.has(SWITCH):
        return
    wanted, watts = desk.kept("ports.wanted", COUNT), desk.kept("powered.watts", WATT)
    bought, budget = chosen.met("wiring.ports.given"), chosen.met("wiring.powered.given")
    switches = desk.figure("switches", chosen.of(Of(SWITCH, SWITCHES)), "Switches bought")
    free = desk.figure("ports.free", left_over.of(offered=bought, taken=wanted), "Ports that nobody has yet")
    used = used_share.of(whole=budget, used=watts)
    used = desk.figure("powered.used", used, "Share of the switches' power that is set aside")
    yield Finding(
        "W-1", Weight.MEND, beyond.of(have=used, limit=house[MOST_FED]),
        "{used} of the power that the switches can feed is set aside: {watts} of {budget}.",
        "Take a switch that can feed more, or feed some of the devices from supplies of their own.",
        {"used": used, "watts": watts, "budget": budget}, SWITCH,
    )  # fmt: skip
    yield Finding(
        "W-2", Weight.MEND, shorter.of(have=free, need=house[LEAST_FREE]),
        "The switches have {bought:port|ports} and {wanted:is|are} wanted: there is no room to grow.",
        "Take the next size up, or a second switch.", {"bought": bought, "wanted": wanted}, SWITCH,
    )  # fmt: skip
    yield Finding(
        "W-3", Weight.NOTE, shorter.of(have=switches, need=house[MORE_THAN_ONE]),
        "One switch carries all {wanted:port|ports}: when it stops, everything in the office stops but what works by itself.",
        "Keep a spare switch in the cupboard, set up and labelled, or buy two and share the devices out.",
        {"wanted": wanted}, SWITCH,
    )  # fmt: skip
    yield _page(ports, zones, chosen, desk)


def _page(ports: Every[Port], zones: Every[Zone], chosen: Chosen, desk: Desk) -> Page:
    names = {zone.slug: zone.name for zone in zones}
    at = desk.under("powered")
    feeding = [
        (_said(port), names.get(port.zone, port.zone), port.count, port.fed, at.under(key).kept("watts", WATT))
        for key, port in _feeding(ports).items()
        if port.fed is not None
    ]
    wanted = [(_said(port), names.get(port.zone, port.zone), port.count) for port in ports]
    return Page("wiring", "N", "Switches and their ports", (
        Facts(_facts(chosen, desk), "Switches"),
        Ruled("Ports wanted", ("for", "zone", "ports"), wanted),
        Ruled("Fed over the cable", ("what", "zone", "ports", "set aside for each", "together"), feeding),
        Prose("On offer are switches of one kind, or some that feed beside some that do not: one spare then fits. "
              "Ports are counted, not yet patched: which device is plugged in where, the lengths of cable (100 m at most, cords "
              "included), panels and labels are not yet planned. Access points are allowed for by the head until radio is planned."),
    ), 5)  # fmt: skip


def _facts(chosen: Chosen, desk: Desk) -> list[tuple[str, Figure[Any]]]:
    kept: Mapping[str, Any] = {
        "switches": COUNT, "ports.wanted": COUNT, "ports.needed": COUNT, "ports.free": COUNT, "powered.count": COUNT,
        "powered.watts": WATT, "powered.needed": WATT, "powered.used": SHARE, "powered.taken": WATT, "powered.mains": WATT,
        "uplinks.wanted": COUNT, "radio.needed": COUNT, "radio.listed": COUNT, "radio.count": COUNT,
    }  # fmt: skip
    figures = [desk.kept(id_, unit) for id_, unit in kept.items()]
    return [("Switches", chosen.picked[SWITCH]), *((figure.label, figure) for figure in figures)]
