"""One verb a command, same word: plan, why, book, and the reference that is made from the code."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scantling import UserError
from scantling.brief import Declined, LastingChoices, Office, Pins, Section, Support
from scantling.brief.loading import BriefError, Default, Kept, load
from scantling.brief.reading import is_there, read_text
from scantling.brief.sections import ask_of, group, reader
from scantling.catalogue import Catalogue, CatalogueError, House, Practice
from scantling.catalogue.overlay import laid_over, says_something, snapshot
from scantling.catalogue.reading import DATA, CatalogueFileError, all_columns, read
from scantling.figures import Pin, PinError
from scantling.figures.numbers import text
from scantling.figures.placed import Mistake
from scantling.figures.quantities import parse
from scantling.figures.units import Unit
from scantling.handbook.choosing import silent
from scantling.plan.make import Inputs, Plan, make
from scantling.plan.spine import PlanError, columns, practices, sections, trades
from scantling.standing import SECTIONS as STANDING_SECTIONS
from scantling.standing import Standing
from scantling.standing.loading import stands as read_standing

if TYPE_CHECKING:
    from scantling.plan.options import OptionPlan
    from scantling.plan.telling import Line
    from scantling.plan.weighing import Weighed
    from scantling.trials.rehearsal.results import Rehearsed

STANDING = "standing.yaml"
"""What stands lies in this file beside the brief."""
FIRM = "firm"
"""A firm's own rows and house rules lie in this folder beside the brief."""
OFFICE_SECTIONS: tuple[type[Section], ...] = (Office, Support, LastingChoices, Declined, Pins)


@dataclass(frozen=True)
class Stock:
    """Catalogue and house rules, read once."""

    catalogue: Catalogue
    house: House

    @cached_property
    def known(self) -> Kept:
        """What a brief may leave out, and the words that it may use."""
        return Kept(defaults(self.house), words(self.catalogue))

    @cached_property
    def stands(self) -> Callable[[str, str], Standing]:
        """Reads what stands, the same text once. Raises BriefError."""
        return lru_cache(8)(lambda written, file: read_standing(written, file, self.catalogue, self.house))


LAID: dict[Any, Stock] = {}
"""The stock of the firm's folder that was read last, by all that its files held."""


def stock(folder: Path = DATA, firm: Path | None = None) -> Stock:
    """The catalogue and house rules of a folder, a firm's own laid over them. Raises UserError with every mistake.

    Ours are read once; a firm's files as often as they have changed, since a firm changes them while the program runs.
    """
    ours = own_stock(folder)
    if firm is None:
        return ours
    seen = snapshot(firm)
    if (known := LAID.get((folder, seen))) is not None:
        return known
    made = _laid(ours, firm)
    if seen is not None and snapshot(firm) == seen:
        LAID.clear()  # a firm has one such folder; what it held before is of no use
        LAID[folder, seen] = made
    return made


def _laid(ours: Stock, firm: Path) -> Stock:
    modules = trades()
    rules = [*_fallbacks([*known_sections(), *STANDING_SECTIONS]), *practices(modules)]
    try:
        laid = laid_over((ours.catalogue, ours.house), firm, all_columns(columns(modules)), rules)
    except CatalogueFileError as wrong:
        raise UserError(str(wrong)) from None
    return Stock(*laid)


@cache
def own_stock(folder: Path = DATA) -> Stock:
    """Catalogue and house rules of a folder as they are. Raises UserError with every mistake."""
    modules = trades()
    try:
        catalogue, house = read(folder, columns(modules), practices(modules))
    except CatalogueFileError as wrong:
        raise UserError(str(wrong)) from None
    return Stock(catalogue, house)


def stock_for(brief: Path, firm: Path | None = None) -> Stock:
    """What a brief is planned from: the firm's folder that is named, else the one beside the brief. Raises UserError."""
    beside = brief.parent / FIRM
    return stock(firm=firm if firm is not None else beside if says_something(beside) else None)


def _fallbacks(known: Iterable[type[Section]]) -> Iterator[Practice[Any]]:
    """House rules that answer where a brief is silent, with the unit of what they answer."""
    for section in known:
        for asks in section.model_fields.values():
            one, below = reader(asks), group(asks)
            if (key := ask_of(asks).assumed) and one is not None:
                yield Practice(key, one.unit)
            if below is not None:
                yield from _fallbacks([below])


def known_sections() -> list[type[Section]]:
    """The office's own sections, then those of the trades."""
    return [*OFFICE_SECTIONS, *sections(trades())]


def defaults(house: House) -> Mapping[str, Default]:
    """What the brief may leave out, as house rules say."""
    return {key: Default(line.texts[0], line.why, line.laid_at) for key, line in house.lines.items()}


@dataclass(frozen=True)
class Found:
    """The text of a standing file and the name that its mistakes are told under."""

    text: str = ""
    file: str = STANDING


def inputs(written: str, file: str, kept: Stock, stands: Found = Found()) -> Inputs:
    """Sections, stock, pins and what stands, of a brief's text. Raises UserError."""
    try:
        return read_inputs(written, file, kept, stands)
    except BriefError as wrong:
        raise UserError(str(wrong)) from None


def read_inputs(written: str, file: str, kept: Stock, stands: Found) -> Inputs:
    """The same. Raises BriefError with each mistake and its place."""
    read = load(written, file, known_sections(), kept.known)
    office = read[Office]
    assert isinstance(office, Office)
    _priced_alike(office, file, kept.catalogue.currency)
    standing = kept.stands(stands.text, stands.file)
    return Inputs(read, kept.catalogue, kept.house, _pins(read.get(Pins), kept.catalogue.currency), standing)


def _priced_alike(office: Office, file: str, currency: str) -> None:
    """Raises BriefError where the brief reckons in another currency than the catalogue."""
    if text(office.currency) != currency:
        line = int(getattr(office.currency.how, "place", "").rpartition(":")[2] or 1)
        says = f"the catalogue's prices are in {currency}; write {currency}"
        raise BriefError([Mistake(file, line, 1, "office.currency", says)])


def _pins(written: Section | None, currency: str) -> dict[str, Pin]:
    items = written.items if isinstance(written, Pins) else {}
    return {
        id_: Pin(
            text(line.value),
            text(line.because),
            getattr(line.value.how, "place", ""),
            partial(_pinned_to, currency),
        )
        for id_, line in items.items()
    }


def _pinned_to(currency: str, written: str, unit: Unit[Any]) -> Any:
    """A pin's text as a value of its figure's unit; by name, so that a plan with pins can be sent to another process."""
    return parse(written, unit, currency)[0]


def plan_text(
    written: str,
    file: str = "brief.yaml",
    tell: Callable[[int], None] = silent,
    kept: Stock | None = None,
    stands: str = "",
) -> Plan:
    """The plan of a brief's text, from the stock given or our own and what stands. Raises UserError."""
    try:
        return asked_twice(make(inputs(written, file, kept or stock(), Found(stands)), tell))
    except (PlanError, PinError, CatalogueError) as wrong:
        raise UserError(str(wrong)) from None


def plan(path: Path, tell: Callable[[int], None] = silent, firm: Path | None = None) -> Plan:
    """The plan of a brief's file, with the standing file and the firm's folder that lie beside it. Raises UserError.

    `firm` names another folder of a firm's own rows and house rules. Where the brief pins anything, the plan tells what
    each pin costs.
    """
    from scantling.plan.pinning import price_of_pins  # noqa: PLC0415 - loaded when needed

    found = inputs_at(path, firm)
    try:
        made = asked_twice(make(found, tell))
        return replace(made, pin_prices=price_of_pins(found, made, tell)) if found.pins else made
    except (PlanError, PinError, CatalogueError) as wrong:
        raise UserError(str(wrong)) from None


def asked_twice(made: Plan) -> Plan:
    """The plan with what a second solver says of its purchase, and the proof of its firewall's rules."""
    from scantling.api.proving import proved  # noqa: PLC0415 - a plan that is told at once does without
    from scantling.plan.confirming import with_confirmation  # noqa: PLC0415 - as above
    from scantling.trials.confirming import confirmed  # noqa: PLC0415 - as above

    return proved(with_confirmation(made, confirmed(made)))


def inputs_at(path: Path, firm: Path | None = None, written: str | None = None) -> Inputs:
    """What a brief's file is planned from, with what lies beside it; `written` is taken in place of the file's text.

    Raises UserError.
    """
    try:
        written = read_text(path) if written is None else written
        beside = path.with_name(STANDING)
        stands = read_text(beside) if is_there(beside) else ""
    except BriefError as wrong:
        raise UserError(str(wrong)) from None
    return inputs(written, path.name, stock_for(path, firm), Found(stands))


def why(made: Plan, id_: str) -> tuple[Line, ...]:
    """The working of one figure as a tree. Raises UserError naming the nearest ids."""
    from scantling.plan.telling import NoSuchFigureError, find  # noqa: PLC0415 - loaded when needed
    from scantling.plan.telling import why as told_why  # noqa: PLC0415 - as above

    try:
        return tuple(told_why(made, find(made, id_), id_))
    except NoSuchFigureError as wrong:
        raise UserError(str(wrong)) from None


def book(
    made: Plan,
    folder: Path,
    options: Sequence[OptionPlan] = (),
    weighed: Weighed | None = None,
    rehearsal: Rehearsed | None = None,
) -> Mapping[str, int]:
    """Write plan, drawings and book into a folder; sizes by name. Raises UserError, and then nothing is half-written.

    Firm options, where some are given, stand side by side in the book and in a file of their own; what was weighed, where it
    is given, has a sheet there; so has a rehearsal, with its drawings.
    """
    from scantling.api.rehearsal_chapter import chapter  # noqa: PLC0415 - loaded when needed
    from scantling.outputs.documents.pdf import PrintError  # noqa: PLC0415 - the document compiler is heavy
    from scantling.outputs.publish import published  # noqa: PLC0415 - as above
    from scantling.outputs.writing import OutputError, write_all  # noqa: PLC0415 - as above

    more = chapter(made, rehearsal) if rehearsal is not None else None
    try:
        files = published(made, options, weighed, more)
        write_all(folder, files)
    except (OutputError, PrintError) as wrong:
        raise UserError(str(wrong)) from None
    return {name: len(content) for name, content in files.items()}


def words(catalogue: Catalogue) -> dict[str, list[str]]:
    """The words that a brief may use for rows of each kind, as people write them: the name, or the slug of a title."""
    return {
        kind: sorted(
            name if (name := str(row.values.get("name", slug))).islower() else slug for slug, row in rows.items()
        )
        for kind, rows in catalogue.rows.items()
    }
