"""The tables of a rehearsal's page: who tried whom, errors that were missed, the drill, the busiest day with both leases."""

from collections.abc import Sequence

from rich import box
from rich.console import JustifyMethod
from rich.table import Table
from rich.text import Text

from scantling.cli.showing import PENCIL
from scantling.figures.spelled import shown as printable
from scantling.trials.rehearsal.report import gist
from scantling.trials.rehearsal.results import Cell, Day, Fault, PlantedError

RED = f"bold {PENCIL}"
LONGEST = 600
NOTHING = "·"
LAST = ("outside", "firewall")
"""Places that stand last in the table."""
LEAST = 11
"""Letters of a column of the matrix, the space before it included."""
THERE = "there"
HOURS = 10
"""Lines of the curve at most."""


def plain(words: str) -> str:
    """Words that can't steer a terminal, whoever typed them, on one line."""
    return printable(" ".join(words.split()), LONGEST)


def ruled(title: str, heads: Sequence[str], right: Sequence[int] = ()) -> Table:
    """An empty table."""
    table = Table(
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        title=Text(title, style="bold"),
        title_justify="left",
        min_width=len(title),
    )
    for place, head in enumerate(heads):
        side: JustifyMethod = "right" if place in right else "left"
        table.add_column(Text(plain(head)), justify=side, overflow="fold")
    return table


# ----------------------------------------------------------------------------------------------------- who tried whom


def matrix_tables(cells: Sequence[Cell], width: int) -> list[Table]:
    """From column to row: let through and kept out; red where something went otherwise. More tables where one is too wide."""
    summed: dict[tuple[str, str], list[int]] = {}
    for one in cells:
        count = summed.setdefault((one.source, one.target), [0, 0, 0])
        for place, amount in enumerate((one.passed, one.kept_out, one.wrong)):
            count[place] += amount
    sources = sorted({source for source, _ in summed}, key=_place)
    targets = sorted({target for _, target in summed}, key=_place)
    if not summed:
        return []
    names = max(len(plain(target)) for target in targets) + 2
    column = max(LEAST, *(len(plain(source)) + 2 for source in sources))
    holds = max(1, (width - names) // column)
    count_of = -(-len(sources) // holds)
    holds = -(-len(sources) // count_of)
    parts = [sources[start : start + holds] for start in range(0, len(sources), holds)]
    return [_matrix(summed, part, targets, goes_on=bool(place)) for place, part in enumerate(parts)]


def _place(name: str) -> tuple[int, str]:
    """Zones in order, their machines behind them, the outside and the firewall last."""
    return (LAST.index(name) + 1 if name in LAST else 0), name


def _matrix(
    summed: dict[tuple[str, str], list[int]], sources: Sequence[str], targets: Sequence[str], *, goes_on: bool
) -> Table:
    title = "What was tried, from column to row: let through + kept out" + (", continued" if goes_on else "")
    table = ruled(title, ["to", *sources], range(1, len(sources) + 1))
    for target in targets:
        zone, _, machine = target.partition("/")
        name = f"  {plain(machine)}" if machine and zone in targets else plain(target)
        table.add_row(Text(name), *(_cell(summed.get((source, target))) for source in sources))
    return table


def _cell(count: list[int] | None) -> Text:
    if count is None:
        return Text(NOTHING, style="dim")
    passed, out, wrong = count
    says = f"{passed:,} + {out:,}" if passed else f"{NOTHING} + {out:,}"
    return Text(f"{says} !{wrong}", style=RED) if wrong else Text(says, style="" if passed else "dim")


# ------------------------------------------------------------------------------------------------- errors, faults, days


def missed_table(missed: Sequence[PlantedError]) -> Table:
    """Errors with an effect that the proof or the packets did not notice."""
    table = ruled("Planted errors that were missed", ("change", "rule", "proof", "packets"))
    for one in missed:
        table.add_row(
            Text(plain(one.change)), Text(plain(one.rule)), _noticed(saw=one.proof), _noticed(saw=one.packets)
        )
    return table


def _noticed(*, saw: bool) -> Text:
    return Text("noticed") if saw else Text("MISSED", style=RED)


def drill_table(drill: Sequence[Fault]) -> Table:
    """Faults that were put into the living office: where, where they were found, and whether all was well again."""
    found = sum(one.found for one in drill)
    healed = sum(one.healed for one in drill)
    title = f"Fault drill: {found} of {len(drill)} found where they were put, {healed} healed"
    table = ruled(title, ("fault", "put at", "found", "healed", "first sign"))
    for one in drill:
        where = Text(THERE) if one.found else Text(plain(one.located) or "NOT NOTICED", style=RED)
        table.add_row(
            Text(plain(one.what)), Text(plain(one.component)), where,
            Text("yes") if one.healed else Text("NO", style=RED), Text(plain(gist(one.signs[0])) if one.signs else "", style="dim"),
        )  # fmt: skip
    return table


def day_table(days: Sequence[Day]) -> Table:
    """The busiest day once for each lease time, side by side."""
    heads = ("", *(f"lease {one.lease:g} h" for one in days))
    table = ruled("The busiest day, with the real address server", heads, range(1, len(days) + 1))
    rows = (
        ("addresses to lend", [f"{one.pool:,}" for one in days]),
        ("came", [f"{one.comers:,}" for one in days]),
        ("turned away", [f"{one.refused:,}" for one in days]),
        ("  foreseen by counting", [f"{one.predicted:,}" for one in days]),
        ("  share, by the loss formula", [f"{one.steady:.1%}" for one in days]),
        ("most there at once", [f"{one.most_present:,}" for one in days]),
        ("most addresses held", [f"{one.most_held:,}" for one in days]),
    )
    for label, told in rows:
        table.add_row(Text(label), *(Text(words) for words in told))
    for hour in _hours(days):
        held = (_held(one, hour) for one in days)
        table.add_row(Text(f"  held at {_clock(hour)}", style="dim"), *(Text(words, style="dim") for words in held))
    return table


def _hours(days: Sequence[Day]) -> list[float]:
    """Full hours of all curves, evenly thinned to a few lines."""
    full = sorted({hour for one in days for hour, _ in one.held if hour == int(hour)})
    step = -(-len(full) // HOURS) or 1
    return full[::step]


def _held(day: Day, hour: float) -> str:
    return next((f"{held:,}" for at, held in day.held if at == hour), NOTHING)


def _clock(hour: float) -> str:
    return f"{int(hour) % 24:02}:{round(hour % 1 * 60):02}"
