"""The host: cores, memory and ports that carry every machine, and the parts that fit each other.

Figures:
    host.cores.virtual        virtual cores of all machines
    host.cores.by-ratio       real cores by the sharing ratio
    host.cores.busy           cores kept busy in a busy hour
    host.cores.by-waiting     real cores by the waiting formula
    host.cores.needed         the larger of the two
    host.memory.floors        memory of all floors
    host.memory.expected      memory expected of all machines
    host.memory.ceilings      memory of all ceilings
    host.memory.host          memory the host keeps
    host.memory.needed        memory to buy at least
    host.memory.start         memory needed at cold start
    host.memory.largest       memory of the largest machine
    host.ports.needed         network ports the host needs
    host.cores.far            cores beyond which the host is far too large
    host.memory.far           memory beyond which the host is far too large
    host.memory.full          memory if every machine grew to its ceiling
Demands: host.cores.bought host.memory.bought host.memory.node host.supplies
    host.fit.socket host.fit.sockets host.fit.slots host.fit.kind host.fit.processor-kind host.fit.channels
    host.fit.limit host.fit.bays host.fit.cage host.fit.boot-bays host.fit.supply host.fit.ports host.fit.lights-out
Findings: M-4 M-5 M-6 M-9.
Records: Slot, Demand, Page.
"""

from collections.abc import Iterator
from typing import Any

from scantling.catalogue import Catalogue, House, Practice
from scantling.catalogue.columns import (
    BAY_FORM, BAYS, BAYS_TAKEN, BOOT_BAYS, BOOT_TAKEN, CAPACITY, CHANNELS, CHIPS, CORES, FORM, LIGHTS_OUT, MEMORY_KIND, MEMORY_LIMIT,
    MODULES, NOISE, PORTS, SERVER_WATTS, SLOTS, SOCKET, SOCKETS, SUPPLIES, SUPPLY_WATTS,
)  # fmt: skip
from scantling.figures import (
    Chosen, Demand, Desk, Every, Facts, Figure, Finding, Hosts, Machine, Most, Of, Page, Slot, Sum, Term, Weight, largest, total,
)  # fmt: skip
from scantling.figures.units import COUNT, GIB, RATIO, SHARE
from scantling.handbook.queues import smallest_servers
from scantling.handbook.sharing import (
    cores_by_ratio, evenly_spread, host_memory, memory_needed, memory_node, within_share,
)  # fmt: skip
from scantling.handbook.sizing import added, beyond, enough, larger, more_of, same, scaled, shorter, times
from scantling.handbook.twins import doubled, doubled_counts, on_each

SHARING, HOST_CORES = Practice("host.sharing", RATIO), Practice("host.cores", RATIO)
HEADROOM, WAIT = Practice("host.headroom", SHARE), Practice("host.wait", SHARE)
HOST_LEAST, HOST_SHARE = Practice("host.memory", GIB), Practice("host.memory-share", SHARE)
OWN_PORTS, SHARED_PORTS = Practice("host.own-ports", COUNT), Practice("host.shared-ports", COUNT)
SUPPLY_SHARE, FEWEST_SUPPLIES = Practice("host.supply-share", SHARE), Practice("host.supplies", COUNT)
FAR_LARGER = Practice("host.far-larger", RATIO)
CHIP_COUNTS: tuple[int, ...] = (1, 2)
MODULE_COUNTS: tuple[int, ...] = (1, 2, 4, 6, 8, 12, 16)


def asks(
    catalogue: Catalogue, house: House, machines: Every[Machine], hosts: Every[Hosts], desk: Desk
) -> Iterator[Slot | Demand]:
    """Cores, memory and ports for all machines, whatever host is bought; of two hosts, what each must have."""
    if not machines:
        return
    cores, memory, ports = (
        _cores(house, machines, hosts, desk),
        _memory(house, machines, hosts, desk),
        _ports(house, machines, desk),
    )
    yield from _slots(catalogue, hosts)
    each = _of_each(hosts)
    yield desk.demand("cores.bought", f"Real cores{each}", _each(hosts, Sum(CORES)), at_least=cores)
    yield desk.demand("memory.bought", f"Memory{each}", _each(hosts, Sum(CAPACITY)), at_least=memory)
    node = memory_node.over(memory=Sum(CAPACITY), chips=Sum(CHIPS))
    biggest = desk.figure(
        "memory.largest", largest({m.slug: m.expected for m in machines}, GIB), "The largest machine"
    )
    yield desk.demand("memory.node", "Memory on one processor", node, at_least=biggest)
    yield desk.demand("supplies", "Power supplies", Of("host", SUPPLIES), at_least=house[FEWEST_SUPPLIES])
    yield from _fits(house, ports, hosts, desk)


def _slots(catalogue: Catalogue, hosts: Every[Hosts]) -> Iterator[Slot]:
    """What is on offer for one server, or everything twice for two."""
    servers, chips, modules = catalogue.options("host"), CHIP_COUNTS, MODULE_COUNTS
    if hosts:
        servers = tuple(doubled(option, NOISE) for option in servers)
        chips, modules = doubled_counts(chips), doubled_counts(modules)
    yield Slot("host", servers, "Servers" if hosts else "Server")
    yield Slot("processor", catalogue.options("processor", counts=chips), "Processors")
    yield Slot("memory", catalogue.options("module", counts=modules), "Memory")


def _each(hosts: Every[Hosts], bought: Term[Any]) -> Term[Any]:
    """What one of two servers has of what is bought for both; all of it where there is one."""
    return on_each.over(amount=bought, hosts=hosts[0].count) if hosts else bought


def _of_each(hosts: Every[Hosts]) -> str:
    return " of each server" if hosts else ""


def _cores(house: House, machines: Every[Machine], hosts: Every[Hosts], desk: Desk) -> Figure[int]:
    virtual = desk.figure(
        "cores.virtual", total({m.slug: m.cores for m in machines}, COUNT), "Virtual cores, all machines"
    )
    carried = hosts[0].cores if hosts else virtual
    ratio = cores_by_ratio.of(
        virtual=carried, sharing=house[SHARING], host=house[HOST_CORES], headroom=house[HEADROOM]
    )
    by_ratio = desk.figure("cores.by-ratio", ratio, "Real cores by the sharing ratio")
    busy = desk.figure(
        "cores.busy", total({m.slug: m.busy for m in machines}, RATIO), "Cores kept busy in a busy hour"
    )
    waiting = smallest_servers.of(offered=hosts[0].busy if hosts else busy, wait=house[WAIT])
    by_waiting = desk.figure("cores.by-waiting", waiting, "Real cores by the waiting formula")
    return desk.figure(
        "cores.needed", more_of.of(one=by_ratio, other=by_waiting), f"Real cores needed{_of_each(hosts)}"
    )


def _memory(house: House, machines: Every[Machine], hosts: Every[Hosts], desk: Desk) -> Figure[float]:
    floors = desk.figure(
        "memory.floors", total({m.slug: m.floor for m in machines}, GIB), "Memory floors, all machines"
    )
    expected = desk.figure(
        "memory.expected", total({m.slug: m.expected for m in machines}, GIB), "Memory expected, all machines"
    )
    desk.figure("memory.ceilings", total({m.slug: m.ceiling for m in machines}, GIB), "Memory ceilings, all machines")
    carried = hosts[0].expected if hosts else expected
    own = host_memory.of(least=house[HOST_LEAST], share=house[HOST_SHARE], expected=carried)
    host = desk.figure("memory.host", own, "Memory the host keeps")
    start = desk.figure("memory.start", added.of(one=floors, other=host), "Memory needed at cold start")
    needed = memory_needed.of(guests=carried, host=host, headroom=house[HEADROOM])
    if hosts:  # each must start all machines at their floors when the other is lost
        needed = larger.of(one=needed, other=start)
    return desk.figure("memory.needed", needed, f"Memory needed{_of_each(hosts)}")


def _ports(house: House, machines: Every[Machine], desk: Desk) -> Figure[int]:
    given = {m.slug: m.ports for m in machines} | {"host": house[OWN_PORTS], "shared": house[SHARED_PORTS]}
    return desk.figure("ports.needed", total(given, COUNT), "Network ports the host needs")


def _fits(house: House, ports: Figure[int], hosts: Every[Hosts], desk: Desk) -> Iterator[Demand]:
    """What the host offers against what all bought parts take."""
    host, chip, memory = "host", "processor", "memory"
    channels = evenly_spread.over(
        modules=_each(hosts, Sum(MODULES)), chips=_each(hosts, Sum(CHIPS)), channels=Of(host, CHANNELS)
    )
    supply = within_share.over(
        offered=Of(host, SUPPLY_WATTS), share=house[SUPPLY_SHARE], taken=_each(hosts, Sum(SERVER_WATTS))
    )
    room = (
        ("sockets", "Sockets for the processors", SOCKETS, Sum(CHIPS)),
        ("slots", "Slots for the memory", SLOTS, Sum(MODULES)),
        ("bays", "Bays for the disks", BAYS, Sum(BAYS_TAKEN)),
        ("cage", "Cage wide enough for the disks", BAY_FORM, Most(FORM)),
        ("boot-bays", "Places for the boot disks", BOOT_BAYS, Sum(BOOT_TAKEN)),
    )
    for id_, label, offered, taken in room:
        inside = taken if isinstance(taken, Most) else _each(hosts, taken)
        yield desk.fit(f"fit.{id_}", label, enough.over(offered=Of(host, offered), taken=inside))
    limit = enough.over(offered=Of(host, MEMORY_LIMIT), taken=_each(hosts, Sum(CAPACITY)))
    yield desk.fit("fit.limit", "Memory the board can hold", limit)
    yield desk.fit("fit.socket", "Processor fits the socket", same.over(one=Of(host, SOCKET), other=Of(chip, SOCKET)))
    yield desk.fit(
        "fit.kind", "Memory fits the board", same.over(one=Of(host, MEMORY_KIND), other=Of(memory, MEMORY_KIND))
    )
    chip_kind = same.over(one=Of(chip, MEMORY_KIND), other=Of(memory, MEMORY_KIND))
    yield desk.fit("fit.processor-kind", "Memory fits the processor", chip_kind)
    yield desk.fit("fit.channels", "Memory spread evenly over the channels", channels)
    yield desk.fit("fit.supply", "One power supply alone carries the load", supply)
    yield desk.fit("fit.ports", "Network ports", enough.over(offered=Of(host, PORTS), taken=ports))
    yield desk.fit("fit.lights-out", "Managed from afar when it is off", Of(host, LIGHTS_OUT))


def design(
    house: House, chosen: Chosen, machines: Every[Machine], hosts: Every[Hosts], desk: Desk
) -> Iterator[Finding | Page]:
    """What was bought against what is needed: cold start, ceilings, far too large, too small."""
    if not machines:
        return
    memory, cores = chosen.met("host.memory.bought"), chosen.met("host.cores.bought")
    start, full = desk.kept("memory.start", GIB), _full(hosts, desk)
    whole = chosen.of(Sum(CAPACITY)) if hosts else memory
    yield Finding(
        "M-4", Weight.STOP, shorter.of(have=memory, need=start),
        "After a power cut the machines cannot all start: their floors need {need}, the server has {have}.",
        "Buy more memory, or give up a machine.", {"need": start, "have": memory},
    )  # fmt: skip
    yield Finding(
        "M-9", Weight.NOTE, shorter.of(have=whole, need=full),
        "If every machine grew to its ceiling at once, {full} would be needed; {have} is there.",
        "Do not reserve the ceilings. Watch memory, and add modules before it is short.", {"full": full, "have": whole},
    )  # fmt: skip
    yield from _far_off(house, cores, memory, desk)
    yield _page(chosen, cores, memory, desk)


def _full(hosts: Every[Hosts], desk: Desk) -> Figure[float]:
    ceilings, host = desk.kept("memory.ceilings", GIB), desk.kept("memory.host", GIB)
    if hosts:
        host = times.of(count=hosts[0].count, each=host)
    return desk.figure("memory.full", added.of(one=ceilings, other=host), "Memory with every machine at its ceiling")


def _far_off(house: House, cores: Figure[int], memory: Figure[float], desk: Desk) -> Iterator[Finding]:
    needs: tuple[tuple[str, Figure[float], Figure[float]], ...] = (
        ("cores", cores, desk.kept("cores.needed", COUNT)),
        ("memory", memory, desk.kept("memory.needed", GIB)),
    )
    for what, have, need in needs:
        most = desk.figure(
            f"{what}.far", scaled.of(amount=need, factor=house[FAR_LARGER]), f"{what}: beyond this, far too large"
        )
        yield Finding(
            "M-5", Weight.MEND, beyond.of(have=have, limit=most),
            f"The server is far larger than the people need: {what} {{have}}, {{need}} needed.",
            "Take the smaller one and keep the money for the copy, the spare disk and the day that it is needed.",
            {"have": have, "need": need}, "host",
        )  # fmt: skip
        yield Finding(
            "M-6", Weight.STOP, shorter.of(have=have, need=need),
            f"The server is smaller than the people need: {what} {{have}}, {{need}} needed at the horizon.",
            "Take the next size up, or plan for fewer years and tell the client when it will be full.",
            {"have": have, "need": need}, "host",
        )  # fmt: skip


def _page(chosen: Chosen, cores: Figure[int], memory: Figure[float], desk: Desk) -> Page:
    kept = (
        ("cores.virtual", COUNT), ("cores.by-ratio", COUNT), ("cores.by-waiting", COUNT), ("memory.floors", GIB),
        ("memory.expected", GIB), ("memory.ceilings", GIB), ("memory.host", GIB), ("memory.start", GIB),
    )  # fmt: skip
    facts = [(figure.label, figure) for figure in (desk.kept(id_, unit) for id_, unit in kept)]
    bought = [
        ("Server", chosen.picked["host"]), ("Processors", chosen.picked["processor"]), ("Memory", chosen.picked["memory"]),
        ("Real cores bought", cores), ("Memory bought", memory),
    ]  # fmt: skip
    return Page("host", "S", "The server", (Facts(bought, "Bought"), Facts(facts, "Needed")), 1)
