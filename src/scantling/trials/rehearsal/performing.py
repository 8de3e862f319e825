"""What is done in the office, in order: it is stood up, everybody comes to an address, asks, tries; then what else is wished for."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from scantling.trials.probe.probing import Judgement
from scantling.trials.probe.telling import untried
from scantling.trials.rehearsal.addressing import addressed
from scantling.trials.rehearsal.agreeing import Proof, Wording, agreed_on, proof
from scantling.trials.rehearsal.beside import Beside
from scantling.trials.rehearsal.hastening import busiest_day
from scantling.trials.rehearsal.drill import drilled
from scantling.trials.rehearsal.inquiring import answered
from scantling.trials.rehearsal.live import Kept
from scantling.trials.rehearsal.linespeed import measured
from scantling.trials.rehearsal.loading import listing
from scantling.trials.rehearsal.limitations import NEVER
from scantling.trials.rehearsal.parties import filled, misplaced
from scantling.trials.rehearsal.published import astray, led
from scantling.trials.rehearsal.questions import Question, questions
from scantling.trials.rehearsal.results import Agreement, Answer, Checked, Lease, Mismatch, Rehearsed
from scantling.trials.rehearsal.sensitivity import sensed
from scantling.trials.rehearsal.session import Living, completed, opened, pools
from scantling.trials.rehearsal.shortage import short, turned_away
from scantling.trials.rehearsal.trying import NO_WAY_BACK, Edges, Trial, Tried, is_own_alone, trial
from scantling.trials.rehearsal.unanswered import unanswered
from scantling.trials.rehearsal.wish import Wish
from scantling.trials.rehearsal.witness import witnesses

ASKING, FILLING = "asking for names and the time", "filling the sets of parties known by names"
Asked = tuple[list[Question], list[Answer]]
"""Questions, and what came of them."""


def performed(living: Living, wish: Wish) -> Rehearsed:
    """All of it. Raises RehearsalError in a person's words."""
    rising = opened(living)
    at_edges = Edges(living)
    completed(living, rising)
    with living.step("asking for addresses"):
        leases = addressed(living)
    at_edges.go_on()
    meanwhile = asking(living)
    speeds = lines(living, [at_edges.chosen, *meanwhile]) if wish.busiest else []
    with living.step("choosing what to try"):
        one = trial(living, at_edges)
    (asked, answers), unfilled = told(living, meanwhile)
    held = proving(living, one)
    with living.step(f"trying {len(one.probes)} flows"):
        judgements = one.judge()
    with living.step("calling what the office offers by its names outside"):
        names = led(living, len(one.probes))
        called = one.judge_more([probe for _, probe in names.values()])
    with living.step("proving the rules as the kernel lists them"):
        agreed, seen = proved(living, one, held.result(), judgements, len(one.probes) + len(names))
    with living.step("judging"):
        tried = one.told([*judgements, *seen])
        more = [
            *unfilled, *misplaced(living), *short(living.office, pools(living), leases),
            *unanswered(living, one.now, asked, answers), *astray(living, called, names),
        ]  # fmt: skip
        found = summed(living, wish, (leases, answers), (tried, more, agreed))
    others = dict(besides(living, one, judgements, wish))
    found = replace(
        found,
        **others,
        mismatches=(*found.mismatches, *turned_away(living, others.get("days", ()))),
        speeds=tuple(speeds),
        seconds=tuple(living.seconds),
        notes=tuple(notes(living)),
    )
    if living.orders is not None:
        Kept(living, one, wish.year).served(living.orders, found)
    return found


def asking(living: Living) -> tuple[Beside[Asked], Beside[list[Mismatch]]]:
    """Begun beside: all ask for names and the time; the sets of parties are filled."""

    def ask() -> Asked:
        asked = [*questions(living.plan, living.office, living.held)]
        return asked, answered(asked, living.built.room)

    return Beside(ASKING, ask), Beside(FILLING, lambda: filled(living))


def told(living: Living, meanwhile: tuple[Beside[Asked], Beside[list[Mismatch]]]) -> tuple[Asked, list[Mismatch]]:
    """What came of it. Raises RehearsalError."""
    with living.step(ASKING):
        asked = meanwhile[0].result()
    with living.step(FILLING):
        return asked, meanwhile[1].result()


def lines(living: Living, meanwhile: Iterable[Beside[Any]]) -> list[str]:
    """What each line lets through, in sentences; before anybody answers outside, who would hold the ports.

    `meanwhile`: whatever else is under way, which must have ended: nothing may take time from what is measured.
    """
    for one in meanwhile:
        one.result()
    with living.step("measuring the lines"):
        return measured(living)


def besides(living: Living, one: Trial, judgements: Sequence[Judgement], wish: Wish) -> Iterator[tuple[str, Any]]:
    """What else is wished for, by its name among the findings."""
    if wish.drill:
        with living.step("drilling faults, one after the other"):
            yield "drill", drilled(living, one)
    if wish.planted:
        with living.step("planting errors in the rules, one at a time"):
            yield "planted", sensed(one, judgements, counting(living))
    if wish.busiest:
        with living.step("living the busiest day, hastened"):
            yield "days", busiest_day(living)


def counting(living: Living) -> Callable[[int, int], None]:
    """Tells how many planted errors are done."""

    def tell(done: int, many: int) -> None:
        living.inside.tell(f"planting errors in the rules: {done} of {many}")

    return tell


def proving(living: Living, one: Trial) -> Beside[Proof]:
    """The rules as the kernel lists them are proved beside the tries."""
    words = "proving the rules as the kernel lists them"
    return Beside(words, lambda: proof(living.case, listing(living.run), one.now, living.office, one.probes))


def proved(
    living: Living, one: Trial, held: Proof, judgements: Sequence[Judgement], first: int
) -> tuple[Agreement, list[Judgement]]:
    """Intents, proof and packets held against each other; where the proof finds a difference, its packet is sent as well."""
    agreed = agreed_on(held, judgements, Wording(living.case, one.now, living.office))
    if not agreed.differences:
        return agreed, []
    return agreed, one.judge_more(witnesses(living, one.now, held.apart, first))


def summed(
    living: Living,
    wish: Wish,
    asked: tuple[Sequence[Lease], Sequence[Answer]],
    found: tuple[Tried, Sequence[Mismatch], Agreement | None],
) -> Rehearsed:
    """Everything that was found."""
    tried, more, agreed = found
    return Rehearsed(
        office=living.office.name,
        way_in=living.inside.way.label,
        mode="everyone" if wish.everyone else "representative",
        year=wish.year,
        families=living.families,
        stations=len(living.office.stations),
        checked=every_file(living),
        played=living.played(),
        leases=tuple(asked[0]),
        answers=tuple(asked[1]),
        cells=tried.cells,
        mismatches=(*more, *tried.mismatches),
        agreement=agreed,
        not_rehearsed=(*NEVER, *untried(living.plan)),
    )


def every_file(living: Living) -> tuple[Checked, ...]:
    """Every file by path: with what its parser said, else by its digest alone."""
    read = {one.path: one for one in living.checked}
    return tuple(read.get(path, Checked(path, digest, "")) for path, digest in sorted(living.digests().items()))


def notes(living: Living) -> Iterator[str]:
    """What was done otherwise than on site."""
    yield from living.notes
    if (
        any(one.network6 is not None and is_own_alone(one.network6) for one in living.office.segments)
        and living.built.sixth
    ):
        yield NO_WAY_BACK
    if not living.everyone:
        yield "One of each row asks for an address, so no pool is filled; --everyone fills them, and --busiest-day lives a day on them."
    yield "The provider's gateways and the addresses of parties known by name are made up, from the ranges for examples."
    yield from dict.fromkeys(f"{one.program}: {one.why}." for one in living.played() if one.real and one.why)
