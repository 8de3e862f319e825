"""The book as JSON for the document compiler, every letter checked against the fonts first."""

import json
from functools import cache
from typing import Any

from scantling.figures.pages import Block, Caution, Facts, Picture, Prose, Ruled, Steps
from scantling.outputs.documents.book import Book, mark
from scantling.outputs.fonts import FOLDER


@cache
def letters() -> frozenset[str]:
    """Every letter that one of the vendored fonts has."""
    tables = json.loads((FOLDER / "advances.json").read_text(encoding="utf-8"))
    return frozenset(letter for table in tables.values() for run in table["widths"].values() for letter in run)


def printable(words: str) -> str:
    """The same words; a letter that no font has becomes a box with its number, a control character nothing."""
    known = letters()
    if all(letter in known and letter.isprintable() for letter in words):
        return words
    made = []
    for letter in words:
        if letter in "\n\t\r":
            made.append(" ")
        elif letter.isprintable() and letter in known:
            made.append(letter)
        elif letter.isprintable():
            made.append(f"[U+{ord(letter):04X}]")
    return "".join(made)


def as_data(book: Book, drawings: dict[str, str]) -> str:
    """JSON for the template; `drawings` maps a sheet number to its file name in the compiler's root."""
    data = {
        "client": book.client, "date": book.date, "paper": "us-letter" if book.paper == "letter" else "a4",
        "planned_for": book.planned_for, "provisional": book.provisional, "drawings": _drawings(drawings),
        "summary": [_block(block, book) for block in book.summary],
        "sheets": [
            {"number": sheet.number, "title": sheet.title, "blocks": [_block(block, book) for block in sheet.blocks]}
            for sheet in book.sheets
        ],
        "notes": [
            {"number": str(n.number), "weight": n.weight, "code": n.code, "says": n.says, "remedy": n.remedy, "declined": n.declined}
            for n in book.notes
        ],
        "cautions": [_block(caution, book) for caution in book.cautions],
        "assumed": [{"where": where, "what": what} for where, what in book.assumed],
        "workings": [
            {"trade": trade, "entries": [
                {"id": w.id, "label": w.label, "value": w.value, "working": w.working,
                 "inputs": [{"id": i, "known": i in book.ids} for i in w.inputs]} for w in entries]}
            for trade, entries in book.workings
        ],
    }  # fmt: skip
    return json.dumps(_clean(data), ensure_ascii=False)


def _drawings(drawings: dict[str, str]) -> list[dict[str, str]]:
    """Number, file and alternative text of each drawing."""
    return [
        {"number": number, "file": file, "alt": ALT[number], "title": TITLES[number]}
        for number, file in drawings.items()
    ]


TITLES = {
    "N-1": "Network by rooms", "N-2": "Network by rooms, technician's layer", "S-1": "The server in section",
}  # fmt: skip
ALT = {
    "N-1": "Floor plan: every network zone as a room, with its devices, on a corridor that is the firewall. "
    "The same facts stand in the network tables.",
    "N-2": "The same floor plan with subnets, gateways, ranges and addresses, which stand in the address register too.",
    "S-1": "Section through the server: machines as floors, arrays below, copies beside it, battery as foundation. "
    "The same facts stand in the server, storage and backup tables.",
}


def _clean(value: Any) -> Any:
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, dict):
        return {key: _clean(item) for key, item in value.items()}
    return [_clean(item) for item in value] if isinstance(value, list) else value


def _block(block: Block, book: Book) -> dict[str, Any]:
    if isinstance(block, Prose):
        return {"kind": "prose", "words": block.words}
    if isinstance(block, Facts):
        rows = [{"label": label, "cell": _cell(cell, book)} for label, cell in block.rows]
        return {"kind": "facts", "title": block.title, "rows": rows}
    if isinstance(block, Ruled):
        rows_ = [[_cell(cell, book) for cell in row] for row in block.rows]
        right = [
            bool(rows_) and all(row[i]["number"] or not row[i]["text"] for row in rows_)
            for i in range(len(block.heads))
        ]
        return {"kind": "ruled", "caption": block.caption, "heads": list(block.heads), "rows": rows_, "right": right}
    if isinstance(block, Caution):
        return {"kind": "caution", "title": block.title, "words": block.words}
    if isinstance(block, Steps):
        return {"kind": "steps", "title": block.title, "items": list(block.items)}
    assert isinstance(block, Picture)
    return {"kind": "prose", "words": block.says}


def _cell(cell: Any, book: Book) -> dict[str, Any]:
    made = mark(cell, book)
    return {"text": made.text, "id": made.id, "number": made.number, "mono": made.mono}
