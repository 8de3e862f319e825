"""The slip of a zone of the address map: every address with its use, what is lent, what is free."""

from collections.abc import Iterator, Mapping
from ipaddress import IPv4Address

from scantling.figures import Address, Range, Reservation, Subnet, Zone
from scantling.figures.pages import Block, Ruled
from scantling.outputs.drawings.from_addresses import LENT
from scantling.plan.make import Plan
from scantling.web.slips.rooms import fixed, leased
from scantling.web.slips.slip import TECHNICIAN, Slip, facts, filled, red_pencil

SPARE = "nobody's"


def names(plan: Plan) -> Mapping[str, str]:
    """Every zone that has a subnet."""
    called = {zone.slug: zone.name for zone in plan.records(Zone)}
    return {
        net.slug: f"Addresses of {called[net.slug]}, {net.network}"
        for net in plan.records(Subnet)
        if net.slug in called
    }


def slip(plan: Plan, slug: str, layer: str) -> Slip:
    """What is told of a zone's addresses."""
    subnet = next(one for one in plan.records(Subnet) if one.slug == slug)
    about = facts(
        "The subnet", ("network", str(subnet.network)), ("gateway", str(subnet.gateway)),
        ("addresses of the subnet", plan.figures.get(f"addresses.{slug}.size")),
        ("kept for one thing each", plan.figures.get(f"addresses.{slug}.reserved")),
        ("nobody has yet", plan.figures.get(f"addresses.{slug}.free")),
    )  # fmt: skip
    blocks: list[Block] = [
        about,
        *leased(plan, slug),
        Ruled("Every address", ("addresses", "use"), list(uses(plan, subnet))),
    ]
    if layer == TECHNICIAN:
        sixth = [(who, address) for who, address in fixed(plan, slug) if ":" in address]
        blocks.append(Ruled("IPv6", ("who", "address"), sixth))
    return Slip(names(plan)[slug], filled([*blocks, *red_pencil(plan, slug)]))


def uses(plan: Plan, subnet: Subnet) -> Iterator[tuple[str, str]]:
    """Every IPv4 address of a subnet once, in order, neighbours of one use together; also what nobody has."""
    use = _by_number(plan, subnet)
    net = subnet.network
    first, last = int(net.network_address) + 1, int(net.broadcast_address) - 1
    start = first
    for number in range(first, last + 1):
        if number == last or use.get(number + 1, SPARE) != use.get(number, SPARE):
            yield _run(start, number), use.get(number, SPARE)
            start = number + 1


def _by_number(plan: Plan, subnet: Subnet) -> dict[int, str]:
    """What each address is for that is for anything."""
    use: dict[int, str] = {}
    for held in plan.records(Range):
        if held.zone == subnet.slug:
            what = "lent for a time" if held.purpose == LENT else f"kept: {held.purpose.removeprefix('kept for ')}"
            use |= dict.fromkeys(range(int(held.first), int(held.last) + 1), what)
    bearers: list[Reservation | Address] = [*plan.records(Reservation), *plan.records(Address)]
    return use | {
        int(b.address): b.holder for b in bearers if b.zone == subnet.slug and isinstance(b.address, IPv4Address)
    }


def _run(first: int, last: int) -> str:
    return str(IPv4Address(first)) if first == last else f"{IPv4Address(first)} \u2013 {IPv4Address(last)}"
