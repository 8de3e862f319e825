"""The rehearsal as a chapter of the book: what was tried, what came out, what was real, and what none of it shows."""

from collections.abc import Iterator, Sequence

from scantling import UserError
from scantling.api.rehearsal_papers import of_another_plan, rehearsal_drawings
from scantling.figures import Facts, Prose, Ruled
from scantling.figures.pages import Block
from scantling.outputs.documents.appended import Appended
from scantling.outputs.documents.volume import Plate, Sheet
from scantling.plan.make import Plan
from scantling.trials.rehearsal.report import LIMIT, compared_part, digest_of, gist, otherwise
from scantling.trials.rehearsal.results import Day, Fault, Mismatch, PlantedError, Rehearsed

NUMBER, TITLE = "T-4", "The rehearsal in words"
SAYS = {
    "T-1": Plate("The rehearsal", "Matrix, columns try and rows are tried: how many tries were let through and how many kept out."),
    "T-2": Plate("Fault drill", "Each fault that was put into the running office, where it was put, and where it was found."),
    "T-3": Plate("The busiest day", "Addresses held by the hour, the pool as a line, once for each lease time; the counts in words, too."),
}  # fmt: skip
BEGINNING = 16
"""Letters of the digest that are told."""


def chapter(made: Plan, found: Rehearsed) -> Appended:
    """Sheets and drawings of a plan's rehearsal. Raises UserError when it was of another plan."""
    other = of_another_plan(made, found)
    if other:
        first, more = other[0], f" and {len(other) - 1} more" if len(other) > 1 else ""
        raise UserError(
            f"this rehearsal was of another plan: {first}{more} came out otherwise then; rehearse this one with --out, and take that record"
        )
    day, night = (rehearsal_drawings(made, found, look) for look in ("day", "night"))
    return Appended([Sheet(NUMBER, TITLE, [*blocks(found)])], {number: SAYS[number] for number in day}, day, night)


def blocks(found: Rehearsed) -> Iterator[Block]:
    """All that is told of a rehearsal, whatever plan it was of, as blocks of a sheet."""
    yield Prose(_headline(found))
    yield Facts([*_facts(found)], "How it was run, and what came out")
    if found.mismatches:
        yield Ruled(
            "What went otherwise, one for each cause",
            ("what", "look at"),
            [_mismatch(one) for one in found.mismatches],
        )
    yield Ruled("Who played what", ("service", "on", "played by"), [*_players(found)])
    if found.drill:
        yield Ruled("Fault drill", ("fault", "put at", "found at", "showed by"), [_fault(one) for one in found.drill])
    if found.days:
        yield Ruled(
            "The busiest day", ("", *(f"lent for {one.lease:g} h" for one in found.days)), [*_days(found.days)]
        )
    for title, many in (
        ("Done otherwise than on site", found.notes),
        ("What can't be rehearsed here", found.not_rehearsed),
    ):
        if many:
            yield Ruled(title, ("",), [(words,) for words in many])
    yield Prose(LIMIT)


def _headline(found: Rehearsed) -> str:
    wrong = otherwise(found)
    if found.why_not:
        return f"Nothing could be stood up: the files were read and the rules proved, no more. {' '.join(found.why_not.split())}"
    how = (
        "Everything went as meant."
        if not wrong
        else f"{wrong} thing{'s' if wrong > 1 else ''} went otherwise than meant."
    )
    return (
        "The planned office was stood up from its own generated files, with real servers and the kernel's packet filter, and tried "
        f"with real packets. {how}"
    )


def _facts(found: Rehearsed) -> Iterator[tuple[str, str]]:
    yield "Run as", found.way_in
    if found.stations:
        who = "everyone" if found.mode == "everyone" else "one of each row of devices"
        yield "Stations", f"{found.stations:,} ({who}{f', as grown by year {found.year}' if found.year else ''})"
    yield (
        "Files",
        f"{len(found.checked)}, {sum(bool(one.parser) for one in found.checked)} of them read by their own programs",
    )
    if found.leases:
        yield "Addresses as planned", _of(sum(not one.wrong for one in found.leases), len(found.leases))
    if found.answers:
        yield "Questions answered as planned", _of(sum(not one.wrong for one in found.answers), len(found.answers))
    if found.cells:
        through, out = sum(one.passed for one in found.cells), sum(one.kept_out for one in found.cells)
        yield "Tries", f"{through + out:,}: {through:,} let through, {out:,} kept out"
    if found.agreement is not None:
        yield "Proof", found.agreement.proof
        if found.agreement.probes:
            yield "Intents, proof and packets agree on", _of(found.agreement.agree, found.agreement.probes)
    if found.planted:
        yield "Planted errors", _planted(found.planted)
    yield (
        "Evidence",
        f"{digest_of(compared_part(found))[:BEGINNING]} in rehearsal.json, which names every file with its digest",
    )


def _of(part: int, whole: int) -> str:
    return f"{part:,} of {whole:,}"


def _planted(errors: Sequence[PlantedError]) -> str:
    telling = [one for one in errors if one.effect]
    noticed = sum(one.proof and one.packets for one in telling)
    return f"{len(errors)}, {len(telling)} of them with an effect; noticed both by proof and by packets: {_of(noticed, len(telling))}"


def _mismatch(one: Mismatch) -> tuple[str, str]:
    looks = (one.line, f'rule "{one.rule}"' if one.rule else "", f"packet {one.packet}" if one.packet else "")
    return one.says, "; ".join(word for word in looks if word) or one.cause


def _players(found: Rehearsed) -> Iterator[tuple[str, str, str]]:
    """Machines of one program together, as on the page."""
    grouped: dict[tuple[str, str], list[str]] = {}
    for one in found.played:
        by = one.program if one.real else f"a stand-in: {one.why}"
        grouped.setdefault((one.service, by), []).append(one.machine)
    for (service, by), machines in grouped.items():
        yield service, ", ".join(dict.fromkeys(machines)), by


def _fault(one: Fault) -> tuple[str, ...]:
    where = "there" if one.found else one.located or "not noticed"
    return (
        one.what,
        one.component,
        where if one.healed else f"{where}; not well again",
        gist(one.signs[0]) if one.signs else "",
    )


def _days(days: Sequence[Day]) -> Iterator[tuple[str, ...]]:
    yield ("Addresses to lend", *(f"{one.pool:,}" for one in days))
    yield ("Came", *(f"{one.comers:,}" for one in days))
    yield ("Turned away by the real server", *(f"{one.refused:,}" for one in days))
    yield ("Foreseen by counting", *(f"{one.predicted:,}" for one in days))
    yield ("Foreseen by the loss formula", *(f"{one.steady:.1%}" for one in days))
    yield ("Most addresses held", *(f"{one.most_held:,}" for one in days))
