"""Writes SVG: elements with escaped text, fixed rounding and the same bytes every time."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

LARGEST = 1e6
"""No length on a sheet comes near this, in millimetres."""
_BREAKS = re.compile("[\t\n\r]")
_ILLEGAL = re.compile("[^\x20-\x7e\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_ENTITIES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"})


@dataclass(frozen=True, slots=True)
class Element:
    """One element: its name, its attributes in order, and what it holds."""

    name: str
    attributes: tuple[tuple[str, str], ...] = ()
    children: "tuple[Element | str, ...]" = ()


def number(value: float) -> str:
    """A length in millimetres with at most three decimals and no trailing noughts. ValueError if not finite."""
    if not -LARGEST < value < LARGEST:
        message = f"a length on a drawing must be finite and small, not {value!r}"
        raise ValueError(message)
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def element(name: str, *children: "Element | str", **attributes: str | float | None) -> Element:
    """An element. In attribute names an underscore stands for a hyphen; an attribute that is None is left out."""
    pairs = tuple(
        (key.replace("_", "-"), value if isinstance(value, str) else number(value))
        for key, value in attributes.items()
        if value is not None
    )
    return Element(name, pairs, children)


def legal(text: str) -> str:
    """The text without what XML 1.0 forbids (section 2.2, production 2): dropped, with blanks for breaks."""
    return _ILLEGAL.sub("", _BREAKS.sub(" ", text))


def escaped(text: str) -> str:
    """Text that any XML reader gives back as text."""
    return legal(text).translate(_ENTITIES)


def _open(part: Element, closing: str) -> str:
    pairs = "".join(f' {key}="{escaped(value)}"' for key, value in part.attributes)
    return f"<{part.name}{pairs}{closing}"


def _lines(part: Element) -> Iterator[str]:
    if not part.children:
        yield _open(part, "/>")
    elif all(isinstance(child, str) for child in part.children):
        yield _open(part, ">") + "".join(escaped(str(child)) for child in part.children) + f"</{part.name}>"
    elif part.name == "text":
        yield _open(part, ">") + "".join(_inside(child) for child in part.children) + "</text>"
    else:
        yield _open(part, ">")
        for child in part.children:
            yield from _lines(child) if isinstance(child, Element) else (escaped(child),)
        yield f"</{part.name}>"


def _inside(child: Element | str) -> str:
    return escaped(child) if isinstance(child, str) else "".join(_lines(child))


def document(width: float, height: float, title: str, description: str, parts: tuple[Element, ...]) -> str:
    """A whole drawing, sized in millimetres, that names itself to a screen reader."""
    root = element(
        "svg",
        element("title", title, id="sheet-title"),
        element("desc", description, id="sheet-description"),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        width=f"{number(width)}mm",
        height=f"{number(height)}mm",
        viewBox=f"0 0 {number(width)} {number(height)}",
        role="img",
        text_rendering="geometricPrecision",
        aria_label=title,
    )
    return "\n".join(_lines(root)) + "\n"
