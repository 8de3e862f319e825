"""The file of what stands, beside the brief: read, checked and written whole; it may not be there yet."""

from dataclasses import dataclass

from scantling import UserError, api
from scantling.api.planning import STANDING
from scantling.brief.loading import BriefError
from scantling.brief.reading import is_there
from scantling.outputs.writing import OutputError, write_all
from scantling.standing.loading import stands
from scantling.web.desk import Desk
from scantling.web.state import Mistake


@dataclass(frozen=True, slots=True)
class Stands:
    """Its text and what that is known by; both empty where there is none. `wrong` says why it can't be read."""

    text: str = ""
    seen: str = ""
    wrong: str = ""


def read(desk: Desk) -> Stands:
    """What stands on disk."""
    path = desk.brief.with_name(STANDING)
    if not is_there(path):
        return Stands()
    try:
        there = api.text_of(path)
    except UserError as wrong:
        return Stands(wrong=str(wrong))
    return Stands(there.text, there.seen)


def mistakes(desk: Desk, text: str) -> tuple[Mistake, ...]:
    """Every mistake of a text, and every contradiction in it. Raises UserError when the firm's own rows can't be read."""
    planned = desk.state.planned
    kept = planned.inputs if planned is not None else api.stock_for(desk.brief, desk.firm)
    try:
        stands(text, STANDING, kept.catalogue, kept.house)
    except BriefError as wrong:
        return tuple(
            Mistake(one.line, one.column, f"{one.path}: {one.says}" if one.path else one.says)
            for one in wrong.mistakes
        )
    return ()


def write(desk: Desk, text: str, seen: str) -> None:
    """Put a text in its place and plan anew. Raises UserError when another program has changed it since it was `seen`."""
    path = desk.brief.with_name(STANDING)
    if seen:
        api.rewritten(path, text, seen)
    else:
        try:
            write_all(path.parent, {STANDING: text.encode()}, {path: b""})
        except OutputError as wrong:
            raise UserError(str(wrong)) from None
    desk.look_again()
