"""A firm's own catalogue and house rules laid over ours: files read, rows and rules laid, all mistakes at once."""

import errno
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from scantling.catalogue import Catalogue, House, Practice
from scantling.catalogue.reading import HOUSE, CatalogueFileError
from scantling.catalogue.rows_overlay import Pile
from scantling.catalogue.rules_overlay import lay_rules
from scantling.figures import Attribute
from scantling.figures.composing import placed
from scantling.figures.placed import MOST_BYTES, Mistake, Node, WrittenError
from scantling.figures.spelled import shown

PRICES = "prices.yaml"
"""The firm's file that imported prices stand in; it lies over the firm's other files."""
LONGEST = 200


def laid_over(
    ours: tuple[Catalogue, House],
    folder: Path,
    columns: Mapping[str, tuple[Attribute[Any], ...]],
    practices: Sequence[Practice[Any]],
) -> tuple[Catalogue, House]:
    """Our catalogue and house rules with those of a firm's folder over them.

    `practices` are the units of all house rules, those that a brief falls back on included. Raises CatalogueFileError
    with file:line:column of every mistake, and where the folder is missing or holds nothing.
    """
    mistakes: list[Mistake] = []
    catalogue, house = ours
    name = _called(folder)
    files, rules = _trees(folder, name, mistakes), _trees(folder / HOUSE, f"{name}/{HOUSE}", mistakes)
    if not (files or rules or mistakes):
        raise CatalogueFileError([Mistake(name, 1, 1, "", _nothing(folder))])
    pile = Pile(columns, {kind: dict(rows) for kind, rows in catalogue.rows.items()}, mistakes)
    pile.lay([tree for file, tree in files.items() if file != PRICES])
    pile.lay([tree for file, tree in files.items() if file == PRICES])
    laid = lay_rules(house, list(rules.values()), practices, mistakes)
    if mistakes:
        raise CatalogueFileError(mistakes)
    return Catalogue(pile.rows, catalogue.currency), laid


def snapshot(folder: Path) -> tuple[tuple[str, bytes], ...] | None:
    """All that the written files of a firm's folder hold, by path; None where anything can't be read, or is too large."""
    try:
        written = [*_written(folder), *_written(folder / HOUSE)]
        if any(not path.is_file() or path.stat().st_size > MOST_BYTES for path in written):  # a pipe would never end
            return None
        return tuple((str(path.absolute()), path.read_bytes()) for path in written)
    except OSError:  # told when it is read
        return None


def says_something(folder: Path) -> bool:
    """Whether a firm's folder holds any written file; one that does not lies over nothing."""
    try:
        return any(_written(folder)) or any(_written(folder / HOUSE))
    except OSError:  # something stands there that can't be read: to be told, not to be planned without
        return True


def _written(folder: Path) -> list[Path]:
    """The written files of a folder, none where there is no folder; hidden ones are an editor's or a system's own.

    Raises OSError where something else stands there, or a folder that can't be listed.
    """
    if not folder.exists() and not folder.is_symlink():
        return []
    return sorted(path for path in folder.iterdir() if path.suffix == ".yaml" and not path.name.startswith("."))


def _called(folder: Path) -> str:
    """The folder as places tell it: by its own name."""
    return shown(Path(os.path.abspath(folder)).name or "firm", 100)  # noqa: PTH100 - a link's own name, and loops are no mistake here


def _nothing(folder: Path) -> str:
    where = shown(str(folder), LONGEST)
    if folder.is_dir():
        return f"no written files (*.yaml, house/*.yaml) in the folder {where}"
    what = "this is a file, not a folder" if folder.exists() else "no such folder"
    return f"{what}: {where}; name the folder that holds the firm's rows and house rules"


def _trees(folder: Path, name: str, mistakes: list[Mistake]) -> dict[str, Node]:
    """The written files of one folder by their names, as placed text."""
    trees = {}
    try:
        files = _written(folder)
    except OSError as wrong:
        says = "this is a file, not a folder" if folder.is_file() else f"can't be read: {wrong.strerror or wrong}"
        mistakes.append(Mistake(name, 1, 1, "", says))
        return {}
    for path in files:
        file = f"{name}/{shown(path.name, 100)}"
        try:
            trees[path.name] = placed(_text(path), file)
        except WrittenError as wrong:
            mistakes += wrong.mistakes
        except UnicodeDecodeError:
            mistakes.append(Mistake(file, 1, 1, "", "not written in UTF-8; save it so"))
        except OSError as wrong:
            mistakes.append(Mistake(file, 1, 1, "", f"can't be read: {wrong.strerror or wrong}"))
    return trees


def _text(path: Path) -> str:
    """The file as text, no more of it than a written file may hold. Raises OSError, UnicodeDecodeError."""
    if path.exists() and not (path.is_file() or path.is_dir()):
        raise OSError(errno.EINVAL, "no plain file")
    with path.open(encoding="utf-8") as file:
        return file.read(MOST_BYTES + 1)
