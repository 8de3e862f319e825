"""Reads the record of a rehearsal back, for the book and the drawings; whatever is wrong with it is told in a person's words."""

import json
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, NoReturn, TypeVar, get_args, get_origin, get_type_hints

from scantling import UserError
from scantling.figures.spelled import shown
from scantling.outputs.reading_back import bytes_of
from scantling.trials.rehearsal.report import FORM, compared_part, digest_of
from scantling.trials.rehearsal.results import Rehearsed

T = TypeVar("T")
MOST_BYTES = 64_000_000
DO = "rehearse again with --out, and take rehearsal.json from there"
WORDS: Mapping[type, str] = {
    str: "a text", int: "a whole number", float: "a number", bool: "true or false", tuple: "a list", dict: "an object",
    NoneType: "null",
}  # fmt: skip


class RecordError(UserError):
    """A file that is no record of a rehearsal, or one that somebody has changed."""


class _WrongError(Exception):
    """A value that is not of its kind, with its place."""


def read_file(path: Path) -> Rehearsed:
    """The rehearsal that a file records. Raises RecordError."""
    name = shown(str(path), 100)
    try:
        raw = bytes_of(path, MOST_BYTES, "a record")
    except UserError as wrong:
        raise RecordError(f"{wrong}; {DO}") from None
    try:
        return read(raw.decode("utf-8"), name)
    except UnicodeDecodeError as wrong:
        raise RecordError(f"{name}: byte {wrong.start} is no text (UTF-8); {DO}") from None


def read(text: str, name: str = "the record") -> Rehearsed:
    """The rehearsal that a text records, as `report.record` wrote it. Raises RecordError: what is wrong, where, what to do."""
    whole = _parsed(text, name)
    if not isinstance(whole, dict) or "compared" not in whole or "form" not in whole:
        raise RecordError(f"{name}: this is no record of a rehearsal; {DO}")
    if whole["form"] != FORM:
        raise RecordError(f"{name}: it has form {shown(str(whole['form']))}, and form {FORM} is read here; {DO}")
    if "this_run" not in whole:
        raise RecordError(f"{name}: this is what --json prints, without what came out that once; {DO}")
    try:
        found: Rehearsed = taken(whole["this_run"], Rehearsed, "this_run")
    except _WrongError as wrong:
        raise RecordError(f"{name}: {wrong}; {DO}") from None
    compared = compared_part(found)
    if whole["compared"] != json.loads(json.dumps(compared)) or whole.get("digest") != digest_of(compared):
        raise RecordError(f"{name}: its parts don't belong together, so somebody has changed it; {DO}")
    return found


def _parsed(text: str, name: str) -> Any:
    try:
        return json.loads(text, parse_constant=_no_number)
    except json.JSONDecodeError as wrong:
        raise RecordError(f"{name}:{wrong.lineno}:{wrong.colno}: this is not JSON ({wrong.msg}); {DO}") from None
    except RecursionError:
        raise RecordError(f"{name}: it is nested too deep for a record; {DO}") from None
    except ValueError as wrong:
        raise RecordError(f"{name}: {wrong}; {DO}") from None


def _no_number(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number that a record holds")


@cache
def _kinds(kind: type) -> Mapping[str, Any]:
    return get_type_hints(kind)


def taken(value: Any, kind: Any, where: str) -> Any:
    """A value of JSON as a kind of ours: dataclasses, tuples, texts and numbers. Raises _WrongError, which names the place."""
    origin, inner = get_origin(kind), get_args(kind)
    if origin is UnionType:
        return None if value is None and NoneType in inner else taken(value, inner[0], where)
    if is_dataclass(kind):
        return _record(value, kind, where)
    if origin is tuple:
        return _listed(value, inner, where)
    wanted = (int, float) if kind is float else kind
    if not isinstance(value, wanted) or (isinstance(value, bool) and kind is not bool):
        raise _WrongError(f"{where}: {WORDS[kind]} is wanted, not {shown(json.dumps(value))}")
    return float(value) if kind is float else value


def _record(value: Any, kind: Any, where: str) -> Any:
    if not isinstance(value, dict):
        raise _WrongError(f"{where}: {WORDS[dict]} is wanted, not {shown(json.dumps(value))}")
    kinds = _kinds(kind)
    strange = next((key for key in value if key not in kinds), None)
    if strange is not None:
        raise _WrongError(f"{where}: {shown(strange)} is not known here")
    missing = next((one.name for one in fields(kind) if one.name not in value and one.default is MISSING), None)
    if missing is not None:
        raise _WrongError(f"{where}: {missing} is missing")
    return kind(**{key: taken(each, kinds[key], f"{where}.{key}") for key, each in value.items()})


def _listed(value: Any, inner: tuple[Any, ...], where: str) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise _WrongError(f"{where}: {WORDS[tuple]} is wanted, not {shown(json.dumps(value))}")
    if inner[1:] == (...,):
        return tuple(taken(each, inner[0], f"{where}.{place}") for place, each in enumerate(value))
    if len(value) != len(inner):
        raise _WrongError(f"{where}: {len(inner)} entries are wanted, not {len(value)}")
    pairs = zip(value, inner, strict=True)
    return tuple(taken(each, kind, f"{where}.{place}") for place, (each, kind) in enumerate(pairs))
