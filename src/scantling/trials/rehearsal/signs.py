"""Signs that something is wrong in a living office, as whoever looks around can see them; plain data, and no word of the cause."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class What(StrEnum):
    """What is seen; each says of what the place is that it is seen at."""

    # at a station
    TWICE = "more than one device answers for its address"
    ABSENT = "nobody answers for its address on its own link"
    ELSEWHERE = "it is offered an address of another zone"
    LOST = "nothing that it sends comes to the firewall"
    DEAD = "nothing that is let through to it is answered"
    AFAR = "it answers the firewall, yet nobody beyond it"
    CLOSED = "it refuses what is let through to it"
    OTHER = "another device answers in its stead"
    LET_THROUGH = "something reaches it that must not"
    SWALLOWED = "the firewall keeps out what is meant for it"
    UNPUBLISHED = "what is published outside does not lead to it any more"
    # in a zone
    ZONE_LOST = "nothing that is sent in it comes to the firewall"
    NO_OFFER = "no address server makes an offer to a known device"
    NO_NEWCOMER = "no address server makes an offer to a newcomer"
    FOREIGN = "an address server that is none of the plan makes offers"
    UNRENEWED = "the address server, asked straight, renews nothing"
    WRONG_TOLD = "devices are sent to a wrong way out"
    NO_OFFER6 = "no address server gives an address over IPv6"
    NO_NEWS = "the firewall announces nothing over IPv6"
    # at the holder of a service
    NO_LOOKUPS = "it looks nothing up, not even what it knows by itself"
    NO_INSIDE = "it has no answer for names of the office"
    WRONG_INSIDE = "it answers wrongly for names of the office"
    NO_OUTSIDE = "it has no answer for names outside"
    NO_ZONES = "it does not answer for the zones of names that it holds"
    WRONG_ZONES = "the zones of names that it holds tell something else than planned"
    NO_TIME = "it does not tell the time"
    WRONG_TIME = "it tells a wrong time"
    # on a line
    LINE_DEAD = "what goes out is let out, and nothing comes back"
    UNMASKED = "what goes out bears the office's own addresses"
    NOT_LENT = "no address is lent to the firewall"
    # outside
    NO_TIME_OUTSIDE = "clocks outside do not tell the time"
    WRONG_TIME_OUTSIDE = "clocks outside tell a wrong time"
    # at the firewall
    NOTHING_PASSED = "nothing at all is passed on from one zone to another"
    STILL = "the counters of its rules for what is passed on stand still"
    TAKEN_ITSELF = "what should be passed on is counted as meant for itself"
    EMPTY = "this set of parties' addresses is empty"


@dataclass(frozen=True, slots=True, order=True)
class Sign:
    """Something seen at one place."""

    what: What
    where: str
    """Slug of a station, a zone, a line; "outside"; name of a set."""
    detail: str = ""


@dataclass(frozen=True)
class Seen:
    """All that was seen in one pass, and where it was looked for at all."""

    signs: tuple[Sign, ...] = ()
    looked: Mapping[What, frozenset[str]] = field(default_factory=dict)
    """By what could have been seen: the places at which it was looked for."""

    def at(self, what: What) -> frozenset[str]:
        """Places at which it was seen."""
        return frozenset(one.where for one in self.signs if one.what is what)

    def everywhere(self, what: What) -> bool:
        """Whether it was seen wherever it was looked for."""
        return bool(self.at(what)) and self.looked.get(what, frozenset()) <= self.at(what)

    def beyond(self, before: "Seen") -> "Seen":
        """Without what was seen before already, and not looked for there any more either; details may change from pass to pass."""
        known = {(one.what, one.where) for one in before.signs}
        looked = {what: places - before.at(what) for what, places in self.looked.items()}
        return Seen(tuple(one for one in self.signs if (one.what, one.where) not in known), looked)

    def also(self, again: "Seen") -> "Seen":
        """What was seen both times; what was seen once only passed by."""
        twice = {(one.what, one.where) for one in self.signs}
        return Seen(tuple(one for one in again.signs if (one.what, one.where) in twice), again.looked)

    def words(self) -> tuple[str, ...]:
        """Each thing that was seen once, with all its places."""
        found: dict[What, list[str]] = {}
        for one in sorted(self.signs):
            found.setdefault(one.what, []).append(f"{one.where} ({one.detail})" if one.detail else one.where)
        return tuple(f"{', '.join(places)}: {what.value}" for what, places in found.items())


def together(many: Iterable[Seen]) -> Seen:
    """All that was seen by several checks."""
    signs: list[Sign] = []
    looked: dict[What, frozenset[str]] = {}
    for one in many:
        signs += one.signs
        for what, places in one.looked.items():
            looked[what] = looked.get(what, frozenset()) | places
    return Seen(tuple(sorted(set(signs))), looked)


class Gathering:
    """Signs as they are gathered by one check."""

    def __init__(self) -> None:
        self.signs: list[Sign] = []
        self.looked: dict[What, set[str]] = {}

    def look(self, what: What, where: str, *, seen: bool, detail: str = "") -> None:
        """Note that it was looked for, and whether it was seen."""
        self.looked.setdefault(what, set()).add(where)
        if seen:
            self.signs.append(Sign(what, where, detail))

    def seen(self) -> Seen:
        """All of it."""
        return Seen(tuple(self.signs), {what: frozenset(places) for what, places in self.looked.items()})
