"""An edit answered at once: the parts of the plan before are held, nothing is searched for, and the plan says so."""

from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from conftest import Scale
from offices import BRIEFS, changed, codes, fold, millrace
from scantling import UserError, api
from scantling.api.comparing import answers
from scantling.api.planning import inputs_at
from scantling.brief.editing import with_values
from scantling.figures import Choosing, Origin
from scantling.figures.numbers import text
from scantling.plan import make as making
from scantling.plan.make import Inputs, Plan, make
from scantling.plan.telling import canonical


def inputs_of(written: str) -> Inputs:
    """What a brief's text is planned from."""
    return api.inputs(written, "brief.yaml", api.stock())


def of_file(scenario: str, written: str | None = None) -> Inputs:
    """The same with what lies beside an example, so that parts stand there already."""
    return inputs_at(BRIEFS[scenario], None, written)


@pytest.fixture
def no_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search would fail the test."""

    def searched(*_: object) -> None:
        pytest.fail("a search was made")

    monkeypatch.setattr(making, "bought", searched)


@pytest.mark.parametrize("scenario", list(BRIEFS))
def test_the_same_brief_again_needs_no_search_and_gives_the_same_plan(
    scenario: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every byte is the same, and it is no sketch: what was found is what a search would find."""
    inputs = of_file(scenario)
    before = make(inputs)
    with monkeypatch.context() as patch:
        patch.setattr(making, "bought", lambda *_: pytest.fail("a search was made"))
        again = make(of_file(scenario), held=before)
    assert canonical(again) == canonical(before)
    assert not again.sketched


def test_what_was_found_stands_where_an_edit_changes_nothing_that_is_bought_by(no_search: None) -> None:
    """Another name on another line: the figures know their new places, the parts are those of the full plan."""
    before = _full(inputs_of(fold()))
    text_after = "# a remark above\n" + changed(fold(), "name: Fold & Fell Surveyors", "name: Fell & Fold")
    held = make(inputs_of(text_after), held=before)
    assert not held.sketched
    assert held.office.name.value == "Fell & Fold"
    lines = [line.working for line in api.why(held, "host.cores.needed")]
    assert lines != [line.working for line in api.why(before, "host.cores.needed")]


def _full(inputs: Inputs) -> Plan:
    """A plan with its search, though the test forbids more of them."""
    from scantling.plan.purchase import bought  # noqa: PLC0415 - the very function that a test may have replaced

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(making, "bought", bought)
        return make(inputs)


def test_parts_are_held_where_something_else_is_asked_and_the_plan_says_so(no_search: None) -> None:
    before = _full(inputs_of(millrace()))
    sketch = make(inputs_of(changed(millrace(), "heads: 12", "heads: 18")), held=before)
    assert sketch.sketched
    assert not sketch.provisional
    slugs = {slot: option.slug for slot, option in before.purchase.chosen.options.items()}
    assert {slot: option.slug for slot, option in sketch.purchase.chosen.options.items()} == slugs
    reason = sketch.figures["purchase.host"].how
    assert isinstance(reason, Choosing)
    for words in ("held for now", "search for the cheapest set has still to be made"):
        assert words in reason.working(sketch.figures["purchase.host"])


def test_a_need_that_the_held_parts_miss_is_a_finding_and_no_error(no_search: None) -> None:
    """Four times the archive does not go onto the same disks; the remedy is to wait, not to ease the need."""
    before = _full(inputs_of(millrace()))
    assert "P-1" not in codes(before)
    sketch = make(inputs_of(changed(millrace(), "size: 9 TB", "size: 36 TB")), held=before)
    missed = [told for told in sketch.findings if told.finding.code == "P-1"]
    assert missed
    assert all("Wait for the search" in told.finding.remedy for told in missed)


def test_what_has_no_part_held_is_searched_for_after_all() -> None:
    """A copy kept away is wanted now, and none was bought before."""
    before = make(inputs_of(changed(fold(), "  away: disks", "  away: none")))
    assert not before.purchase.chosen.has("away")
    other = make(inputs_of(fold()), held=before)
    assert not other.sketched
    assert canonical(other) == canonical(make(inputs_of(fold())))


def test_a_pin_holds_even_against_parts_that_are_held() -> None:
    """The pinned tower is not the one held, so a search is made."""
    before = make(inputs_of(millrace()))
    after = inputs_of(f"{millrace()}\npins:\n  purchase.host: {{value: tower-two-12, because: asked for}}\n")
    pinned = make(after, held=before)
    assert before.figures["purchase.host"].value != pinned.figures["purchase.host"].value == "tower-two-12"
    assert canonical(pinned) == canonical(make(after))


def one_answer_edits(inputs: Inputs, written: str, seed: int) -> Iterator[str]:
    """The text with one answer changed at random: a number by a factor, a word left out where it may be assumed."""
    luck = Random(seed)
    found = answers(inputs)
    numbers = [
        figure for figure in found.values()
        if figure.unit.numeric and isinstance(figure.how, Origin) and figure.how.kind == "brief"
    ]  # fmt: skip
    while True:
        figure = luck.choice(numbers)
        assert isinstance(figure.how, Origin)
        id_, said = figure.how.where.split(": ", 1)
        number, _, unit = said.partition(" ")
        value = float(number) * luck.choice((0.5, 0.75, 1.25, 2, 3))
        new = f"{value:.0f}" if figure.unit.kind is int or value >= 10 else f"{value:.2f}"
        yield with_values(written, {id_: f"{new} {unit}".strip()})


@pytest.mark.parametrize("scenario", list(BRIEFS))
def test_a_sketch_and_then_the_search_come_to_the_full_plan(scenario: str, scale: Scale) -> None:
    """For edits at random: the sketch has the parts held or is final, and what follows a sketch owes nothing to it."""
    before = of_file(scenario)
    one = make(before)
    written = BRIEFS[scenario].read_text(encoding="utf-8")
    sketches = 0
    for edited, _ in zip(one_answer_edits(before, written, 7), range(scale(short=6, full=40)), strict=False):
        try:
            after = of_file(scenario, edited)
        except UserError:  # a number out of its range
            continue
        first = make(after, held=one)
        full = make(after)
        if not first.sketched:
            assert canonical(first) == canonical(full)
            continue
        sketches += 1
        slugs = [option.slug for option in one.purchase.best[0].options]
        assert [option.slug for option in first.purchase.best[0].options] == slugs
        assert full.purchase.best[0].price <= first.purchase.best[0].price or _missed(first)
        assert canonical(make(after, held=full)) == canonical(full)
        assert canonical(make(after, held=first)) == canonical(first)
    assert sketches


def _missed(plan: Plan) -> list[str]:
    return [told.says for told in plan.findings if told.finding.code == "P-1"]


class StoppedError(Exception):
    """What a listener raises who wants no more of it."""


def test_what_a_listener_raises_ends_the_work_and_leaves_nothing_half_done() -> None:
    """The next plan of the same inputs is the one that was never stopped."""
    inputs = inputs_of(fold())
    whole = make(inputs)
    heard = []

    def stop(nodes: int) -> None:
        heard.append(nodes)
        raise StoppedError

    with pytest.raises(StoppedError):
        make(inputs, stop)
    assert len(heard) == 1
    assert canonical(make(inputs)) == canonical(whole)
    assert canonical(make(inputs, held=whole)) == canonical(whole)


def test_a_search_for_what_gives_way_can_be_stopped_too() -> None:
    """Nothing meets all needs, so that each is eased in turn: the listener is heard there as well."""
    inputs = inputs_of(changed(fold(), "noise: 38 dB", "noise: 12 dB"))
    heard: list[int] = []
    whole = make(inputs, heard.append)
    assert whole.provisional
    assert len(heard) > 1

    def stop(nodes: int) -> None:
        heard.pop()
        if not heard:
            raise StoppedError

    with pytest.raises(StoppedError):
        make(inputs, stop)


def test_a_sketch_is_priced_as_its_parts_are() -> None:
    """Parts bought, by the catalogue's own prices, and what they drag behind them."""
    before = make(of_file("fold"))
    sketch = make(of_file("fold", changed(fold(), "heads: 4", "heads: 5")), held=before.purchase.chosen)
    assert sketch.sketched
    parts = sum(option.price for option in sketch.purchase.chosen.options.values())
    dragged = sum(sketch.purchase.chosen.of(cost.what).value for cost in sketch.purchase.costs)
    assert abs(sketch.purchase.best[0].price / 100 - (parts + dragged)) < 1
    assert text(sketch.figures["purchase.host"])


def test_a_file_of_an_example_reads_the_same_twice(tmp_path: Path) -> None:
    """What is held is found by what it is, not by which reading it came from."""
    (tmp_path / "brief.yaml").write_text(fold(), encoding="utf-8")
    one = make(inputs_at(tmp_path / "brief.yaml"))
    assert not make(inputs_at(tmp_path / "brief.yaml"), held=one).sketched
