"""A written input as text on screen: its mistakes at their lines as it is typed, and line ends as the file has them."""

from collections.abc import Callable, Iterator, Sequence
from difflib import SequenceMatcher
from re import findall

from starlette.requests import Request
from starlette.responses import Response

from scantling import UserError
from scantling.figures.placed import MOST_BYTES, MOST_LINES
from scantling.web.answering import redrawn
from scantling.web.state import Mistake
from scantling.web.parts import Part
from scantling.web.rendering import render

TEMPLATE = "brief_text.html.j2"
TYPED = "text-typed"


def sheet_part(kind: str, text: str, seen: str, found: Sequence[Mistake], told: tuple[str, str]) -> Part:
    """The text to write in, its lines numbered, and what is wrong with it; `told` is its label and how it is used."""
    numbers = "\n".join(map(str, range(1, text.count("\n") + 2)))
    label, says = told
    whole = render(
        TEMPLATE, part="whole", kind=kind, text=text, seen=seen, found=found, numbers=numbers, label=label, says=says
    )
    return Part("text-sheet", whole)


def mistakes_part(found: Sequence[Mistake]) -> Part:
    """What is wrong with a text as typed so far."""
    return Part(TYPED, render(TEMPLATE, part="mistakes", found=found))


def too_large(text: str) -> str:
    """Why a text is too large to be a brief; empty where it is not."""
    if len(text.encode("utf-8", "replace")) > MOST_BYTES:
        return f"This text is too large: at most {MOST_BYTES:,} bytes. Nothing was changed."
    lines = text.count("\n")
    return f"This text is too long: at most {MOST_LINES:,} lines, and it has {lines:,}." if lines > MOST_LINES else ""


def ends_like(old: str, typed: str) -> str:
    """What was typed, each line ended as the old text ends it; a browser ends every line in its own way."""
    plain = typed.replace("\r\n", "\n").replace("\r", "\n")
    if "\r" not in old:
        return plain
    before = [(line, end) for line, end in findall(r"([^\r\n]*)(\r\n|\n|\r|$)", old) if line or end]
    after = plain.split("\n")
    return "".join(f"{line}{end}" for line, end in zip(after, _ends(before, after), strict=True))


def _ends(before: Sequence[tuple[str, str]], after: Sequence[str]) -> Iterator[str]:
    """An end for each line: its own where it stood there before, else the usual one; the last line has none."""
    ends = [end for _, end in before]
    usual = max(dict.fromkeys(filter(None, ends)), key=ends.count)
    found = [usual] * (len(after) - 1) + [""]
    for tag, a, b, c, _ in SequenceMatcher(None, [line for line, _ in before], after, autojunk=False).get_opcodes():
        for place in range(b - a if tag == "equal" else 0):
            if c + place < len(after) - 1:
                found[c + place] = before[a + place][1] or usual
    yield from found


def saved(request: Request, found: Sequence[Mistake], write: Callable[[], object]) -> Response:
    """A text written where nothing is wrong with it; what is wrong, or who was quicker, is told, and what was typed stays."""
    if found:
        return redrawn(
            request, mistakes_part(found), wrong="Not saved: the text has mistakes. What you typed stays here."
        )
    try:
        write()
    except UserError as wrong:
        return redrawn(request, mistakes_part(()), wrong=str(wrong))
    return redrawn(request, mistakes_part(()), said="Saved.")
