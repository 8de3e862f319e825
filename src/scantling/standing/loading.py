"""From the text of standing.yaml to what stands, with every mistake and contradiction at once."""

from scantling.brief.loading import BriefError, Default, Written, load
from scantling.catalogue import Catalogue, House
from scantling.figures.composing import composed
from scantling.figures.placed import Mistake, Node, Text
from scantling.standing import SECTIONS, BoughtParts, Issued, Kit, Standing
from scantling.standing.checking import contradictions

BLANK = ("", "#", "---")


def stands(written: str, file: str, catalogue: Catalogue, house: House) -> Standing:
    """What stands, as written. An empty file is fine. Raises BriefError with file:line:column for every mistake."""
    if all(line.strip() in BLANK or line.lstrip().startswith("#") for line in written.splitlines()):
        return Standing()
    defaults = {key: Default(line.texts[0], line.why, line.laid_at) for key, line in house.lines.items()}
    read = load(written, file, SECTIONS, defaults, {}, Written("standing", catalogue.currency))
    kit, bought, issued = read[Kit], read[BoughtParts], read[Issued]
    assert isinstance(kit, Kit)
    assert isinstance(bought, BoughtParts)
    assert isinstance(issued, Issued)
    standing = Standing(kit.items, bought.items, issued)
    wrong = list(contradictions(standing, catalogue))
    if wrong:
        tree, _ = composed(written, file)
        raise BriefError([Mistake(file, *place(tree, path), path, says) for path, says in wrong])
    return standing


def place(tree: Node, path: str) -> tuple[int, int]:
    """Line and column of the answer at a path; of the deepest word that exists where there is none."""
    at: tuple[int, int] = tree.at
    found: object = tree
    for word in path.split("."):
        if not isinstance(found, Node) or word not in found:
            return at
        at, found = found.keys_at[word], found[word]
    return (found.line, found.column) if isinstance(found, Text) else at
