"""One verb a command, same word; each family of verbs in a module of its own."""

from scantling.api.comparing import (
    Planned, answers, compare, compare_planned, planned, price_of_pins, write_comparison,
)  # fmt: skip
from scantling.api.editing import Changed, change, edited, fingerprint, remove_value, set_value, set_values
from scantling.api.filing import Filed, files, write_files
from scantling.api.interviewing import Meeting, like, moved, scenarios
from scantling.api.office_work import Read, all_mistakes, planned_quickly, proved_twice, rewritten, text_of
from scantling.api.options import OptionPlan, options, options_text
from scantling.api.keeping import Kept, Wish, keep, kept
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
