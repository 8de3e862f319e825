"""A drawing on screen: its tools, the picture that can be touched, how it is read, and the same told in words."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from threading import Lock

from markupsafe import Markup

from scantling.outputs.drawings.drawn import Told, notes, one
from scantling.outputs.drawings.sheet_set import paper
from scantling.plan.make import Plan
from scantling.web.extent import Extent, extent
from scantling.web.interactive import touchable, touches
from scantling.web.parts import REPLACE, Part, View
from scantling.web.rendering import render
from scantling.plan.same import Same
from scantling.web.slips import NoSuchThingError, names, slip
from scantling.web.slips.cabinets import units

CABINET = "P-1"
LAYERS: Mapping[str, str] = {"owner": "N-1", "technician": "N-2"}
"""The floor plan has a sheet for each layer; of the other drawings the layer says how much a slip tells."""
FINDING = "finding/"
NEW = "nothing", "new since it was last initialled"
_drawing = Lock()


@dataclass(frozen=True)
class Drawn:
    """A sheet of a plan in one look, its notes as text, and how much of its field it fills."""

    svg: str
    notes: tuple[str, ...]
    extent: Extent


def drawn(plan: Plan, number: str, look: str) -> Drawn:
    """The sheet, drawn once for the same plan. Raises KeyError for one that this plan has not."""
    with _drawing:
        return _drawn(Same(plan), number, look)


@lru_cache(24)
def _drawn(plan: Same, number: str, look: str) -> Drawn:
    told = Told(plan.plan)
    svg = one(told, number, look)
    return Drawn(
        svg, tuple("".join(part.text for part in note) for note in notes(told, number)), extent(svg, paper(plan.plan))
    )


def drawing_part(view: View, number: str) -> Part:
    """The drawing with its tools. Raises KeyError for a sheet that this plan has not."""
    plan = view.state.plan
    assert plan is not None
    sheet, known = drawn(plan, number, view.look), names(plan)
    picture = touchable(sheet.svg, number, {**view.state.moved, **new_findings(view)}, known)
    told = [(touch, known.get(touch, touch)) for touch in touches(sheet.svg)]
    layers = {layer: LAYERS[layer] if number in LAYERS.values() else number for layer in LAYERS}
    shown_layer = next((layer for layer, sheet_ in LAYERS.items() if sheet_ == number), view.layer)
    id_ = f"drawing-{number}"
    html = render(
        "drawing.html.j2", view, id=id_, number=number, picture=picture, told=told, notes=sheet.notes,
        extent=sheet.extent, paper=paper(plan), units=units(plan) if number == CABINET else 0,
        layers=layers, shown_layer=shown_layer, touched=_touched(view),
    )  # fmt: skip
    return Part(id_, html, REPLACE)


def _touched(view: View) -> Markup | None:
    """The slip that the page's address asks for, for browsers without scripts."""
    touch = view.query.get("touch", "")
    return slip_html(view, touch) if touch else None


def slip_html(view: View, touch: str) -> Markup | None:
    """The slip of kind/slug as a piece of a page; None for a thing that this plan has not."""
    kind, _, slug = touch.partition("/")
    assert view.state.plan is not None
    try:
        told = slip(view.state.plan, kind, slug, view.layer)
    except NoSuchThingError:
        return None
    return render("slip.html.j2", view, slip=told, touch=touch)


def new_findings(view: View) -> Mapping[str, tuple[str, str]]:
    """Findings that are there and were not when somebody last initialled, by their numbers."""
    old, plan = view.state.initialled, view.state.plan
    if old is None or plan is None or old is plan:
        return {}
    known = set(_findings(old))
    return {f"{FINDING}{number}": NEW for number, key in enumerate(_findings(plan), 1) if key not in known}


def _findings(plan: Plan) -> Iterable[tuple[str, str]]:
    return [(told.finding.code, told.finding.about) for told in plan.findings if not told.declined]
