"""From a brief's text to its sections, with every mistake at once."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from re import ASCII, fullmatch
from typing import Any

from pydantic import ConfigDict, ValidationError, create_model

from scantling.figures.composing import composed
from scantling.brief.sections import Assumed, Mapped, Section, ask_of, group, is_mapping
from scantling.brief.wording import Place, known_words, place_of, says
from scantling.figures.figure import OriginKind
from scantling.figures.placed import Mistake, Node, Text, WrittenError
from scantling.figures.spelled import shown

SLUG = r"[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?"
ID = r"[A-Za-z0-9](?:[A-Za-z0-9._-]{0,98}[A-Za-z0-9])?"
MOST_SHOWN = 100
OFFICE = "office"


class BriefError(WrittenError):
    """All mistakes of a brief at once, sorted by place; its text shows the first hundred."""

    def __str__(self) -> str:
        lines = [str(mistake) for mistake in self.mistakes[:MOST_SHOWN]]
        more = len(self.mistakes) - MOST_SHOWN
        return "\n".join([*lines, f"and {more:,} more"] if more > 0 else lines)


@dataclass(frozen=True)
class Default:
    """A house rule's text and its reason, for a field that may be assumed."""

    text: str
    why: str
    place: str = ""
    """Where it is written, if a firm wrote it over ours."""


@dataclass(frozen=True)
class Written:
    """What kind of written input it is, as a leaf says it, and the currency of its prices where it names none."""

    kind: OriginKind = "brief"
    currency: str = ""


class Kept(dict[str, Default]):
    """Defaults and words that nobody changes any more: sections that were read with them are kept by what they say."""

    def __init__(self, defaults: Mapping[str, Default], words: Mapping[str, Sequence[str]]) -> None:
        super().__init__(defaults)
        self.words = words
        self.read = lru_cache(512)(self._read)

    def _read(self, section: type[Section], block: "_Block", kind: OriginKind, currency: str) -> Section:
        """A section of its own. Raises WrittenError or ValidationError, which the reader of the whole tells better."""
        if mistakes := list(_fill(block.node, section, self)):
            raise WrittenError(mistakes)
        context = {"currency": currency, "words": self.words, "kind": kind}
        return section.model_validate(block.node, context=context)


class _Block:
    """A node known by all that it says and where it says so."""

    def __init__(self, file: str, node: Node) -> None:
        self.node, self.says = node, (file, _says(node))
        self.hash = hash(self.says)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Block) and self.says == other.says

    def __hash__(self) -> int:
        return self.hash


def load(
    text: str,
    file: str,
    sections: Sequence[type[Section]],
    defaults: Mapping[str, Default],
    words: Mapping[str, Sequence[str]] | None = None,
    as_: Written = Written(),
) -> dict[type[Section], Section]:
    """The sections that a written input holds. Raises BriefError with file:line:column for every mistake.

    `words` are the names that fields declared `among` a kind may take; `defaults` that are `Kept` bring their own, and with
    them what was read once is not read again.
    """
    words = defaults.words if isinstance(defaults, Kept) else words
    tree, mistakes = _composed(text, file)
    by_key = {section.key: section for section in sections}
    _complete(tree, by_key)
    if isinstance(defaults, Kept) and not mistakes:
        if (known := _known(tree, by_key, defaults, (as_.kind, as_.currency or _currency(tree)))) is not None:
            return known
        tree, mistakes = _composed(text, file)  # that one has been filled in here and there
        _complete(tree, by_key)
    for key, section in by_key.items():
        if isinstance(tree.get(key), Node):
            mistakes += _fill(tree[key], section, defaults)
    context = {"currency": as_.currency or _currency(tree), "words": words or {}, "kind": as_.kind}
    try:
        brief = _model(tuple(sections)).model_validate(dict(tree), context=context)
    except ValidationError as wrong:
        raise BriefError(mistakes + _typed(wrong, tree, by_key, mistakes)) from None
    if mistakes:
        raise BriefError(mistakes)
    return {s: getattr(brief, key) for key, s in by_key.items() if getattr(brief, key) is not None}


def _composed(text: str, file: str) -> tuple[Node, list[Mistake]]:
    try:
        return composed(text, file)
    except WrittenError as wrong:
        raise BriefError(list(wrong.mistakes)) from None


def _known(
    tree: Node, by_key: Mapping[str, type[Section]], kept: Kept, context: tuple[OriginKind, str]
) -> dict[type[Section], Section] | None:
    """Every section read for itself, or known from before; None where anything is wrong."""
    if OFFICE in by_key and OFFICE not in tree:
        return None
    if not all(key in by_key and isinstance(node, Node) for key, node in tree.items()):
        return None
    blocks = {key: _Block(tree.file, tree[key]) for key in by_key if key in tree}
    try:
        return {by_key[key]: kept.read(by_key[key], block, *context) for key, block in blocks.items()}
    except (WrittenError, ValidationError):
        return None


def _says(found: Any) -> tuple[Any, ...]:
    """All that a node says, with the places of its words and answers, as plain data."""
    if isinstance(found, Node):
        return (found.path, found.at, *((key, found.keys_at[key], _says(below)) for key, below in found.items()))
    if isinstance(found, list):
        return ("", *map(_says, found))
    return (str(found), found.line, found.column)


@cache
def _model(sections: tuple[type[Section], ...]) -> Any:
    fields: Any = {s.key: (s, ...) if s.key == OFFICE else (s | None, None) for s in sections}
    config = ConfigDict(extra="forbid", arbitrary_types_allowed=True)
    return create_model("Brief", __config__=config, **fields)


def _currency(tree: Node) -> str:
    """The office's currency, if it is written so that it can be one."""
    office = tree.get(OFFICE)
    written = office.get("currency") if isinstance(office, Node) else None
    return str(written) if isinstance(written, Text) and fullmatch("[A-Z]{3}", written) else ""


def _complete(tree: Node, by_key: Mapping[str, type[Section]]) -> None:
    """Sections that are read as a whole from house rules when the brief is silent."""
    for key, section in by_key.items():
        if key not in tree and section.default_whole:
            node = Node()
            node.file, node.path, node.at, node.keys_at = tree.file, key, tree.at, {}
            tree[key], tree.keys_at[key] = node, tree.at


def _fill(node: Node, section: type[Section], defaults: Mapping[str, Default]) -> Iterator[Mistake]:
    """Put the house's defaults where the brief is silent, and look at the names of named things."""
    if issubclass(section, Mapped):
        yield from _fill_named(node, section.model_fields["items"], defaults, SLUG if section.slugs else ID)
        return
    for name, field in section.model_fields.items():
        key, below = ask_of(field).assumed, node.get(name)
        if key and below is None and key in defaults:
            node[name], node.keys_at[name] = _assumed(node, name, key, defaults[key]), node.at
        elif key and below is None:
            yield Mistake(
                node.file, *node.at, f"{node.path}.{name}", f"the house rule {key} is missing; answer this one"
            )
        elif isinstance(below, Node) and is_mapping(field):
            yield from _fill_named(below, field, defaults, SLUG if section.slugs else ID)
        elif isinstance(below, Node) and (within := group(field)) is not None:
            yield from _fill(below, within, defaults)


def _fill_named(node: Node, field: Any, defaults: Mapping[str, Default], form: str) -> Iterator[Mistake]:
    within = group(field)
    for name, item in node.items():
        if not fullmatch(form, name, ASCII):
            wanted = "small letters, digits and hyphens, at most 40; the full name may stand as name:"
            if form is ID:
                wanted = "letters, digits, dots and hyphens, as the plan prints them"
            yield Mistake(node.file, *node.keys_at[name], shown(f"{node.path}.{name}"), f"names here are {wanted}")
        if isinstance(item, Node) and within is not None:
            yield from _fill(item, within, defaults)


def _assumed(node: Node, name: str, key: str, default: Default) -> Assumed:
    text = Assumed(default.text)
    text.file, (text.line, text.column), text.path = node.file, node.at, f"{node.path}.{name}"
    text.key, text.why, text.said_at = key, default.why, default.place
    return text


def _typed(
    wrong: ValidationError, tree: Node, by_key: Mapping[str, type[Section]], told: Sequence[Mistake]
) -> list[Mistake]:
    """Findings of pydantic in a person's words, without those that only follow from a mistake already told."""
    seen = {(mistake.line, mistake.column) for mistake in told}
    missing_again = {f"{mistake.path}" for mistake in told}
    found: list[tuple[Any, Place]] = [(error, place_of(error["loc"], tree, by_key)) for error in wrong.errors()]
    for error, place in found:
        if error["type"] == "extra_forbidden":
            near = known_words(place, by_key).near
            missing_again.add(".".join([*place.path[:-1], near]))
    return [
        Mistake(
            tree.file,
            *(place.word_at if error["type"] == "extra_forbidden" else place.at),
            shown(".".join(place.path), MOST_SHOWN),
            says(error, place, by_key),
        )
        for error, place in found
        if not (isinstance(place.found, Text) and not isinstance(place.found, Assumed) and place.at in seen)
        and not (error["type"] == "missing" and ".".join(place.path) in missing_again)
    ]
