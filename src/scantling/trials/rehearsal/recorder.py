"""The flight recorder: a table beside the generated one, in which the kernel notes which try entered the firewall and which left.

What silence means is read from it: a packet that came in and did not go out was kept out; one that went out and was not
answered was allowed. Nothing it notes changes what becomes of a packet. Its keys, by what is noted:

flows: source, protocol, source port, target, port; past the entry, target and port as sent and as they are by then
echoes: source, number, target; others: source, protocol, target
"""

from collections.abc import Iterable, Mapping, Sequence

from scantling.figures import Host
from scantling.trials.probe.probing import Kind
from scantling.trials.rehearsal.attributes import host as host_of
from scantling.trials.rehearsal.loading import Runner, load
from scantling.trials.rehearsal.nfnetlink import Netfilter
from scantling.trials.rehearsal.rooms import Room

TABLE, FIRST_PORT, MOST = "recorder", 20000, 262144
"""Its name; the lowest source port of a try, so that the office's own traffic is not noted; how many a set can hold."""
TCP, UDP = 6, 17
PROTOCOLS = {Kind.TCP: TCP, Kind.UDP: UDP, Kind.STRAY: TCP, Kind.FALSE: TCP}
MOMENTS, SORTS, FAMILIES = ("entered", "left", "taken"), ("flows", "echoes", "others"), (4, 6)
WORDS = {4: ("ip", "icmp", "ipv4_addr"), 6: ("ip6", "icmpv6", "ipv6_addr")}
WIDTHS = {4: 4, 6: 16}
SLOT = 4
"""Octets that a port, a protocol or a number takes in a key."""
HOOKS = {
    # before anything of the generated rules, the checks of sources too
    "entered": ("prerouting priority -310", "output priority -310"),
    # after the filter, before a source is translated
    "left": ("postrouting priority 90",),
    "taken": ("input priority 90",),
}
PASSED_OVER = (
    # what neighbours and the kernels themselves say on a link
    "ip daddr { 224.0.0.0/4, 255.255.255.255 } return",
    "ip6 daddr ff00::/8 return",
    "ip6 saddr fe80::/10 return",
)
FLOWS, OTHERS = f"meta l4proto {{ {TCP}, {UDP} }} th sport >= {FIRST_PORT}", "meta l4proto != { 1, 2, 6, 17, 58 }"


def set_name(moment: str, sort: str, family: int) -> str:
    """Such as "left-flows-4"."""
    return f"{moment}-{sort}-{family}"


SETS = tuple(set_name(moment, sort, family) for moment in MOMENTS for sort in SORTS for family in FAMILIES)


def made(moment: str, sort: str, family: int) -> str:
    """The statement that makes a set."""
    ip, icmp, address = WORDS[family]
    flow = f"type {address} . inet_proto . inet_service . {address} . inet_service"
    kinds = {
        "flows": flow if moment == "entered" else f"{flow} . {address} . inet_service",
        "echoes": f"typeof {ip} saddr . {icmp} id . {ip} daddr",  # such a number has no type of its own
        "others": f"type {address} . inet_proto . {address}",
    }
    return f"set {set_name(moment, sort, family)} {{ {kinds[sort]}; flags dynamic; size {MOST}; }}"


def noting(moment: str, family: int) -> Iterable[str]:
    """The rules that fill the sets of one moment and family."""
    ip, icmp, _ = WORDS[family]
    name = {sort: set_name(moment, sort, family) for sort in SORTS}
    who, now = f"{ip} saddr . meta l4proto . th sport", f"{ip} daddr . th dport"
    if moment == "entered":
        yield f"{FLOWS} add @{name['flows']} {{ {who} . {now} }}"
    else:
        sent = f"ct original {ip} daddr . ct original proto-dst"
        yield f"{FLOWS} add @{name['flows']} {{ {who} . {sent} . {now} }}"
        # what belongs to no connection has no original, and is not translated either
        yield f"{FLOWS} ct state {{ invalid, untracked }} add @{name['flows']} {{ {who} . {now} . {now} }}"
    yield f"{icmp} type echo-request add @{name['echoes']} {{ {ip} saddr . {icmp} id . {ip} daddr }}"
    yield f"{OTHERS} add @{name['others']} {{ {ip} saddr . meta l4proto . {ip} daddr }}"


def chains(moment: str) -> Iterable[str]:
    """The chains of one moment."""
    # an answer is no try; where something enters, the kernel has not looked yet whether it is one
    over = PASSED_OVER if moment == "entered" else (*PASSED_OVER, "ct direction reply return")
    for place, hook in enumerate(HOOKS[moment], 1):
        yield f"chain {moment}-{place} {{"
        yield f"type filter hook {hook}; policy accept;"
        yield from over
        for family in FAMILIES:
            yield from noting(moment, family)
        yield "}"


def recorder() -> str:
    """The table, as nft loads it; one that stands is replaced."""
    sets = [made(moment, sort, family) for moment in MOMENTS for sort in SORTS for family in FAMILIES]
    inside = [*sets, *(line for moment in MOMENTS for line in chains(moment))]
    return "\n".join(
        [f"table inet {TABLE}", f"delete table inet {TABLE}", f"table inet {TABLE} {{", *inside, "}", ""]
    )


RECORDER = recorder()


SORT_OF = {kind: "flows" if kind in PROTOCOLS else "echoes" if kind is Kind.ECHO else "others" for kind in Kind}
"""Among what a try is noted."""


class Recorded:
    """What was noted. A try is found by who sent it, and beyond any doubt if it is told to whom as well.

    `number`: of TCP and UDP the source port, of an echo its number, of a raw packet its protocol. `target`, `at`: address
    and port it was sent to, before anything translates them.
    """

    def __init__(self, noted: Mapping[str, Sequence[bytes]]) -> None:
        self.noted = noted
        self.indexes: dict[tuple[str, str, int, int], dict[bytes, bytes]] = {}

    def entered(self, source: Host, number: int, kind: Kind, target: Host | None = None, at: int = 0) -> bool:
        """Whether it came to the firewall, or began there."""
        return self._key("entered", source, number, kind, to(kind, target, at)) is not None

    def left(
        self, source: Host, number: int, kind: Kind, target: Host | None = None, at: int = 0
    ) -> tuple[Host, int] | None:
        """Address and port to which it left the firewall, translated if they were; nothing if it did not."""
        return self._end("left", source, number, kind, to(kind, target, at))

    def taken(
        self, source: Host, number: int, kind: Kind, target: Host | None = None, at: int = 0
    ) -> tuple[Host, int] | None:
        """Address and port of the firewall itself that it was for, if the filter let it be taken."""
        return self._end("taken", source, number, kind, to(kind, target, at))

    def full(self) -> tuple[str, ...]:
        """Sets that hold as much as they can: what they tell is no longer the whole."""
        return tuple(name for name, keys in self.noted.items() if len(keys) >= MOST)

    def _end(self, moment: str, source: Host, number: int, kind: Kind, sent: bytes) -> tuple[Host, int] | None:
        key = self._key(moment, source, number, kind, sent)
        return None if key is None else _end_of(key, source.version, kind, number)

    def _key(self, moment: str, source: Host, number: int, kind: Kind, sent: bytes) -> bytes | None:
        return self._found(moment, source.version, kind, who(source, number, kind) + sent)

    def _found(self, moment: str, family: int, kind: Kind, asked: bytes) -> bytes | None:
        """The key that begins like this; keys are sorted by their beginnings once."""
        place = (moment, SORT_OF[kind], family, len(asked))
        index = self.indexes.get(place)
        if index is None:
            noted = self.noted[set_name(*place[:3])]
            index = self.indexes[place] = {key[: len(asked)]: key for key in noted}
        return index.get(asked)


def _end_of(key: bytes, family: int, kind: Kind, number: int) -> tuple[Host, int]:
    """The end that a key tells."""
    if kind not in PROTOCOLS:
        return host_of(key[-WIDTHS[family] :]), number
    return host_of(key[-WIDTHS[family] - SLOT : -SLOT]), int.from_bytes(key[-SLOT : -SLOT + 2], "big")


def who(source: Host, number: int, kind: Kind) -> bytes:
    """How a key begins."""
    if kind is Kind.RAW:
        return source.packed + slot(number, 1)
    return source.packed + CARRIED_BY[kind] + slot(number, 2)


def to(kind: Kind, target: Host | None, at: int) -> bytes:
    """How a key goes on, if the target is told."""
    if target is None:
        return b""
    return target.packed + (slot(at, 2) if kind in PROTOCOLS else b"")


def slot(number: int, octets: int) -> bytes:
    """A number as it stands in a key."""
    return number.to_bytes(octets, "big") + REST[octets]


REST = {octets: bytes(SLOT - octets) for octets in range(1, SLOT + 1)}
CARRIED_BY = {kind: slot(PROTOCOLS[kind], 1) if kind in PROTOCOLS else b"" for kind in Kind}
"""The protocol of a try as it stands in a key."""


class Recorder:
    """The recorder of a firewall's room. `run` starts nft there."""

    def __init__(self, firewall: Room, run: Runner) -> None:
        self.run = run
        self.talk = Netfilter(firewall)

    def install(self) -> None:
        """Put it beside the generated rules. Raises LoadingError."""
        load(self.run, RECORDER.encode())

    def clear(self) -> None:
        """Forget what was noted, and all connections, so that the next pass begins anew. Raises OSError."""
        self.talk.empty(TABLE, SETS)
        self.talk.forget_connections()

    def read(self) -> Recorded:
        """What was noted since. Raises OSError."""
        return Recorded({name: self.talk.elements(TABLE, name) for name in SETS})

    def close(self) -> None:
        """Let the conversation go; the table stays."""
        self.talk.close()
