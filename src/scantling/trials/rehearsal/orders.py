"""What is asked of an office that is kept up, in words that a person types, and what it answers; plain data that goes through a pipe."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from scantling.figures.spelled import nearest, quoted
from scantling.outputs.files import Written
from scantling.plan.make import Plan
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.results import Rehearsed

FILE_NAME = re.compile(r"[\w][\w.-]{0,99}", re.ASCII)
ENDING = ".pcap"
MOST = 20
"""Names that are told of, where one is not known."""
WORDS: Mapping[str, str] = {
    "go STATION": "a shell in that station, with its own files where it has any; exit comes back here",
    "who [ZONE]": "every station and its addresses",
    "try WORDS": 'one packet, such as "laptops-01 tcp files:445": what is meant, what the rules say, what a real one does',
    "listen ZONE [FILE]": "begin a capture of all that is sent in a zone",
    "enough": "end every capture; it is written where --out says, else nothing is written",
    "again": "read the brief again, load what has changed, prove and try it",
    "leave": "end it; nothing is left of the office",
}
"""What may be typed, and what it does."""
HELP = "help"


class OrderError(Exception):
    """Words that mean nothing here, told with what would be understood."""


@dataclass(frozen=True, slots=True)
class Go:
    """A shell in a station."""

    station: str


@dataclass(frozen=True, slots=True)
class Who:
    """Stations and their addresses; of one zone, or of all."""

    zone: str = ""


@dataclass(frozen=True, slots=True)
class Try:
    """One packet."""

    words: str


@dataclass(frozen=True, slots=True)
class Listen:
    """A capture of a zone begins."""

    zone: str
    file: str


@dataclass(frozen=True, slots=True)
class Enough:
    """All captures end."""


@dataclass(frozen=True, slots=True)
class Again:
    """The plan as the brief has it by now; the driver finds it, for no file of the host can be trusted to be readable inside."""

    plan: Plan | None = None
    files: Mapping[str, Written] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Leave:
    """It ends."""


Order = Go | Who | Try | Listen | Enough | Again | Leave
PLAIN: Mapping[str, Order] = {"enough": Enough(), "again": Again(), "leave": Leave()}


@dataclass(frozen=True, slots=True)
class Ready:
    """All that was wished for is done, the office stays up and waits for orders."""

    found: Rehearsed


@dataclass(frozen=True, slots=True)
class Said:
    """The answer to an order."""

    lines: tuple[str, ...]
    captures: tuple[tuple[str, bytes], ...] = ()
    """Files that are to be written, if anything is."""


def read_order(line: str, office: Office) -> Order | None:
    """What a line means; None where it asks for help or nothing. Raises OrderError."""
    word, _, rest = line.strip().partition(" ")
    rest = rest.strip()
    if word in {"", HELP}:
        return None
    if word == "try" and rest:
        return Try(rest.strip('"'))
    parts = rest.split()
    if word in PLAIN and not parts:
        return PLAIN[word]
    if word == "who" and len(parts) <= 1:
        return Who(*(_zone(part, office) for part in parts))
    if word == "go" and len(parts) == 1:
        return Go(_known(parts[0], [one.slug for one in office.stations], "station"))
    if word == "listen" and len(parts) in {1, 2}:
        return Listen(_zone(parts[0], office), _file(*(parts[1:] or parts)))
    known = {one.partition(" ")[0]: one for one in WORDS}
    if word in known:
        raise OrderError(f"write it as: {known[word]}")
    near = nearest(word, [*known, HELP])
    raise OrderError(
        f"{quoted(word)} is not understood; {f'did you mean {near}?' if near else 'type help for all words'}"
    )


def _zone(word: str, office: Office) -> str:
    return _known(word, [one.slug for one in office.segments], "zone")


def _known(word: str, names: Sequence[str], what: str) -> str:
    """The name, if there is one. Raises OrderError."""
    if word in names:
        return word
    near = nearest(word, names)
    hint = (
        f"did you mean {near}?" if near else f"there are {', '.join(names[:MOST])}{', ...' if names[MOST:] else ''}"
    )
    raise OrderError(f"there is no {what} {quoted(word)}; {hint}")


def _file(word: str) -> str:
    """The name of a capture's file: no path. Raises OrderError."""
    if FILE_NAME.fullmatch(word) is None:
        raise OrderError(f"{quoted(word)} is no name of a file: letters, digits, dots and dashes alone, no folder")
    return word if word.endswith(ENDING) else f"{word}{ENDING}"
