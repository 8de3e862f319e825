"""The firm options of the example offices, each planned once in a session, and raw rows of the catalogue beside them."""

from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

from scantling import api
from scantling.catalogue.reading import DATA
from scantling.plan.make import Plan

ROOT = Path(__file__).parent.parent
EXAMPLES = {
    "millrace": ROOT / "examples/millrace/brief.yaml",
    "fold": ROOT / "examples/fold-and-fell/brief.yaml",
    "saltmarsh": ROOT / "examples/saltmarsh/brief.yaml",
}
WAYS = ("as-planned", "firewall-box", "no-server", "two-hosts")


@cache
def options_of(office: str) -> tuple[api.OptionPlan, ...]:
    """All options of one example."""
    return api.options(EXAMPLES[office])


def way(office: str, slug: str) -> Plan:
    """One option's plan."""
    (found,) = [option.plan for option in options_of(office) if option.variant.slug == slug]
    assert found is not None
    return found


@cache
def other_ways() -> tuple[Plan, ...]:
    """The larger office built in every other way: all that the trades of boxes, rent and two hosts have to tell."""
    return tuple(way("millrace", slug) for slug in WAYS[1:])


@cache
def raw(file: str, kind: str) -> Mapping[str, Mapping[str, Any]]:
    """Rows as they are written, read by the YAML library alone."""
    rows: Mapping[str, Mapping[str, Any]] = YAML(typ="safe").load((DATA / file).read_text(encoding="utf-8"))[kind]
    return rows


def number(written: object) -> Decimal:
    """The number before the unit."""
    return Decimal(str(written).split()[0])
