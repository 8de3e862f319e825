"""One verb a command, same word; each family of verbs in a module of its own, loaded when one of its words is first used."""

from collections.abc import Mapping
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scantling.api.comparing import (
        Planned, answers, compare, compare_planned, planned, price_of_pins, write_comparison,
    )  # fmt: skip
    from scantling.api.editing import Changed, change, edited, fingerprint, remove_value, set_value, set_values
    from scantling.api.filing import Filed, files, write_files
    from scantling.api.firm_options import OptionPlan, options, options_text
    from scantling.api.interviewing import Meeting, like, moved, scenarios
    from scantling.api.keeping import Kept, Wish, keep, kept
    from scantling.api.office_work import Read, all_mistakes, planned_quickly, proved_twice, rewritten, text_of
    from scantling.api.pages import json_schema, reference_page, standing_page
    from scantling.api.planning import (
        OFFICE_SECTIONS, Stock, book, defaults, inputs, known_sections, plan, plan_text, stock, stock_for, why,
    )  # fmt: skip
    from scantling.api.pricing import PriceImport, read_prices, take_prices
    from scantling.api.proving import Proving, prove, proved, proving_json
    from scantling.api.rehearsal_papers import (
        Papers, may_write, of_another_plan, read_rehearsal, rehearsal_drawings, write_rehearsal,
    )  # fmt: skip
    from scantling.api.rehearsing import Person, RehearsalWish, Rehearsed, rehearse, rehearsed_json
    from scantling.api.sketching import Sketched, every_mistake, read_again, sketched
    from scantling.api.weighing import read_weighing, weigh, weighed_json, write_weighing

FAMILIES: Mapping[str, str] = {
    "comparing": "Planned answers compare compare_planned planned price_of_pins write_comparison",
    "editing": "Changed change edited fingerprint remove_value set_value set_values",
    "filing": "Filed files write_files",
    "firm_options": "OptionPlan options options_text",
    "interviewing": "Meeting like moved scenarios",
    "keeping": "Kept Wish keep kept",
    "office_work": "Read all_mistakes planned_quickly proved_twice rewritten text_of",
    "pages": "json_schema reference_page standing_page",
    "planning": "OFFICE_SECTIONS Stock book defaults inputs known_sections plan plan_text stock stock_for why",
    "pricing": "PriceImport read_prices take_prices",
    "proving": "Proving prove proved proving_json",
    "rehearsal_papers": "Papers may_write of_another_plan read_rehearsal rehearsal_drawings write_rehearsal",
    "rehearsing": "Person RehearsalWish Rehearsed rehearse rehearsed_json",
    "sketching": "Sketched every_mistake read_again sketched",
    "weighing": "read_weighing weigh weighed_json write_weighing",
}
"""The words of each module, so that a command loads no more than it uses."""
HOME: Mapping[str, str] = {word: family for family, words in FAMILIES.items() for word in words.split()}

if not TYPE_CHECKING:  # to the type checker every word is imported above, and no other is known

    def __getattr__(word: str) -> Any:
        """A word of a module that is loaded only now. Raises AttributeError where there is no such word."""
        if word not in HOME:
            message = f"the api has no {word!r}"
            raise AttributeError(message)
        found = globals()[word] = getattr(import_module(f"{__name__}.{HOME[word]}"), word)
        return found


__all__ = [
    "OFFICE_SECTIONS",
    "Changed",
    "Filed",
    "Kept",
    "Meeting",
    "OptionPlan",
    "Papers",
    "Person",
    "Planned",
    "PriceImport",
    "Proving",
    "Read",
    "RehearsalWish",
    "Rehearsed",
    "Sketched",
    "Stock",
    "Wish",
    "all_mistakes",
    "answers",
    "book",
    "change",
    "compare",
    "compare_planned",
    "defaults",
    "edited",
    "every_mistake",
    "files",
    "fingerprint",
    "inputs",
    "json_schema",
    "keep",
    "kept",
    "known_sections",
    "like",
    "may_write",
    "moved",
    "of_another_plan",
    "options",
    "options_text",
    "plan",
    "plan_text",
    "planned",
    "planned_quickly",
    "price_of_pins",
    "prove",
    "proved",
    "proved_twice",
    "proving_json",
    "read_again",
    "read_prices",
    "read_rehearsal",
    "read_weighing",
    "reference_page",
    "rehearsal_drawings",
    "rehearse",
    "rehearsed_json",
    "remove_value",
    "rewritten",
    "scenarios",
    "set_value",
    "set_values",
    "sketched",
    "standing_page",
    "stock",
    "stock_for",
    "take_prices",
    "text_of",
    "weigh",
    "weighed_json",
    "why",
    "write_comparison",
    "write_files",
    "write_rehearsal",
    "write_weighing",
]
