"""From a plan and its rehearsal to what the sheets T-1 to T-3 are told, every word and number already written as people read it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from ipaddress import ip_address

from scantling.figures import FIREWALL, OUTSIDE, Address, Address6, Leg, Machine, Pool, Zone, text
from scantling.figures.units import HOUR, convert
from scantling.outputs.drawings.matrix_model import Whereabout
from scantling.outputs.drawings.model import PencilNote, Phrase, TitleBlock, plain
from scantling.outputs.drawings.rehearsal_model import (
    Curve, DaysSheet, DrillSheet, FaultLine, Goal, RehearsalSheets, Tried, TriesSheet,
)  # fmt: skip
from scantling.outputs.drawings.sheet_set import paper, pencilled, planned_for, proof
from scantling.plan.make import Plan
from scantling.trials.proof.packet import PacketError, read_words
from scantling.trials.rehearsal.report import LIMIT, gist, otherwise
from scantling.trials.rehearsal.results import Day, Fault, Mismatch, Rehearsed

SHEETS: Mapping[str, tuple[str, str]] = {
    "T-1": ("The rehearsal", "cells"), "T-2": ("Fault drill", "drill"), "T-3": ("The busiest day", "days"),
}  # fmt: skip
"""Title of each sheet, and what the rehearsal must have found for it."""
CODE, DRILLED = "rehearsal", "drill"


def rehearsal_sheets(made: Plan, found: Rehearsed) -> RehearsalSheets:
    """Only the sheets for which the rehearsal has something to show."""
    maker = Maker(made, found)
    return RehearsalSheets(
        maker.tries() if found.cells else None,
        maker.drill() if found.drill else None,
        maker.days() if found.days else None,
    )


@dataclass(frozen=True)
class Maker:
    """Makes the sheets of one rehearsal of one plan."""

    made: Plan
    found: Rehearsed

    def block(self, sheet: str) -> TitleBlock:
        """The title block of a sheet of the set."""
        drawn = [number for number, (_, name) in SHEETS.items() if getattr(self.found, name)]
        wrong = otherwise(self.found)
        return TitleBlock(
            text(self.made.office.name), SHEETS[sheet][0], planned_for(self.made), sheet,
            f"{drawn.index(sheet) + 1} of {len(drawn)}", "A", text(self.made.office.as_of), "scantling",
            "as meant" if not wrong else f"{wrong} otherwise", proof(self.made), paper(self.made),
        )  # fmt: skip

    @property
    def first(self) -> int:
        """The first number of a triangle here: on from those of the findings and of the proof."""
        differences = len(self.made.proof.differences) if self.made.proof is not None else 0
        return len(pencilled(self.made).notes) + differences + 1

    # ---------------------------------------------------------------------------------------------------- who tried whom

    def tries(self) -> TriesSheet:
        """Who tried whom, with every cause of a mismatch in red pencil."""
        notes = tuple(_note(number, one) for number, one in enumerate(self.found.mismatches, self.first))
        where: dict[tuple[str, str], tuple[int, ...]] = {}
        for note, one in zip(notes, self.found.mismatches, strict=True):
            pair = self.pair(one.packet)
            if pair is not None:
                where[pair] = (*where.get(pair, ()), note.number)
        return TriesSheet(
            self.block("T-1"), tuple(self.places()), tuple(self.goals()), tuple(self.tried(where)),
            plain(self.totals()), tuple(self.notes()), notes,
        )  # fmt: skip

    def places(self) -> Iterator[Whereabout]:
        """Those who try, in the order of the rooms; the outside and the firewall last."""
        tried = {one.source for one in self.found.cells}
        yield from (
            Whereabout(one.slug, one.name, str(int(one.number.value))) for one in self.zones() if one.slug in tried
        )
        ends = ((OUTSIDE, "Outside"), (FIREWALL, "Firewall"))
        yield from (Whereabout(slug, name) for slug, name in ends if slug in tried)

    def zones(self) -> list[Zone]:
        """In the order of their numbers."""
        return sorted(self.made.records(Zone), key=lambda one: (one.number.value, one.slug))

    def goals(self) -> Iterator[Goal]:
        """Those tried: each room with its machines behind it, the outside, the firewall."""
        tried = list(dict.fromkeys(one.target for one in self.found.cells))
        machines = {one.slug for one in self.made.records(Machine)}
        for zone in self.zones():
            inside = sorted(target for target in tried if target.partition("/")[0] == zone.slug and "/" in target)
            if zone.slug in tried or inside:
                yield Goal(zone.slug, zone.name, str(int(zone.number.value)))
            yield from (Goal(target, target.partition("/")[2], "", zone.slug) for target in inside)
        known = {zone.slug for zone in self.zones()}
        for target in tried:
            if target.partition("/")[0] not in {*known, OUTSIDE, FIREWALL}:
                yield Goal(target, target, "", target if target in machines else "")
        ends = ((OUTSIDE, "Outside"), (FIREWALL, "Firewall"))
        yield from (Goal(slug, name) for slug, name in ends if slug in tried)

    def tried(self, where: Mapping[tuple[str, str], tuple[int, ...]]) -> Iterator[Tried]:
        """Counts of each pair, whatever was carried."""
        summed: dict[tuple[str, str], Tried] = {}
        for one in self.found.cells:
            pair = (one.source, one.target)
            had = summed.get(pair, Tried(*pair, 0, 0))
            summed[pair] = replace(
                had,
                through=had.through + one.passed,
                kept_out=had.kept_out + one.kept_out,
                wrong=had.wrong + one.wrong,
            )
        for pair, had in summed.items():
            yield replace(had, differs=where.get(pair, ()) if had.wrong else ())

    def pair(self, packet: str) -> tuple[str, str] | None:
        """From where and to whom a packet goes; nothing where its words don't say it."""
        try:
            words = read_words(packet)
        except PacketError:
            return None
        who = words.via or self.zone(words.source)
        return (who, self.goal(words.target)) if who else None

    def zone(self, word: str) -> str:
        """The zone that an address or a word lies in."""
        if word == FIREWALL or any(one.slug == word for one in self.zones()):
            return word
        try:
            address = ip_address(word)
        except ValueError:
            return OUTSIDE
        mine = (leg.zone for leg in self.made.records(Leg) if any(address in net for net in leg.networks))
        return next(mine, OUTSIDE)

    def goal(self, word: str) -> str:
        """The row of the matrix that a target belongs to."""
        own = {str(host) for leg in self.made.records(Leg) for host in leg.own}
        if word in own:
            return FIREWALL
        tried = {one.target for one in self.found.cells}
        zone = self.zone(word)
        holders = [one.holder for one in self.made.records(Address) if str(one.address) == word]
        holders += [one.holder for one in self.made.records(Address6) if str(one.address) == word]
        return next((f"{zone}/{holder}" for holder in holders if f"{zone}/{holder}" in tried), zone)

    def totals(self) -> str:
        """What all tries come to."""
        through = sum(one.passed for one in self.found.cells)
        out = sum(one.kept_out for one in self.found.cells)
        return f"{through + out:,} tries with real packets: {through:,} let through, {out:,} kept out."

    def notes(self) -> Iterator[Phrase]:
        """How the sheet is read and how far it goes."""
        one = self.found
        everyone = "Every device and visitor tried" if one.mode == "everyone" else "One of each row of devices tried"
        yield plain(f"Columns try, rows are tried. {everyone}; {_when(one.year)}.")
        yield plain(f"Run as {one.way_in}, {' and '.join(f'IPv{family}' for family in one.families)}.")
        if one.agreement is not None and one.agreement.probes:
            agreed = f"{one.agreement.agree:,} of {one.agreement.probes:,}"
            yield plain(f"Intents, proof and packets agree on {agreed} tries.")
        stood_in = list(dict.fromkeys(each.service for each in one.played if not each.real))
        if stood_in:
            yield plain(f"Stand-ins answered for: {', '.join(stood_in)}.")
        yield plain(LIMIT)

    # ------------------------------------------------------------------------------------------------------------ drill

    def drill(self) -> DrillSheet:
        """The fault drill, with a note in red pencil for each that was not found or did not heal."""
        notes: list[PencilNote] = []
        lines: list[FaultLine] = []
        first = self.first + len(self.found.mismatches)
        for one in self.found.drill:
            differs: tuple[int, ...] = ()
            if not (one.found and one.healed):
                number = first + len(notes)
                differs = (number,)
                notes.append(_fault_note(number, one))
            sign = gist(one.signs[0]) if one.signs else ""
            lines.append(FaultLine(one.what, one.component, one.located, sign, one.healed, differs))
        found, healed = sum(one.found for one in self.found.drill), sum(one.healed for one in self.found.drill)
        told = f"{found} of {len(lines)} faults found where they were put; after {healed} of them all was well again."
        says = (
            plain("Each fault was put into the running office, looked for by the same checks as always, healed, and checked again."),
            plain("A check does not know which fault was put, nor that one was."),
            plain(LIMIT),
        )  # fmt: skip
        return DrillSheet(self.block("T-2"), tuple(lines), plain(told), says, tuple(notes))

    # ------------------------------------------------------------------------------------------------------ busiest day

    def days(self) -> DaysSheet:
        """The busiest day, once for each lease time."""
        pools = {
            (int(one.size.value), round(float(convert(one.lease.value, one.lease.unit, HOUR)), 6))
            for one in self.made.records(Pool)
        }
        says = (
            plain("The real address server lent every address; hours were hastened, leases shortened alike."),
            plain("Who came, when, and for how long is the brief's day. Whoever found no address went away."),
            plain("Foreseen: counted from who holds an address when. The loss formula knows no hours, so it is further off."),
            plain(LIMIT),
        )  # fmt: skip
        curves = tuple(_curve(one, planned=(one.pool, round(one.lease, 6)) in pools) for one in self.found.days)
        return DaysSheet(self.block("T-3"), curves, says)


def _when(year: int) -> str:
    return f"as the office has grown by year {year}" if year else "as the office is today"


def _note(number: int, one: Mismatch) -> PencilNote:
    """A mismatch in red pencil, with what to look at."""
    look = [one.line, f'rule "{one.rule}"' if one.rule else ""]
    looks = f"Look at {', and at '.join(word for word in look if word)}." if any(look) else ""
    tries = f'Try it: scantling prove --packet "{one.packet}"' if one.packet else ""
    return PencilNote(number, "stop", plain(one.says), plain(" ".join(word for word in (looks, tries) if word)), CODE)


def _fault_note(number: int, one: Fault) -> PencilNote:
    where = f"the checks say it is at {one.located}" if one.located else "no check noticed it"
    says = (
        f"{one.what}, put at {one.component}: {where}."
        if not one.found
        else f"{one.what}: found, but not well again after it."
    )
    return PencilNote(number, "mend", plain(says), plain("Don't rely on being told of this one on site."), DRILLED)


def _curve(one: Day, *, planned: bool) -> Curve:
    """One day, in words and counts."""
    at = next((hour for hour, held in one.held if held == one.most_held), None)
    peak = f", at {_clock(at)}" if at is not None else ""
    return Curve(
        f"Lent for {one.lease:g} h{', as planned' if planned else ', for comparison'}",
        one.pool,
        one.held,
        f"{one.pool:,} addresses to lend",
        f"{one.most_held:,} held at most{peak}",
        f"none left: {one.refused:,} turned away" if one.refused else "",
        _day_lines(one),
    )


def _day_lines(one: Day) -> tuple[Phrase, ...]:
    lines: Sequence[str] = (
        f"{one.comers:,} came; {one.most_present:,} were there at once at most.",
        f"Turned away by the real server: {one.refused:,}.",
        f"Foreseen by counting: {one.predicted:,}; by the loss formula: {one.steady:.1%} of those who come.",
    )
    return tuple(plain(line) for line in lines)


def _clock(hour: float) -> str:
    minutes = round(hour * 60)
    return f"{minutes // 60 % 24}:{minutes % 60:02}"
