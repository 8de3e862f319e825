"""The record of a weighing: read back to the last price, refused where it was harmed, never believed beyond its kinds."""

import json
from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from math import inf
from typing import Any

import pytest

from offices import example
from scantling import UserError
from scantling.api import charting, weigh
from scantling.outputs.weighed import as_plain
from scantling.outputs.weighing_record import LARGEST, record, read
from scantling.plan.telling import identity


def _written() -> str:
    made = example("fold")
    return record(weigh(made), identity(made))


@pytest.fixture(scope="module")
def written() -> str:
    return _written()


@pytest.mark.parametrize("name", ["fold", "millrace"])
def test_a_record_is_read_back_whole(name: str) -> None:
    """Every price, set and reason; the chart drawn from it is the same to the last word."""
    made = example(name)
    told = weigh(made)
    found, of = read(record(told, identity(made)), "the record")
    assert of == identity(made)
    assert as_plain(found) == as_plain(told)
    assert (found.next_best, found.never) == (told.next_best, told.never)
    assert charting.chart_of_weighing(made, found) == charting.chart_of_weighing(made, told)


def test_what_never_ends_is_kept() -> None:
    """JSON (RFC 8259, section 6) has no number for it."""
    made = example("fold")
    told = weigh(made)
    endless = replace(told, prices=(replace(told.prices[0], given=inf),))
    written = record(endless, "a plan")
    json.loads(written, parse_constant=pytest.fail)
    assert read(written, "the record")[0].prices[0].given == inf


def test_a_changed_letter_is_noticed(written: str) -> None:
    for old, new in (('"rank": 1', '"rank": 2'), ('"dropped": "', '"dropped": "9'), ('"of": "', '"of": "0')):
        with pytest.raises(UserError, match="somebody has changed it; weigh again"):
            read(written.replace(old, new, 1), "the record")


HARM: list[Callable[[Any], Any]] = [
    lambda told: told["prices"][0].update(unit="parsec"),
    lambda told: told["prices"][0].update(asked="many"),
    lambda told: told["prices"][0].update(given=True),
    lambda told: told["prices"][0].update(given=LARGEST * 10),
    lambda told: told["prices"][0].update(given=10**400),
    lambda told: told["prices"][0].update(given=1e999),
    lambda told: told["prices"][0].update(dropped="NaN"),
    lambda told: told["prices"][0].update(dropped="Infinity"),
    lambda told: told["prices"][0].update(dropped="1E+999999"),
    lambda told: told["prices"][0].update(dropped="1E-999999"),
    lambda told: told["prices"][0].update(dropped="9" * 10000),
    lambda told: told["prices"][0].update(dropped=1.5),
    lambda told: told["prices"][0].update(easier={}),
    lambda told: told["prices"][0].update(easier=[1]),
    lambda told: told["prices"][0].update(label=7),
    lambda told: told["prices"].append(None),
    lambda told: told.update(prices={}),
    lambda told: told.update(of=3),
    lambda told: told.pop("never"),
    lambda told: told["never"][0].update(why="because"),
    lambda told: told["never"][0].pop("by"),
    lambda told: told["next_best"][0].update(changes=[{}]),
    lambda told: told["next_best"][0].update(rank=None),
]


@pytest.mark.parametrize("harm", HARM)
def test_a_harmed_record_with_a_fitting_digest_is_refused_in_words(written: str, harm: Callable[[Any], Any]) -> None:
    """Whoever can reckon a digest can still put nothing into it that is not of its kind."""
    told = json.loads(written)["weighed"]
    harm(told)
    digest = sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()
    with pytest.raises(UserError, match="; weigh again"):
        read(json.dumps({"form": 1, "digest": digest, "weighed": told}), "the record")
