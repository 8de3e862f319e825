"""Reads what is not a number: words, yes or no, dates, days of the week, times of day, networks and addresses."""

import unicodedata
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from difflib import get_close_matches
from enum import Enum
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network
from re import ASCII, fullmatch
from typing import Any

from scantling.figures.calendar import DAY_NAMES, MINUTES_AN_HOUR, Clock, Span, Weekdays

LONGEST_WORD, LONGEST_SHOWN = 200, 40
FIRST_DATE, LAST_DATE = date(2000, 1, 1), date(2100, 12, 31)
EMPTY_MARKS = ("~", "null")
MIDNIGHT = "24:00"
TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""The invisible characters that turn the direction of writing (Unicode, bidirectional formatting)."""
UNFIT = frozenset({"Cc", "Cs", "Zl", "Zp"})
"""Unicode categories that no line of text holds: control, half a pair, line and paragraph separators."""
IN_FULL: Mapping[str, str] = {
    "pc": "PC", "pcs": "PCs", "ap": "access point", "aps": "access points", "ups": "UPS", "tv": "TV", "tvs": "TVs", "nas": "NAS",
    "vpn": "VPN", "dns": "DNS", "ip": "IP", "voip": "VoIP", "poe": "PoE", "usb": "USB", "hr": "HR", "it": "IT", "db": "database",
}  # fmt: skip
"""What stands for itself in capitals, or is short for other words, in the short names that people make (common practice, no source)."""
WHOLE_TABLE = "a whole table stands here, which no one line can set; set what it rests on instead"


def unfit(letter: str) -> str:
    """Why a character may not stand in an answer; empty when it may."""
    number = ord(letter)
    if letter in "\r\n" or unicodedata.category(letter) in ("Zl", "Zp"):
        return "a line break stands in this answer; write it on one line"
    if unicodedata.category(letter) in UNFIT or number & 0xFFFE == 0xFFFE or 0xFDD0 <= number <= 0xFDEF:  # noqa: PLR2004
        return f"a character that can't be printed (U+{number:04X}) stands in this answer; remove it"
    if letter in TURNS:
        return (
            f"an invisible character (U+{number:04X}) that turns the writing around stands in this answer; remove it"
        )
    return ""


def shown(text: str, most: int = LONGEST_SHOWN) -> str:
    """A text as a message may show it: cut short, and what can't be printed told by its number."""
    cut = text if len(text) <= most else text[: most - 1] + "…"
    return "".join(f"<U+{ord(letter):04X}>" if unfit(letter) else letter for letter in cut)


def quoted(text: str) -> str:
    """The same in quotation marks."""
    return f'"{shown(text)}"'


def titled(slug: str) -> str:
    """A short name as it stands in front of a line where nobody gave a longer one: `front-pcs` is Front PCs."""
    words = " ".join(IN_FULL.get(word, word) for word in slug.split("-"))
    return words[:1].upper() + words[1:]


def nearest(word: str, known: Iterable[str], cutoff: float = 0.6) -> str:
    """The known word that is nearest in spelling, small and capital letters alike; empty when none is near."""
    by_small = {one.casefold(): one for one in known}
    near = get_close_matches(word.casefold(), by_small, 1, cutoff)
    return by_small[near[0]] if near else ""


def spelled(text: str, kind: type[Any]) -> Any:
    """The value of a kind that is not a number. Raises ValueError in a person's words."""
    if issubclass(kind, Enum):
        return _closed(text, kind)
    if kind not in READERS:
        raise ValueError(WHOLE_TABLE)
    return READERS[kind](text)


def _closed(text: str, kind: type[Enum]) -> Enum:
    words = {str(member.value): member for member in kind}
    if text in words:
        return words[text]
    near = nearest(text, words)
    hint = f"; did you mean {near}?" if near else ""
    raise ValueError(f"{quoted(text)} is not one of {', '.join(words)}{hint}")


def _word(text: str) -> str:
    if text in EMPTY_MARKS:
        raise ValueError(
            f"{quoted(text)} says nothing; write the answer, or leave the line out if it may be left out"
        )
    for letter in text:
        if wrong := unfit(letter):
            raise ValueError(wrong)
    if len(text) > LONGEST_WORD:
        raise ValueError(f"too long: {len(text):,} letters, at most {LONGEST_WORD}")
    return text


def _truth(text: str) -> bool:
    if text in ("yes", "no"):
        return text == "yes"
    raise ValueError(f"{quoted(text)} is neither yes nor no; write yes or no")


def _date(text: str) -> date:
    if not fullmatch(r"\d{4}-\d{2}-\d{2}", text, ASCII):
        raise ValueError(f"{quoted(text)} is not a date; write year, month and day like 2026-11-25")
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{text} is not a day of the calendar") from None
    if not FIRST_DATE <= day <= LAST_DATE:
        raise ValueError(f"{text} is out of range; from {FIRST_DATE} to {LAST_DATE} is accepted")
    return day


def _network(text: str) -> IPv4Network:
    like = "write one like 10.44.0.0/16"
    if not fullmatch(r"[0-9.]{7,15}/\d{1,2}", text, ASCII):
        raise ValueError(f"{quoted(text)} is not a network; {like}")
    try:
        return IPv4Network(text)
    except ValueError:
        pass
    try:
        whole = IPv4Network(text, strict=False)
    except ValueError:
        raise ValueError(f"{quoted(text)} is not a network; {like}") from None
    raise ValueError(f"{text} is an address inside a network; the network itself is {whole}")


def _address(text: str) -> IPv4Address:
    try:
        return IPv4Address(text)
    except ValueError:
        raise ValueError(f"{quoted(text)} is not an address; write one like 10.44.0.1") from None


def _network6(text: str) -> IPv6Network:
    """Read as written, with its length; groups without the old numbers' dots, and no port after a stroke."""
    like = "write one like 2001:db8:44::/48"
    if not fullmatch(r"[0-9a-fA-F:]{2,39}/\d{1,3}", text, ASCII):
        raise ValueError(f"{quoted(text)} is not an IPv6 network; {like}")
    try:
        whole = IPv6Network(text, strict=False)
    except ValueError:
        raise ValueError(f"{quoted(text)} is not an IPv6 network; {like}") from None
    if IPv6Address(text.partition("/")[0]) != whole.network_address:
        raise ValueError(f"{text} is an address inside a network; the network itself is {whole}")
    return whole


def _address6(text: str) -> IPv6Address:
    like = "write one like 2001:db8:44:20::5"
    if not fullmatch(r"[0-9a-fA-F:]{2,39}", text, ASCII):
        raise ValueError(f"{quoted(text)} is not an IPv6 address; {like}")
    try:
        return IPv6Address(text)
    except ValueError:
        raise ValueError(f"{quoted(text)} is not an IPv6 address; {like}") from None


def _weekdays(text: str) -> Weekdays:
    days: list[int] = []
    for part in text.replace(",", " ").split():
        first, dash, last = part.partition("-")
        ends = [first, last] if dash else [first]
        if any(end not in DAY_NAMES for end in ends):
            raise ValueError(
                f"{quoted(text)} names no days; write them like mon-fri, or tue thu sat ({' '.join(DAY_NAMES)})"
            )
        start, end = DAY_NAMES.index(first), DAY_NAMES.index(ends[-1])
        days += range(start, end + 1) if start <= end else (*range(start, 7), *range(end + 1))
    if not days:
        raise ValueError(f"{quoted(text)} names no days; write them like mon-fri")
    return Weekdays(tuple(sorted(set(days))))


def _minute(text: str) -> int | None:
    match = fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", text, ASCII)
    return int(match[1]) * MINUTES_AN_HOUR + int(match[2]) if match else None


def _clock(text: str) -> Clock:
    if (minute := _minute(text)) is None:
        raise ValueError(f'{quoted(text)} is not a time of day; write it like "19:30"')
    return Clock(minute)


def _span(text: str) -> Span:
    """From one time to another; 24:00 is the midnight that ends the day."""
    first, _, last = text.partition("-")
    start = _minute(first.strip())
    end = 0 if last.strip() == MIDNIGHT else _minute(last.strip())
    if start is None or end is None:
        raise ValueError(f'{quoted(text)} is not a span of the day; write it like "09:30-18:00"')
    return Span(start, end)


READERS: dict[type[Any], Callable[[str], Any]] = {
    bool: _truth, str: _word, date: _date, IPv4Network: _network, IPv4Address: _address, IPv6Network: _network6,
    IPv6Address: _address6, Weekdays: _weekdays, Span: _span, Clock: _clock,
}  # fmt: skip
EXAMPLES: dict[type[Any], str] = {
    bool: "yes", str: "", date: "2026-11-25", IPv4Network: "10.44.0.0/16", IPv4Address: "10.44.0.1",
    IPv6Network: "2001:db8:44::/48", IPv6Address: "2001:db8:44:20::5",
    Weekdays: "mon-fri", Span: '"09:30-18:00"', Clock: '"19:30"',
}  # fmt: skip
KINDS: dict[type[Any], str] = {
    bool: "yes or no", str: "words", date: "a date", IPv4Network: "a network", IPv4Address: "an address",
    IPv6Network: "an IPv6 network", IPv6Address: "an IPv6 address",
    Weekdays: "days of the week", Span: "from one time of day to another", Clock: "a time of day",
}  # fmt: skip
ONE_DAY = "(mon|tue|wed|thu|fri|sat|sun)"
PATTERNS: dict[type[Any], str] = {
    bool: "^(yes|no)$", str: r"\S", date: r"^\d{4}-\d{2}-\d{2}$",
    IPv4Network: r"^\d{1,3}(\.\d{1,3}){3}/\d{1,2}$", IPv4Address: r"^\d{1,3}(\.\d{1,3}){3}$",
    IPv6Network: r"^[0-9a-fA-F:]{2,39}/\d{1,3}$", IPv6Address: r"^[0-9a-fA-F:]{2,39}$",
    Weekdays: f"^[ ,]*({ONE_DAY}(-{ONE_DAY})?[ ,]+)*{ONE_DAY}(-{ONE_DAY})?[ ,]*$",
    Span: r"^ *\d{1,2}:\d{2} *- *\d{1,2}:\d{2} *$", Clock: r"^\d{1,2}:\d{2}$",
}  # fmt: skip
"""Regular expressions that hold for all that is accepted, for schemas; the readers themselves are stricter."""
