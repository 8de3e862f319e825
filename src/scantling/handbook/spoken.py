"""What people write of traffic: protocols with ports, hours, lists of names and networks; read, and written again."""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from re import ASCII, fullmatch

from scantling.figures import Transport
from scantling.figures.spelled import nearest, quoted
from scantling.figures.traffic import ANY_PROTOCOL, LAST_PORT, LAST_TYPE

PROTOCOLS = ("tcp", "udp", "icmp", "icmpv6", "esp", "gre", ANY_PROTOCOL)
PORTED = frozenset({"tcp", "udp"})
MESSAGES = frozenset({"icmp", "icmpv6"})
LIKE = "write it like tcp 443, udp 5060-5061"
COMMENT_BYTES = 100


@dataclass(frozen=True, slots=True)
class Carried:
    """Protocols and ports as read, and what could not be read, each in a sentence."""

    transports: tuple[Transport, ...]
    wrong: tuple[str, ...] = ()


def read_carried(text: str) -> Carried:
    """Protocols with their ports or message types, parted by commas."""
    good, wrong = [], []
    for part in text.split(","):
        try:
            good.append(_transport(part.split()))
        except ValueError as said:
            wrong.append(str(said))
    return Carried(tuple(good), tuple(wrong))


def _transport(words: list[str]) -> Transport:
    """One protocol. Raises ValueError in a person's words."""
    if not words:
        raise ValueError(f"a protocol is missing between the commas; {LIKE}")
    protocol = words[0].lower()
    if protocol not in PROTOCOLS:
        near = nearest(protocol, PROTOCOLS)
        hint = f"did you mean {near}?" if near else f"known are {', '.join(PROTOCOLS)}"
        raise ValueError(f"{quoted(words[0])} is no protocol; {hint}")
    if protocol in PORTED | MESSAGES:
        return _ported(protocol, words)
    if len(words) > 1:
        raise ValueError(f"{protocol} has no ports, so {quoted(' '.join(words[1:]))} is not taken; write {protocol}")
    return Transport(protocol)


def _ported(protocol: str, words: list[str]) -> Transport:
    most, called = (LAST_PORT, "port") if protocol in PORTED else (LAST_TYPE, "message type")
    if len(words) == 1:
        return Transport(protocol, 0, most)
    match = fullmatch(r"(\d{1,9})(?:-(\d{1,9}))?", "".join(words[1:]), ASCII)
    if match is None:
        raise ValueError(f"{quoted(' '.join(words[1:]))} is no {called}; {LIKE}")
    first, last = int(match[1]), int(match[2] or match[1])
    if max(first, last) > most:
        raise ValueError(f"the {called} {max(first, last)} is out of range; from 0 to {most} is accepted")
    if last < first:
        raise ValueError(f"{first}-{last} runs backwards; write {last}-{first}")
    return Transport(protocol, first, last)


def joined(protocol: str, spans: Iterable[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Ports or message types in order, joined where they touch; nothing where they are all there are."""
    found: list[tuple[int, int]] = []
    for first, last in sorted(spans):
        if found and first <= found[-1][1] + 1:
            found[-1] = (found[-1][0], max(last, found[-1][1]))
        else:
            found.append((first, last))
    whole = protocol not in PORTED | MESSAGES or found == [(0, LAST_TYPE if protocol in MESSAGES else LAST_PORT)]
    return () if whole else tuple(found)


def written_carried(transports: Iterable[Transport]) -> str:
    """As people read it: tcp 443, udp 5060-5061."""
    return ", ".join(str(one) for one in sorted(transports))


def parted(text: str) -> tuple[str, ...]:
    """Words parted by commas."""
    return tuple(part.strip() for part in text.split(",") if part.strip())


def plain_comment(text: str, most: int = COMMENT_BYTES) -> str:
    """A text of one line that no file's quoting can be broken by, of at most so many bytes."""
    seen = "".join(" " if unicodedata.category(letter)[0] in "CZ" else letter for letter in text)
    plain = " ".join(seen.replace('"', "'").replace("\\", "/").split())
    return plain.encode()[:most].decode(errors="ignore").rstrip()
