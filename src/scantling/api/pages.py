"""The pages that are made from the code: what a brief and a standing file may hold."""

import json

from scantling.api.planning import defaults, known_sections, stock, words
from scantling.brief.reference import page
from scantling.brief.schema import json_schema as schema
from scantling.standing.reference import standing_page as standing


def reference_page() -> str:
    """Every section and answer of a brief, as a page a newcomer can write one from."""
    kept = stock()
    return page(known_sections(), defaults(kept.house), words(kept.catalogue))


def standing_page() -> str:
    """Every section and answer of a standing file, as a page."""
    return standing(defaults(stock().house))


def json_schema() -> str:
    """The JSON Schema of a brief, for editors."""
    kept = stock()
    made = schema(known_sections(), defaults(kept.house), words(kept.catalogue))
    return json.dumps(made, indent=1, ensure_ascii=False) + "\n"
