"""Two invented books, the smallest and one larger than any office gives, for the tests of print and page."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from scantling.figures import Caution, Facts, Figure, Origin, Picture, Prose, Ruled, Steps
from scantling.figures.numbers import in_currency, text
from scantling.figures.pages import Block
from scantling.figures.units import COUNT, GIB, MONEY, NETWORK, TB, TRUTH, WORD, Unit
from scantling.outputs.documents.volume import Book, Note, Plate, Sheet, Summary, Working

CAUTION = Caution("Mains", "Work on circuits is for licensed electricians, under the local wiring code.")
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="420mm" height="297mm" viewBox="0 0 420 297" role="img" aria-label="A room">\n'
    '<title id="sheet-title">A room</title>\n<desc id="sheet-description">One room, nothing in it.</desc>\n'
    '<rect x="0" y="0" width="420" height="297" fill="#faf7ef"/>\n'
    '<rect x="20" y="10" width="390" height="277" fill="none" stroke="#16243a" stroke-width="0.7"/>\n</svg>\n'
)


def figure(id_: str, value: Any, unit: Unit[Any], label: str = "a figure") -> Figure[Any]:
    """A figure out of nowhere, for print only."""
    return Figure(value, unit, Origin("standard", "invented"), None, id_, label)


def working(given: Figure[Any], inputs: Sequence[str] = ()) -> Working:
    """Its entry in the appendix."""
    return Working(given.id, given.label, in_currency(text(given), "EUR"), "invented for a test", inputs)


def _book(client: str, paper: str, figures: Sequence[Figure[Any]], **parts: Any) -> Book:
    groups: dict[str, list[Working]] = {}
    for place, one in enumerate(figures):
        groups.setdefault(one.id.split(".")[0], []).append(working(one, [figures[place - 1].id] if place else []))
    given: dict[str, Any] = {
        "client": client, "title": "Plan and handover book", "planned_for": "5 people today", "provisional": "", "revision": "A",
        "date": "2026-11-25", "fields": (("drawn", "scantling"), ("checked", "–")), "paper": paper, "language": "en",
        "currency": "EUR", "summary": Summary(None, Ruled("What to buy", ("for", "article"), ()), Facts(())), "plates": {},
        "sheets": (), "notes": (), "lasting": (), "cautions": (), "assumed": Ruled("Assumed answers", ("answer", "taken"), ()),
        "workings": list(groups.items()),
    }  # fmt: skip
    return Book(**{**given, **parts})


def empty() -> Book:
    """A book with nothing in it."""
    return _book("Nobody yet", "A4", ())


def small() -> Book:
    """One machine, one array, one finding, one of each block."""
    memory, room, block, asked, price = (
        figure("host.memory", 64.0, GIB, "Memory"), figure("storage.room", 8.0, TB, "Room"),
        figure("addresses.block", "10.1.0.0/16", NETWORK, "The block"), figure("storage.asked", value=True, unit=TRUTH, label="Asked"),
        figure("money.total", Decimal("4321.50"), MONEY, "Rough price"),
    )  # fmt: skip
    blocks: list[Block] = [
        Prose("Words before a table."),
        Ruled("Arrays", ("array", "room", "asked"), [("Fast", room, asked), ("Slow", room, asked)]),
        Facts([("Memory", memory), ("The block", block)], "In numbers"),
        Steps("To do", ["First this.", "Then that."]),
        Picture("N-1", "The rooms are drawn."),
        Picture("X-9", "Nobody drew this."),
    ]
    return _book(
        "Wren & Sons", "A4", [memory, room, block, asked, price],
        summary=Summary(
            price, Ruled("What to buy", ("for", "article", "price"), [("Server", "a tower", price)]), Facts([("Memory", memory)])
        ),
        plates={"N-1": Plate("Network by rooms", "One room and nothing in it, drawn for a test.")},
        sheets=[Sheet("S-1", "The server", blocks)], lasting=[Prose("Nothing lasts.")], cautions=[CAUTION],
        notes=[Note(1, "stop", "B-1", "There is no backup.", "Plan one.", "", [memory])],
        assumed=Ruled("Assumed answers", ("answer", "taken"), [("hold", "10 min")]),
    )  # fmt: skip


def large(strings: Sequence[str]) -> Book:
    """Eight hundred workings, a table over pages, a table too wide, sixty findings, and a text of each string in every place."""
    figures = [
        figure(f"trade{n // 80}.thing-{n}.size", n * 1000, COUNT, strings[n % len(strings)]) for n in range(800)
    ]
    words = [figure(f"words.{n}", one, WORD, one) for n, one in enumerate(strings)]
    heads = ("zone", "number", "subnet", "gateway", "switches and the like", "kept", "lent", "for", "free")
    wide = [
        ("Management", figures[n], f"10.200.{n}.0/26", f"10.200.{n}.1", f"10.200.{n}.2 to 10.200.{n}.120", figures[n],
         f"10.200.{n}.155 to 10.200.{n}.254", "8 h", figures[n]) for n in range(8)
    ]  # fmt: skip
    rows = [(strings[n % len(strings)], figures[n], strings[-n % len(strings)]) for n in range(120)]
    sheets = [Sheet("N-1", "Every string", [Ruled("Strings", ("one", "number", "other"), rows)])]
    sheets.append(Sheet("N-2", "A wide table", [Ruled("Subnets", heads, wide)]))
    for place, one in enumerate(strings, 1):
        told: list[Block] = [
            Prose(one),
            Facts([(one, words[place - 1])], one),
            Steps(one, [one]),
            Ruled(one, (one, "b"), [(one, one)]),
        ]
        sheets.append(Sheet(f"S-{place}", one, told))
    notes = [
        Note(
            n + 1,
            ("stop", "mend", "note")[n % 3],
            f"X-{n}",
            strings[n % len(strings)],
            "Mend it.",
            "declined by nobody" * (n % 2),
        )
        for n in range(60)
    ]
    buys = [(f"Part {n}", strings[n % len(strings)], figures[n]) for n in range(12)]
    return _book(
        strings[0], "letter", [*figures, *words], sheets=sheets, notes=notes, cautions=[Caution(one, one) for one in strings[:9]],
        summary=Summary(None, Ruled("What to buy", ("for", "article", "price"), buys), Facts([(one, one) for one in strings[:6]], "Facts")),
        provisional=strings[1], planned_for=strings[2], fields=[(one, one) for one in strings[:4]],
    )  # fmt: skip
