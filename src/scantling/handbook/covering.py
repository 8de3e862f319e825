"""Whether one intent lies within another: compared end by end, never through the compiler."""

from collections.abc import Iterable, Sequence

from scantling.figures import ANY_PROTOCOL, FIREWALL, OUTSIDE, End, Flow, Leg, Net, Transport, Window
from scantling.handbook.set_aside import LINK_ONLY, NEVER_OUTSIDE, of_family


APART = {OUTSIDE: NEVER_OUTSIDE, FIREWALL: LINK_ONLY}
"""What the whole outside, and the whole firewall, do not take in."""


def ground_of(end: End, legs: Sequence[Leg]) -> tuple[Net, ...]:
    """The networks that an end means; nothing of the whole outside, of the firewall, and of a party known by names."""
    return end.networks or tuple(network for leg in legs if leg.zone == end.zone for network in leg.networks)


def end_within(end: End, wider: End, legs: Sequence[Leg]) -> bool:
    """Whether all that an end means is meant by a wider one."""
    if end.zone != wider.zone:
        return False
    if not wider.networks and not wider.named:
        return not any(_meets(network, APART.get(end.zone, ())) for network in end.networks)
    if end.named or wider.named:
        return bool(end.holder) and end.holder == wider.holder
    mine = ground_of(end, legs)
    return bool(mine) and all(_inside(network, wider.networks) for network in mine)


def _meets(network: Net, many: Iterable[Net]) -> bool:
    """Whether a network shares an address with one of the others."""
    return any(network.version == one.version and network.overlaps(one) for one in many)


def _inside(network: Net, many: Iterable[Net]) -> bool:
    """Whether a network lies in the others taken together."""
    first, last = int(network.network_address), int(network.broadcast_address)
    joined = of_family(many, network.version)
    return any(int(one.network_address) <= first and last <= int(one.broadcast_address) for one in joined)


def carried_within(some: Iterable[Transport], wider: Iterable[Transport]) -> bool:
    """Whether every port of the first lies in the second taken together."""
    many = tuple(wider)
    return all(_covered(one, many) for one in some)


def _covered(one: Transport, many: Sequence[Transport]) -> bool:
    if any(other.protocol == ANY_PROTOCOL for other in many):
        return True
    reached = one.first
    for other in sorted(other for other in many if other.protocol == one.protocol):
        if other.first <= reached <= other.last:
            reached = other.last + 1
    return reached > one.last


def hours_within(one: Window | None, wider: Window | None) -> bool:
    """Whether all hours of one lie in the other's."""
    if wider is None or one is None:
        return wider is None
    return set(one.days) <= set(wider.days) and wider.first <= one.first and one.last <= wider.last


def flow_within(flow: Flow, wider: Flow, legs: Sequence[Leg]) -> bool:
    """Whether everything that one intent means is meant by the other."""
    return (
        end_within(flow.source, wider.source, legs)
        and end_within(flow.target, wider.target, legs)
        and carried_within(flow.carried, wider.carried)
        and hours_within(flow.window, wider.window)
    )
