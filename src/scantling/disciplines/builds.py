"""Standard builds: whether the server as chosen is a set that its maker has approved, and which such set comes nearest.

Figures:
    builds.parts          price of server, processors, memory and boot disks as chosen
    builds.same           approved builds that are exactly what was chosen
    builds.<build>.price  price of an approved build that meets every need
    builds.<build>.extra  what it costs more than the parts as chosen
    builds.nearest        the cheapest of them
Findings: M-10.
Records: Page.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from scantling.catalogue import Article, Catalogue, CatalogueError
from scantling.catalogue.columns import (
    APPROVED, BOOT_DISKS, BUILD_BOOT_DISK, BUILD_HOST, BUILD_MODULE, BUILD_MODULES, BUILD_PROCESSOR, CONFIRMED_ON, NAME, NOISE,
    PROCESSORS, SOLD,
)  # fmt: skip
from scantling.figures import (
    PRICE, Attribute, Candidate, Chosen, Desk, Figure, Finding, Of, Option, Page, Prose, Ruled, Weight, count_of, smallest, total,
)  # fmt: skip
from scantling.figures.pages import Cell
from scantling.figures.units import COUNT, MONEY, WORD
from scantling.handbook.prices import dearer_by
from scantling.handbook.sizing import beyond, negated
from scantling.handbook.swapping import meeting
from scantling.handbook.twins import PAIR, doubled

BUILD = "build"
MADE_OF: Mapping[str, tuple[Attribute[str], Attribute[int] | None]] = {
    "host": (BUILD_HOST, None), "processor": (BUILD_PROCESSOR, PROCESSORS), "memory": (BUILD_MODULE, BUILD_MODULES),
    "boot": (BUILD_BOOT_DISK, BOOT_DISKS),
}  # fmt: skip
"""What fills each slot of the purchase."""
NONE = total((), COUNT)
Money = Figure[Decimal]


@dataclass(frozen=True)
class _Set:
    """An approved build and the options that it puts into the purchase's slots."""

    row: Article
    options: Mapping[str, Option]

    def equals(self, chosen: Chosen) -> bool:
        """Whether exactly this was chosen."""
        return all(option.parts == chosen.options[slot].parts for slot, option in self.options.items())


def design(catalogue: Catalogue, chosen: Chosen, desk: Desk) -> Iterator[Finding | Page]:
    """The server as chosen beside the sets that makers approve; silent where the server stands or there are no sets."""
    if not all(chosen.has(slot) for slot in MADE_OF) or not any(chosen.options[slot].to_buy for slot in MADE_OF):
        return
    servers = sum(count for _, count in chosen.options["host"].parts)
    sets = [_Set(row, _options(row, catalogue, servers)) for row in _approved(catalogue)]
    if not sets:
        return
    parts = total({slot: chosen.of(Of(slot, PRICE)) for slot in MADE_OF}, MONEY)
    taken = desk.figure("parts", parts, "Server, processors, memory and boot disks as chosen")
    same = count_of({one.row.slug: one.row.figure(PRICE) for one in sets if one.equals(chosen)})
    alike = desk.figure("same", same, "Approved builds that are exactly what was chosen")
    demands = tuple(chosen.demands.values())
    fitting = [sets[n] for n in meeting(chosen.options, demands, [one.options for one in sets])]
    extras = _extras(fitting, servers, taken, desk)
    yield _finding(alike, extras, desk)
    yield _page(sets, chosen, extras)


def _approved(catalogue: Catalogue) -> list[Article]:
    rows = catalogue.rows.get(BUILD, {}).values()
    return [row for row in rows if row.get(APPROVED) and row.get(SOLD) is not False]


def _options(row: Article, catalogue: Catalogue, servers: int) -> dict[str, Option]:
    """What a build puts into each slot; twice where there are two servers."""
    made = {}
    for slot, (named, many) in MADE_OF.items():
        part = _named(row, named, catalogue)
        count = 1 if many is None else int(row.get(many))
        one = Option(part.slug if count == 1 else f"{count}x-{part.slug}", ((part, count),))
        made[slot] = doubled(one, NOISE) if servers == PAIR else one
    return made


def _named(row: Article, column: Attribute[str], catalogue: Catalogue) -> Article:
    """The article that a build names. Raises CatalogueError where there is none."""
    if (part := catalogue.rows.get(column.name, {}).get(row.get(column))) is None:
        message = f"{row.place}: {BUILD}.{row.slug}.{column.name}: there is no {column.name} called {row.get(column)}"
        raise CatalogueError(message)
    return part


def _extras(fitting: Sequence[_Set], servers: int, taken: Money, desk: Desk) -> dict[str, tuple[Money, Money]]:
    """Price of each set that meets every need, and what it costs more than the parts as chosen."""
    found = {}
    for one in fitting:
        at, name = desk.under(one.row.slug), one.row.slug
        prices = total({f"server {n + 1}": one.row.figure(PRICE) for n in range(servers)}, MONEY)
        whole = at.figure("price", prices, f"Price of {name} as a set")
        more = dearer_by.of(one=whole, other=taken)
        found[name] = whole, at.figure("extra", more, f"What {name} costs more than the parts as chosen")
    return found


def _finding(alike: Figure[int], extras: Mapping[str, tuple[Money, Money]], desk: Desk) -> Finding:
    """What was chosen is no approved set (M-10), with the cheapest that would do."""
    when = negated.of(given=beyond.of(have=alike, limit=NONE))
    shown: dict[str, Figure[Any]] = {"same": alike}
    nearest = "No approved set of the catalogue meets every need."
    if extras:
        candidates = [Candidate(name, more) for name, (_, more) in extras.items()]
        because = "the cheapest approved set that meets every need"
        shown["nearest"] = desk.choose("nearest", WORD, candidates, "least", because, "The nearest approved set")
        shown["more"] = smallest({name: more for name, (_, more) in extras.items()}, MONEY)
        nearest = "The nearest that meets every need is {nearest}: {more} more than the parts as chosen."
    return Finding(
        "M-10", Weight.NOTE, when, f"The server as chosen is no set that its maker has approved. {nearest}",
        "Tell the client, and pin the set's parts if it is wanted: a set that was tested whole is easier to have mended.",
        shown, "host",
    )  # fmt: skip


def _page(sets: Sequence[_Set], chosen: Chosen, extras: Mapping[str, tuple[Money, Money]]) -> Page:
    """The approved sets that would do, what each is made of, and what it costs."""
    rows: list[Sequence[Cell]] = []
    for one in [one for one in sets if one.row.slug in extras]:
        made = ", ".join(option.slug for option in one.options.values())
        rows.append((one.row.slug, made, *extras[one.row.slug], _confirmed(one.row)))
    heads = ("set", "made of", "price", "more than the parts", "confirmed by the supplier")
    return Page(
        "builds", "S", "Standard builds",
        (
            Prose(_said(sets, chosen)), Ruled("Sets approved by their makers that meet every need of this plan", heads, rows),
            Prose("What is not listed here does not meet every need, or its maker has not approved it."),
        ), 2,
    )  # fmt: skip


def _said(sets: Sequence[_Set], chosen: Chosen) -> str:
    """Whether what was chosen is one of them."""
    same = next((one for one in sets if one.equals(chosen)), None)
    if same is None:
        return "The server as chosen is put together from single parts; none of these sets is exactly that."
    on = same.row.get(CONFIRMED_ON)
    confirmed = f"supplier confirmed on {on.isoformat()}" if on is not None else "not yet confirmed by the supplier"
    return f"The server as chosen is the maker approved build {same.row.get(NAME)} ({same.row.slug}), {confirmed}."


def _confirmed(row: Article) -> Cell:
    return "not confirmed" if row.get(CONFIRMED_ON) is None else row.figure(CONFIRMED_ON)
