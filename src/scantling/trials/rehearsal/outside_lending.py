"""The provider's address server on a line whose address it lends: one address, always the same (RFC 2131)."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from ipaddress import IPv4Address

from scantling.figures import Host
from scantling.trials.rehearsal.attending import Ends
from scantling.trials.rehearsal.datagrams import MalformedError
from scantling.trials.rehearsal.dhcp import ANSWER, ANSWERS_AT, Kind, Message, Option, read, written
from scantling.trials.rehearsal.office import Way

SECONDS = 3600
BACK = ("255.255.255.255", ANSWERS_AT)
"""Answers go to everybody on the line: who has no address yet hears nothing else, and nobody else is there (section 4.1)."""


@dataclass(frozen=True, slots=True)
class Line:
    """What is lent on one line."""

    own: IPv4Address
    """The provider's address."""
    lends: IPv4Address
    mask: IPv4Address
    resolvers: tuple[Host, ...] = field(default=())

    def answered(self, said: bytes, ends: Ends, settings: Mapping[str, float]) -> bytes | None:
        """The answer to a call; None to what is none, or is meant for another server."""
        del ends, settings
        try:
            call = read(said)
        except MalformedError:
            return None
        if call.op == ANSWER or call.hosts(Option.SERVER) not in {(), (self.own,)}:
            return None
        if call.kind == Kind.DISCOVER:
            return written(self._given(call, Kind.OFFER))
        if call.kind == Kind.REQUEST:
            wanted = (*call.hosts(Option.WANTED), call.held)[0]
            return written(self._given(call, Kind.ACK) if wanted == self.lends else self._refused(call))
        return None

    def _given(self, call: Message, kind: Kind) -> Message:
        options: dict[int, bytes] = {
            Option.KIND: bytes([kind]), Option.SERVER: self.own.packed, Option.SECONDS: SECONDS.to_bytes(4, "big"),
            Option.MASK: self.mask.packed, Option.ROUTER: self.own.packed,
            Option.RESOLVERS: b"".join(one.packed for one in self.resolvers if isinstance(one, IPv4Address)) or self.own.packed,
        }  # fmt: skip
        return Message(ANSWER, call.serial, call.hardware, options, call.flags, call.held, self.lends)

    def _refused(self, call: Message) -> Message:
        options: dict[int, bytes] = {Option.KIND: bytes([Kind.NAK]), Option.SERVER: self.own.packed}
        return Message(ANSWER, call.serial, call.hardware, options, call.flags)


def line(way: Way) -> Line | None:
    """What the provider lends on a line; None where the address is the office's own. Raises ValueError for no IPv4."""
    if not way.lent:
        return None
    own = IPv4Address(str(way.gateway4))
    free = next(host for host in way.network4.hosts() if host != own)
    return Line(own, free, way.network4.netmask)
