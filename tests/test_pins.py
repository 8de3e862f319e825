"""Pins: a figure or a choice set by hand, with a reason; both values told; what can't be set is refused in words."""

import json
from typing import Any

import pytest

from offices import changed, codes, fold, millrace, planned
from scantling import UserError, api
from scantling.figures import Figure
from scantling.plan.telling import canonical, identity


def pinned(text: str, id_: str, value: str, because: str = "agreed with the owner") -> str:
    """The brief with one pin."""
    return f'{text}\npins:\n  {id_}: {{value: "{value}", because: {because}}}\n'


def refusal(text: str) -> str:
    """What a person is told, whole."""
    with pytest.raises(UserError) as told:
        api.plan_text(text)
    return str(told.value)


def test_a_pinned_figure_shows_both_values_and_the_reason() -> None:
    before = planned(millrace())
    made = planned(pinned(millrace(), "host.cores.needed", "30"))
    figure = made.figures["host.cores.needed"]
    assert (before.figures["host.cores.needed"].value, figure.value) == (22, 30)
    line = api.why(made, "host.cores.needed")[0]
    for words in ("pinned to 30", "agreed with the owner", "computed 22", "brief.yaml:"):
        assert words in line.working
    assert api.why(made, "host.cores.needed/computed")[0].value == "22"


def test_a_pinned_figure_is_what_the_rest_reckons_with() -> None:
    """The server bought has the cores that the pin asks for."""
    made = planned(pinned(millrace(), "host.cores.needed", "30"))
    bought = next(line for line in json.loads(canonical(made))["figures"] if line["id"] == "host.cores.bought")
    assert bought["value"] >= 30
    assert planned(millrace()).figures["host.cores.bought"].value < 30


def test_a_pin_takes_any_unit_of_the_same_dimension() -> None:
    """1 TB and 1000 GB are one amount; the value is kept in the figure's unit."""
    ids = {id_: figure for id_, figure in planned(millrace()).figures.items() if figure.unit.symbol == "GiB"}
    id_ = "host.memory.needed"
    assert id_ in ids
    whole = planned(pinned(millrace(), id_, "128 GiB"))
    assert whole.figures[id_].value == 128
    assert "MiB" not in api.why(whole, id_)[0].value


def test_a_pinned_choice_restricts_the_purchase() -> None:
    before = planned(millrace())
    assert before.figures["purchase.host"].value != "tower-two-12"
    made = planned(pinned(millrace(), "purchase.host", "tower-two-12"))
    assert made.figures["purchase.host"].value == "tower-two-12"
    assert made.purchase.best[0].price >= before.purchase.best[0].price


def test_a_pinned_choice_that_goes_with_nothing_names_the_pin() -> None:
    """The smallest tower holds neither the disks nor the memory."""
    told = refusal(pinned(millrace(), "purchase.host", "tower-small"))
    assert "purchase.host = tower-small (brief.yaml:" in told
    assert "take a pin off" in told


def test_a_pin_on_what_was_chosen_anyway_changes_no_other_choice() -> None:
    before = planned(millrace())
    made = planned(pinned(millrace(), "purchase.host", str(before.figures["purchase.host"].value)))
    assert made.purchase.chosen.options == before.purchase.chosen.options


def test_a_pinned_choice_tells_that_it_was_pinned_and_why() -> None:
    """A reader of the working, and of the book, must see that a person chose this."""
    before = planned(millrace())
    made = planned(pinned(millrace(), "purchase.host", str(before.figures["purchase.host"].value)))
    assert "agreed with the owner" in api.why(made, "purchase.host")[0].working


def test_a_pin_that_breaks_a_need_is_a_stop() -> None:
    made = planned(pinned(millrace(), "purchase.processor", "middle-8"))
    told = [t for t in made.stops if t.finding.code == "P-1"]
    assert told, codes(made)
    assert made.provisional


def test_a_pin_on_a_demand_itself_that_breaks_it_is_a_stop() -> None:
    """The figure under the demand's id is what it gets: set below what is wanted, P-1 names both."""
    made = planned(pinned(millrace(), "host.cores.bought", "1"))
    says = [t.says for t in made.stops if t.finding.code == "P-1"]
    assert len(says) == 1
    assert "1" in says[0]
    assert "22" in says[0]


REFUSED = [
    ("host.cores.neded", "30", "no figure of that name"),
    ("purchase.hots", "tower-mid-8", "no figure of that name"),
    ("purchase.host", "no-such-tower", "is not on offer"),
    ("purchase.host", "towr-mid-8", "tower-mid-8"),
    ("host.cores.needed", "30 GiB", "a bare number is wanted"),
    ("host.cores.needed", "many", "is not a whole number"),
    ("host.cores.needed", "-3", "too little"),
    ("host.cores.needed", "1e3", "is not a whole number"),
    ("host.memory.needed", "30", "the unit is missing"),
    ("host.memory.needed", "30 W", "does not measure this"),
    ("money.total", "30000 USD", "pays in EUR"),
    ("money.total", "30000.555 EUR", "two places"),
]


@pytest.mark.parametrize(("id_", "value", "says"), REFUSED)
def test_what_cannot_be_pinned_is_told_with_its_line(id_: str, value: str, says: str) -> None:
    """The place of the pin's own line, its id, what is wrong."""
    text = pinned(millrace(), id_, value)
    line = next(i for i, row in enumerate(text.splitlines(), 1) if row.startswith(f"  {id_}:"))
    told = refusal(text)
    assert told.startswith(f"brief.yaml:{line}"), told
    assert f"pin {id_}" in told or f"pins.{id_}" in told
    assert says in told


def test_a_name_that_is_nearly_right_is_offered() -> None:
    assert "host.cores.needed" in refusal(pinned(millrace(), "host.cores.neded", "30")).split("name", 1)[-1]


def test_a_pin_without_a_reason_is_refused() -> None:
    told = refusal(f'{millrace()}\npins:\n  host.cores.needed: {{value: "30"}}\n')
    assert "because" in told


def _kinds() -> dict[str, Figure[Any]]:
    """One figure of each unit and kind of value that Millrace has."""
    found: dict[str, Figure[Any]] = {}
    for figure in planned(millrace()).figures.values():
        found.setdefault(f"{type(figure.value).__name__} {figure.unit.symbol}", figure)
    return found


@pytest.mark.parametrize("value", ["", " ", "30", "yes", "10.44.0.0/16", "12 TB", "x" * 300, "[1, 2]", "mirror"])
def test_a_pin_on_any_kind_of_figure_gives_a_plan_or_words(value: str) -> None:
    """Registers, truths, networks, words, series: no pin may crash the plan."""
    for kind, figure in _kinds().items():
        if value == "" or not value.strip():
            assert "value missing" in refusal(pinned(fold(), figure.id, value)), kind
            continue
        assert _told(pinned(millrace(), figure.id, value)), kind


def _told(text: str) -> str:
    try:
        made = api.plan_text(text)
    except UserError as wrong:
        return str(wrong)
    return identity(made)


def test_a_register_cannot_be_pinned_and_is_told_so() -> None:
    """An allocation has no form in which a person could write it on one line."""
    told = refusal(pinned(millrace(), "addresses.register", "servers 10.44.20.0/24"))
    assert told.startswith("brief.yaml:")
    assert "addresses.register" in told


def test_a_pin_is_part_of_the_plans_identity() -> None:
    plain, set_ = planned(millrace()), planned(pinned(millrace(), "host.cores.needed", "30"))
    assert identity(plain) != identity(set_)
    moved = planned(changed(pinned(millrace(), "host.cores.needed", "30"), "office:", "# a remark\n\noffice:"))
    assert identity(moved) == identity(set_)
