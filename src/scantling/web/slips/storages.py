"""The slips of what the server's section shows: the server, its machines, its arrays, the copies, the battery, and the lines."""

from collections.abc import Iterator, Mapping

from scantling.figures import Array, Copy, Line, Machine, Service, Volume
from scantling.figures.pages import Block, Ruled
from scantling.outputs.drawings.from_plan import bought
from scantling.plan.make import Plan
from scantling.web.slips.slip import TECHNICIAN, Slip, facts, filled, held, of_figures, red_pencil

HOST, BATTERY = "server", "unit"
PLAIN = {
    "host.cores.needed", "host.cores.bought", "host.memory.floors", "host.memory.expected", "host.memory.ceilings", "host.memory.needed",
    "host.memory.bought",
}  # fmt: skip
"""What the owner's layer tells of the server."""


def machine_names(plan: Plan) -> Mapping[str, str]:
    """Every virtual machine."""
    return {one.slug: f"Machine {one.slug}" for one in plan.records(Machine)}


def machine(plan: Plan, slug: str, layer: str) -> Slip:
    """What is told of a virtual machine."""
    one = next(each for each in plan.records(Machine) if each.slug == slug)
    does = [service for service in plan.records(Service) if service.machine == slug]
    blocks: list[Block] = [
        facts("Size", ("cores", one.cores), ("memory, least", one.floor), ("memory, expected", one.expected), ("memory, most", one.ceiling),
              ("disk", one.disk), ("time to shut down", one.stop)),
        Ruled("What it does", ("service", "may be down", "may lose"), [(each.name, each.down, each.lost) for each in does]),
    ]  # fmt: skip
    if layer == TECHNICIAN:
        given = [(each.zone, str(each.address)) for each in held(plan) if each.holder == slug]
        blocks += [
            Ruled("Addresses", ("zone", "address"), given),
            facts("Load", ("disk operations", one.operations), ("host ports", one.ports)),
        ]
    return Slip(f"Machine {slug}", filled([*blocks, *red_pencil(plan, slug)]))


def array_names(plan: Plan) -> Mapping[str, str]:
    """Every array."""
    return {one.slug: one.name for one in plan.records(Array)}


def array(plan: Plan, slug: str, layer: str) -> Slip:
    """What is told of an array."""
    one = next(each for each in plan.records(Array) if each.slug == slug)
    volumes = [(each.name, each.now, each.horizon, each.room) for each in plan.records(Volume) if each.array == slug]
    own = [f"arrays.{slug}.{name}" for name in ("free", "rebuild", "lost", "files", "lost-high", "files-high")]
    blocks: list[Block] = [
        facts("The array", ("bought", bought(plan, slug)), ("joined as", one.level), ("disks", one.disks), ("room", one.usable),
              ("filled today", one.filled_now), ("filled at the horizon", one.filled_horizon)),
        of_figures(plan, "Risk", own if layer == TECHNICIAN else own[:4]),
        Ruled("What lies on it", ("what", "today", "at the horizon", "room"), volumes),
    ]  # fmt: skip
    return Slip(one.name, filled([*blocks, *red_pencil(plan, slug)]))


def copy_names(plan: Plan) -> Mapping[str, str]:
    """Every copy of the data."""
    return {one.slug: f"Copy: {one.name}" for one in plan.records(Copy)}


def copy(plan: Plan, slug: str, layer: str) -> Slip:
    """What is told of a copy."""
    one = next(each for each in plan.records(Copy) if each.slug == slug)
    about = facts(
        "The copy", ("where", "off site" if one.off_site else "at hand"),
        ("in the network's reach", "no" if one.off_line else "yes"), ("room", one.capacity), ("needed", one.needed),
        ("written", one.how), ("one run takes", one.window), ("everything back in", one.restore),
    )  # fmt: skip
    more = sorted(id_ for id_ in plan.figures if id_.startswith(f"backup.{slug}."))
    return Slip(
        one.name,
        filled(
            [
                about,
                of_figures(plan, "Figures", more if layer == TECHNICIAN else ()),
                *red_pencil(plan, slug, "backup"),
            ]
        ),
    )


def line_names(plan: Plan) -> Mapping[str, str]:
    """Every line to the outside."""
    return {one.slug: f"Line {one.name}" for one in plan.records(Line)}


def line(plan: Plan, slug: str, layer: str) -> Slip:
    """What is told of a line to the outside."""
    one = next(each for each in plan.records(Line) if each.slug == slug)
    blocks: list[Block] = [
        facts("The line", ("down", one.down), ("up", one.up), ("stands by", "yes" if one.standby else "no"), ("by", one.road),
              ("provider", one.provider), ("reached by", one.contact)),
        facts("Contract", ("a month", one.monthly), ("binds for", one.term), ("notice", one.notice), ("ends", one.ends)),
    ]  # fmt: skip
    if layer == TECHNICIAN:
        blocks.append(
            facts(
                "Handed over",
                ("how", one.handoff),
                ("address", one.address),
                ("IPv6 address", one.address6),
                ("a box translates first", one.router),
            )
        )
    return Slip(f"Line {one.name}", filled([*blocks, *red_pencil(plan, slug, "line", "lines")]))


def host_names(plan: Plan) -> Mapping[str, str]:
    """The server, where machines are planned."""
    return {HOST: f"The server: {bought(plan, 'host')}"} if plan.records(Machine) else {}


def host(plan: Plan, _: str, layer: str) -> Slip:
    """What is told of the server itself."""
    parts = facts(
        "Bought",
        *(
            (slot, bought(plan, slot))
            for slot in ("host", "processor", "memory")
            if slot in plan.purchase.chosen.options
        ),
    )
    every = [id_ for id_ in plan.figures if id_.startswith("host.")]
    own = every if layer == TECHNICIAN else [id_ for id_ in every if id_ in PLAIN]

    return Slip("The server", filled([parts, of_figures(plan, "Cores and memory", own), *red_pencil(plan, "host")]))


def battery_names(plan: Plan) -> Mapping[str, str]:
    """The battery unit, where one carries the server."""
    return (
        {BATTERY: f"The battery: {bought(plan, 'ups')}"}
        if {"power.lasts", "power.stop"} <= plan.figures.keys()
        else {}
    )


def battery(plan: Plan, _: str, layer: str) -> Slip:
    """What is told of the battery."""
    shown = ("power.lasts", "power.stop", "power.needed", "power.load", "power.shared", "power.heat")
    more = sorted(id_ for id_ in plan.figures if id_.startswith("power.") and id_ not in shown)
    blocks: Iterator[Block] = red_pencil(plan, "ups", "power")
    about = of_figures(plan, bought(plan, "ups"), shown)
    return Slip(
        "The battery", filled([about, of_figures(plan, "More", more if layer == TECHNICIAN else ()), *blocks])
    )
