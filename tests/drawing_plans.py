"""Plans of offices of many sizes, drawn once, and what stands on their network sheets, read back from the SVG."""

import re
from collections.abc import Iterator
from functools import cache
from xml.etree import ElementTree as ET

from drawing_reading import labels, root, said
from generated_offices import brief
from offices import changed, example, planned
from scantling.figures import Flow, RuleSet, Verdict
from scantling.outputs.drawings.drawn import drawings
from scantling.outputs.drawings.from_traffic import doors
from scantling.outputs.drawings.model import Door, TitleBlock
from scantling.outputs.drawings.sheet_set import drawn_sheets, title_block
from scantling.plan.make import Plan

OFFICES = ("5", "24", "48", "120", "fold", "millrace", "brackwater")
HOUSEKEEPING = "housekeeping"


@cache
def plan_of(office: str) -> Plan:
    """An example's plan, or that of a made-up office of so many people; "120 letter" is drawn on the inch paper."""
    heads, _, paper = office.partition(" ")
    if not heads.isdigit():
        return example(heads)
    text = brief(int(heads))
    return planned(changed(text, "currency: EUR,", f"currency: EUR, paper: {paper},") if paper else text)


@cache
def sheets_of(office: str, look: str = "day") -> dict[str, str]:
    """All sheets of an office."""
    return drawings(plan_of(office), look)


def block_of(office: str, sheet: str) -> TitleBlock:
    """The title block of a sheet."""
    return title_block(plan_of(office), "", sheet)


def network_sheets(office: str) -> tuple[str, ...]:
    """Numbers of the network sheets of an office."""
    return tuple(sheet for sheet in drawn_sheets(plan_of(office)) if sheet.startswith("N"))


def parts(svg: str, name: str) -> Iterator[ET.Element]:
    """Every group of a drawing that is such a part."""
    return (each for each in root(svg).iter() if each.get("data-part") == name)


def words(element: ET.Element) -> list[str]:
    """The words of a group, one text after the other, blanks plain."""
    return ["".join(each.itertext()).replace("\u00a0", " ") for each in element.iter() if each.tag.endswith("}text")]


def numbers(text: str) -> set[str]:
    """Every number in a text; an address is one."""
    return set(re.findall(r"\d+(?:\.\d+)*", text))


def picture(svg: str) -> str:
    """All words of the picture alone."""
    return " ".join(label.text for label in labels(svg) if "picture" in label.parts).replace("\u00a0", " ")


def accepted(plan: Plan) -> list[Flow]:
    """Intents that let something through between two places, housekeeping left out."""
    return [
        flow
        for flow in plan.records(Flow)
        if flow.verdict is Verdict.ACCEPT and flow.group != HOUSEKEEPING and flow.source.zone != flow.target.zone
    ]


def hung(plan: Plan) -> tuple[Door, ...]:
    """The doors of a plan that has some."""
    found = doors(plan)
    assert found is not None
    return found


def rule_numbers(plan: Plan, flows: list[Flow]) -> set[int]:
    """Numbers of the rules that are made from some intents."""
    slugs = {flow.slug for flow in flows}
    (rules,) = plan.records(RuleSet)
    return {int(rule.slug.removeprefix("r-")) for rule in rules.rules if rule.flow in slugs}


def in_runs(text: str) -> set[int]:
    """Numbers as they are told in runs: 63001-63004, 83001."""
    runs = [run.split("\u2013") for run in text.split(", ") if run.strip("\u2013")]
    return {number for run in runs for number in range(int(run[0]), int(run[-1]) + 1)}


__all__ = [
    "HOUSEKEEPING", "OFFICES", "accepted", "block_of", "hung", "in_runs", "network_sheets", "numbers", "parts", "picture", "plan_of",
    "rule_numbers", "said", "sheets_of", "words",
]  # fmt: skip
