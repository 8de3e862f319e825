"""A whole page of the office: the sheet list, the sheet's parts, the margin, the title block."""

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from scantling.figures.numbers import text
from scantling.outputs.drawings.sheet_set import planned_for, proof
from scantling.plan.make import Told
from scantling.web.state import State
from scantling.web.parts import Part, Sheet, View
from scantling.web.rendering import render
from scantling.web.sheet_list import sheet_list
from scantling.web.sheets.jobs import strip

STATIC = Path(__file__).parent / "static"
FIRST = ("htmx.min.js", "office.js", "office.css")
MOST_MOVED = 14
ASKED_FIRST = (
    "money.total", "purchase.", "people.heads", "machines.users", "host.", "arrays.", "storage.", "backup.", "power.", "zones.",
    "addresses.", "lines.",
)  # fmt: skip
"""Beginnings of the figures that changes are told by, in this order; the others follow."""


def listed(ending: str) -> list[str]:
    """The scripts or styles of this room, those that all others rest on first."""
    names = sorted(path.name for path in STATIC.iterdir() if path.suffix == ending)
    return [*(name for name in FIRST if name in names), *(name for name in names if name not in FIRST)]


class Page:
    """Makes pages of the sheets that `sheets` finds in a state."""

    def __init__(self, sheets: Callable[[State], list[Sheet]]) -> None:
        self._found = sheets
        self._kept: tuple[State, list[Sheet]] | None = None

    def _sheets(self, state: State) -> list[Sheet]:
        """The sheets of a state, looked for once."""
        kept = self._kept
        if kept is None or kept[0] is not state:
            kept = self._kept = state, self._found(state)
        return kept[1]

    def sheet(self, state: State, slug: str) -> Sheet | None:
        """The sheet of a name or number, None where there is none."""
        return next((sheet for sheet in self._sheets(state) if slug in (sheet.slug, sheet.number)), None)

    def parts(self, view: View, sheet: Sheet | None) -> Iterable[Part]:
        """Everything of a page that may change."""
        yield sheet_list(view, self._sheets(view.state), sheet)
        yield state_line(view)
        if sheet is not None:
            yield from sheet.parts(view)
        yield changes(view)
        yield pencil(view, sheet)
        yield strip(view)
        yield title_block(view, sheet, len(self._sheets(view.state)))

    def whole(self, view: View, sheet: Sheet | None) -> str:
        """The page as a document."""
        all_sheets = self._sheets(view.state)
        own = list(sheet.parts(view)) if sheet is not None else []
        return render(
            "frame.html.j2", view, sheet=sheet, sheet_list=sheet_list(view, all_sheets, sheet), state_line=state_line(view),
            parts=own, changes=changes(view), pencil=pencil(view, sheet), strip=strip(view),
            title=title_block(view, sheet, len(all_sheets)),
            scripts=listed(".js"), styles=listed(".css"), client=client(view),
        )  # fmt: skip


def client(view: View) -> str:
    """Whose office it is."""
    return text(view.state.plan.office.name) if view.state.plan is not None else "A new office"


def state_line(view: View) -> Part:
    """What still follows, or why the brief on disk can't be planned."""
    return Part("state-line", render("state_line.html.j2", view))


def changes(view: View) -> Part:
    """What moved since somebody last initialled."""
    plan = view.state.plan
    rows = []
    for id_, (before, after) in view.state.moved.items():
        old = view.state.initialled.figures.get(id_) if view.state.initialled is not None else None
        figure = plan.figures.get(id_, old) if plan is not None else old
        rows.append((id_, figure.label if figure is not None else id_, before, after))
    rows.sort(key=lambda row: (_weight(row[0]), row[0].count("."), row[0]))
    return Part("changes", render("changes.html.j2", view, rows=rows[:MOST_MOVED], more=rows[MOST_MOVED:]))


def _weight(id_: str) -> int:
    """What people ask for first comes first."""
    return next((place for place, start in enumerate(ASKED_FIRST) if id_.startswith(start)), len(ASKED_FIRST))


def pencil(view: View, sheet: Sheet | None) -> Part:
    """The findings of this sheet in red pencil, numbered as in the book."""
    numbered = list(enumerate(view.state.plan.findings, 1)) if view.state.plan is not None else []
    fresh = _fresh(view.state)
    here = sheet.concerns(view) if sheet is not None and sheet.concerns is not None else ()
    notes = [entry for entry in numbered if entry[0] in here or _key(entry[1]) in fresh]
    notes.sort(key=lambda entry: (_key(entry[1]) not in fresh, entry[0]))
    gone = [told for told in _before(view.state) if _key(told) not in {_key(told) for _, told in numbered}]
    marked = {number for number, told in numbered if _key(told) in fresh}
    return Part("pencil", render("pencil.html.j2", view, notes=notes, every=len(numbered), fresh=marked, gone=gone))


def _key(told: Told) -> tuple[str, str, bool]:
    """What a finding is known by from one plan to the next: its code and what it is about, not its words."""
    return told.finding.code, told.finding.about, bool(told.declined)


def _before(state: State) -> Sequence[Told]:
    return state.initialled.findings if state.initialled is not None else ()


def _fresh(state: State) -> set[tuple[str, str, bool]]:
    """Findings that were not there when somebody last initialled."""
    if state.initialled is None or state.plan is None:
        return set()
    return {_key(told) for told in state.plan.findings} - {_key(told) for told in _before(state)}


def title_block(view: View, sheet: Sheet | None, many: int) -> Part:
    """Client, title, planned for, sheet, revision, date, proof; as on paper."""
    plan = view.state.plan
    told = {
        "client": client(view), "sheet_title": sheet.title if sheet is not None else "First visit",
        "planned_for": planned_for(plan) if plan is not None else "nobody yet", "number": sheet.number if sheet is not None else "–",
        "many": many, "edits": view.state.edits, "date": text(plan.office.as_of) if plan is not None else "–",
        "proof": _proof(view), "sketched": plan is not None and plan.sketched,
    }  # fmt: skip
    return Part("title-block", render("title_block.html.j2", view, **told))


def _proof(view: View) -> str:
    plan = view.state.plan
    if plan is None:
        return "–"
    return "being proved" if "proof" in view.state.awaiting and plan.proof is None else proof(plan)
