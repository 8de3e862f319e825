"""One verb a command, same word; each family of verbs in a module of its own."""

from scantling.api.editing import Changed, edited, fingerprint, remove_value, set_value, set_values
from scantling.api.interviewing import Meeting, like, moved, scenarios
from scantling.api.options import OptionPlan, options, options_text
from scantling.api.pages import json_schema, reference_page, standing_page
from scantling.api.planning import (
    OFFICE_SECTIONS, Stock, book, defaults, inputs, known_sections, plan, plan_text, stock, stock_for, why,
)  # fmt: skip
from scantling.api.pricing import PriceImport, read_prices, take_prices

__all__ = [
    "OFFICE_SECTIONS",
    "Changed",
    "Meeting",
    "OptionPlan",
    "PriceImport",
    "Stock",
    "book",
    "defaults",
    "edited",
    "fingerprint",
    "inputs",
    "json_schema",
    "known_sections",
    "like",
    "moved",
    "options",
    "options_text",
    "plan",
    "plan_text",
    "read_prices",
    "reference_page",
    "remove_value",
    "scenarios",
    "set_value",
    "set_values",
    "standing_page",
    "stock",
    "stock_for",
    "take_prices",
    "why",
]
