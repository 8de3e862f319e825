"""One verb a command, same word; each family of verbs in a module of its own."""

from scantling.api.planning import (
    OFFICE_SECTIONS, Stock, book, defaults, inputs, json_schema, known_sections, plan, plan_text, reference_page, stock,
    stock_for, why,
)  # fmt: skip

__all__ = [
    "OFFICE_SECTIONS",
    "Stock",
    "book",
    "defaults",
    "inputs",
    "json_schema",
    "known_sections",
    "plan",
    "plan_text",
    "reference_page",
    "stock",
    "stock_for",
    "why",
]
