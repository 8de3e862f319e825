"""Lines of the brief on traffic: read with the words of the office, and every mistake told at its own word."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from scantling.figures import FIREWALL, End, Transport, Window
from scantling.handbook.hours import read_hours
from scantling.handbook.spoken import parted, read_carried
from scantling.handbook.whereabouts import Whereabouts

FROM, TO, WHAT, HOURS = "from", "to", "what", "hours"


@dataclass(frozen=True)
class Wish:
    """One line as read: pairs of different zones, what is carried, when; and what is wrong with it, by its word."""

    pairs: tuple[tuple[End, End], ...]
    carried: tuple[Transport, ...]
    windows: tuple[Window | None, ...]
    inside: tuple[str, ...] = ()
    """Zones in which both ends of a pair lie, so that the firewall is never asked."""
    wrong: Mapping[str, str] = field(default_factory=dict)


def read_wish(words: Mapping[str, str], where: Whereabouts) -> Wish:
    """A line by its words: from, to, what, and hours where given."""
    wrong: dict[str, str] = {}
    sources, targets = (read_ends(words[one], where) for one in (FROM, TO))
    for name, ends in ((FROM, sources), (TO, targets)):
        if ends.wrong:
            wrong[name] = "; ".join(ends.wrong)
    moving = [end.label for end in sources.ends if end.named and not end.networks]
    if moving:
        wrong[FROM] = (
            f"{', '.join(moving)} is known by names only, so no rule can tell who comes from there; give its networks"
        )
    carried = read_carried(words[WHAT])
    if carried.wrong:
        wrong[WHAT] = "; ".join(carried.wrong)
    windows: tuple[Window | None, ...] = (None,)
    if HOURS in words:
        try:
            windows = read_hours(words[HOURS])
        except ValueError as said:
            wrong[HOURS] = str(said)
    pairs = [(source, _doored(source, target, where)) for source in sources.ends for target in targets.ends]
    apart = tuple(pair for pair in pairs if pair[0].zone != pair[1].zone)
    inside = tuple(dict.fromkeys(source.zone for source, target in pairs if source.zone == target.zone))
    return Wish(() if wrong else apart, carried.transports, windows, () if wrong else inside, wrong)


@dataclass(frozen=True)
class Ends:
    """Ends that words mean, and the words that mean nothing, each in a sentence."""

    ends: tuple[End, ...]
    wrong: tuple[str, ...] = ()


def read_ends(text: str, where: Whereabouts) -> Ends:
    """Words parted by commas."""
    found, wrong = list[End](), list[str]()
    for word in parted(text):
        try:
            found += where.called(word)
        except ValueError as said:
            wrong.append(str(said))
    return Ends(tuple(found), tuple(wrong))


def _doored(source: End, target: End, where: Whereabouts) -> End:
    """Inside, the firewall is spoken to at its own address in the zone of whoever speaks."""
    door = where.door(source.zone)
    return door if target.zone == FIREWALL and not target.networks and door.networks else target
