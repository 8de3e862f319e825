"""Zone files as RFC 1035 writes them: one for every zone of names, each name and text escaped."""

from collections.abc import Iterator
from re import sub

from scantling.figures import NameRecord, NameZone, text
from scantling.outputs.files import Written
from scantling.plan.make import Plan

PLAIN = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_/*")
LEAST_PRINTED, MOST_PRINTED = 32, 126


def write(plan: Plan) -> Iterator[Written]:
    """A file for every zone."""
    for zone in plan.records(NameZone):
        origin, name = safe(zone.origin), file_of(zone)
        yield Written(
            f"names/{name}", zone_text(zone, head(plan, what_of(zone))).encode("ascii"), what_of(zone),
            f"On the machine that holds the zones ({safe(zone.primary)}), as /etc/nsd/zones/{name}.",
            f"nsd-control reload {origin}", f"Put the last revision's file back, its serial raised, and run nsd-control reload {origin}.",
            f"named-checkzone -i full {origin} {{file}}",
        )  # fmt: skip


def file_of(zone: NameZone) -> str:
    """The name of a zone's file."""
    return f"{sub('[/:]', '_', safe(zone.origin))}.zone"


def what_of(zone: NameZone) -> str:
    """What a zone is for, in a sentence."""
    if zone.reverse:
        return f"Which name bears each address below {safe(zone.origin)}."
    return f"Which address has each name in {safe(zone.origin)}, inside the office."


def head(plan: Plan, what: str) -> tuple[str, ...]:
    """The first lines of a file: the office, the day, what it is."""
    made = f"{text(plan.office.name)}, {text(plan.office.as_of)}, made by scantling"
    return tuple(remark(one) for one in (made, what, "Edit the brief, not this file."))


def safe(word: str) -> str:
    """A name, an address or a network as it stands in settings: what belongs to none of them becomes an underscore."""
    return sub(r"[^A-Za-z0-9._:/-]", "_", word)


def zone_text(zone: NameZone, says: tuple[str, ...]) -> str:
    """A whole zone file."""
    refresh, retry, expire, negative = zone.times
    numbers = f"{zone.serial} {refresh} {retry} {expire} {negative}"
    lines = [f"; {one}" for one in says]
    lines += [f"$ORIGIN {domain_name(zone.origin)}", f"$TTL {zone.ttl}"]
    lines += [f"@ IN SOA {domain_name(zone.primary)} {domain_name(zone.contact)} ( {numbers} )"]
    lines += [record_line(one) for one in zone.records]
    return "\n".join(lines) + "\n"


def record_line(record: NameRecord) -> str:
    """One record, its owner written whole."""
    ttl = f"{record.ttl} " if record.ttl else ""
    return f"{domain_name(record.owner)} {ttl}IN {record.kind} {data_of(record)}"


def data_of(record: NameRecord) -> str:
    """A record's data: names escaped label by label, texts in quotation marks."""
    if record.kind == "TXT":
        return quoted(record.data)
    return " ".join(domain_name(word) if word.endswith(".") else plain(word) for word in record.data.split(" "))


def domain_name(name: str) -> str:
    """A whole name with its last dot, every letter that means something in a zone file escaped (RFC 1035 section 5.1)."""
    return ".".join(plain(label) for label in name.rstrip(".").split(".")) + "."


def plain(word: str) -> str:
    """One label or number with all but plain letters as decimal escapes of their octets."""
    return "".join(
        letter
        if letter in PLAIN or letter in ".:"
        else "".join(f"\\{octet:03d}" for octet in letter.encode("utf-8", "replace"))
        for letter in word
    )


def quoted(words: str) -> str:
    """A text in pieces of at most 255 octets, each in quotation marks (RFC 1035 section 3.3)."""
    octets = words.encode("utf-8", "replace")
    pieces = [octets[at : at + 255] for at in range(0, len(octets), 255)] or [b""]
    return " ".join('"' + "".join(map(_quoted_octet, piece)) + '"' for piece in pieces)


def _quoted_octet(octet: int) -> str:
    letter = chr(octet)
    safe = LEAST_PRINTED <= octet <= MOST_PRINTED and letter not in '"\\;'
    return letter if safe else f"\\{octet:03d}"


def remark(words: str) -> str:
    """Words as a remark: one line of plain letters, all else as question marks."""
    return "".join(letter if LEAST_PRINTED <= ord(letter) <= MOST_PRINTED else "?" for letter in words)
