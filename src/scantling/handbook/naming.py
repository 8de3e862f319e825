"""Names: legal labels out of any text, who bears which, the directory's domain, and what may not be one."""

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from itertools import count
from re import ASCII, fullmatch, sub
from typing import Annotated, Any

from scantling.figures import Source, method, rule
from scantling.figures.units import Count, Date, Days, Truth, Unit, Word, closed

HOSTS = Source("RFC 952 and RFC 1123 section 2.1")
SIZES = Source("RFC 1035 section 2.3.4")
MULTICAST = Source("RFC 6762 appendix G")
HOMES = Source("RFC 8375")
COMPUTERS = Source("RFC 1001 section 14.1: 16 octets, the last for the kind of service")
RESERVED_NAMES = Source("RFC 2606 section 2")
KEEPING = Source("a name that was issued stays; a new one takes what is free", "own derivation")
ARITHMETIC = Source("arithmetic", "common practice")
HABIT = Source("common practice, no source", "common practice")
OWN = Source("the part before the registered domain is the office's own", "own derivation")
LONGEST_LABEL, LONGEST_NAME = 63, 253
LABEL = r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?"
NAME = rf"{LABEL}(?:\.{LABEL})*"
"""Of a host or domain, in the letters that RFC 952 and RFC 1123 allow; the last dot left out."""
FOLDED: Mapping[str, str] = {
    "ß": "ss", "æ": "ae", "Æ": "ae", "ø": "o", "Ø": "o", "œ": "oe", "Œ": "oe", "ł": "l", "Ł": "l", "đ": "d", "Đ": "d",
    "ð": "d", "Ð": "d", "þ": "th", "Þ": "th", "\u0131": "i", "ħ": "h", "Ħ": "h",
}  # fmt: skip
"""Letters that Unicode does not take apart (common practice, no source)."""
UNREGISTERED = frozenset(
    {"intranet", "internal", "private", "corp", "home", "lan", "localdomain", "domain", "office"}
)
"""RFC 6762 appendix G names the first six as in use without being registered; the others are met in offices."""
SPECIAL = frozenset({"test", "invalid", "localhost"})
"""RFC 6761: not for names that somebody is to find. Its `example` is left to examples."""
SMALL_WORDS = frozenset({"the", "of", "and", "a", "an", "for"})
LOCAL, HOME = "local", ("home", "arpa")


@dataclass(frozen=True, slots=True)
class Bearer:
    """One name that was given: its label, who bears it, and as which of its kind (0 where there is only one)."""

    label: str
    holder: str
    number: int = 0
    also: tuple[str, ...] = ()
    """Further labels that were issued to the same machine."""

    def __str__(self) -> str:
        return self.label

    def as_plain(self) -> str:
        """For canonical JSON."""
        return self.label


LABELS: Unit[Any] = closed(dict)
DateRegister = Annotated[Mapping[str, date], closed(Mapping)]
LabelRegister = Annotated[dict[str, Bearer], LABELS]


@lru_cache(4096)  # every device of an office is asked for again in every plan
def label_of(text: str, otherwise: str = "x") -> str:
    """A legal label out of any text: its letters without their marks, small, all else as single hyphens, at most 63.

    `otherwise` stands for a text of which nothing is left, such as one in other letters than Latin ones.
    """
    letters = "".join(FOLDED.get(letter, letter) for letter in text)
    plain = unicodedata.normalize("NFKD", letters).encode("ascii", "ignore").decode("ascii").lower()
    return sub(r"[^a-z0-9]+", "-", plain).strip("-")[:LONGEST_LABEL].rstrip("-") or otherwise


def legal_name(name: str) -> bool:
    """Whether it is a legal name of a host or domain: letters, digits, hyphens inside, 63 a label, 253 in all."""
    return len(name) <= LONGEST_NAME and fullmatch(NAME, name, ASCII) is not None


@method(HOSTS, says="small letters; a label that is not legal is made so")
def written_name(written: Word) -> Word:
    """A name as it is used: in small letters, without the last dot, each label legal."""
    labels = [one.lower() if fullmatch(LABEL, one, ASCII) else label_of(one) for one in written.split(".") if one]
    name = ".".join(labels) or label_of(written)
    return name if len(name) <= LONGEST_NAME else name[-LONGEST_NAME:].lstrip("-.")


@method(HOSTS, says="a legal name in small letters, short enough that a host's label of 63 fits before it in 253")
def written_domain(written: Word) -> Word:
    """A domain as it is used; one that is too long loses its first labels."""
    labels = written_name(written).split(".")
    while len(".".join(labels)) > LONGEST_NAME - LONGEST_LABEL - 1:
        labels = labels[1:]
    return ".".join(labels)


@method(HOSTS, says="letters, digits and hyphens inside, 63 a label, 253 in all (RFC 1035 section 2.3.4)")
def illegal(names: Mapping[str, Word]) -> Count:
    """How many names are not legal names of hosts."""
    return sum(not legal_name(name.rstrip(".")) for name in names.values())


@method(OWN, says="the house's label before the registered domain")
def subdomain(label: Word, domain: Word) -> Word:
    """A domain inside a registered one."""
    return f"{label_of(label)}.{written_name(domain)}"


@method(RESERVED_NAMES, says="the house's label and the office's name under example, which nobody can register")
def stand_in(label: Word, office: Word) -> Word:
    """A domain that stands in until the client has a registered one."""
    return f"{label_of(label)}.{label_of(office, 'office')}.example"


@method(MULTICAST, says="the last label is local")
def multicast_domain(domain: Word) -> Truth:
    """Whether a domain lies in the one that devices ask each other for, without any server."""
    return _labels(domain)[-1] == LOCAL


@method(MULTICAST, says="the last label is one that is used without being registered, or there is no other label")
def unregistered(domain: Word) -> Truth:
    """Whether a domain hangs on a top-level name that nobody has registered."""
    labels = _labels(domain)
    return labels[-1] != LOCAL and (len(labels) == 1 or labels[-1] in UNREGISTERED | SPECIAL)


@method(HOMES, says="it ends in home.arpa")
def residential(domain: Word) -> Truth:
    """Whether a domain lies in the one that is set aside for homes."""
    return tuple(_labels(domain)[-2:]) == HOME


@method(OWN, says="it is one of the registered domains itself")
def bare(domain: Word, registered: Mapping[str, Word]) -> Truth:
    """Whether a domain is a registered one itself, so that what is published there is not found from inside."""
    return written_name(domain) in {written_name(one) for one in registered.values()}


@rule(OWN)
def other_word(one: Word, other: Word) -> Truth:
    """Two words are not the same."""
    return one != other


def _labels(domain: str) -> list[str]:
    return written_name(domain).split(".")


@method(
    KEEPING, says="as issued; a machine by its pattern, a device by its pattern with the first number that is free; a short "
    "name as given stands for a kind or a machine where nobody has it",
)  # fmt: skip
def bearers(
    patterns: Mapping[str, Word],
    machines: Mapping[str, Count],
    devices: Mapping[str, Count],
    zones: Mapping[str, Count],
    called: Mapping[str, Word],
    issued: Mapping[str, Word],
) -> LabelRegister:
    """Who bears which label, by the name's own slug: gateways of zones, machines, devices of each kind by number.

    `patterns` has one each for machine, device and gateway; `issued` are names by who bears them and their slug, a blank between.
    """
    given: dict[str, Bearer] = {}
    kept = {slug: name for _, slug, name in _issued(issued)}
    holders = {slug: holder for holder, slug, _ in _issued(issued)}
    taken = {first_label(name) for name in kept.values()}
    short = stems((*machines, *devices), called)
    for zone in zones:
        label = patterns["gateway"].replace("{zone}", zone)
        _one(f"gateway-{zone}", f"gateway-{zone}", label, kept, (given, taken))
    for machine in machines:
        had = [one for one, holder in holders.items() if holder == machine] or [machine]
        label = patterns["machine"].replace("{machine}", short[machine])
        slug = _one(had[0], machine, label, kept, (given, taken))
        given[slug] = replace(given[slug], also=tuple(first_label(kept[one]) for one in had[1:]))
    for device, many in devices.items():
        had = [one for one, holder in holders.items() if holder == device]
        given |= {slug: Bearer(first_label(kept[slug]), device, place) for place, slug in enumerate(had, 1)}
        pattern = patterns["device"].replace("{device}", short[device])
        for place in range(len(had) + 1, many + 1):
            slug, label = _next_number(device, pattern, (*given, *kept), taken)
            given[slug] = Bearer(label, device, place)
            taken.add(label)
    return given


def _issued(names: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """Holder, slug and name of each, in the order they were issued."""
    return [(*_parted(key), name) for key, name in names.items()]


def _parted(key: str) -> tuple[str, str]:
    holder, _, slug = key.rpartition(" ")
    return holder, slug


def first_label(name: str) -> str:
    """The host's own part of a name, legal."""
    return label_of(written_name(name).split(".")[0])


def stems(slugs: Iterable[str], called: Mapping[str, str]) -> dict[str, str]:
    """What each is called in names: as given where nobody else is called so, else its slug."""
    every = list(slugs)
    found = {slug: slug for slug in every}
    for slug in every:
        wanted = label_of(called[slug], slug) if slug in called else slug
        if wanted not in {one for other, one in found.items() if other != slug} | set(every) - {slug}:
            found[slug] = wanted
    return found


def _one(
    slug: str, holder: str, wanted: str, issued: Mapping[str, str], so_far: tuple[dict[str, Bearer], set[str]]
) -> str:
    """Enter the name of one thing that is the only one of its kind; the word under which it stands then."""
    given, taken = so_far
    slug = slug if slug not in given else next(f"{slug}-{n}" for n in count(2) if f"{slug}-{n}" not in given)
    label = first_label(issued[slug]) if slug in issued else free_label(wanted, taken)
    given[slug] = Bearer(label, holder)
    taken.add(label)
    return slug


def _next_number(device: str, pattern: str, slugs: Iterable[str], taken: set[str]) -> tuple[str, str]:
    """Slug and label of the next device of a kind."""
    there = set(slugs)
    for number in count(1):
        slug, label = f"{device}-{number:02d}", label_of(pattern.replace("{number}", f"{number:02d}"))
        if slug not in there and label not in taken:
            return slug, label
    raise AssertionError("numbers do not end")


def free_label(wanted: str, taken: Iterable[str]) -> str:
    """A label as wanted, or with the first number behind it that nobody has."""
    label, there = label_of(wanted), set(taken)
    if label not in there:
        return label
    tries = (f"{label[: LONGEST_LABEL - 1 - len(str(n))].rstrip('-')}-{n}" for n in count(2))
    return next(one for one in tries if one not in there)


@method(COMPUTERS, says="the pattern with each kind's short name and its highest number is longer than the limit")
def too_long(pattern: Word, devices: Mapping[str, Count], called: Mapping[str, Word], limit: Count) -> Count:
    """How many computers would bear a label that older protocols cut off."""
    short = stems(devices, called)
    labels = {device: pattern.replace("{device}", short[device]) for device in devices}
    return sum(
        many for device, many in devices.items() if len(labels[device].replace("{number}", f"{many:02d}")) > limit
    )


@method(OWN, says="what is called so is not there, or the name is somebody else's")
def strays_among(called: Mapping[str, Word], there: Mapping[str, Count]) -> Count:
    """How many short names are given in vain."""
    used = stems(there, called)
    return sum(used.get(slug) != label_of(short, slug) for slug, short in called.items())


@method(ARITHMETIC, says="each with its day, the soonest first")
def expiries(expires: Mapping[str, Date]) -> DateRegister:
    """When what is owned outside expires."""
    return dict(sorted(expires.items(), key=lambda one: (one[1], one[0])))


@method(ARITHMETIC, says="days from the one to the other, below nought when it has passed")
def days_left(since: Date, until: Date) -> Days:
    """How long something still lasts."""
    return float((until - since).days)


@method(HABIT, says="all words of the one stand in the other, apart from the, of, and, small words and marks")
def other_owner(owner: Word, client: Word) -> Truth:
    """Whether an owner as written down is somebody else than the client."""
    one, other = (set(label_of(name).split("-")) - SMALL_WORDS for name in (owner, client))
    alike = owner.strip().casefold() == client.strip().casefold()
    return not (alike or (one and other and (one <= other or other <= one)))


@method(HABIT, says="each counted once, the word for none not at all")
def distinct_sources(sources: Mapping[str, Word], none: Word) -> Count:
    """How many clocks outside are asked."""
    return len({one.lower() for one in sources.values()} - {none})
