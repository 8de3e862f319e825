"""An edit tried on a text, and what it would change in the plan: nothing is written and nothing is searched for."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from scantling import UserError
from scantling.api.comparing import Planned
from scantling.api.editing import Beside, Changed, edited_text
from scantling.api.planning import STANDING, Found, Stock, inputs_at, read_inputs, stock_for
from scantling.brief.loading import BriefError
from scantling.brief.reading import is_there, read_text
from scantling.catalogue import CatalogueError
from scantling.figures import PinError
from scantling.figures.placed import Mistake
from scantling.plan.make import Inputs, make
from scantling.plan.spine import PlanError


@dataclass(frozen=True)
class Sketched:
    """What edits make of a text, and the plan of it; `planned.plan.sketched` says whether a search is still to come."""

    changed: Changed
    planned: Planned

    @property
    def text_after(self) -> str:
        """The whole text with the edits in it."""
        return self.changed.text_after


def sketched(
    path: Path,
    text: str,
    before: Planned,
    edits: Mapping[str, str | None],
    because: str = "",
    firm: Path | None = None,
) -> Sketched:
    """Edits tried on a text that stands for the brief of a path; the parts of the plan before are held.

    `edits` are answers by their ids, None to take one out; `because` is a pin's reason. Raises UserError.
    """
    changed, inputs = edited_text(path, text, edits, Beside(because, before.plan, firm))
    try:
        return Sketched(changed, Planned(inputs, make(inputs, held=before.plan)))
    except (PlanError, PinError, CatalogueError) as wrong:
        raise UserError(str(wrong)) from None


def read_again(
    path: Path, previous: Planned | None = None, firm: Path | None = None, written: str | None = None
) -> Inputs:
    """What a brief is planned from after somebody else's edit: the previous inputs themselves where nothing that counts differs.

    A remark or a blank line at the end counts for nothing; a line that moved does. Raises UserError.
    """
    found = inputs_at(path, firm, written)
    return previous.inputs if previous is not None and _same(found, previous.inputs) else found


def _same(one: Inputs, other: Inputs) -> bool:
    """Whether both are made of the very same things; what was read before is not read again."""
    these, those = ([each.catalogue, each.house, each.standing, *each.sections.values()] for each in (one, other))
    return len(these) == len(those) and all(mine is theirs for mine, theirs in zip(these, those, strict=True))


def every_mistake(
    path: Path, written: str | None = None, firm: Path | None = None, stands: str | None = None
) -> tuple[Mistake, ...]:
    """Every mistake of a brief's text and of what stands beside it, each with its file, line and column, in their order.

    `written` and `stands` are taken in place of the files' texts; each mistake names the file that it is in. Empty where
    the brief can be planned from. Raises UserError for mistakes of the firm's own files, which are neither.
    """
    kept = stock_for(path, firm)
    beside = path.with_name(STANDING)
    brief = _text(path) if written is None else written
    standing = (_text(beside) if is_there(beside) else "") if stands is None else stands
    return tuple(mistake for told in (brief, standing) if not isinstance(told, str) for mistake in told) or _wrong(
        path, str(brief), kept, str(standing)
    )


def _text(file: Path) -> str | tuple[Mistake, ...]:
    """A file's text, or why it has none."""
    try:
        return read_text(file)
    except BriefError as wrong:
        return wrong.mistakes


def _wrong(path: Path, written: str, kept: Stock, standing: str) -> tuple[Mistake, ...]:
    found: list[Mistake] = []
    for read in (lambda: read_inputs(written, path.name, kept, Found()), lambda: kept.stands(standing, STANDING)):
        try:
            read()
        except BriefError as wrong:
            found += wrong.mistakes
    return tuple(found)
