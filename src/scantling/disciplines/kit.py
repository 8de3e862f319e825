"""Kit: what stands already, judged like anything else: warranty, age, how well it is known, and what replacing it costs.

Figures:
    kit.horizon                     the day until which all must last
    kit.found.<slug>.age            age of what a survey found
    kit.found.<slug>.replacing      price of replacing it
    kit.bought.<slug>.age           age of what a plan had bought
    kit.bought.<slug>.replacing     price of replacing it
    kit.instead.<slot>              price of what takes the place of a part that gave way
Findings: K-1 K-2 K-3 K-4 K-5 K-6 K-7.
Records: Page.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

from scantling.brief import Office
from scantling.catalogue import Article, Catalogue, House, Practice
from scantling.figures import (
    PRICE, Caution, Chosen, Desk, Figure, Finding, Of, Page, Prose, Ruled, Weight, text,
)  # fmt: skip
from scantling.figures.units import WORD, YEAR
from scantling.handbook.ages import age_on, earlier, years_on
from scantling.handbook.money import price_of
from scantling.handbook.sizing import beyond, both, negated, same
from scantling.standing import Doing, Part, Piece, Standing

RETIRED, GUESSED = Practice("kit.retired", WORD), Practice("kit.guessed", WORD)
OTHER = "other"
AGES = {
    kind: Practice(f"kit.age-{kind.replace('_', '-')}", YEAR)
    for kind in (
        "host", "processor", "module", "disk", "boot_disk", "ups", "backup", "switch", "box", "cabinet", OTHER,
    )
}  # fmt: skip
BATTERY = "ups"
WIPE = (
    "Wipe or destroy every disk and chip that kept data, and write down which, when and by whom. Hand the rest to a licensed "
    "collector of electrical waste"
)
BATTERY_WORDS = " Its batteries are heavy, hold acid or lithium and can burn: leave them in it, and let a licensed collector take them."
CAUTION = (
    "Have it switched off and unplugged by somebody who may. Old servers and battery units are heavy: two people or a lift. "
    "Batteries can burn or leak; do not open, pierce or short them. Disks hold people's private data until they are wiped or "
    "destroyed. Local rules on waste and on data come first."
)


@dataclass(frozen=True)
class _Thing:
    """One thing that stands: its figures' place, what it is, and its age and price of replacing where they are known."""

    at: Desk
    slug: str
    kind: str
    slot: str
    piece: Piece | Part
    age: Figure[float] | None
    replacing: Figure[Decimal] | None

    @property
    def retired(self) -> bool:
        """Whether it is to go."""
        return isinstance(self.piece, Piece) and text(self.piece.do) == Doing.RETIRE

    @property
    def named(self) -> Figure[str] | None:
        """Its name, or the article that it is; None where neither is written."""
        return (
            self.piece.name if isinstance(self.piece, Piece) and self.piece.name is not None else self.piece.article
        )

    @property
    def called(self) -> str:
        """The place of its name in a sentence; its own word where it has none."""
        return "{thing}" if self.named is not None else self.slug

    def shown(self, **more: Figure[Any] | None) -> dict[str, Figure[Any]]:
        """What a sentence about it shows, as far as it is known."""
        every = {"thing": self.named, "replacing": self.replacing, **more}
        return {word: figure for word, figure in every.items() if figure is not None}

    @property
    def price(self) -> str:
        """What replacing it costs, in words."""
        return " Replacing it costs {replacing}." if self.replacing is not None else ""


def design(
    office: Office, standing: Standing, catalogue: Catalogue, house: House, chosen: Chosen, desk: Desk
) -> Iterator[Finding | Page]:
    """Every thing that stands, on the day of the plan and at its horizon."""
    things = list(_things(office, standing, catalogue, chosen, desk))
    if not things:
        return
    horizon = years_on.of(day=office.as_of, years=office.horizon)
    horizon = desk.figure("horizon", horizon, "The day until which all must last")
    for thing in things:
        yield from _known(thing, house)
        yield from _ahead(thing, office.as_of)
        if not thing.retired and _stays(thing, chosen):
            yield from _judged(thing, office.as_of, horizon, house)
    yield from _gave_way(chosen, desk)
    yield _page(things)


def _things(office: Office, standing: Standing, catalogue: Catalogue, chosen: Chosen, desk: Desk) -> Iterator[_Thing]:
    """What a survey found, then what was bought."""
    rows = {slug: row for kind in catalogue.rows.values() for slug, row in kind.items()}
    every: dict[str, Mapping[str, Piece | Part]] = {"found": standing.kit, "bought": standing.bought}
    for where, pieces in every.items():
        for at, slug, piece in desk.each(pieces, where):
            row = rows.get(text(piece.article)) if piece.article is not None else None
            slot = text(piece.serves) if piece.serves is not None else ""
            since, age = piece.since if isinstance(piece, Piece) else piece.on, None
            if since is not None:
                age = at.figure("age", age_on.of(since=since, day=office.as_of), f"{slug}: age")
            thing = _Thing(at, slug, row.kind if row is not None else _kind(piece), slot, piece, age, None)
            yield thing if thing.retired else replace(thing, replacing=_replacing(thing, row, chosen))


def _stays(thing: _Thing, chosen: Chosen) -> bool:
    """Whether the plan has a use for it; what gives way is told as that (K-6)."""
    stands_for = thing.piece.stands_for if isinstance(thing.piece, Part) else None
    article = thing.piece.article if stands_for is None else stands_for
    return not chosen.has(thing.slot) or article is None or text(article) in dict(chosen.parts(thing.slot))


def _kind(piece: Piece | Part) -> str:
    """The kind that a survey writes down, where the house has an age for it."""
    written = piece.kind if isinstance(piece, Piece) else None
    word = text(written).lower().replace(" ", "_").replace("-", "_") if written is not None else OTHER
    return word if word in AGES else OTHER


def _replacing(thing: _Thing, row: Article | None, chosen: Chosen) -> Figure[Decimal] | None:
    """What the cheapest part that fits in its place costs; of what serves no part, the price of as many like it."""
    if thing.slot in chosen.stood:
        price = chosen.stood[thing.slot].replacing
    elif row is not None and row.get(PRICE) is not None:
        price = price_of.of(count=thing.piece.count, each=row.figure(PRICE))
    else:
        return None
    return thing.at.figure("replacing", price, f"{thing.slug}: replacing it")


def _known(thing: _Thing, house: House) -> Iterator[Finding]:
    """What is only guessed (K-4), and what is to go (K-5)."""
    if not isinstance(thing.piece, Piece):
        return
    gone = same.of(one=thing.piece.do, other=house[RETIRED])
    guessed = both.of(one=same.of(one=thing.piece.known, other=house[GUESSED]), other=negated.of(given=gone))
    yield Finding(
        "K-4", Weight.MEND, guessed, f"Nobody has looked at {thing.called}: what is known of it is a guess.",
        "Go and look before anything is ordered: maker's plate, serial number, ports, disks, date of purchase.",
        thing.shown(), thing.slot or thing.slug,
    )  # fmt: skip
    battery = BATTERY_WORDS if thing.kind == BATTERY else ""
    yield Finding(
        "K-5", Weight.NOTE, gone, f"{thing.called} is to go.", f"{WIPE}.{battery} Keep it until what takes its place has "
        "run for a month and one restore was tried.", thing.shown(), thing.slug,
    )  # fmt: skip


def _ahead(thing: _Thing, today: Figure[date]) -> Iterator[Finding]:
    """What a survey found that was not there yet on the day of the plan."""
    if isinstance(thing.piece, Piece) and thing.piece.since is not None:
        yield Finding(
            "K-7", Weight.MEND, earlier.of(one=today, other=thing.piece.since),
            f"{thing.called} is said to stand since {{since}}, which is after {{today}}, the day of this plan.",
            "Correct the day in the standing file, or office.as_of in the brief: its age counts as nothing until then.",
            thing.shown(since=thing.piece.since, today=today), thing.slot or thing.slug,
        )  # fmt: skip


def _judged(thing: _Thing, today: Figure[date], horizon: Figure[date], house: House) -> Iterator[Finding]:
    """Warranty now (K-1) and until the horizon (K-2), and age (K-3)."""
    about, until = thing.slot or thing.slug, thing.piece.warranty_until
    if until is not None:
        over = earlier.of(one=until, other=today)
        soon = both.of(one=earlier.of(one=until, other=horizon), other=negated.of(given=over))
        yield Finding(
            "K-1", Weight.MEND, over, f"{thing.called} has been out of warranty since {{until}}.{thing.price}",
            "Replace it, buy a warranty for it, or keep a spare and write down who agreed to the risk.",
            thing.shown(until=until), about,
        )  # fmt: skip
        yield Finding(
            "K-2", Weight.NOTE, soon, f"The warranty of {thing.called} ends on {{until}}, before {{horizon}}.{thing.price}",
            "Put the day and the price into the plan for later years.", thing.shown(until=until, horizon=horizon), about,
        )  # fmt: skip
    if thing.age is not None:
        limit = house[AGES.get(thing.kind, AGES[OTHER])]
        yield Finding(
            "K-3", Weight.MEND, beyond.of(have=thing.age, limit=limit),
            f"{thing.called} is {{age}} old; after {{limit}} such a thing is no longer relied on.{thing.price}",
            "Replace it, or give it work that nobody misses. If it stays, copy what is on it first.",
            thing.shown(age=thing.age, limit=limit), about,
        )  # fmt: skip


def _gave_way(chosen: Chosen, desk: Desk) -> Iterator[Finding]:
    """A part that stands and that the purchase could not use (K-6)."""
    for slot, stood in chosen.stood.items():
        price = None
        if chosen.options[slot].get(PRICE) is not None:
            price = desk.figure(f"instead.{slot}", chosen.of(Of(slot, PRICE)), f"Instead of what stands: {slot}")
        costs = " What takes its place costs {price}." if price is not None else ""
        shown = {"price": price} if price is not None else {}
        yield Finding(
            "K-6", Weight.NOTE, stood.gave_way,
            f"Of what stands as {slot} ({stood.parts}) not all can stay. Kept as it is it would fail: {stood.because}.{costs}",
            "Ease what it fails, if the client can bear that. Else write into the standing file that it is to retire, once "
            "the new part is in.", shown, slot,
        )  # fmt: skip


def _page(things: list[_Thing]) -> Page:
    heads = ("what", "how many", "to", "known", "since", "age", "warranty until", "place", "replacing")
    marks = [
        (
            _cell(thing.named, thing.slug),
            _cell(thing.piece.serial),
            _cell(getattr(thing.piece, "hardware_address", None)),
        )
        for thing in things
        if thing.piece.serial is not None or getattr(thing.piece, "hardware_address", None) is not None
    ]
    plates = [Ruled("Maker's plates", ("what", "serial number", "hardware address"), marks)] if marks else []
    going = [Caution("What is to go", CAUTION)] if any(thing.retired for thing in things) else []
    return Page("kit", "G", "What stands", (
        Prose("What is there already, from the survey and from what was bought. What is kept costs nothing and is judged "
              "like anything else; the last column says what replacing it would cost."),
        Ruled("What stands", heads, [_row(thing) for thing in things]), *plates, *going,
    ), 4)  # fmt: skip


def _row(thing: _Thing) -> tuple[Figure[Any] | str, ...]:
    piece = thing.piece
    todo = (piece.do, piece.known, piece.since) if isinstance(piece, Piece) else ("bought", "", piece.on)
    return (
        _cell(thing.named, thing.slug), piece.count, *map(_cell, todo), _cell(thing.age), _cell(piece.warranty_until),
        _cell(piece.place), _cell(thing.replacing),
    )  # fmt: skip


def _cell(given: Figure[Any] | str | None, otherwise: str = "") -> Figure[Any] | str:
    return given if given is not None else otherwise
