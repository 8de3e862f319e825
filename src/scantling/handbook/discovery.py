"""Finding printers and screens across zones: calls to all on a link, which the firewall hears and says again (RFC 6762)."""

from collections.abc import Iterator, Sequence
from ipaddress import ip_network

from scantling.figures import FIREWALL, End, Transport

CALLS = (ip_network("224.0.0.251/32"), ip_network("ff02::fb/128"))
"""Where devices ask each other (RFC 6762 section 3)."""
ASKED = (Transport("udp", 5353, 5353),)
HEARD, SAID = End(FIREWALL, "the firewall, which says it again", CALLS), End(FIREWALL, "all on the link", CALLS)


def repeated(ends: Sequence[End]) -> Iterator[tuple[str, End, End]]:
    """What the firewall must hear and say again: a word, who calls, to whom."""
    for end in ends:
        yield f"heard-{end.holder or end.zone}", end, HEARD
    if ends:
        yield "said", End(FIREWALL, "the firewall"), SAID
