"""What the sheets of a set have in common: their numbers, title blocks, the red pencil, and figures as text."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from scantling.figures import Asking, Crowd, Figure, Flow, Machine, Place, Subnet, Visitors, Zone
from scantling.figures import Weight as FindingWeight
from scantling.figures.numbers import counted, text
from scantling.figures.units import convert
from scantling.outputs.drawings.door_schedule import paged
from scantling.outputs.drawings.from_traffic import doors, small
from scantling.outputs.drawings.model import Amount, Paper, PencilNote, Text, TitleBlock, Weight, plain
from scantling.plan.make import Plan

WEIGHTS: Mapping[FindingWeight, Weight] = {
    FindingWeight.STOP: "stop",
    FindingWeight.MEND: "mend",
    FindingWeight.NOTE: "note",
}
SHEETS: Mapping[str, type[Any]] = {
    "N-1": Zone, "N-2": Zone, "N-3": Flow, "N-4": Subnet, "N-5": Asking, "N-6": Flow, "S-1": Machine, "P-1": Place,
}  # fmt: skip
"""Each sheet of the set, and the kind of record without which it is left out."""
SCHEDULE = "N-6"
"""The technician's door schedule begins here, and goes on over as many sheets as it needs."""
TITLES: Mapping[str, str] = {
    "N-1": "Network by rooms", "N-2": "Network by rooms, technician's layer", "N-3": "Who may reach whom", "N-4": "Address map",
    "N-5": "Names and time", SCHEDULE: "Door schedule for the technician", "S-1": "The server in section", "P-1": "Cabinet, front",
}  # fmt: skip
UNHOUSED = "The server's place, front"
"""What the elevation is called where no cabinet is bought."""
MOST_LETTERS = 75
NUMBERING = plain("Triangles bear the numbers of the findings in the book; those of other sheets are left out here.")


@dataclass(frozen=True)
class Pencil:
    """Findings numbered through the whole set, and which numbers belong to which thing."""

    notes: tuple[PencilNote, ...]
    by_about: Mapping[str, tuple[int, ...]]
    by_figure: Mapping[str, tuple[int, ...]]
    """Numbers of the findings that tell of a figure, or rest on it."""

    def about(self, *slugs: str) -> tuple[int, ...]:
        """Numbers of the notes about any of these."""
        return tuple(sorted({n for slug in slugs for n in self.by_about.get(slug, ())}))

    def telling_of(self, figures: Iterable[str]) -> tuple[PencilNote, ...]:
        """The notes that tell of any of these figures, or rest on it."""
        return self.on(number for id_ in figures for number in self.by_figure.get(id_, ()))

    def on(self, numbers: Iterable[int]) -> tuple[PencilNote, ...]:
        """The notes of these numbers."""
        wanted = set(numbers)
        return tuple(note for note in self.notes if note.number in wanted)


def pencilled(plan: Plan) -> Pencil:
    """Every finding that nobody has declined, numbered by weight."""
    notes, by_about, by_figure = [], dict[str, tuple[int, ...]](), dict[str, tuple[int, ...]]()
    for place, told in enumerate([t for t in plan.findings if not t.declined], 1):
        finding = told.finding
        notes.append(
            PencilNote(place, WEIGHTS[finding.weight], plain(told.says), plain(finding.remedy), finding.code)
        )
        if finding.about:
            by_about[finding.about] = (*by_about.get(finding.about, ()), place)
        for figure in (*finding.shown.values(), *finding.when.parents()):
            by_figure[figure.id] = (*by_figure.get(figure.id, ()), place)
    return Pencil(tuple(notes), by_about, by_figure)


def paper(plan: Plan) -> Paper:
    """A3, or its inch neighbour where the brief asks for letter."""
    return "tabloid" if text(plan.office.paper) == "letter" else "A3"


def planned_for(plan: Plan) -> str:
    """Who it is for, in one line."""
    roles = [f"{text(crowd.heads)} {small(crowd.name)}" for crowd in plan.records(Crowd)]
    few = sum(map(len, roles)) <= MOST_LETTERS
    heads = plan.figures["people.heads"].value if roles else 0
    parts = roles if few else [f"{counted(heads, 'person', 'people')} in {counted(len(roles), 'role')}"]
    guests = [counted(one.present.value, "visitor's device", "visitors' devices") for one in plan.records(Visitors)]
    parts += [f"{devices} at the peak" for devices in guests]
    return ", ".join(parts) or "nobody yet"


def proof(plan: Plan) -> str:
    """What the proof of the firewall's rules says, in two or three words."""
    return plan.proof.says if plan.proof is not None else "not proved"


def drawn_sheets(plan: Plan) -> tuple[str, ...]:
    """Numbers of the sheets for which the plan has something to show, in the order of the set."""
    drawn: list[str] = []
    for sheet, kind in SHEETS.items():
        if plan.records(kind):
            drawn += schedule_numbers(plan) if sheet == SCHEDULE else [sheet]
    return tuple(drawn)


def title(plan: Plan, number: str) -> str:
    """What a drawing is called."""
    if number == "P-1" and not plan.purchase.chosen.has("cabinet"):
        return UNHOUSED
    return TITLES.get(number, TITLES[SCHEDULE])


def schedule_numbers(plan: Plan) -> list[str]:
    """Numbers of the sheets of the technician's door schedule."""
    letter, first = SCHEDULE.split("-")
    pages = paged(doors(plan) or ())
    return [f"{letter}-{int(first) + place}" for place in range(len(pages))]


def title_block(plan: Plan, title: str, sheet: str) -> TitleBlock:
    """The title block of one sheet."""
    drawn = drawn_sheets(plan)
    of = f"{drawn.index(sheet) + 1} of {len(drawn)}"
    date = text(plan.office.as_of)
    return TitleBlock(
        text(plan.office.name), title, planned_for(plan), sheet, of, "A", date, "scantling", proof=proof(plan), paper=paper(plan)
    )  # fmt: skip


def figure_text(figure: Figure[Any], words: str = "") -> Text:
    """A figure as it is printed, or in other words, with its id."""
    return Text(words or text(figure), figure.id)


def amount(figure: Figure[float], unit: Any) -> Amount:
    """A figure drawn to scale in a unit, printed in its own."""
    return Amount(float(convert(figure.value, figure.unit, unit)), text(figure), figure.id)
