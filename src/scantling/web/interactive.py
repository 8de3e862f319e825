"""Makes a drawing of the set answer to touch: its parts can be reached by keys, bear names, and show what moved."""

import re
from collections.abc import Callable, Mapping
from re import Match

from markupsafe import Markup

from scantling.outputs.documents.html import inline
from scantling.outputs.drawings.svg import escaped

Moved = Mapping[str, tuple[str, str]]
GROUP = re.compile(r"<g ([^>]*?)(/?)>")
FIGURE = re.compile(r'<g data-figure="([^"]*)">\s*(<text ([^>]*)>(.*?)</text>)', re.DOTALL)
ATTRIBUTE = re.compile(r'([\w-]+)="([^"]*)"')
TAG = re.compile(r"<[^>]*>")
TITLE = re.compile(r"<title [^>]*>.*?</title>\n?", re.DOTALL)
TOUCH = re.compile(r'data-touch="([^"]*)"')
ZONE = "zone"
KINDS = ("door", "floor", "array", "copy", "line")
"""Kinds of things whose name stands in an attribute of their own."""
NAMED = {"floor": "machine"}
SINGLE = {"host": "host/server", "foundation": "battery/unit"}
"""Parts of which a plan has one."""
WITH_FIGURE = "figure/"
BAR = 0.55
"""Millimetres: the mark beside what moved."""


def touchable(svg: str, number: str, moved: Moved, names: Mapping[str, str] | None = None) -> Markup:
    """The drawing as a piece of a page, with one tab stop; arrow keys find the others (drawing.js).

    `moved` tells figures (by id) and things (by kind/slug) that changed, before and after. `names` are the accessible
    names of things by kind/slug and the labels of figures by figure/id, as plain text: escaped here.
    """
    told = {} if names is None else names  # never asked whether it is empty: that would count every figure
    body = TITLE.sub("", inline(svg, number), count=1)
    body = body.replace('role="img"', 'role="group" class="sheet-drawing" focusable="false"', 1)
    body = re.sub(r' aria-labelledby="[^"]*"', "", body, count=1)
    body = FIGURE.sub(lambda found: _figure(found, moved, told), body)
    body = GROUP.sub(_thing(moved, told), body)
    return Markup(body.replace('tabindex="-1"', 'tabindex="0"', 1))  # noqa: S704 - our own SVG, names escaped


def touches(svg: str) -> tuple[str, ...]:
    """What can be touched on a drawing, by kind/slug, each once, in the order in which it is drawn."""
    found = (touch_of(dict(ATTRIBUTE.findall(group[0]))) for group in GROUP.findall(svg))
    return tuple(dict.fromkeys(touch for touch in found if touch))


def touch_of(given: Mapping[str, str]) -> str:
    """What a group of a drawing stands for, as kind/slug; empty where it stands for nothing that can be asked about."""
    part = given.get("data-part", "")
    if "data-finding" in given:
        return f"finding/{given['data-finding']}"
    if "data-who" in given:
        return f"cell/{given['data-who']}/{given['data-whom']}"
    if "data-slug" in given:
        return f"part/{given['data-slug']}"
    if "data-room" in given:
        return f"{ZONE if part == ZONE else 'room'}/{given['data-room']}"
    for kind in KINDS:
        if f"data-{kind}" in given:
            return f"{NAMED.get(kind, kind)}/{given[f'data-{kind}']}"
    return SINGLE.get(part, "") if "data-box" in given else ""


def _figure(found: Match[str], moved: Moved, names: Mapping[str, str]) -> str:
    """A figure: a link to its working, marked where it moved."""
    id_, text, attributes, words = found.groups()
    label = names.get(WITH_FIGURE + id_, "")
    said = f"{escaped(label)}: {TAG.sub('', words)}" if label else TAG.sub("", words)
    before = moved.get(id_)
    mark = _mark(before, dict(ATTRIBUTE.findall(attributes))) if before is not None else ""
    also = f", was {escaped(before[0])}" if before is not None else ""
    kind = "touch moved" if before is not None else "touch"
    return f'<g data-figure="{id_}" class="{kind}" role="link" tabindex="-1" aria-label="{said}{also}">{mark}{text}'


def _mark(change: tuple[str, str], text: Mapping[str, str]) -> str:
    """A stroke of red pencil before what moved, with before and after for whoever points at it."""
    x, y, size = (float(text.get(name, "0")) for name in ("x", "y", "font-size"))
    ends = f"M{x - 1.2:.2f} {y - size * 0.85:.2f}V{y + size * 0.25:.2f}"
    told = f"{escaped(change[0])} \u2192 {escaped(change[1])}"
    return f'<title>{told}</title><path class="moved-mark" d="{ends}" stroke-width="{BAR}"/>'


def _thing(moved: Moved, names: Mapping[str, str]) -> Callable[[Match[str]], str]:
    """What becomes of the opening of a group."""

    def opened(found: Match[str]) -> str:
        given = dict(ATTRIBUTE.findall(found[1]))
        touch = touch_of(given)
        if not touch:
            return found[0]
        key = Markup(touch).unescape()  # noqa: S704 - back to text
        name, change = escaped(names.get(key, key)), moved.get(key)
        moved_class = " moved" if change is not None else ""
        title = f"<title>{escaped(change[1])}</title>" if change is not None else ""
        if given.get("data-part") == "triangle":
            told = f'class="touch{moved_class}" role="button" tabindex="-1" aria-label="{name}"'
            return f'<g {found[1]} data-touch="{touch}" {told}>{title}'
        box = _hit(given["data-box"], name) if "data-box" in given else ""
        end = "</g>" if found[2] else ""
        return f'<g {found[1]} data-touch="{touch}" class="thing{moved_class}">{title}{box}{end}'

    return opened


def _hit(box: str, name: str) -> str:
    """What is touched of a thing: the whole of its box, under its words and figures."""
    left, top, right, bottom = map(float, box.split())
    place = f'x="{left:g}" y="{top:g}" width="{right - left:.3f}" height="{bottom - top:.3f}"'
    return f'<rect class="hit touch" role="button" tabindex="-1" aria-label="{name}" {place} fill="none" pointer-events="all"/>'
