"""From the text of standing.yaml to what stands, with every mistake and contradiction at once."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from scantling.brief.loading import BriefError, Default, Written, load
from scantling.brief.splicing import written as spelled
from scantling.catalogue import Catalogue, House
from scantling.figures.composing import composed
from scantling.figures.placed import Mistake, Node, Text, WrittenError
from scantling.standing import SECTIONS, BoughtParts, Issued, Kit, Standing
from scantling.standing.checking import Wrong, contradictions

BLANK = ("", "#", "---")


def stands(written: str, file: str, catalogue: Catalogue, house: House) -> Standing:
    """What stands, as written. An empty file is fine. Raises BriefError with file:line:column for every mistake."""
    if all(line.strip() in BLANK or line.lstrip().startswith("#") for line in written.splitlines()):
        return Standing()
    try:
        standing, mistakes = _read(written, file, catalogue, house), []
    except BriefError as wrong:
        standing, mistakes = _rest(written, file, wrong, (catalogue, house)), list(wrong.mistakes)
    told = list(contradictions(standing, catalogue))
    if mistakes or told:
        raise BriefError([*mistakes, *_placed(told, written, file, mistakes)])
    return standing


def _read(written: str, file: str, catalogue: Catalogue, house: House) -> Standing:
    defaults = {key: Default(line.texts[0], line.why, line.laid_at) for key, line in house.lines.items()}
    read = load(written, file, SECTIONS, defaults, {}, Written("standing", catalogue.currency))
    kit, bought, issued = read[Kit], read[BoughtParts], read[Issued]
    assert isinstance(kit, Kit)
    assert isinstance(bought, BoughtParts)
    assert isinstance(issued, Issued)
    return Standing(kit.items, bought.items, issued)


def _rest(written: str, file: str, wrong: BriefError, stock: tuple[Catalogue, House]) -> Standing:
    """What can be read without the things in which something is wrong, so that contradictions are told along with it."""
    try:
        tree, _ = composed(written, file)
    except WrittenError:
        return Standing()
    for mistake in wrong.mistakes:
        _drop(tree, mistake.path.split("."))
    try:
        return _read("{" + _flow(tree) + "}", file, *stock)
    except BriefError:
        return Standing()


def _drop(tree: Node, path: Sequence[str]) -> None:
    """Take out the named thing in which a mistake stands, or the answer or group where it is in none."""
    *above, last = path[: 3 if path[0] == Issued.key else 2]
    group = tree
    for step in above:
        below = group.get(step)
        if not isinstance(below, Node):
            group.pop(step, None)
            return
        group = below
    group.pop(last, None)


def _flow(node: Node) -> str:
    """The same tree on one line."""
    return ", ".join(
        f"{spelled(word, None)}: "
        + ("{" + _flow(below) + "}" if isinstance(below, Node) else spelled(str(below), None))
        for word, below in node.items()
        if isinstance(below, Node | Text)
    )


def _placed(told: Iterable[Wrong], written: str, file: str, mistakes: Sequence[Mistake]) -> Iterator[Mistake]:
    """Contradictions at their places, without those that only follow from a mistake in a zone."""
    if not told:
        return
    tree, _ = composed(written, file)
    paths = [mistake.path.split(".") for mistake in mistakes]
    broken = {path[2] for path in paths if path[:2] == ["issued", "zones"] and len(path) > 2}  # noqa: PLR2004 - a zone
    none = ["issued"] in paths or ["issued", "zones"] in paths
    for path, says in told:
        found: Any = tree
        for word in path.split("."):
            found = found.get(word) if isinstance(found, Node) else None
        if not (path.endswith(".zone") and (none or str(found) in broken)):
            yield Mistake(file, *place(tree, path), path, says)


def place(tree: Node, path: str) -> tuple[int, int]:
    """Line and column of the answer at a path; of the deepest word that exists where there is none."""
    at: tuple[int, int] = tree.at
    found: object = tree
    for word in path.split("."):
        if not isinstance(found, Node) or word not in found:
            return at
        at, found = found.keys_at[word], found[word]
    return (found.line, found.column) if isinstance(found, Text) else at
