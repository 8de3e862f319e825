"""The sheet list at the top of every page: the letters of the set, and the sheets of the letter that is shown, in few rows."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scantling.web.parts import LETTERS, Part, Sheet, View
from scantling.web.rendering import render

SHORT: Mapping[str, str] = {
    "Server and storage": "Server",
    "Power and place": "Power, place",
    "Order and price": "Price",
    "Door schedule for the technician": "Door schedule",
    "Lines to the outside": "Lines",
    "Ways in from elsewhere": "Ways in",
    "Address register": "Register",
    "Switches and their ports": "Switches",
    "Who may reach whom and why": "Reach, and why",
    "The rule list": "Rules",
    "Addresses held on the busiest day": "Busiest day",
}
"""What a long name is cut to in the list; whoever points at it, and the sheet itself, get the whole of it."""


@dataclass(frozen=True)
class Entry:
    """One sheet in the list. Of what the entry before says too, only the rest is shown; `title` is the whole."""

    sheet: Sheet
    heard: str
    seen: str

    @property
    def title(self) -> str:
        """The whole name, where the list shows less of it."""
        return self.sheet.title if self.sheet.title != self.seen else ""


def entries(sheets: Sequence[Sheet]) -> Iterator[Entry]:
    """The sheets of one letter as they are listed."""
    before = ""
    for sheet in sheets:
        heard, seen = "", SHORT.get(sheet.title, sheet.title)
        if sheet.title == before:
            heard, seen = seen, ""
        elif before and sheet.title.startswith(f"{before}, "):
            heard, seen = f"{before},", sheet.title.removeprefix(f"{before}, ")
        yield Entry(sheet, heard, seen)
        before = sheet.title


def sheet_list(view: View, sheets: Sequence[Sheet], shown: Sheet | None) -> Part:
    """The letters of the set, and the sheets of the letter that is shown."""
    letters = [(letter, name, SHORT.get(name, name), next(s for s in sheets if s.number[0] == letter))
               for letter, name in LETTERS.items() if any(sheet.number[0] == letter for sheet in sheets)]  # fmt: skip
    here = shown.number[0] if shown is not None else ""
    mine = list(entries([sheet for sheet in sheets if sheet.number[0] == here]))
    return Part(
        "sheet-list", render("sheet_list.html.j2", view, letters=letters, entries=mine, here=here, shown=shown)
    )
