"""What long work there is: the command of each kind, what may be chosen with it, and what its end means."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from scantling import UserError
from scantling.web.own_python import python

BOOK, FILES, REHEARSAL, WEIGHING = "book", "files", "rehearsal", "weighing"
"""Folders, beside the brief, that work writes."""
RECORD = "rehearsal.json"
LONGEST_YEAR = 5


@dataclass(frozen=True)
class Place:
    """What work is made from and where it writes."""

    folder: Path
    brief: Path
    firm: Path | None = None


@dataclass(frozen=True)
class Choice:
    """Something that may be chosen: its label, the words to choose from (the first holds if nothing is said), their options."""

    label: str
    words: Mapping[str, str]
    options: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class Kind:
    """One kind of long work. `ends` says what an exit code means; `steps` is how many steps it takes, more or less."""

    key: str
    title: str
    doing: str
    says: str
    steps: int
    ends: Mapping[int, str]
    choices: Mapping[str, Choice] = field(default_factory=dict)


def _yes(label: str, *options: str) -> Choice:
    return Choice(label, {"no": "no", "yes": "yes"}, {"yes": options})


YEARS = {str(year): "as it is today" if not year else f"as grown by year {year}" for year in range(LONGEST_YEAR + 1)}
KINDS: Mapping[str, Kind] = {one.key: one for one in (
    Kind(
        "book", "The book", "Writing the book",
        "The whole plan as a book to print, the same as a page, and every drawing by day and by night, in the folder book.",
        4, {0: "The book is written.", 1: "The book is written. A stop finding stands: nothing should be bought from it."},
        {
            "weigh": Choice("Also say what else could be bought", {"yes": "yes", "no": "no, which is quicker"}, {"no": ("--no-weigh",)}),
            "options": _yes("Also lay the firm options side by side", "--options"),
            "rehearsal": Choice(
                "Also bind in the rehearsal that lies here", {"yes": "yes", "no": "no"}, {}
            ),
        },
    ),
    Kind(
        "files", "The files", "Writing the files",
        "Every file that servers and firewall load, and the registers, in the folder files. Nothing is sent to any machine.",
        2, {0: "The files are written.", 1: "The files are written. A stop finding stands: nothing should be built from them."},
    ),
    Kind(
        "rehearsal", "The rehearsal", "Rehearsing the office",
        "The planned office stood up on this machine and tried with real packets; nothing stays when it ends.",
        20, {0: "Everything went as meant.", 1: "Something went otherwise than meant, or the office could not be stood up."},
        {
            "who": Choice(
                "Who takes part", {"some": "one of each row of devices", "everyone": "every device and visitor there is"},
                {"everyone": ("--everyone",)},
            ),
            "year": Choice("How large", YEARS, {year: ("--year", year) for year in YEARS}),
            "family": Choice(
                "Which addresses devices use", {"both": "IPv4 and IPv6", "4": "IPv4 alone", "6": "IPv6 alone"},
                {word: ("--family", word) for word in ("both", "4", "6")},
            ),
            "drill": _yes("Also put faults into it, and see whether each is found", "--drill"),
            "planted": _yes("Also break the rules, and see whether that is noticed", "--planted"),
            "busiest": _yes("Also live the busiest day, hastened", "--busiest-day"),
        },
    ),
    Kind(
        "weighing", "What each demand costs", "Weighing what else could be bought",
        "The next best sets, the price of every demand, and why the rest is never chosen, in the folder weighing.",
        2, {0: "It is weighed."},
    ),
)}  # fmt: skip
STOPPED = "Stopped. What lay there before is as it was."


def chosen(kind: Kind, given: Mapping[str, str]) -> dict[str, str]:
    """What was chosen, the first word where nothing was said. Raises UserError for a word that is none of them."""
    found = {}
    for key, choice in kind.choices.items():
        word = given.get(key) or next(iter(choice.words))
        if word not in choice.words:
            raise UserError(f"{choice.label}: choose one of {', '.join(choice.words)}")
        found[key] = word
    return found


def command(kind: Kind, place: Place, choices: Mapping[str, str]) -> list[str]:
    """The command as a list of words; paths whole, so that it matters not where it is started."""
    brief = str(place.brief.absolute())
    if kind.key == "weighing":
        out = str(place.folder.absolute() / WEIGHING)
        return [
            *python("-m", "scantling.web.weighing"),
            brief,
            out,
            *([str(place.firm.absolute())] if place.firm else []),
        ]
    firm = ["--firm", str(place.firm.absolute())] if place.firm else []
    wished = [word for key, choice in kind.choices.items() for word in choice.options.get(choices[key], ())]
    verb, out = ("rehearse", REHEARSAL) if kind.key == "rehearsal" else (kind.key, kind.key)
    return [
        *python("-m", "scantling"), verb, brief, *firm, "--out", str(place.folder.absolute() / out), *wished,
        *_bound(kind, place, choices),
    ]  # fmt: skip


def _bound(kind: Kind, place: Place, choices: Mapping[str, str]) -> Sequence[str]:
    """The record of a rehearsal, where a book shall have it and it lies there."""
    record = place.folder.absolute() / REHEARSAL / RECORD
    return (
        ("--rehearsal", str(record))
        if choices.get("rehearsal") == "yes" and kind.key == "book" and record.is_file()
        else ()
    )


def came_to(kind: Kind, code: int | None, stopped: bool, words: Sequence[str]) -> str:  # noqa: FBT001 - one of four facts
    """What the end of a work means, in a sentence."""
    known = kind.ends.get(code) if code is not None else None
    if known is None and stopped:
        return STOPPED
    if known is not None:
        return known
    return "It could not be done." if words else f"It ended with exit code {code} and said nothing."
