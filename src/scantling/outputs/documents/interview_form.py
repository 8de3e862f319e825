"""The interview sheet as PDF/A-2a and PDF/UA-1, a paper form: no field of it can be filled on a screen."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from scantling.brief.form import Form, Line, Table
from scantling.outputs.documents.letters import cleaned
from scantling.outputs.documents.pdf import compiled

TEMPLATE = Path(__file__).parent / "interview.typ"
UNDATED = "2000-01-01"
"""The document's own date where no day is known: the same form must give the same bytes."""


def printed(form: Form) -> bytes:
    """The PDF of a form. Same form, same bytes. Raises PrintError."""
    return compiled(TEMPLATE, _data(form), {}, form.date or UNDATED)


def _data(form: Form) -> str:
    """The form as JSON for the template, in letters that print."""
    parts = [{"title": part.title, "items": [_item(item) for item in part.items]} for part in form.parts]
    paper = "us-letter" if form.paper == "letter" else "a4"
    made = cleaned({"client": form.client, "date": form.date, "paper": paper, "parts": parts})
    odd = [{"mark": letter} for letter in sorted(made.odd)]
    return json.dumps({**made.data, "odd": odd}, ensure_ascii=False)


def _item(item: Line | Table) -> dict[str, Any]:
    plain: dict[str, Any] = json.loads(json.dumps(asdict(item)))  # tuples as lists, as the cleaner wants them
    return {**plain, "kind": "line" if isinstance(item, Line) else "things"}
