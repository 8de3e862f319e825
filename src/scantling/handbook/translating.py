"""What the firewall changes in addresses: what outside is let in to a machine, and what leaves in IPv4."""

from collections.abc import Iterator, Sequence

from scantling.figures import ANY_PROTOCOL, FIREWALL, OUTSIDE, Flow, Host, Leg, Translation, Transport, Verdict

IPV4, ONE = 4, 1
CHANGED = ("esp", "gre", "tcp", "udp")
"""Protocols whose target the firewall changes."""


def published(flows: Sequence[Flow]) -> tuple[Flow, ...]:
    """Intents by which the outside begins to speak to something inside."""
    inward = (flow for flow in flows if flow.source.zone == OUTSIDE and flow.target.zone not in {OUTSIDE, FIREWALL})
    return tuple(flow for flow in inward if flow.verdict is Verdict.ACCEPT)


def host_of(flow: Flow) -> Host | None:
    """The one IPv4 address that an intent leads to; nothing where it leads to none or to several."""
    hosts = [net.network_address for net in flow.target.networks if net.version == IPV4 and net.num_addresses == ONE]
    return hosts[0] if len(hosts) == ONE and sum(n.version == IPV4 for n in flow.target.networks) == ONE else None


def translations(flows: Sequence[Flow], legs: Sequence[Leg]) -> tuple[Translation, ...]:
    """Of IPv4: what comes in for a machine, port by port, and what leaves under the firewall's own address; of IPv6: nothing."""
    inward = [one for flow in sorted(published(flows), key=lambda flow: flow.slug) for one in _inward(flow)]
    leaving = [Translation("masked", "source", OUTSIDE)] if any(leg.zone == OUTSIDE for leg in legs) else []
    return (*inward, *leaving)


def _inward(flow: Flow) -> Iterator[Translation]:
    host = host_of(flow)
    carried = sorted({part for one in flow.carried for part in _changed(one)})
    for place, one in enumerate(carried if host is not None else (), 1):
        slug = flow.slug if len(carried) == 1 else f"{flow.slug}-{place}"
        yield Translation(slug, "target", OUTSIDE, one, host, one.first if one.first == one.last else 0)


def _changed(one: Transport) -> tuple[Transport, ...]:
    """What of a protocol can be led to another address; any is each of those that can."""
    if one.protocol == ANY_PROTOCOL:
        return tuple(Transport(protocol) for protocol in CHANGED)
    return (one,) if one.protocol in CHANGED else ()


def twice(flows: Sequence[Flow]) -> tuple[Flow, ...]:
    """Intents that want the same port outside for different machines."""
    inward = [(flow, host_of(flow)) for flow in published(flows)]
    return tuple(
        flow for flow, host in inward
        if host is not None
        and any(other is not None and other != host and _meet(flow.carried, one.carried) for one, other in inward)
    )  # fmt: skip


def _meet(some: Sequence[Transport], others: Sequence[Transport]) -> bool:
    return any(a.protocol == b.protocol and a.first <= b.last and b.first <= a.last for a in some for b in others)
