"""From a brief's text to its sections, with every mistake at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from re import ASCII, fullmatch
from typing import Any, get_args, get_origin

from pydantic import ConfigDict, ValidationError, create_model

from scantling.brief.sections import Assumed, Mapped, Section, extra, reader
from scantling.figures.placed import Mistake, Node, Text, WrittenError, placed

SLUG = r"[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?"


class BriefError(WrittenError):
    """All mistakes of a brief at once."""


@dataclass(frozen=True)
class Default:
    """A house rule's text and its reason, for a field that may be assumed."""

    text: str
    why: str


def load(
    text: str, file: str, sections: Sequence[type[Section]], defaults: Mapping[str, Default]
) -> dict[type[Section], Section]:
    """The sections that the brief holds. Raises BriefError with file:line:column for every mistake."""
    try:
        tree = placed(text, file)
    except WrittenError as wrong:
        raise BriefError(list(wrong.mistakes)) from None
    by_key = {section.key: section for section in sections}
    mistakes: list[Mistake] = []
    for key, section in by_key.items():
        if key not in tree and section.default_whole:
            tree[key], tree.keys_at[key] = _empty(tree, key), tree.at
        if isinstance(tree.get(key), Node):
            _fill(tree[key], section, defaults, mistakes)
    currency = tree.get("office", {}).get("currency", "") if isinstance(tree.get("office"), Node) else ""
    fields: Any = {key: (s | None if key != "office" else s, None if key != "office" else ...) for key, s in by_key.items()}
    model = create_model("Brief", __config__=ConfigDict(extra="forbid", arbitrary_types_allowed=True), **fields)
    try:
        brief = model.model_validate(dict(tree), context={"currency": str(currency)})
    except ValidationError as wrong:
        mistakes += [_mistake(error, tree, by_key) for error in wrong.errors()]
        brief = None
    if mistakes or brief is None:
        raise BriefError(mistakes)
    return {s: getattr(brief, key) for key, s in by_key.items() if getattr(brief, key) is not None}


def _empty(parent: Node, key: str) -> Node:
    node = Node()
    node.file, node.path, node.at, node.keys_at = parent.file, f"{parent.path}.{key}".lstrip("."), parent.at, {}
    return node


def inner(annotation: Any) -> type[Section] | None:
    """The section inside a field's type: itself, or the values of a mapping."""
    if get_origin(annotation) is dict:
        annotation = get_args(annotation)[1]
    return annotation if isinstance(annotation, type) and issubclass(annotation, Section) else None


def _fill(node: Node, section: type[Section], defaults: Mapping[str, Default], mistakes: list[Mistake]) -> None:
    """Put the house's defaults where the brief is silent, and look at the names of named things."""
    if issubclass(section, Mapped):
        _fill_named(node, section.model_fields["items"].annotation, defaults, mistakes, slugs=section.slugs)
        return
    for name, field in section.model_fields.items():
        key = extra(field).get("assumed")
        if key and name not in node:
            node[name], node.keys_at[name] = _assumed(node, name, key, defaults), node.at
        elif isinstance(node.get(name), Node) and (within := inner(field.annotation)) is not None:
            if get_origin(field.annotation) is dict:
                _fill_named(node[name], field.annotation, defaults, mistakes, slugs=True)
            else:
                _fill(node[name], within, defaults, mistakes)


def _fill_named(
    node: Node, annotation: Any, defaults: Mapping[str, Default], mistakes: list[Mistake], *, slugs: bool
) -> None:
    within = inner(annotation)
    for slug, item in node.items():
        if slugs and not fullmatch(SLUG, slug, ASCII):
            says = "name things here in small letters, digits and hyphens, at most 40; give the full name as name:"
            mistakes.append(Mistake(node.file, *node.keys_at[slug], f"{node.path}.{slug}", says))
        if isinstance(item, Node) and within is not None:
            _fill(item, within, defaults, mistakes)


def _assumed(node: Node, name: str, key: str, defaults: Mapping[str, Default]) -> Assumed:
    default = defaults[key]
    text = Assumed(default.text)
    text.file, (text.line, text.column), text.path = node.file, node.at, f"{node.path}.{name}"
    text.key, text.why = key, default.why
    return text


def _mistake(error: Any, tree: Node, by_key: Mapping[str, type[Section]]) -> Mistake:
    """One of pydantic's findings, at the place of the deepest part that exists."""
    steps = [str(step) for step in error["loc"]]
    where: Any = tree
    at, path, model = tree.at, [], None
    for place, step in enumerate(steps):
        model = by_key.get(step) if place == 0 else _next(model, step)
        if step == "items" and isinstance(where, Node) and "items" not in where:
            continue
        path.append(step)
        if isinstance(where, Node) and step in where:
            at, where = where.keys_at[step], where[step]
        else:
            break
    at = (where.line, where.column) if isinstance(where, Text) else at
    return Mistake(tree.file, *at, ".".join(path), _says(error, path, by_key, steps))


def _next(model: Any, step: str) -> Any:
    if model is None or (isinstance(model, type) and issubclass(model, Section)):
        field = model.model_fields.get(step) if model is not None else None
        if field is None:
            return model
        return field.annotation if get_origin(field.annotation) is dict else inner(field.annotation)
    return inner(model)


def _says(error: Any, path: Sequence[str], by_key: Mapping[str, type[Section]], steps: Sequence[str]) -> str:
    kind, last = error["type"], path[-1] if path else ""
    if kind == "extra_forbidden":
        known = _known(steps, by_key)
        near = get_close_matches(last, known, 1, 0.5)
        hint = f"did you mean {near[0]}?" if near else f"known here: {', '.join(known)}"
        return f"this word is not known here; {hint}"
    if kind == "missing":
        return "this answer is missing"
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return "a group of answers is wanted here, each with its word and a colon"
    return str(error["msg"]).removeprefix("Value error, ")


def _known(steps: Sequence[str], by_key: Mapping[str, type[Section]]) -> list[str]:
    model: Any = None
    for place, step in enumerate(steps[:-1]):
        model = by_key.get(step) if place == 0 else _next(model, step)
    if model is None:
        return list(by_key)
    fields = getattr(model, "model_fields", {})
    return [name for name, field in fields.items() if reader(field) is not None or inner(field.annotation) is not None]
