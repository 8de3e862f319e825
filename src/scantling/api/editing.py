"""Set or take out one answer of a brief's file by its id: one line differs, and nobody else's edit is lost."""

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import unified_diff
from hashlib import sha256
from pathlib import Path

from scantling import UserError
from scantling.api.planning import inputs_at, known_sections
from scantling.brief.editing import with_values
from scantling.brief.ids import EditError, at, steps_of
from scantling.brief.loading import BriefError
from scantling.brief.reading import decoded, read_bytes
from scantling.catalogue import CatalogueError
from scantling.figures import PinError
from scantling.figures.composing import MARK, placed
from scantling.outputs.rewriting import Held, held, kept_beside
from scantling.outputs.writing import OutputError
from scantling.plan.make import Inputs, Plan, make
from scantling.plan.spine import PlanError

PIN = "pins."
MOST_DIFFERENCES = 40


@dataclass(frozen=True)
class Beside:
    """What goes with an edit: a pin's reason, the plan before, the firm's folder where one is named."""

    because: str = ""
    held: Plan | None = None
    firm: Path | None = None


@dataclass(frozen=True)
class Changed:
    """What an edit does: the answer's old and new value, and its lines, in the file as they stand.

    `text_before` and `text_after` are the whole texts; `seen` is the fingerprint of the file that was read.
    """

    id: str
    old: str
    new: str
    line: int
    line_before: str
    line_after: str
    text_before: str
    text_after: str
    seen: str

    @property
    def nothing(self) -> bool:
        """Whether the file said so already."""
        return self.text_before == self.text_after


def fingerprint(content: bytes) -> str:
    """What a file's content is known by."""
    return sha256(content).hexdigest()


def edited(path: Path, id_: str, value: str | None, because: str = "") -> Changed:
    """What setting an answer would do (or taking it out: None); nothing is written. Raises UserError."""
    try:
        return _edited(path, read_bytes(path), {id_: value}, Beside(because))[0]
    except BriefError as wrong:
        raise UserError(str(wrong)) from None


def edited_text(path: Path, text: str, edits: Mapping[str, str | None], beside: Beside) -> tuple[Changed, Inputs]:
    """What edits would make of a text that stands for the brief of a path, and its inputs; nothing is written.

    Raises UserError.
    """
    changed, inputs = _edited(path, text.encode(), edits, beside)
    return changed, inputs or inputs_at(path, beside.firm, changed.text_after)


def set_value(path: Path, id_: str, value: str | None, expected: str | None = None, because: str = "") -> Changed:
    """Write one answer into a brief, None to take it out. `because` is a pin's reason.

    `expected` is the fingerprint of what the caller saw.

    Raises UserError: for an unknown id; when the brief would not be read with this value; when somebody else has
    changed the file meanwhile. Then it stands as it was, and in the last case this version lies beside it.
    """
    return set_values(path, {id_: value}, expected, because)


def remove_value(path: Path, id_: str, expected: str | None = None) -> Changed:
    """Take one answer or group of answers out of a brief. Raises UserError as `set_value` does."""
    return set_values(path, {id_: None}, expected)


def set_values(
    path: Path, edits: Mapping[str, str | None], expected: str | None = None, because: str = ""
) -> Changed:
    """Write several answers at once, None to take one out. Raises UserError as `set_value` does."""
    return _set(path, edits, expected, Beside(because))[0]


def change(
    path: Path,
    edits: Mapping[str, str | None],
    expected: str | None = None,
    because: str = "",
    held: Plan | None = None,
    firm: Path | None = None,
) -> tuple[Changed, Inputs]:
    """The same, with what the brief is planned from now: the new text is read once.

    `held` is the plan before: with it a pin is tried without a search. Raises UserError as `set_value` does.
    """
    changed, inputs = _set(path, edits, expected, Beside(because, held, firm))
    return changed, inputs or inputs_at(path, firm, changed.text_after)


def _set(
    path: Path, edits: Mapping[str, str | None], expected: str | None, beside: Beside
) -> tuple[Changed, Inputs | None]:
    """What was written, and what is planned from now where anything was."""
    try:
        with held(path) as file:
            raw = read_bytes(path)
            known = expected is None or fingerprint(raw) == expected
            changed, inputs = _edited(path, raw, edits, beside)
            if not known or not changed.nothing:
                _written(file, raw, changed, known=known)
            return changed, inputs
    except BriefError as wrong:
        raise UserError(str(wrong)) from None
    except OutputError as wrong:
        if not path.is_file():
            edited(path, "", None)  # tells it as every command does
        raise UserError(str(wrong)) from None


def _written(file: Held, raw: bytes, changed: Changed, *, known: bool) -> None:
    """Raises UserError when another version stands there."""
    mine = changed.text_after.encode()
    theirs = file.rewrite(raw, mine) if known else raw
    if theirs is None:
        return
    if file.path.read_bytes() == mine:
        kept = kept_beside(file.path, theirs, "theirs")
        raise UserError(
            f"{changed.id} is written, but another program wrote into {file.path.name} at the same moment; "
            f"its version is kept as {kept}. {_difference(theirs, mine, kept.name, file.path.name)}"
        )
    kept = kept_beside(file.path, mine, "mine")
    raise UserError(
        f"{file.path.name} was changed by somebody else meanwhile, so it was left alone; your version is kept as "
        f"{kept}. {_difference(theirs, mine, file.path.name, kept.name)}"
    )


def _difference(one: bytes, other: bytes, one_name: str, other_name: str) -> str:
    mine, theirs = (part.decode(errors="replace").splitlines() for part in (one, other))
    lines = list(unified_diff(mine, theirs, one_name, other_name, n=1, lineterm=""))
    more = [f"and {len(lines) - MOST_DIFFERENCES} more lines"] if len(lines) > MOST_DIFFERENCES else []
    return "\n".join(["They differ so:", *lines[:MOST_DIFFERENCES], *more])


def _edited(path: Path, raw: bytes, edits: Mapping[str, str | None], beside: Beside) -> tuple[Changed, Inputs | None]:
    """What the edits do, and the inputs of the new text where it is another one."""
    text = decoded(path, raw)
    text = MARK + text if raw.startswith(MARK.encode()) else text
    sections = known_sections()
    wanted = _with_reasons(edits, beside.because)
    try:
        new = with_values(text, wanted, sections, path.name)
    except EditError as wrong:
        pinned = any(id_.startswith(PIN) and value is not None for id_, value in wanted.items())
        says = f"{wrong}; a pin needs its reason (because)" if pinned and not beside.because else str(wrong)
        raise UserError(says) from None
    inputs = _must_read(path, new, list(wanted), beside) if new != text else None
    first = next(iter(wanted))
    steps = steps_of(first, placed(text, path.name), {section.key: section for section in sections})
    values = [at(placed(one, path.name), steps) for one in (text, new)]
    old, now = ("" if value is None else str(value) if isinstance(value, str) else "(a group)" for value in values)
    return Changed(first, old, now, *_lines(text, new), text, new, fingerprint(raw)), inputs


def _with_reasons(edits: Mapping[str, str | None], because: str) -> dict[str, str | None]:
    """A pin is set by its id alone: value and reason are two answers. Raises UserError for a reason without a pin."""
    wanted: dict[str, str | None] = {}
    for id_, value in edits.items():
        if id_.startswith(PIN) and value is not None and not id_.endswith(".because"):
            name = id_.removesuffix(".value")
            wanted[f"{name}.value"] = value
            wanted |= {f"{name}.because": because} if because else {}
        else:
            wanted[id_] = value
    if because and not any(id_.startswith(PIN) for id_ in wanted):
        raise UserError("only a pin takes a reason; write other remarks into the brief yourself, after a #")
    return wanted


def _must_read(path: Path, new: str, ids: list[str], beside: Beside) -> Inputs:
    """The new text must be a brief; with a pin also a plan, since a pin may name nothing. Raises UserError."""
    try:
        inputs = inputs_at(path, beside.firm, new)
        if any(id_.startswith(PIN) for id_ in ids):
            make(inputs, held=beside.held)
    except (UserError, PlanError, PinError, CatalogueError) as wrong:
        raise UserError(
            f"{path.name} was left as it is; changed like this it would have a mistake:\n{wrong}"
        ) from None
    return inputs


def _lines(old: str, new: str) -> tuple[int, str, str]:
    """The first line that differs, and all lines that differ, as they were and as they are."""
    before, after = old.splitlines(), new.splitlines()
    same = next(
        (i for i, (a, b) in enumerate(zip(before, after, strict=False)) if a != b), min(len(before), len(after))
    )
    tail = 0
    while tail < min(len(before), len(after)) - same and before[-1 - tail] == after[-1 - tail]:
        tail += 1
    return same + 1, "\n".join(before[same : len(before) - tail]), "\n".join(after[same : len(after) - tail])
