"""Keep what a plan issued and had bought: shown as lines to add, then written into the standing file beside the brief."""

import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from secrets import token_hex

from scantling import UserError
from scantling.api.planning import STANDING, inputs_at, stock_for
from scantling.brief.ids import EditError
from scantling.brief.loading import BriefError
from scantling.brief.reading import decoded, read_bytes
from scantling.catalogue import CatalogueError
from scantling.figures import PinError
from scantling.figures.composing import MARK
from scantling.figures.placed import Node
from scantling.handbook.choosing import silent
from scantling.outputs.rewriting import held, kept_beside
from scantling.outputs.writing import OutputError
from scantling.plan.issuing import Conflict, bought, issued, new_lines, outside
from scantling.plan.make import Plan, make
from scantling.plan.spine import PlanError
from scantling.standing.loading import place, stands
from scantling.standing.writing import Line, plain_answers, tree_of, with_answers, with_lines


@dataclass(frozen=True)
class Wish:
    """What is to be kept: bought parts too, on which day (the brief's own where None), and whether the plan may overrule."""

    bought: bool = False
    on: date | None = None
    replace: bool = False


@dataclass(frozen=True)
class Kept:
    """What keeping a plan does to its standing file.

    `seen` are the bytes that were read, None where there is no file; `after` the whole new text.
    """

    file: Path
    plan: Plan
    added: tuple[Line, ...]
    replaced: tuple[Conflict, ...]
    before: str
    after: str
    seen: bytes | None

    @property
    def nothing(self) -> bool:
        """Whether the file says so already."""
        return self.before == self.after


def kept(
    brief: Path, wish: Wish = Wish(), firm: Path | None = None, tell: Callable[[int], None] = silent
) -> Kept:  # fmt: skip
    """What keeping the brief's plan would write; nothing is written. Raises UserError with every answer it contradicts."""
    file = brief.with_name(STANDING)
    try:
        seen = read_bytes(file) if file.exists() else None
        text = decoded(file, seen) if seen is not None else ""
        inputs = inputs_at(brief, firm)
        plan = make(inputs, tell)
    except (BriefError, PlanError, PinError, CatalogueError) as wrong:
        raise UserError(str(wrong)) from None
    lines = list(issued(plan))
    if wish.bought:
        lines += bought(plan, wish.on or plan.office.as_of.value, [*inputs.standing.bought])
    tree = tree_of(text, file.name)
    added, conflicts = new_lines(lines, plain_answers(tree) if tree is not None else {})
    if lost := outside(lines, added):
        raise UserError(f"the plan's block does not hold {', '.join(lost)}; take a wider block first, then keep")
    if tree is not None and conflicts and not wish.replace:
        raise UserError(_refused(file.name, conflicts, tree))
    try:
        after = with_answers(text, {one.path: one.here for one in conflicts}, file.name) if conflicts else text
        after = with_lines(after, added, file.name) if added else after
        stock = stock_for(brief, firm)
        stands(after, file.name, stock.catalogue, stock.house)
    except EditError as wrong:
        raise UserError(f"{wrong}; nothing was changed") from None
    except BriefError as wrong:
        raise UserError(f"{file.name} was left as it is; so written, it would contradict itself:\n{wrong}") from None
    return Kept(file, plan, tuple(added), tuple(conflicts), text, after, seen)


def _refused(file: str, conflicts: list[Conflict], tree: Node) -> str:
    """Every answer that the plan says otherwise, with its place."""
    said = []
    for one in conflicts:
        path = ".".join(one.path)
        line, column = place(tree, path)
        said.append(f"{file}:{line}:{column}: {path}: this says {one.there}, the plan {one.here}")
    return "\n".join(
        [*said, "what stands is not changed by keeping; add --replace to write what the plan says over it"]
    )


def keep(made: Kept) -> None:
    """Write it, whole or not at all. Raises UserError when somebody else has changed the file meanwhile.

    Then the file stands as it was, and this version lies beside it.
    """
    content = made.after.encode()
    if made.seen is not None and made.seen.startswith(MARK.encode()):
        content = MARK.encode() + content
    try:
        theirs = _created(made.file, content) if made.seen is None else _rewritten(made, content)
        if theirs:
            mine = kept_beside(made.file, content, "mine")
            raise UserError(
                f"{made.file.name} was changed by somebody else meanwhile, so it was left alone; this version is kept as "
                f"{mine.name}. Look at both, then keep again"
            )
    except OutputError as wrong:
        raise UserError(str(wrong)) from None


def _rewritten(made: Kept, content: bytes) -> bool:
    """Whether somebody else's version stands there."""
    assert made.seen is not None
    with held(made.file) as file:
        return file.rewrite(made.seen, content) is not None


def _created(file: Path, content: bytes) -> bool:
    """Whether somebody else has made the file first; else it is there, whole."""
    beside = file.with_name(f".{file.name}.{token_hex(8)}.part")  # whoever else writes just now has another one
    try:
        with beside.open("xb") as new:
            new.write(content)
            new.flush()
            os.fsync(new.fileno())
        os.link(beside, file)
    except FileExistsError:
        return True
    except OSError as wrong:
        raise OutputError(f"can't write {file}: {wrong.strerror or wrong}; nothing was changed") from None
    finally:
        beside.unlink(missing_ok=True)
    return False
