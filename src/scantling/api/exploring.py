"""Invented offices to look around in: what comes with the program, and one of them copied into a folder of one's own."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from scantling import UserError
from scantling.api.comparing import answers
from scantling.api.interviewing import BRIEF, scenarios
from scantling.api.planning import STANDING, inputs_at
from scantling.figures.numbers import text
from scantling.figures.spelled import shown
from scantling.outputs.writing import OutputError, write_all


@dataclass(frozen=True)
class Invented:
    """An office that comes with the program: a sentence about it, how many people work there, the files it consists of."""

    slug: str
    name: str
    says: str
    people: int
    files: tuple[str, ...]


@cache
def invented() -> tuple[Invented, ...]:
    """All of them, the smallest first. Raises UserError when one can't be read."""
    found = [_told(slug, path) for slug, path in scenarios().items()]
    return tuple(sorted(found, key=lambda one: one.people))


def explore(slug: str, folder: Path) -> tuple[str, ...]:
    """Copy an invented office into a folder; the names of what was written. Raises UserError, and then nothing was.

    Nothing that lies there is written over: where a brief or a standing file lies already, it is refused.
    """
    path = scenarios().get(slug)
    if path is None:
        raise UserError(f"no office called {shown(slug)} comes with this copy of the program")
    names = [*_files(path)]
    there = [name for name in (BRIEF, STANDING) if (folder / name).exists()]
    if there:
        raise UserError(f"{folder / there[0]} lies there already; nothing was copied")
    try:
        content = {name: path.with_name(name).read_bytes() for name in names}
        write_all(folder, content, {folder / name: b"" for name in names})
    except OSError as wrong:
        raise UserError(f"{path.parent}: can't be read: {wrong.strerror or wrong}") from None
    except OutputError as wrong:
        raise UserError(str(wrong)) from None
    return tuple(names)


def _told(slug: str, path: Path) -> Invented:
    every = answers(inputs_at(path))
    heads = [
        figure.value
        for id_, figure in every.items()
        if id_.startswith("brief.people.roles.") and id_.endswith(".heads")
    ]
    return Invented(slug, text(every["brief.office.name"]), _sentence(path), sum(heads), tuple(_files(path)))


def _sentence(path: Path) -> str:
    """What the remark at the top of its brief says of it: the first sentence, without the name."""
    lines = []
    for line in path.read_text(encoding="utf-8").splitlines():
        if not line.startswith("#"):
            break
        lines.append(line.removeprefix("#").strip())
    first = " ".join(lines).partition(". ")[0].rstrip(".")
    said = first.partition(": ")[2] or first
    return f"{said[:1].upper()}{said[1:]}."


def _files(path: Path) -> Iterator[str]:
    yield BRIEF
    if path.with_name(STANDING).is_file():
        yield STANDING
