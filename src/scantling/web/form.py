"""The brief as a form: every section, question and named thing that the trades know, with what stands in the text."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

from scantling import api
from scantling.api.planning import OFFICE_SECTIONS, Stock, words
from scantling.brief.meeting import ORDER
from scantling.brief.sections import Section
from scantling.brief.spots import ByKey, Spot, fault
from scantling.figures.placed import Node
from scantling.web.form_filling import (
    NOTHING, REFERRING, Asked, Faults, Filling, Piece, Referred, sections_of, spots_of, tree_of,
)  # fmt: skip
from scantling.web.form_kinds import Field, SectionForm
from scantling.web.parts import View

DOTTED = frozenset(section.key for section in OFFICE_SECTIONS if not section.slugs)
"""Sections whose things are called by ids, which hold dots."""
LAST = tuple(section.key for section in OFFICE_SECTIONS[2:])
"""Sections about a plan that is already there: they stand at the end."""
NO_END = 10**9


@lru_cache(1)
def known() -> ByKey:
    """Every known section by its word, in the order of a first meeting; those about a plan that is there stand last."""
    sections = {section.key: section for section in api.known_sections()}
    rest = [key for key in sections if key not in ORDER and key not in LAST]
    return {key: sections[key] for key in (*(key for key in ORDER if key in sections), *rest, *LAST)}


def asked_of(kept: Stock, by_key: ByKey | None = None) -> Asked:
    """What a form is made from, of a stock."""
    return Asked(by_key or known(), api.defaults(kept.house), words(kept.catalogue), kept.catalogue.currency)


class _Same:
    """A value known by what it is, not by what it says: a catalogue is long."""

    def __init__(self, it: Any) -> None:
        self.it = it

    def __hash__(self) -> int:
        return id(self.it)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.it is self.it


@lru_cache(2)
def _asked(catalogue: _Same, house: _Same) -> Asked:
    return asked_of(Stock(catalogue.it, house.it))


def asked_in(view: View) -> Asked:
    """What the form of the brief on the desk is made from: the stock of the plan, else that beside the brief.

    Raises UserError where there is no plan yet and the firm's own rows can't be read.
    """
    planned = view.state.planned
    kept = planned.inputs if planned is not None else api.stock_for(view.desk.brief, view.desk.firm)
    return _asked(_Same(kept.catalogue), _Same(kept.house))


def readable(text: str) -> bool:
    """Whether a brief's text can be read at all, mistakes of single answers apart."""
    return bool(sections_of(text))


def form_of(view: View) -> tuple[SectionForm, ...]:
    """The form of the brief on the desk. A section that says what it said before is not made anew."""
    faults = tuple((one.line, one.column, one.says) for one in view.state.mistakes)
    return form(view.state.text, asked_in(view), faults)


def field_of(view: View, id_: str) -> Field | None:
    """The field of one answer with its place in the text; None where the brief knows no such answer."""
    for section in form_of(view):
        found = next((one for one in section.fields if one.id == id_), None)
        if found is not None:
            line, column = found.place or (0, 0)
            return replace(found, place=(line + section.begins, column)) if found.place else found
    return None


def form(text: str, asked: Asked, faults: Faults = ()) -> tuple[SectionForm, ...]:
    """The form of a text: every section, in order. A text that can't be read gives an empty form."""
    read = sections_of(text)
    referred = tuple((key, _slugs(read, key)) for key in sorted(set(REFERRING.values())))
    begins = sorted(piece.begins for piece in read.values())
    made = []
    for key, section in asked.by_key.items():
        piece = read.get(key, NOTHING)
        end = next((line for line in begins if line > piece.begins), NO_END)
        own = tuple((line - piece.begins, at, says) for line, at, says in faults if piece.begins < line <= end)
        filled = _filled(section, piece.text, asked, own if key in read else (), referred)
        made.append(replace(filled, begins=piece.begins))
    return tuple(made)


def _slugs(read: Mapping[str, Piece], key: str) -> tuple[str, ...]:
    """The words of a section's named things."""
    node = tree_of(read[key].text).get(key) if key in read else None
    return tuple(node) if isinstance(node, Node) else ()


@lru_cache(128)
def _filled(section: type[Section], text: str, asked: Asked, faults: Faults, referred: Referred) -> SectionForm:
    """A section's form; places are counted from where its own text begins."""
    return Filling(section, text, asked, faults, referred).section()


def spot_of(id_: str, asked: Asked) -> Spot | None:
    """What declares an answer, named things in its id or not; None where nothing does."""
    steps = id_.split(".")
    section = asked.by_key.get(steps[0])
    for at in spots_of(section) if section is not None else ():
        if not at.things and _fits(at.pattern.split("."), steps, dotted=steps[0] in DOTTED):
            return at
    return None


def _fits(pattern: Sequence[str], steps: Sequence[str], *, dotted: bool) -> bool:
    """Whether an id is of a pattern; with `dotted` the word under a star may hold dots itself."""
    if len(steps) != len(pattern) and not (dotted and "*" in pattern and len(steps) > len(pattern)):
        return False
    if len(steps) == len(pattern):
        return all(want in ("*", step) for want, step in zip(pattern, steps, strict=True))
    star = pattern.index("*")
    tail = list(pattern[star + 1 :])
    return list(pattern[:star]) == list(steps[:star]) and list(steps[len(steps) - len(tail) :]) == tail


def wrong_with(id_: str, typed: str, asked: Asked) -> str:
    """What is wrong with an answer as typed, in the brief's own words; empty where it is taken."""
    at = spot_of(id_, asked)
    if at is None:
        return "the brief knows no such answer any more"
    if not typed.strip():
        return "this answer can't be left out" if at.required or at.pattern.endswith(".*") else ""
    return fault(at, typed, asked.currency, asked.words)
