"""The schema and the reference page: what they say is what the brief room takes."""

import re
from pathlib import Path
from typing import Any

import pytest
from brief_samples import DEFAULTS, SECTIONS, WHOLE, WORDS
from jsonschema import Draft202012Validator
from markdown_it import MarkdownIt

from scantling import api
from scantling.brief import Section
from scantling.figures.composing import composed
from scantling.brief.example import EXAMPLE
from scantling.brief.loading import load
from scantling.brief.reference import page
from scantling.brief.schema import json_schema
from scantling.brief.sections import Mapped, ask_of, group, is_mapping, reader
from scantling.figures.quantities import parse

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*/brief.yaml"))
MADE = json_schema(SECTIONS, DEFAULTS, WORDS)


def faults(text: str, schema: dict[str, Any] = MADE) -> list[str]:
    """What a validator that is not ours finds in a brief read as text only."""
    return [error.json_path for error in Draft202012Validator(schema).iter_errors(composed(text, "b")[0])]


def real() -> tuple[list[type[Section]], Any]:
    """The sections and defaults of the program."""
    return api.known_sections(), api.defaults(api.stock().house)


# ------------------------------------------------------------------------------------------------------------- schema


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(MADE)
    Draft202012Validator.check_schema(json_schema(*real()))
    assert MADE["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.parent.name)
def test_the_examples_fit_the_schema(path: Path) -> None:
    assert faults(path.read_text(encoding="utf-8"), json_schema(*real())) == []


def test_the_sample_fits_the_schema() -> None:
    assert faults(WHOLE) == []


@pytest.mark.parametrize(
    ("old", "new", "path"),
    [
        ("heads: 14", "heads: lots", "$.kettles.big.heads"),
        ("heads: 14", "hedas: 14", "$.kettles.big"),
        ("holds: 300 GB", "holds: 64 G", "$.kettles.big.holds"),
        ("holds: 300 GB", 'holds: "1,5 TB"', "$.kettles.big.holds"),
        ("holds: 300 GB", "holds: 300", "$.kettles.big.holds"),
        ("kind: whistling", "kind: kettle", "$.kettles.big.kind"),
        ("price: 1200.50 EUR", "price: 1200", "$.kitchen.price"),
        ("roast: very dark", "roast: dark", "$.kitchen.roast"),
        ("as_of: 2026-11-25", "as_of: tomorrow", "$.office.as_of"),
        ("days: fri-mon", "days: weekdays", "$.kitchen.days"),
        ("warm: no", "warm: off", "$.kitchen.corner.warm"),
        ("block: 10.44.0.0/16", "block: ten", "$.kitchen.block"),
        ("  big:", "  Big One:", "$.kettles"),
        ("country: IE", "country: Ireland", "$.office.country"),
        ("  price: 1200.50 EUR\n", "", "$.kitchen"),
    ],
)
def test_the_schema_finds_what_an_editor_should_mark(old: str, new: str, path: str) -> None:
    assert path in faults(WHOLE.replace(old, new, 1))


def test_a_bare_count_may_stand_as_a_number_and_is_then_held_to_its_range() -> None:
    count = MADE["properties"]["kettles"]["additionalProperties"]["properties"]["heads"]
    validator = Draft202012Validator(count)
    assert validator.is_valid(14)
    assert validator.is_valid("14")
    assert not validator.is_valid(0)
    assert not validator.is_valid(100_001)
    assert not validator.is_valid(14.5)


def test_the_schema_names_default_and_question() -> None:
    growth = MADE["properties"]["kitchen"]["properties"]["growth"]
    assert growth["default"] == "3 %/year"
    assert growth["description"] == "How fast does that grow? If left out: 3 %/year, assumed, ask"
    assert MADE["properties"]["kitchen"]["required"] == ["price", "days", "hours", "corner"]


# --------------------------------------------------------------------------------------------------------------- page


def test_the_example_on_the_page_is_a_whole_brief() -> None:
    text = re.findall(r"```yaml\n(.*?)```", page(*real()), re.DOTALL)
    assert text == [EXAMPLE]
    sections = load(text[0], "brief.yaml", *real())
    assert {"office", "people", "services", "data"} <= {section.key for section in sections}
    assert faults(text[0], json_schema(*real())) == []


def rows(markdown: str) -> dict[str, list[list[str]]]:
    """The tables of the page by the heading above them, read by a Markdown parser."""
    found: dict[str, list[list[str]]] = {}
    heading, cells, inside = "", [], ""
    for token in MarkdownIt("commonmark").enable("table").parse(markdown):
        if token.type in ("heading_open", "td_open"):
            inside = token.type
        elif token.type == "inline" and inside == "heading_open":
            heading, inside = token.content, ""
        elif token.type == "inline" and inside == "td_open":
            cells.append(token.content)
            inside = ""
        elif token.type == "tr_close" and cells:
            found.setdefault(heading, []).append(cells)
            cells = []
    return found


def test_every_section_and_field_stands_on_the_page() -> None:
    sections, defaults = real()
    tables = rows(page(sections, defaults))
    for section in sections:
        told = {row[0].replace("`", "").replace("*", "") for row in tables[section.key]}
        assert told >= set(_paths(section, "")), section.key


def _paths(section: type[Section], path: str) -> list[str]:
    """Every word of a section, found without the page's own walk over it."""
    if issubclass(section, Mapped):
        within = group(section.model_fields["items"])
        return _paths(within, f"{path}name.") if within else []
    found = []
    for name, field in section.model_fields.items():
        found.append(f"{path}{name}")
        within = group(field)
        if within:
            found += _paths(within, f"{path}{name}.name." if is_mapping(field) else f"{path}{name}.")
    return found


def test_a_row_holds_question_default_reason_and_range() -> None:
    tables = rows(page(SECTIONS, DEFAULTS, WORDS))
    told = {row[0]: row[1:] for row in tables["kitchen"]}
    assert told["`growth`"] == [
        "How fast does that grow?",
        "`3 %/year`",
        "`3 %/year`, assumed, ask (for these tests)",
        "0 to 1,000 %/year",
    ]
    assert told["`corner.rest`"] == ["How long do they rest?", "`12 h`", "must be answered", "5 min to 24 h"]
    kettle = {row[0]: row[1:] for row in tables["kettles"]}
    assert kettle["*name*`.kind`"][-1] == "`whistling`, `names and addresses`"


def test_every_sample_answer_on_the_page_is_taken() -> None:
    """Each "written like" of the real page, read by the reader of its own field."""
    sections, defaults = real()
    tables = rows(page(sections, defaults))
    tried = 0
    for section in sections:
        samples = {row[0].replace("`", "").replace("*", ""): row[2] for row in tables[section.key]}
        for path, field in _fields(section, ""):
            one, like = reader(field), samples[path]
            if one is not None and not is_mapping(field) and like.startswith("`"):
                text = like.strip("`").strip('"')
                limits = ask_of(field).limits(one.unit) if one.unit.numeric else None
                parse(text, one.unit, "EUR", limits)
                tried += 1
    assert tried > 40


def _fields(section: type[Section], path: str) -> list[tuple[str, Any]]:
    if issubclass(section, Mapped):
        within = group(section.model_fields["items"])
        return _fields(within, f"{path}name.") if within else []
    found: list[tuple[str, Any]] = []
    for name, field in section.model_fields.items():
        within = group(field)
        if within:
            found += _fields(within, f"{path}{name}.name." if is_mapping(field) else f"{path}{name}.")
        else:
            found.append((f"{path}{name}", field))
    return found


def test_the_page_is_the_same_every_time() -> None:
    assert page(*real()) == page(*real())
    assert json_schema(*real()) == json_schema(*real())
