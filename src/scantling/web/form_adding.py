"""From what was typed into a form for a new thing, or a new section, to the edits that write it."""

from collections.abc import Mapping, Sequence

from scantling import UserError
from scantling.brief.answers import slug_of
from scantling.web.form import spot_of, wrong_with
from scantling.web.form_filling import Asked
from scantling.web.form_kinds import Named, SectionForm

NEW = "+"
"""Before the id of a list: the key under which the name of a new thing is sent."""


def list_of(form: Sequence[SectionForm], id_: str) -> Named | None:
    """The table of an id, None where there is none."""
    return next((table for section in form for table in section.tables if table.id == id_), None)


def edits_of(typed: Mapping[str, str], form: Sequence[SectionForm], asked: Asked) -> dict[str, str]:
    """The answers to write, by id. A key that begins with + holds the name of a new thing; answers have a star for it.

    Raises UserError with everything that is wrong or left out.
    """
    words: dict[str, str] = {}
    made: dict[str, str] = {}
    wrong: list[str] = []
    for key, value in typed.items():
        table = list_of(form, key.removeprefix(NEW)) if key.startswith(NEW) else None
        if table is None:
            continue
        if not value.strip():
            wrong.append(f"{table.naming}: this can't be left out")
            continue
        words[table.id] = _word(table, value.strip())
        if table.has_name:
            made[f"{table.id}.{words[table.id]}.name"] = value.strip()
    for key, value in typed.items():
        if spot_of(key, asked) is None:
            continue
        if says := wrong_with(key, value, asked):
            wrong.append(f"{key.rsplit('.', 1)[-1].replace('_', ' ').replace('*', 'answer')}: {says}")
        elif value.strip():
            made[_named(key, words)] = value
    if wrong:
        raise UserError("\n".join(wrong))
    return made


def _word(table: Named, name: str) -> str:
    """The word of a new thing: made from its name, or as typed where words are codes."""
    taken = {row.slug: "" for row in table.rows}
    if table.free:
        return slug_of(name, taken, "new")
    if name in taken:
        raise UserError(f"{name} stands there already; change it in its own row")
    return name


def _named(key: str, words: Mapping[str, str]) -> str:
    """An id with the new thing's word for its star."""
    for list_, word in words.items():
        if key.startswith(f"{list_}.*"):
            return f"{list_}.{word}{key.removeprefix(f'{list_}.*')}"
    return key
