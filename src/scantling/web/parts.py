"""What a sheet on screen is made of: parts that are drawn apart, and sent again only when they differ."""

from collections.abc import Callable, Container, Iterable, Mapping
from dataclasses import dataclass, field, replace
from hashlib import blake2s
from typing import TYPE_CHECKING

from markupsafe import Markup

if TYPE_CHECKING:
    from scantling.web.desk import Desk
from scantling.web.state import State

LETTERS: Mapping[str, str] = {
    "G": "General", "N": "Network", "S": "Server and storage", "B": "Backup", "P": "Power and place", "A": "Rights",
    "O": "Order and price", "T": "Trials", "W": "Works",
}  # fmt: skip
"""The letters of the drawing set, in its order."""
MORPH, REPLACE = "outerMorph", "outerHTML"


@dataclass(frozen=True)
class Part:
    """A piece of a page. The outer element of `html` bears `id`; `swap` says how an old one gives way to a new one."""

    id: str
    html: Markup
    swap: str = MORPH

    @property
    def stamp(self) -> str:
        """What its content is known by."""
        return blake2s(self.html.encode(), digest_size=6).hexdigest()

    @property
    def stamped(self) -> Markup:
        """The part with its stamp on it, so that the page can say what it has."""
        mark = f'id="{self.id}"'
        before, found, after = self.html.partition(mark)
        if not found:
            message = f"part {self.id}: its outer element does not bear the id"
            raise ValueError(message)
        return Markup(f'{before}{mark} data-stamp="{self.stamp}"{after}')  # noqa: S704 - was markup before

    @property
    def sent(self) -> Markup:
        """The part as an answer carries it."""
        return Markup(f'<hx-partial hx-target="#{self.id}" hx-swap="{self.swap}">{self.stamped}</hx-partial>')  # noqa: S704 - as above


@dataclass(frozen=True)
class View:
    """What a tab looks at: the office as it is now, the look, the reader's layer, and what the address asks."""

    state: "State"
    desk: "Desk"
    look: str = "day"
    layer: str = "owner"
    query: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Sheet:
    """A sheet of the set: its letter or number, the name in its address, its title, and what makes its parts.

    `order` places it among its letter: below 0 before the drawings (0 to 9) and the trades' pages (10 to 49), 50 and more after
    them. `drawn` is the number of the drawing it shows, if it is one.
    """

    number: str
    title: str
    parts: Callable[[View], Iterable[Part]]
    order: int = 50
    slug: str = ""
    drawn: str = ""
    concerns: "Callable[[View], Container[int]] | None" = None
    """The numbers of the findings that stand in its margin, as in the book; without it only those that are new."""
    flow: bool = False
    """Whether its parts stand side by side where there is room."""


def numbered(sheets: Iterable[Sheet]) -> list[Sheet]:
    """All sheets in the order of the set, each with its number; drawings keep the numbers they bear on paper."""
    by_letter: dict[str, list[Sheet]] = {letter: [] for letter in LETTERS}
    for sheet in sheets:
        by_letter[sheet.number[0]].append(sheet)
    found = []
    for letter, members in by_letter.items():
        members.sort(key=lambda sheet: sheet.order)
        taken = {sheet.drawn for sheet in members if sheet.drawn}
        free = (number for n in range(1, 1000) if (number := f"{letter}-{n}") not in taken)
        found += [_named(sheet, sheet.drawn or next(free)) for sheet in members]
    return found


def _named(sheet: Sheet, number: str) -> Sheet:
    return replace(sheet, number=number, slug=sheet.slug or number)
