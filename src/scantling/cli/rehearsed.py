"""How a rehearsal looks on a terminal: what stood, what was tried, what went otherwise, and what no rehearsal shows."""

from collections import Counter
from collections.abc import Iterator, Sequence

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from scantling.cli.showing import NARROWEST, PENCIL, console
from scantling.figures.spelled import shown as printable
from scantling.trials.rehearsal.report import LIMIT, digest_of, compared_part
from scantling.trials.rehearsal.results import Cell, Day, Lease, Played, Rehearsed

LABEL, MOST = 13, 12
LONGEST = 400
NOTHING = "·"
OFFICE = ("firewall", "outside")
"""Places that stand last in the table."""


def show_rehearsed(found: Rehearsed) -> None:
    """The whole page."""
    screen = console()
    _headline(screen, found)
    for label, words in (*_stood(found), *_asked(found), *_agreed(found)):
        _row(screen, label, words)
    screen.print()
    if found.cells:
        screen.print(_matrix(found.cells))
    _mismatches(screen, found)
    if found.drill:
        screen.print(_drill(found))
    if found.days:
        screen.print(_days(found.days))
    _list(screen, "Done otherwise than on site:", found.notes)
    _list(screen, "Not rehearsed here:", found.not_rehearsed)
    _hung(screen, LIMIT, "bold", 0)
    _hung(
        screen, f"Evidence {digest_of(compared_part(found))[:16]}; the same when the same comes out again.", "dim", 0
    )


def _headline(screen: Console, found: Rehearsed) -> None:
    wrong = len(found.mismatches) + sum(bool(one.wrong) for one in found.answers)
    if found.why_not:
        says, style = (
            "nothing was stood up: the files were read and the rules proved, no packet was sent",
            f"bold {PENCIL}",
        )
    elif found.well:
        says, style = "everything went as meant", "bold"
    else:
        says, style = (
            f"{wrong or 'some'} thing{'s' if wrong != 1 else ''} went otherwise than meant",
            f"bold {PENCIL}",
        )
    screen.print(Text.assemble("Rehearsal of ", (plain(found.office), "bold"), ": ", (says, style)))
    if found.why_not:
        _hung(screen, found.why_not, "", 2)


def _stood(found: Rehearsed) -> Iterator[tuple[str, str]]:
    """How it was stood up, and what ran."""
    yield "run as", found.way_in
    if found.stations:
        grown = f", grown by {found.year} year{'s' if found.year != 1 else ''}" if found.year else ""
        who = "everyone" if found.mode == "everyone" else "one of each row of devices"
        families = " and ".join(f"IPv{one}" for one in found.families)
        yield "stood up", f"{found.stations} stations ({who}{grown}), {families}"
    for words in _services(found.played):
        yield "real", words
    stood_in: dict[str, list[str]] = {}
    for one in found.played:
        if not one.real:
            stood_in.setdefault(one.why, []).append(f"{one.service} on {one.machine}")
    for why, many in stood_in.items():
        yield "stand-in", f"{', '.join(many)}: {why}"
    read = Counter(one.parser for one in found.checked if one.parser)
    refused = [one for one in found.checked if one.says]
    yield (
        "files",
        f"{len(found.checked)}, of which {sum(read.values())} were read by their own programs"
        + ("" if refused else ", and taken"),
    )
    for file in refused:
        yield "refused", f"{file.path}: {file.says}"


def _services(played: Sequence[Played]) -> Iterator[str]:
    """Programs that ran, with the machines they ran on."""
    ran: dict[tuple[str, str], list[str]] = {}
    for one in played:
        if one.real:
            ran.setdefault((one.service, one.program), []).append(one.machine)
    for (service, program), machines in ran.items():
        yield f"{service}: {program} on {', '.join(machines)}"


def _asked(found: Rehearsed) -> Iterator[tuple[str, str]]:
    """Addresses and answers."""
    if found.leases:
        wrong = sum(bool(one.wrong) for one in found.leases)
        yield (
            "addresses",
            f"{len(found.leases) - wrong} of {len(found.leases)} given or made as planned{_by_zone(found.leases)}",
        )
    if found.answers:
        bad = [one for one in found.answers if one.wrong]
        yield "names, time", f"{len(found.answers) - len(bad)} of {len(found.answers)} questions answered as planned"
        for one in bad[:MOST]:
            yield "wrong", f"{one.station} asked {one.asked}: {one.wrong}"


def _by_zone(leases: Sequence[Lease]) -> str:
    zones = Counter(one.zone for one in leases)
    return f" ({', '.join(f'{zone} {many}' for zone, many in zones.items())})"


def _agreed(found: Rehearsed) -> Iterator[tuple[str, str]]:
    """Intents, proof and packets; what planted errors showed."""
    agreed = found.agreement
    if agreed is not None:
        yield "proof", agreed.proof
        if agreed.probes:
            dated = f"; {agreed.dated} of them depend on the hour" if agreed.dated else ""
            yield (
                "agreement",
                f"intents, proof and packets say the same of {agreed.agree} of {agreed.probes} tries{dated}",
            )
        for words in agreed.differences[:MOST]:
            yield "differs", words
    if found.planted:
        telling = [one for one in found.planted if one.effect]
        proof, packets = sum(one.proof for one in telling), sum(one.packets for one in telling)
        yield (
            "planted",
            (
                f"{len(found.planted)} errors, {len(telling)} with an effect: the proof noticed {proof}, packets {packets}"
            ),
        )
        for one in [one for one in telling if not (one.proof and one.packets)][:MOST]:
            yield "missed", f"{one.change} at {one.rule}, by {'packets' if one.proof else 'the proof'}"


def _matrix(cells: Sequence[Cell]) -> Table:
    """From row to column: what passed of what was tried; red where something went otherwise. Machines count to their zone."""
    summed: dict[tuple[str, str], list[int]] = {}
    for one in cells:
        count = summed.setdefault((one.source, one.target.partition("/")[0]), [0, 0, 0])
        for place, many in enumerate((one.tried, one.passed, one.wrong)):
            count[place] += many
    places = _ordered({place for pair in summed for place in pair})
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, title_justify="left")
    table.title = Text("Passed of tried, from row to column; what is not passed was kept out", style="bold")
    table.add_column(Text("from"))
    for number, _ in enumerate(places, 1):
        table.add_column(Text(str(number)), justify="right")
    for number, source in enumerate(places, 1):
        name = Text(f"{number} {plain(source)}")
        table.add_row(name, *(_cell(summed.get((source, target))) for target in places))
    return table


def _ordered(places: set[str]) -> list[str]:
    return sorted(places, key=lambda one: (one in OFFICE, one))


def _cell(count: list[int] | None) -> Text:
    if count is None:
        return Text(NOTHING, style="dim")
    tried, passed, wrong = count
    return Text(f"{passed}/{tried}!" if wrong else f"{passed}/{tried}", style=f"bold {PENCIL}" if wrong else "")


def _mismatches(screen: Console, found: Rehearsed) -> None:
    for one in found.mismatches[:MOST]:
        screen.print(Text(f"  {plain(one.cause)}", style=f"bold {PENCIL}"))
        _hung(screen, one.says, "", 4)
        for label, words in (("brief", one.line), ("rule", one.rule), ("packet", one.packet)):
            if words:
                _hung(screen, f"{label}: {words}", "dim", 4)
    if len(found.mismatches) > MOST:
        _hung(screen, f"and {len(found.mismatches) - MOST} more; --json has all", "", 2)
    if found.mismatches:
        _hung(screen, "Follow a packet through the rules with scantling prove --packet.", "dim", 2)
        screen.print()


def _drill(found: Rehearsed) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, title_justify="left")
    many = sum(one.found for one in found.drill)
    table.title = Text(f"Faults: {many} of {len(found.drill)} located where they were put", style="bold")
    for name in ("fault", "put into", "located in", "healed"):
        table.add_column(Text(name))
    for one in found.drill:
        style = "" if one.found and one.healed else f"bold {PENCIL}"
        located = one.located or "not noticed"
        table.add_row(
            *(
                Text(plain(word), style=style)
                for word in (one.what, one.component, located, "yes" if one.healed else "no")
            )
        )
    return table


def _days(days: Sequence[Day]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, title_justify="left")
    table.title = Text("The busiest day, with the real address server", style="bold")
    for name in (
        "lease",
        "addresses",
        "came",
        "refused",
        "predicted",
        "by the loss formula",
        "most there",
        "most lent",
    ):
        table.add_column(Text(name), justify="right")
    for one in days:
        table.add_row(
            f"{one.lease:g} h", str(one.pool), str(one.comers), str(one.refused), str(one.predicted), f"{one.steady:.1%}",
            str(one.most_present), str(one.most_held),
        )  # fmt: skip
    return table


def _list(screen: Console, title: str, many: Sequence[str]) -> None:
    if many:
        _hung(screen, title, "bold", 0)
        for words in many:
            _hung(screen, f"- {words}", "dim", 2)


def plain(words: str) -> str:
    """Words that can't steer a terminal, whoever typed them."""
    return printable(words, LONGEST)


def _row(screen: Console, label: str, words: str) -> None:
    lead = LABEL + 2
    style = f"bold {PENCIL}" if label in {"wrong", "differs", "missed", "refused"} else ""
    for place, row in enumerate(Text(plain(words), style=style).wrap(screen, max(screen.width - lead, NARROWEST))):
        head = f"  {label:<{LABEL}}" if not place else " " * lead
        screen.print(Text(head, style="dim") + row, soft_wrap=True)


def _hung(screen: Console, words: str, style: str, lead: int) -> None:
    """Words that keep their indent when they go on below."""
    for row in Text(plain(words), style=style).wrap(screen, max(screen.width - lead, NARROWEST)):
        screen.print(Text(" " * lead) + row, soft_wrap=True)
