"""How a proof looks on a terminal: the verdict, who may reach whom as a table of doors, what differs in red pencil."""

from collections.abc import Iterator, Mapping, Sequence

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from scantling.api import Proving
from scantling.api.proving import Compared
from scantling.cli.showing import NARROWEST, PENCIL, console
from scantling.figures.numbers import counted
from scantling.plan.evidence import ASTRAY, BARRED, OPEN, Difference, Door, Evidence
from scantling.trials.proof.tracing import Traced

WORDS = {OPEN: "OPEN", BARRED: "SHUT", ASTRAY: "ASTRAY"}
SHUT, ITSELF = "·", "—"
MOST = 12
LABEL = 9


def show_proving(found: Proving) -> None:
    """A packet followed, or everything that was proved and compared."""
    screen = console()
    for packet in found.traced:
        _packet(screen, packet)
    if found.evidence is None:
        return
    _evidence(screen, found.evidence)
    for one in found.compared:
        _compared(screen, one)
    _hung(screen, "Not shown by any proof of rules:", "bold", 0)
    for words in found.evidence.unshown:
        _hung(screen, f"- {words}", "dim", 2)


def _evidence(screen: Console, told: Evidence) -> None:
    screen.print(
        Text.assemble(
            "Proof of ", (told.about, "bold"), ": ", (told.says, "bold" if told.proved else f"bold {PENCIL}")
        )
    )
    holds = "they do exactly what" if told.proved else "held against what"
    says = f"{holds} {counted(told.intents, 'intent means', 'intents mean')}, for every packet there can be, in IPv4 and IPv6"
    _row(screen, "verdict", says)
    _row(screen, "intents", f"{told.holding} of {told.intents} hold")
    _row(screen, "rules", f"{told.rules}" + (f", of which {len(told.idle)} never decide" if told.idle else ""))
    _doors(screen, told.doors)
    _differences(screen, told.differences)
    if told.idle:
        _hung(screen, "Rules that never decide (nothing is wrong with them; they may go):", "bold", 0)
        for idle in told.idle[:MOST]:
            _hung(screen, f"{idle.rule}: {idle.why}", "dim", 2)
        if len(told.idle) > MOST:
            _hung(screen, f"and {len(told.idle) - MOST} more; --json has all", "dim", 2)
        screen.print()
    if told.pairs:
        _hung(screen, "Pairs of rules that overlap (the one that stands first decides where both match):", "bold", 0)
        for pair in told.pairs[:MOST]:
            _hung(screen, f"{pair.kind}: {pair.first}, then {pair.second}", "dim", 2)
        counts = ", ".join(f"{count} {kind}" for kind, count in told.overlaps)
        _hung(
            screen, f"among all rules of both families: {counts}; --json has all that are made from intents", "dim", 2
        )
        screen.print()
    if told.notes:
        _hung(screen, "Taken for granted:", "bold", 0)
        for words in told.notes:
            _hung(screen, f"- {words}", "dim", 2)
        screen.print()


def _doors(screen: Console, doors: Sequence[Door]) -> None:
    """From row to column how many things may begin; red where one of them is unasked."""
    by_pair = {(door.source, door.target): door for door in doors}
    places = list(dict.fromkeys(door.source for door in doors))
    table = Table(
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        title=Text("How many things may begin, from row to column", style="bold"),
        title_justify="left",
    )
    table.add_column(Text("from"))
    for number, _ in enumerate(places, 1):
        table.add_column(Text(str(number)), justify="right")
    for number, source in enumerate(places, 1):
        table.add_row(Text(f"{number} {source}"), *(_cell(by_pair, source, target) for target in places))
    screen.print(table)


def _cell(doors: Mapping[tuple[str, str], Door], source: str, target: str) -> Text:
    door = doors.get((source, target))
    if door is None or (source == target and not door.passing):
        return Text(ITSELF, style="dim")
    if not door.passing:
        return Text(SHUT, style="dim")
    return (
        Text(f"{len(door.passing)}", style="")
        if door.asked
        else Text(f"{len(door.passing)}!", style=f"bold {PENCIL}")
    )


def _differences(screen: Console, many: Sequence[Difference]) -> None:
    for one in many[:MOST]:
        screen.print(Text(f"  {WORDS[one.kind]}", style=f"bold {PENCIL}"))
        _hung(screen, one.says, "", 4)
        _hung(screen, f"packet: {one.packet}", "dim", 4)
    if len(many) > MOST:
        _hung(screen, f"and {len(many) - MOST} more; --json has all", "", 2)
    if many:
        _hung(screen, "Ask for any of these packets with --packet.", "dim", 2)
        screen.print()


def _compared(screen: Console, one: Compared) -> None:
    if not one.differences:
        _hung(screen, f"{one.first} and {one.second}: equal, every packet fares alike", "bold", 0)
    else:
        many = len(one.differences)
        _hung(
            screen,
            f"{one.first} against {one.second}: {many} difference{'s' if many > 1 else ''}",
            f"bold {PENCIL}",
            0,
        )
        _differences(screen, one.differences)
    screen.print()


def _packet(screen: Console, one: Traced) -> None:
    screen.print(Text(one.packet, style="bold"))
    for label, words in _told(one):
        style = f"bold {PENCIL}" if label == "verdict" and one.passes is False else ""
        _row(screen, label, words, style)
    screen.print()


def _told(one: Traced) -> Iterator[tuple[str, str]]:
    """What is known of a packet's way, line by line."""
    if one.passes is None:
        yield "verdict", one.says
        return
    yield "verdict", "passes" if one.passes else "is dropped"
    if one.hours:
        yield "hours", f"it passes {one.hours}"
    yield "who", one.says
    yield "rule", one.rule or "none says anything of it, and what none lets through is dropped"
    if one.intent:
        yield "intent", one.intent
    if one.also:
        yield "also", ", ".join(one.also)
    if one.line:
        yield "brief", one.line
    yield "meant", "so" if one.meant else "otherwise: the intents and the rules differ here"
    yield "way", ", then ".join(one.way)


def _row(screen: Console, label: str, words: str, style: str = "") -> None:
    lead = LABEL + 2
    rows = Text(words, style=style).wrap(screen, max(screen.width - lead, NARROWEST))
    for place, row in enumerate(rows):
        head = f"  {label:<{LABEL}}" if not place else " " * lead
        screen.print(Text(head, style="dim") + row, soft_wrap=True)


def _hung(screen: Console, words: str, style: str, lead: int) -> None:
    """Words that keep their indent when they go on below."""
    for row in Text(words, style=style).wrap(screen, max(screen.width - lead, NARROWEST)):
        screen.print(Text(" " * lead) + row, soft_wrap=True)
