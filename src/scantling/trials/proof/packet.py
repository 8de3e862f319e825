"""Reads a packet as people ask for it: who, by what, to whom; as `guest tcp files:445 at fri 21:00 v6`."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from ipaddress import ip_address, ip_network
from re import ASCII, fullmatch

from scantling.figures import (
    FIREWALL, OUTSIDE, Address, Address6, Box, Device, End, Flow, Host, Leg, Machine, Party, Range, Service, Transport,
    Visitors, Zone,
)  # fmt: skip
from scantling.figures.calendar import DAY_NAMES
from scantling.figures.spelled import nearest, quoted, shown
from scantling.figures.traffic import LAST_PORT, LAST_TYPE
from scantling.handbook.whereabouts import Whereabouts
from scantling.plan.make import Plan
from scantling.trials.proof.headers import (
    DAY, FAMILIES, HOUR, INVALID, IPV4, MESSAGES, MINUTE, NEW, NUMBERS, REPLY, Ground, Header, carried,
)  # fmt: skip
from scantling.trials.proof.leading import Led
from scantling.trials.proof.spans import Spans, both, less

LIKE = 'write it like "guests tcp files:445", and if need be "at fri 21:00", "v6"'
PING = {4: Transport("icmp", 8, 8), 6: Transport("icmpv6", 128, 128)}
VERSIONS = {"v4": 4, "v6": 6, "ipv4": 4, "ipv6": 6}
STATES = {"new": NEW, "reply": REPLY, "stray": INVALID}
PROTOCOLS = tuple(name for name in NUMBERS if name != "ipv6-icmp")
STRANGERS = ("192.0.2.77", "198.51.100.177", "203.0.113.177", "2001:db8:bad::77", "2001:db8:5ea::77")
"""Addresses of examples (RFC 5737, 3849), one of which stands for somebody outside whom nobody knows."""
SOURCE_PORT = 40000


class PacketError(Exception):
    """Words that mean no packet, told with what would be taken."""


@dataclass(frozen=True)
class Words:
    """A packet as it was asked for."""

    source: str
    via: str
    """The zone it comes in from, where the address alone does not say it."""
    protocol: str
    target: str
    port: int | None
    second: int | None
    family: int | None
    state: int


def read_words(text: str) -> Words:
    """The parts of what was asked. Raises PacketError."""
    words, family, state, second = text.split(), None, NEW, None
    while len(words) > 3:  # noqa: PLR2004 - who, what, to whom
        last = words[-1].lower()
        if last in VERSIONS:
            family = VERSIONS[last]
            words = words[:-1]
        elif last in STATES:
            state = STATES[last]
            words = words[:-1]
        elif len(words) > 5 and words[-3].lower() == "at":  # noqa: PLR2004 - and when
            second = _second(words[-2], words[-1])
            words = words[:-3]
        else:
            raise PacketError(f"{quoted(' '.join(words[3:]))} is not understood; {LIKE}")
    if len(words) != 3:  # noqa: PLR2004
        raise PacketError(f"{quoted(text)} is no packet; {LIKE}")
    source, protocol, target = words
    to, port = _target(target)
    who, _, via = source.partition("@")
    return Words(who.strip("[]"), via, _protocol(protocol), to, port, second, family, state)


def _second(day: str, clock: str) -> int:
    found = fullmatch(r"(\d{1,2}):(\d{2})", clock, ASCII)
    if day.lower() not in DAY_NAMES:
        near = nearest(day, DAY_NAMES)
        raise PacketError(
            f"{quoted(day)} is no day; {f'did you mean {near}?' if near else 'days are ' + ', '.join(DAY_NAMES)}"
        )
    if found is None or int(found[1]) > 23 or int(found[2]) > 59:  # noqa: PLR2004 - a day's last minute
        raise PacketError(f"{quoted(clock)} is no time of day; write it like 21:00")
    return DAY_NAMES.index(day.lower()) * DAY + int(found[1]) * HOUR + int(found[2]) * MINUTE


def _protocol(word: str) -> str:
    small = word.lower()
    if small == "ping" or small in NUMBERS or (small.isdecimal() and small.isascii() and int(small) <= LAST_TYPE):
        return small
    near = nearest(small, (*PROTOCOLS, "ping"))
    raise PacketError(
        f"{quoted(word)} is no protocol; {f'did you mean {near}?' if near else f'known are ping, {_many(PROTOCOLS)}'}"
    )


def _many(words: Sequence[str]) -> str:
    return ", ".join(words)


def _target(word: str) -> tuple[str, int | None]:
    """The target and its port, where there is one; an address of IPv6 stands in square brackets."""
    found = fullmatch(r"\[([0-9A-Fa-f:.]+)\](?::(.*))?", word) or fullmatch(r"([^:\[]+)(?::(.*))?", word)
    if found is None:
        if _literal(word) is not None:
            return word, None
        raise PacketError(f"{quoted(word)} is no target; write files:445, 10.0.0.1:445, or [2001:db8::1]:445")
    if found[2] is None:
        return found[1], None
    if not fullmatch(r"\d{1,6}", found[2], ASCII) or int(found[2]) > LAST_PORT:
        raise PacketError(f"{quoted(found[2])} is no port; from 0 to {LAST_PORT} is accepted")
    return found[1], int(found[2])


def _literal(word: str) -> Host | None:
    try:
        return ip_address(word)
    except ValueError:
        return None


@dataclass(frozen=True)
class Places:
    """Where the words of a packet lie in an office."""

    where: Whereabouts
    flows: tuple[Flow, ...]

    def end(self, word: str) -> End:
        """Whom a word means: an address, or a word of the plan, also without its plural. Raises PacketError."""
        if (address := _literal(word)) is not None:
            return End(self._zone_of(address), word, (ip_network(address),))
        known = list(self.where.words())
        for one in (word, word.lower(), f"{word.lower()}s", word.lower().removesuffix("s")):
            if one in known:
                return self.where.called(one)[0]
        near = nearest(word, known)
        hint = f"did you mean {near}?" if near else f"known are addresses and {', '.join(dict.fromkeys(known))}"
        raise PacketError(f"{quoted(word)} is no zone, machine, device or party of this plan; {hint}")

    def _zone_of(self, address: Host) -> str:
        mine = (leg.zone for leg in self.where.legs if any(address in net for net in leg.networks))
        return next(mine, OUTSIDE)

    def stranger(self, ground: Ground) -> int:
        """Somebody outside whom no intent names."""
        named = [net for flow in self.flows for end in (flow.source, flow.target) for net in end.networks]
        mine = [one for one in map(ip_address, STRANGERS) if one.version == ground.family]
        return int(next((one for one in mine if not any(one in net for net in named)), mine[0]))


def office(plan: Plan, legs: Sequence[Leg]) -> Places:
    """The places of a plan."""
    r = plan.records
    where = Whereabouts(
        r(Zone), r(Device), r(Machine), r(Service), r(Box), r(Visitors), r(Address), r(Address6), r(Range), r(Party), tuple(legs)
    )  # fmt: skip
    return Places(where, r(Flow))


def headers(
    words: Words, places: Places, grounds: Sequence[Ground], leads: Sequence[Led]
) -> Iterator[tuple[Ground, Header]]:
    """The packet in each family that was asked for, or that both ends have. Raises PacketError."""
    source, target = places.end(words.source), places.end(words.target)
    if words.via:
        source = replace(source, zone=places.end(words.via).zone)
    found = []
    for ground in [one for one in grounds if words.family in {None, one.family}]:
        header = _header(words, (source, target), places, ground, leads)
        if header is not None:
            found.append((ground, header))
    if not found:
        which = f"IPv{words.family}" if words.family else "one family"
        raise PacketError(
            f"{shown(source.label)} and {shown(target.label)} have no addresses of {which} that this could be sent between"
        )
    yield from found


def _header(
    words: Words, ends: tuple[End, End], places: Places, ground: Ground, leads: Sequence[Led]
) -> Header | None:
    """The packet in one family; nothing where an end or the protocol has none."""
    source, target = ends
    what = _carried(words, ground.family)
    place = ground.places(source.zone)
    sender, receiver = _number(source, ground, places, source.zone), _number(target, ground, places, source.zone)
    if what is None or not place or sender is None or receiver is None:
        return None
    line = ground.places(OUTSIDE)
    header = Header(
        words.state, place[0][0], receiver, sender, what, words.second or 0, line[0][0] if line else 0, SOURCE_PORT
    )
    return _by_the_front(header, leads) if source.zone == OUTSIDE else header


def _by_the_front(header: Header, leads: Sequence[Led]) -> Header:
    """From outside a machine is reached at the firewall's own address, where something leads to it from there."""
    for led in leads:
        port = led.port or header.carried % 65536
        at_front = header._replace(target=led.box[2][0][0], place=led.box[1][0][0])
        if led.to == header.target and (port == header.carried % 65536) and _in(led, at_front):
            return at_front
    return header


def _in(led: Led, header: Header) -> bool:
    return bool(both(led.box[1], ((header.place,) * 2,))) and bool(both(led.box[4], ((header.carried,) * 2,)))


def _carried(words: Words, family: int) -> int | None:
    """Protocol and port as a number; nothing where the family has not the protocol. Raises PacketError."""
    if words.protocol == "ping":
        one = PING[family]
    elif words.protocol in MESSAGES:
        if MESSAGES[words.protocol] != family:
            return None
        kind = words.port if words.port is not None else PING[family].first
        if kind > LAST_TYPE:
            raise PacketError(f"{kind} is no message type; from 0 to {LAST_TYPE} is accepted")
        one = Transport(words.protocol, kind, kind)
    elif words.protocol.isdecimal():
        return int(words.protocol) * 65536 + (words.port or 0)
    elif words.protocol in {"tcp", "udp"} and words.port is None:
        raise PacketError(f"{words.protocol} needs a port; write {words.target}:443")
    else:
        one = Transport(words.protocol, words.port or 0, words.port or 0)
    return carried(one)[0][0]


def _number(end: End, ground: Ground, places: Places, toward: str) -> int | None:
    """One address of an end: its first own one, or somebody of it; of the firewall the one on the side of `toward`."""
    mine = _named(end, ground)
    if mine is not None:
        return mine
    if end.networks or end.holder:
        return None if end.networks else _somebody(ground.behind(end.zone), ground)
    if end.zone == OUTSIDE:
        return places.stranger(ground)
    if end.zone == FIREWALL:
        sides = [ground.own_at(first) for first, _ in ground.places(toward)] if toward != FIREWALL else []
        return next((side[0][0] for side in sides if side), ground.own[0][0] if ground.own else None)
    return _somebody(ground.behind(end.zone), ground)


def _named(end: End, ground: Ground) -> int | None:
    nets = ground.networks(end.networks)
    if nets:
        return nets[0][0]
    party = end.holder
    return ground.moving_address(party) if end.named and party in ground.moving else None


def _somebody(behind: Spans, ground: Ground) -> int | None:
    """Somebody in a zone who has no address of one's own: the last but one in IPv4, one in the middle in IPv6."""
    free = less(behind, ground.own)
    if not free:
        return None
    first, last = free[-1]
    return max(first, last - 1) if ground.family == IPV4 else (first + last) // 2


__all__ = ["FAMILIES", "PacketError", "Places", "Words", "headers", "office", "read_words"]
