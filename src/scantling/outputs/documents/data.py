"""The book as JSON for the document compiler; every letter is checked against the fonts first."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

from scantling.figures.pages import Block, Caution, Facts, Picture, Prose, Ruled, Steps
from scantling.outputs.documents.appendix import alone, rows
from scantling.outputs.documents.letters import cleaned, printable
from scantling.outputs.documents.setting import Mark, columns, mark, right
from scantling.outputs.documents.volume import Book, Note, Plate, Sheet, Working

MEASURE = {"letter": 169.9, "A4": 164.0}
"""Width of the text in millimetres: the paper less 26 mm at the binding and 20 mm."""
WHOLE = 16
"""A table of so many rows is not broken over pages."""
NOTHING = Plate("Drawing", "A drawing whose facts stand in the tables of this book.")


def as_data(book: Book, drawings: Mapping[str, str]) -> str:
    """JSON for the template; `drawings` maps a sheet's number to its file in the compiler's root."""
    made = cleaned(
        {
            "client": book.client, "title": book.title, "date": book.date, "revision": book.revision,
            "paper": "us-letter" if book.paper == "letter" else "a4", "language": book.language.split("-", maxsplit=1)[0],
            "planned_for": book.planned_for, "provisional": book.provisional, "fields": [list(one) for one in book.fields],
            "measure": MEASURE.get(book.paper, MEASURE["A4"]), "summary": _summary(book),
            "drawings": [_drawing(number, file, book) for number, file in drawings.items()],
            "sheets": [_sheet(sheet, book, drawings) for sheet in book.sheets],
            "notes": [_note(note, book) for note in book.notes],
            "lasting": [_block(block, book, drawings) for block in book.lasting],
            "cautions": [_block(caution, book, drawings) for caution in book.cautions],
            "assumed": _ruled(book.assumed, book),
            "workings": [_group(trade, entries, book) for trade, entries in book.workings],
        }
    )  # fmt: skip
    odd = [{"mark": letter, "place": place} for letter, place in sorted(made.odd.items())]
    return json.dumps({**made.data, "odd": odd}, ensure_ascii=False)


def _group(trade: str, entries: Sequence[Working], book: Book) -> dict[str, Any]:
    told = [
        {"id": one.id, "label": one.label, "value": one.value, "working": one.working,
         "inputs": [id_ for id_ in one.inputs if id_ in book.ids]}
        for one in alone(entries)
    ]  # fmt: skip
    return {"trade": trade, "entries": told, "rows": [asdict(row) for row in rows(entries)]}


def _summary(book: Book) -> dict[str, Any]:
    summary = book.summary
    price = _cell(mark(summary.price, book)) if summary.price is not None else None
    return {"price": price, "buys": _ruled(summary.buys, book), "numbers": _facts(summary.numbers, book)}


def _drawing(number: str, file: str, book: Book) -> dict[str, str]:
    plate = book.plates.get(number, NOTHING)
    return {"number": number, "file": file, "alt": plate.says, "title": plate.title}


def _sheet(sheet: Sheet, book: Book, drawings: Mapping[str, str]) -> dict[str, Any]:
    blocks = [_block(block, book, drawings) for block in sheet.blocks]
    return {"number": sheet.number, "title": sheet.title, "blocks": blocks}


def _note(note: Note, book: Book) -> dict[str, Any]:
    figures = [{"label": figure.label, "cell": _cell(mark(figure, book))} for figure in note.figures]
    return {
        "number": str(note.number), "weight": note.weight, "code": note.code, "says": note.says, "remedy": note.remedy,
        "declined": note.declined, "figures": figures,
    }  # fmt: skip


def _block(block: Block, book: Book, drawings: Mapping[str, str]) -> dict[str, Any]:
    match block:
        case Prose():
            return {"kind": "prose", "words": block.words}
        case Facts():
            return _facts(block, book)
        case Ruled():
            return _ruled(block, book)
        case Caution():
            return {"kind": "caution", "title": block.title, "words": block.words}
        case Steps():
            return {"kind": "steps", "title": block.title, "items": list(block.items)}
        case Picture():
            known = block.drawing if block.drawing in drawings else ""
            return {"kind": "picture", "drawing": known, "words": block.says}


def _facts(block: Facts, book: Book) -> dict[str, Any]:
    lines = [[mark(label, book), mark(cell, book)] for label, cell in block.rows]
    return {"kind": "facts", "title": block.title, **_table(("", ""), lines, book), "right": [False, True]}


def _ruled(block: Ruled, book: Book) -> dict[str, Any]:
    lines = [[mark(cell, book) for cell in row] for row in block.rows]
    return {"kind": "ruled", "caption": block.caption, "heads": list(block.heads), **_table(block.heads, lines, book)}


def _table(heads: Sequence[str], lines: Sequence[Sequence[Mark]], book: Book) -> dict[str, Any]:
    measured = [[replace(one, text=printable(one.text)) for one in line] for line in lines]
    planned = columns([printable(head) for head in heads], measured, MEASURE.get(book.paper, MEASURE["A4"]))
    return {
        "rows": [[_cell(one) for one in line] for line in lines],
        "right": [right(lines, i) for i in range(len(heads))],
        "widths": list(planned.widths),
        "size": planned.size,
        "whole": len(lines) <= WHOLE,
    }


def _cell(one: Mark) -> dict[str, Any]:
    return {"text": one.text, "id": one.id, "mono": one.mono}
