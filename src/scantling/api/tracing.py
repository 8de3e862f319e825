"""Tracings: what-if variants of a brief, each a whole brief's text that lies in a folder beside it."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from re import ASCII, compile as compiled

from scantling import UserError
from scantling.api.comparing import Planned, Tell, planned
from scantling.api.differing import Difference, differences
from scantling.api.editing import fingerprint
from scantling.api.planning import inputs_at, known_sections
from scantling.brief.answers import slug_of
from scantling.brief.editing import EditError, with_values
from scantling.brief.loading import BriefError
from scantling.brief.reading import decoded, read_bytes
from scantling.figures.composing import MARK
from scantling.figures.spelled import shown, unfit
from scantling.handbook.choosing import silent
from scantling.outputs.writing import OutputError, write_all

FOLDER = "tracings"
"""Tracings lie in this folder beside the brief, each with the brief that it was laid over."""
BASE = ".base"
MOST, LONGEST_NAME = 4, 60
SLUG = compiled(r"[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?", ASCII)
HEAD = "# Tracing: "
Edits = Mapping[str, str | None]


@dataclass(frozen=True)
class Tracing:
    """One tracing: its name, its brief's text without the line that names it, and the brief it was laid over.

    `base` is None where that is not known (somebody took its file away). `wrong` says why a file can't be read as a
    tracing; then there is no text.
    """

    slug: str
    name: str
    file: Path
    text: str = ""
    base: str | None = None
    seen: str = ""
    """The fingerprint of its file."""
    wrong: str = ""

    def over(self, brief: str) -> bool:
        """Whether it was laid over this very brief."""
        return self.base is not None and self.base.removeprefix(MARK) == brief.removeprefix(MARK)

    def says(self, brief: str) -> bool:
        """Whether its text is this very brief."""
        return not self.wrong and self.text.removeprefix(MARK) == brief.removeprefix(MARK)

    def differs(self, brief: str) -> tuple[Difference, ...]:
        """Its answers that are not those of a brief. Raises UserError where either can't be read."""
        return differences(brief, self.text, self.file.name)


def brief_text(brief: Path) -> str:
    """A brief's text with its byte-order mark, where it has one. Raises UserError."""
    return _text(brief, _bytes(brief))


def _bytes(path: Path) -> bytes:
    try:
        return read_bytes(path)
    except BriefError as wrong:
        raise UserError(str(wrong)) from None


def _text(path: Path, raw: bytes) -> str:
    try:
        text = decoded(path, raw)
    except BriefError as wrong:
        raise UserError(str(wrong)) from None
    return MARK + text if raw.startswith(MARK.encode()) else text


def tracings(brief: Path) -> tuple[Tracing, ...]:
    """Every tracing beside a brief, by its short name."""
    folder = brief.with_name(FOLDER)
    files = sorted(folder.glob("*.yaml")) if folder.is_dir() else []
    return tuple(_read(file) for file in files if SLUG.fullmatch(file.stem))


def tracing(brief: Path, slug: str) -> Tracing:
    """One tracing by its short name. Raises UserError where there is none, or where it can't be read."""
    file = brief.with_name(FOLDER) / f"{slug}.yaml"
    if not SLUG.fullmatch(slug) or not file.is_file():
        raise UserError(f"there is no tracing called {shown(slug)}; it may have been discarded meanwhile")
    found = _read(file)
    if found.wrong:
        raise UserError(found.wrong)
    return found


def _read(file: Path) -> Tracing:
    beside = file.with_name(f"{file.stem}{BASE}.yaml")
    try:
        raw = _bytes(file)
        text = _text(file, raw)
        base = _text(beside, _bytes(beside)) if beside.is_file() else None
    except UserError as wrong:
        return Tracing(file.stem, file.stem, file, wrong=str(wrong))
    name, body = _unheaded(text)
    return Tracing(file.stem, name or file.stem, file, body, base, fingerprint(raw))


def _unheaded(text: str) -> tuple[str, str]:
    """The name that the first line gives, and the text without that line."""
    mark, rest = (MARK, text.removeprefix(MARK)) if text.startswith(MARK) else ("", text)
    if not rest.startswith(HEAD):
        return "", text
    line, _, body = rest.partition("\n")
    return line.removeprefix(HEAD).strip(), mark + body


def headed(name: str, text: str) -> bytes:
    """The text under its name, with the line ends that it has."""
    mark, body = (MARK, text.removeprefix(MARK)) if text.startswith(MARK) else ("", text)
    end = "\r\n" if "\r\n" in body else "\n"
    return f"{mark}{HEAD}{name}{end}{body}".encode()


def named(name: str) -> str:
    """A tracing's name as it is kept. Raises UserError for one that is empty, too long or not to be printed."""
    tidy = " ".join(name.split())
    if not tidy or len(tidy) > LONGEST_NAME or any(map(unfit, tidy)):
        raise UserError(f"a tracing's name is one line of 1 to {LONGEST_NAME} letters; this is {shown(name)!r}")
    return tidy


def trace(brief: Path, name: str, edits: Edits | None = None, firm: Path | None = None) -> Tracing:
    """A new tracing of a brief as it stands, with some answers changed. Raises UserError, and then there is none."""
    tidy, there = named(name), tracings(brief)
    if len(there) >= MOST:
        told = ", ".join(one.name for one in there)
        raise UserError(f"{MOST} tracings lie over the brief already ({told}); discard one first")
    base = brief_text(brief)
    slug = slug_of(tidy, {one.slug: one.name for one in there}, "tracing")
    text = changed(brief, slug, base, edits or {}, firm)
    file = brief.with_name(FOLDER) / f"{slug}.yaml"
    write({file.name: headed(tidy, text), f"{slug}{BASE}.yaml": base.encode()}, file, b"")
    return tracing(brief, slug)


def change(brief: Path, slug: str, edits: Edits, seen: str = "", firm: Path | None = None) -> Tracing:
    """Set answers of a tracing, or take them out (None). `seen` is the fingerprint of what the caller saw.

    Raises UserError, and then it is as it was.
    """
    there = tracing(brief, slug)
    if seen and seen != there.seen:
        raise UserError(f"{there.name} was changed by somebody else meanwhile; look at it again, then change it")
    return _rewritten(brief, there, there.name, changed(brief, slug, there.text, edits, firm))


def rename(brief: Path, slug: str, name: str) -> Tracing:
    """The same tracing under another name; its file stays. Raises UserError."""
    there = tracing(brief, slug)
    return _rewritten(brief, there, named(name), there.text)


def discard(brief: Path, slug: str) -> str:
    """Take a tracing away for good; returns its name. Raises UserError."""
    if not SLUG.fullmatch(slug):
        raise UserError(f"there is no tracing called {shown(slug)}")
    file = brief.with_name(FOLDER) / f"{slug}.yaml"
    name = _read(file).name
    try:
        file.unlink(missing_ok=True)
        file.with_name(f"{slug}{BASE}.yaml").unlink(missing_ok=True)
    except OSError as wrong:
        raise UserError(f"can't take {file.name} away: {wrong.strerror or wrong}") from None
    return name


def planned_tracing(brief: Path, one: Tracing, tell: Tell = silent, firm: Path | None = None) -> Planned:
    """The plan of a tracing, with what lies beside the brief. Raises UserError."""
    if one.wrong:
        raise UserError(one.wrong)
    return planned(as_brief(brief, one.slug), tell, firm, one.text)


def as_brief(brief: Path, slug: str) -> Path:
    """The name under which mistakes are told, in the brief's folder, so that what stands and the firm are found."""
    return brief.with_name(f"{slug}.yaml")


def to_take_up(brief: Path, slug: str) -> str:
    """The text that makes a tracing the brief. Raises UserError where the brief has changed since it was laid over it."""
    there = tracing(brief, slug)
    if not there.over(brief_text(brief)):
        raise UserError(
            f"{brief.name} has changed since {there.name} was laid over it, and taking it up would undo that; "
            "lay it on today's brief first"
        )
    return there.text


def changed(brief: Path, slug: str, text: str, edits: Edits, firm: Path | None) -> str:
    """The text with these answers, which must then be a brief. Raises UserError."""
    if not edits:
        return text
    name = as_brief(brief, slug)
    try:
        new = with_values(text, edits, known_sections(), name.name)
    except EditError as wrong:
        raise UserError(str(wrong)) from None
    if new != text:
        try:
            inputs_at(name, firm, new)
        except UserError as wrong:
            raise UserError(f"it was left as it was; changed like this it would have a mistake:\n{wrong}") from None
    return new


def _rewritten(brief: Path, there: Tracing, name: str, text: str) -> Tracing:
    write({there.file.name: headed(name, text)}, there.file, headed(there.name, there.text))
    return tracing(brief, there.slug)


def write(files: Mapping[str, bytes], file: Path, seen: bytes) -> None:
    """Raises UserError where the file is not what was seen, or can't be written."""
    try:
        write_all(file.parent, files, {file: seen})
    except OutputError as wrong:
        raise UserError(str(wrong)) from None
