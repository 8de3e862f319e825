"""Words of the packet filter's files: networks, ports, hours and comments as nftables writes them, and texts made safe."""

import re
import unicodedata
from collections.abc import Iterable, Sequence

from scantling.figures.traffic import LAST_PORT, LAST_TYPE, Net, Window
from scantling.outputs.files import FilesError

IPV4, IPV6 = 4, 6
COMMENT_BYTES = 128
"""The longest comment of a rule or set that the kernel keeps (NFTNL_UDATA_COMMENT_MAXLEN of libnftnl)."""
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
LAST_MINUTE = 24 * 60 - 1
UNSEEN = frozenset(("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"))
SLUG = re.compile(r"[a-z0-9]+(?:[-.][a-z0-9]+)*")
INTERFACE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,14}")
HOST_NAME = re.compile(
    r"(?=.{1,253}\Z)(?:[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?\.)*[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?"
)


def one_line(text: str) -> str:
    """The text with every space, line break and letter that can't be seen turned into single spaces.

    What is left can neither steer a terminal nor leave its line: Unicode's control, format, surrogate, private and
    unassigned code points and line separators are gone.
    """
    if text.isprintable():  # as nearly always: every letter can be seen then
        return " ".join(text.split())
    seen = ("" if unicodedata.category(letter) == "Cf" else _seen(letter) for letter in text)
    return " ".join("".join(seen).split())


def _seen(letter: str) -> str:
    return " " if unicodedata.category(letter) in UNSEEN else letter


def quoted(text: str, most: int = COMMENT_BYTES) -> str:
    """A text in double quotes for nftables, which knows no escapes: no quote, backslash or line break; `most` bytes."""
    plain = one_line(text).replace('"', "'").replace("\\", "/")
    cut = plain.encode()[:most].decode(errors="ignore").rstrip()
    return f'"{cut}"'


def head(office: str, as_of: str, what: Sequence[str]) -> list[str]:
    """The lines every file opens with, without a comment sign."""
    return [
        f"{one_line(office)}: {what[0]}",
        *what[1:],
        f"Planned as of {as_of}. Made by scantling: edit the brief, not this file.",
    ]


def slug(text: str, kind: str) -> str:
    """The text again, if it may be part of a name in a file. Raises FilesError."""
    if not SLUG.fullmatch(text):
        raise FilesError(f"{kind} {text!r} can't be named in a file: small letters, digits and single hyphens only")
    return text


def interface(text: str) -> str:
    """The text again, if it may be the name of a port. Raises FilesError."""
    if not INTERFACE.fullmatch(text):
        raise FilesError(
            f"the firewall's port {text!r} can't be named in a file: 1 to 15 letters, digits, hyphens; no space"
        )
    return text


def host_name(text: str, party: str) -> str:
    """The name in small letters, if it is a name as RFC 1123 has them. Raises FilesError."""
    small = text.lower().removesuffix(".")
    if not HOST_NAME.fullmatch(small):
        raise FilesError(f"party {party}: {one_line(text)!r} is no name that a resolver could be asked for")
    return small


def address(network: Net) -> str:
    """10.20.0.0/24; a network of one address without its length."""
    return str(network.network_address) if network.prefixlen == network.max_prefixlen else str(network)


def ranges(ports: Iterable[tuple[int, int]], protocol: str) -> list[tuple[int, int]]:
    """The ports or message types in order, joined where they touch; nothing where they are all there are."""
    joined: list[tuple[int, int]] = []
    for first, last in sorted(ports):
        if joined and first <= joined[-1][1] + 1:
            joined[-1] = (joined[-1][0], max(last, joined[-1][1]))
        else:
            joined.append((first, last))
    whole = (0, LAST_TYPE if protocol.startswith("icmp") else LAST_PORT)
    return [] if joined == [whole] else joined


def some(words: Sequence[str]) -> str:
    """One word as it is, more of them as a set."""
    return words[0] if len(words) == 1 else "{ " + ", ".join(words) + " }"


def span(ports: tuple[int, int]) -> str:
    """445, or 5060-5061."""
    first, last = ports
    return str(first) if first == last else f"{first}-{last}"


def hours(window: Window) -> str:
    """When a rule holds: meta day and meta hour; empty when it always does. Raises FilesError for hours past midnight.

    The last minute counts whole. nftables turns the hours from the clock of whoever loads the file into UTC; the kernel
    tells the weekday in UTC.
    """
    if (
        not 0 <= window.first <= window.last <= LAST_MINUTE
        or not set(window.days) <= set(range(len(DAYS)))
        or not window.days
    ):
        raise FilesError(f"hours can't be written: days {window.days}, minutes {window.first} to {window.last}")
    days = sorted(set(window.days))
    said = [] if len(days) == len(DAYS) else ["meta day " + some([f'"{DAYS[day]}"' for day in days])]
    if (window.first, window.last) != (0, LAST_MINUTE):
        said.append(f'meta hour "{clock(window.first)}"-"{clock(window.last)}:59"')
    return " ".join(said)


def clock(minute: int) -> str:
    """Minute of the day as 08:30."""
    return f"{minute // 60:02}:{minute % 60:02}"
