"""How a rehearsal looks on a terminal: a page to show the client, from what was stood up to what no rehearsal shows."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from rich.console import Console
from rich.text import Text

from scantling.api import Papers
from scantling.cli.rehearsed_tables import day_table, drill_table, matrix_tables, missed_table, plain
from scantling.cli.showing import NARROWEST, PENCIL, console
from scantling.trials.rehearsal.report import LIMIT, compared_part, digest_of, otherwise
from scantling.trials.rehearsal.results import Agreement, Checked, Mismatch, PlantedError, Rehearsed

LABEL, MOST = 12, 12
RED = f"bold {PENCIL}"
REFUSED = frozenset({"refused", "wrong", "differs", "missed"})
"""Labels of rows in red pencil; the word says it too."""
RULES = "firewall/rules.nft"
INTERNET = {4: "IPv4", 6: "IPv6"}

MISSING = "isn't installed"
"""In the reason of a stand-in: its program could have run here."""


def show_rehearsed(found: Rehearsed) -> None:
    """The whole page, in the order in which a client asks: did it go well, what was tried, what went otherwise, what it can't show."""
    screen = console()
    _headline(screen, found)
    for title, rows in _sections(found):
        _section(screen, title, rows)
    for table in matrix_tables(found.cells, screen.width):
        screen.print(table)
    _section(screen, "Held against each other", [*_agreed(found.agreement), *_sensed(found.planted)])
    _tables(screen, found)
    _mismatches(screen, found.mismatches)
    _list(screen, "Done otherwise than on site:", found.notes)
    _list(screen, "What can't be rehearsed here:", found.not_rehearsed)
    _hung(screen, LIMIT, "bold", 0)
    _hung(screen, f"Evidence {digest_of(compared_part(found))[:16]}: the same whenever the same comes out.", "dim", 0)


def show_papers(papers: Papers, folder: str) -> None:
    """What was written, and where."""
    screen = console()
    _hung(screen, f"Written into {folder}: {', '.join(papers.names)}", "", 0)
    if papers.left:
        _hung(screen, f"Of an earlier rehearsal, and left there: {', '.join(papers.left)}", "dim", 0)


def _sections(found: Rehearsed) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    yield "How it was run", [*_ran(found)]
    yield "What was stood up", [*_stood(found)]
    yield "Files, addresses, names", [*_files(found), *_leases(found), *_answers(found), *_lines(found)]


def _headline(screen: Console, found: Rehearsed) -> None:
    wrong = otherwise(found)
    says, style = "everything went as meant", "bold"
    if found.why_not:
        says, style = "nothing could be stood up here; the files were read and the rules proved, no more", RED
        says += f"; {many(wrong, 'thing')} went otherwise than meant" if wrong else ""
    elif not found.well:
        says, style = f"{many(max(wrong, 1), 'thing')} went otherwise than meant", RED
    stood_in = dict.fromkeys(one.service for one in found.played if not one.real and MISSING in one.why)
    if stood_in:
        says += f", with a stand-in for {', '.join(map(plain, stood_in))}, whose programs are not installed here"
    _hung(screen, f"Rehearsal of {plain(found.office)}: {says}.", style, 0)
    for line in found.why_not.splitlines():
        _hung(screen, line, "", 4 if line.startswith(" ") else 2)
    screen.print()


def many(count: int, one: str, more: str = "") -> str:
    """A number with its word: 1 file, 1,200 files."""
    return f"{count:,} {one if count == 1 else more or f'{one}s'}"


def _ran(found: Rehearsed) -> Iterator[tuple[str, str]]:
    """Way in, who took part, how long it took."""
    yield "way in", found.way_in
    if found.stations:
        who = "every device and visitor there is" if found.mode == "everyone" else "one of each row of devices"
        yield "who", f"{who}, {f'as grown by year {found.year}' if found.year else 'as it is today'}"
        yield "families", " and ".join(INTERNET.get(one, str(one)) for one in found.families)
    if found.seconds:
        yield "took", f"{sum(seconds for _, seconds in found.seconds):.1f} s"


def _stood(found: Rehearsed) -> Iterator[tuple[str, str]]:
    """Stations, zones, and what played each service: the real program, or a stand-in with its reason."""
    if not found.stations:
        return
    zones = sorted({one.source for one in found.cells} - {"firewall", "outside"})
    yield (
        "stations",
        f"{found.stations:,}: the firewall, machines, devices, a spare port in each zone, and those outside",
    )
    if zones:
        yield "zones", f"{len(zones)}: {', '.join(zones)}; the firewall between them, the outside beyond it"
    real: dict[tuple[str, str], list[str]] = {}
    stood_in: dict[str, list[str]] = {}
    for one in found.played:
        if one.real:
            real.setdefault((one.service, one.program), []).append(one.machine)
        else:
            stood_in.setdefault(one.why, []).append(f"{one.service} on {one.machine}")
    for (service, program), machines in real.items():
        yield "real", f"{service}: {program} on {', '.join(dict.fromkeys(machines))}"
    for why, which in stood_in.items():
        yield "stand-in", f"{', '.join(which)}: {why}"


def _files(found: Rehearsed) -> Iterator[tuple[str, str]]:
    """How many files there are, which programs read them, what they refused."""
    if not found.checked:
        return
    read = Counter(one.parser for one in found.checked if one.parser)
    by = ", ".join(
        f"{count} by {parser}" for parser, count in sorted(read.items(), key=lambda one: (-one[1], one[0]))
    )
    bad = [one for one in found.checked if one.says]
    rest = len(found.checked) - sum(read.values())
    taken = f"; {sum(read.values()) - len(bad)} taken" if read else ""
    loaded = f"; {RULES} loaded by the kernel itself" if found.stations and _has(found.checked, RULES) else ""
    more = f"; {rest} that no program here reads" if rest else ""
    yield "files", f"{len(found.checked)}, used byte for byte{f': read {by}' if by else ''}{taken}{loaded}{more}"
    yield from _first("refused", (f"{one.path}: {one.parser} says: {one.says}" for one in bad))


def _has(files: Sequence[Checked], path: str) -> bool:
    return any(one.path == path for one in files)


def _leases(found: Rehearsed) -> Iterator[tuple[str, str]]:
    """Addresses asked for, by family."""
    if not found.leases:
        return
    asked = Counter(one.family for one in found.leases)
    right = Counter(one.family for one in found.leases if not one.wrong)
    told = [
        f"{INTERNET.get(family, family)} {right[family]:,} of {count:,}" for family, count in sorted(asked.items())
    ]
    yield (
        "addresses",
        f"{', '.join(told)} as planned, given by the address server through the relay, or made from announcements",
    )
    if not found.mismatches:  # else they are told there, by their cause
        wrong = (f"{one.station} ({one.zone}, IPv{one.family}): {one.wrong}" for one in found.leases if one.wrong)
        yield from _first("wrong", wrong)


def _answers(found: Rehearsed) -> Iterator[tuple[str, str]]:
    """Questions for names, forward and back, and for the time."""
    if not found.answers:
        return
    bad = [one for one in found.answers if one.wrong]
    right = len(found.answers) - len(bad)
    yield "names, time", f"{right:,} of {many(len(found.answers), 'question')} answered as planned, forward and back"
    yield from _first("wrong", (f"{one.station} asked {one.asked}: {one.wrong}" for one in bad))


def _lines(found: Rehearsed) -> Iterator[tuple[str, str]]:
    """What each line let through."""
    for place, words in enumerate(found.speeds):
        yield "" if place else "lines", words


def _agreed(agreed: Agreement | None) -> Iterator[tuple[str, str]]:
    """Intents, proof and packets held against each other."""
    if agreed is None:
        return
    yield "proof", agreed.proof
    if agreed.probes:
        dated = f"; {agreed.dated} of them depend on the hour" if agreed.dated else ""
        yield (
            "agreement",
            f"intents, proof and real packets say the same of {agreed.agree:,} of {many(agreed.probes, 'try', 'tries')}{dated}",
        )
    else:
        yield "agreement", "no packet was sent, so intents and proof alone are held against each other"
    yield from _first("differs", iter(agreed.differences))


def _sensed(planted: Sequence[PlantedError]) -> Iterator[tuple[str, str]]:
    """How many errors that were planted on purpose were noticed."""
    if not planted:
        return
    telling = [one for one in planted if one.effect]
    proof, packets = sum(one.proof for one in telling), sum(one.packets for one in telling)
    yield (
        "sensitivity",
        (
            f"{many(len(planted), 'error')} planted in the rules, one at a time; {len(telling)} of them make some packet fare "
            f"otherwise; of these the proof noticed {_share(proof, len(telling))}, real packets {_share(packets, len(telling))}"
        ),
    )


def _share(part: int, whole: int) -> str:
    """Never rounded up to 100 %."""
    return f"{part} ({part * 100 // whole} %)" if whole else "none of none"


def _first(label: str, says: Iterable[str]) -> Iterator[tuple[str, str]]:
    """As many as a page holds, and how many more there are."""
    every = list(says)
    for words in every[:MOST]:
        yield label, words
    if len(every) > MOST:
        yield label, f"and {len(every) - MOST} more; --json has all"


def _tables(screen: Console, found: Rehearsed) -> None:
    missed = [one for one in found.planted if one.effect and not (one.proof and one.packets)]
    if missed:
        screen.print(missed_table(missed))
    if found.drill:
        screen.print(drill_table(found.drill))
    if found.days:
        screen.print(day_table(found.days))


def _mismatches(screen: Console, found: Sequence[Mismatch]) -> None:
    """One for each cause: what happened, then what to look at."""
    if not found:
        return
    _hung(screen, "What went otherwise, one for each cause", RED, 0)
    for number, one in enumerate(found[:MOST], 1):
        _hung(screen, f"{number}. {one.says}", "", 2, 3)
        told: Mapping[str, str] = {"cause": one.cause, "brief": one.line, "rule": one.rule, "packet": one.packet}
        for label, words in told.items():
            if words:
                _hung(screen, f"{label}: {words}", "dim", 5, 2)
    if len(found) > MOST:
        _hung(screen, f"and {len(found) - MOST} more; --json has all", "", 2)
    if any(one.packet for one in found):
        _hung(screen, 'Follow a packet through the rules with: scantling prove --packet "…"', "dim", 2)
    screen.print()


def _section(screen: Console, title: str, rows: Sequence[tuple[str, str]]) -> None:
    if not rows:
        return
    screen.print(Text(title, style="bold"))
    for place, (label, words) in enumerate(rows):
        _row(screen, "" if place and rows[place - 1][0] == label else label, words, RED if label in REFUSED else "")
    screen.print()


def _row(screen: Console, label: str, words: str, style: str) -> None:
    lead = LABEL + 2
    for place, row in enumerate(Text(plain(words), style=style).wrap(screen, max(screen.width - lead, NARROWEST))):
        head = f"  {label:<{LABEL}}" if not place else " " * lead
        screen.print(Text(head, style=style or "dim") + row, soft_wrap=True)


def _list(screen: Console, title: str, lines: Sequence[str]) -> None:
    if not lines:
        return
    screen.print(Text(title, style="bold"))
    for words in lines:
        _hung(screen, f"- {words}", "dim", 2, 2)
    screen.print()


def _hung(screen: Console, words: str, style: str, lead: int, hang: int = 0) -> None:
    """Words that keep their indent when they go on below."""
    room = max(screen.width - lead - hang, NARROWEST)
    for place, row in enumerate(Text(plain(words), style=style).wrap(screen, room)):
        screen.print(Text(" " * (lead + (hang if place else 0))) + row, soft_wrap=True)
