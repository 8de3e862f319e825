"""The fault drill: in living offices every fault is noticed, located and healed; and the drill can fail."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any

import dns.rdata
import pytest

from conftest import Scale
from offices import example
from ordinary_user import as_ordinary
from scantling.outputs.files import written
from scantling.trials.proof.proving import case
from scantling.trials.rehearsal import faults
from scantling.trials.rehearsal.addressing import addressed
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.drill import drilled, sought
from scantling.trials.rehearsal.faults.fault import Ground, LeftOut, Mishap
from scantling.trials.rehearsal.parties import filled
from scantling.trials.rehearsal.results import Fault
from scantling.trials.rehearsal.sandbox import Inside, run
from scantling.trials.rehearsal.session import Living, stood_up
from scantling.trials.rehearsal.signs import Seen, Sign, What
from scantling.trials.rehearsal.trying import Trial, trial

FEW = ("kea-dhcp4-gone", "relay-frozen", "one-rule-too-many", "unplugged-files", "names-wrong", "line-cut-fibre")
AT_LEAST, KINDS = 20, 28
EXAMPLES = {
    "A": "192.0.2.1",
    "AAAA": "2001:db8::1",
    "PTR": "a.example.",
    "SOA": "a.example. b.example. 1 2 3 4 5",
    "NS": "a.example.",
}


def ground(inside: Inside, name: str) -> tuple[Living, Trial]:
    """An office up to the moment when faults may happen."""
    plan = example(name)
    one = case(plan)
    assert one is not None
    living = Living(plan, one, designed(plan), inside, {file.path: file for file in written(plan)})
    stood_up(living)
    addressed(living)
    filled(living)
    return living, trial(living)


def drill(name: str, only: tuple[str, ...], inside: Inside) -> tuple[tuple[Fault, ...], list[str]]:
    """The drill of an office, or a part of it; and what was noted."""
    living, tries = ground(inside, name)

    def some(ground: Ground) -> Iterator[Mishap | LeftOut]:
        return (one for one in faults.mishaps(ground) if not only or one.slug in only)

    return drilled(living, tries, some), living.notes


def stood(work: Callable[[Inside], Any], name: str) -> Any:
    """Done in an office by an ordinary user, who may not be able to read Python's own files: what comes lazily is fetched before."""
    written(example(name))
    for kind in ("A", "AAAA", "PTR", "SOA", "NS"):
        dns.rdata.from_text("IN", kind, EXAMPLES[kind])
    return as_ordinary(lambda: run(work, lambda _: None, "one-id"))


def assert_found_and_healed(found: tuple[Fault, ...]) -> None:
    """All of them, with what was said where one is not."""
    assert [(one.slug, one.component, one.located, one.signs) for one in found if not one.found] == []
    assert [one.slug for one in found if not one.healed] == []


@pytest.mark.slow
@pytest.mark.parametrize("name", ["fold", "millrace", "brackwater"])
def test_faults_of_the_drill_are_noticed_located_and_healed_in_each_scenario(name: str, scale: Scale) -> None:
    """By real servers, cables and rules: some of each sort, and in the long tier all that an office has a place for."""
    only = FEW[: scale(short=len(FEW), full=0)]
    found, notes = stood(partial(drill, name, only), name)
    assert_found_and_healed(found)
    slugs = [one.slug for one in found]
    assert len(set(slugs)) == len(slugs) >= scale(short=len(FEW), full=AT_LEAST)
    assert set(FEW) <= set(slugs)
    assert len(slugs) + sum(note.startswith("Not drilled") for note in notes) >= scale(short=len(FEW), full=KINDS)


def seen(*signs: tuple[What, str]) -> Seen:
    """What a look shows; it looked for these at "files" and "copies" alone."""
    return Seen(
        tuple(Sign(what, where) for what, where in signs), {what: frozenset(("files", "copies")) for what, _ in signs}
    )


ABSENT, OTHERS, TWICE = (What.ABSENT, "files"), (What.ABSENT, "copies"), (What.TWICE, "copies")


@pytest.mark.parametrize(
    ("looks", "where", "many"),
    [
        ([seen(ABSENT)], "cable of files", 1),
        ([seen(), seen(ABSENT), seen(ABSENT)], "cable of files", 3),
        ([seen(ABSENT, OTHERS), seen(ABSENT)], "cable of files", 2),
        ([seen(ABSENT, OTHERS), seen(), seen(ABSENT), seen(ABSENT, OTHERS)], "cable of files", 4),
        ([seen(ABSENT, OTHERS)] * 4, "cable of copies and cable of files", 4),
        ([seen(), seen(ABSENT), seen(), seen(TWICE)], "", 4),
    ],
)
def test_a_fault_is_sought_until_it_is_found_at_one_place(looks: list[Seen], where: str, many: int) -> None:
    """What came late or passed by in one look does not hide it; what was never seen twice in a row is none."""
    left = iter(looks)
    assert sought(lambda: next(left), {"addresses": "directory"})[1] == where
    assert len([*left]) == len(looks) - many


def test_what_changes_nothing_is_not_found_and_what_stays_is_not_healed() -> None:
    """The drill can fail: a fault without effect is not noticed, and one that outlasts its healing is said to."""
    quiet, staying = stood(_beside_the_drill, "fold")
    assert (quiet.located, quiet.signs, quiet.found, quiet.healed) == ("", (), False, True)
    assert staying.located == "service on files"
    assert not staying.healed


def _beside_the_drill(inside: Inside) -> tuple[Fault, ...]:
    living, tries = ground(inside, "fold")

    @contextmanager
    def nothing() -> Iterator[None]:
        yield

    @contextmanager
    def for_good() -> Iterator[None]:
        tries.responders.mute("files")
        yield

    planted = [
        Mishap("quiet", "nothing happens", "nowhere", nothing),
        Mishap("stays", "it stays", "service on files", for_good),
    ]
    return drilled(living, tries, lambda _: iter(planted))


def test_an_office_without_a_place_for_a_fault_says_so() -> None:
    """What is left out is told with its reason, never passed over."""
    left = stood(_left_out, "fold")
    assert {one.slug: one.why for one in left} == {
        "ports-not-translated": "nothing is open to the outside",
        "wrong-socket": "addresses are lent in fewer than two zones",
    }


def _left_out(inside: Inside) -> list[LeftOut]:
    living, tries = ground(inside, "fold")
    return [one for one in faults.mishaps(Ground(living, tries)) if isinstance(one, LeftOut)]
