"""The command that takes a supplier's price list into the firm's prices: shown first, asked, then written."""

import json
from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scantling import UserError
from scantling.cli.terminal import BAD_INPUT, FINE, STOPPED, agreed, shown, watched

if TYPE_CHECKING:
    from scantling.api import PriceImport

MOST_SHOWN = 20
ROLES = "article, price, name, currency, priced_on, valid_until, confirmed_on"


def _pairs(_: click.Context, option: click.Parameter, words: tuple[str, ...]) -> dict[str, str]:
    """`word=answer` as often as it is given."""
    found = {}
    for word in words:
        key, equals, answer = word.partition("=")
        if not (key.strip() and equals):
            raise click.BadParameter(f"write it as {option.metavar}, not {word!r}")
        found[key.strip()] = answer.strip()
    return found


def _day(_: click.Context, __: click.Parameter, word: str | None) -> date | None:
    """A day as year-month-day."""
    try:
        return date.fromisoformat(word) if word else None
    except ValueError:
        raise click.BadParameter(f"{word!r} is not a day; write one like 2026-11-25") from None


def _percent(_: click.Context, __: click.Parameter, word: str | None) -> Decimal | None:
    """A number of per cent."""
    try:
        found = Decimal(word.removesuffix("%").strip()) if word else None
    except InvalidOperation:
        found = Decimal(-1)
    if found is not None and not (found.is_finite() and found > 0):
        raise click.BadParameter(f"{word!r} is not a number of per cent above nought; write one like 40")
    return found


@click.command("prices", short_help="Take a supplier's price list into the firm's prices.")
@click.argument("list_", metavar="LIST", type=click.Path(path_type=Path))
@click.option(
    "--firm",
    type=click.Path(path_type=Path),
    default=Path("firm"),
    show_default=True,
    help="Folder of the firm's own prices; made if it is not there.",
)
@click.option("--as", "name", metavar="NAME", default="", help="What this supplier's lists are called.")
@click.option(
    "--column",
    "columns",
    metavar="ROLE=HEAD",
    multiple=True,
    callback=_pairs,
    help=f"The head of a column, as the list writes it. Roles: {ROLES}. ROLE= gives one up.",
)
@click.option(
    "--article",
    "articles",
    metavar="NUMBER=ARTICLE",
    multiple=True,
    callback=_pairs,
    help="Which of our articles a number of the list is, like 4711=disk.spin-4.",
)
@click.option("--decimal", default="", metavar="comma|point", help="What the list writes before the cents.")
@click.option("--dates", default="", metavar="day-first|month-first", help="How the list writes 01/11/2026.")
@click.option("--currency", default="", metavar="EUR", help="The list's currency, where it names none.")
@click.option("--sheet", default="", metavar="NAME", help="The sheet to read, where several hold tables.")
@click.option("--priced-on", callback=_day, metavar="DATE", help="The day of the prices, for rows that name none.")
@click.option("--valid-until", callback=_day, metavar="DATE", help="The last day they hold, for rows that name none.")
@click.option("--confirmed-on", callback=_day, metavar="DATE", help="When the supplier confirmed price and stock.")
@click.option(
    "--jump", callback=_percent, metavar="PERCENT", help="How far a price may move without a question. [40]"
)
@click.option("--leave-out-odd", is_flag=True, help="Take the other rows although some are odd.")
@click.option("--yes", is_flag=True, help="Write without asking.")
@click.option("--json", "as_json", is_flag=True, help="What was found, as JSON; written only with --yes.")
def command(**said: Any) -> None:
    """Take a supplier's price list (CSV or .xlsx) into the firm's prices.

    Shows how the list is read, every odd row with its place, and each price before and after; asks; then writes
    FIRM/prices.yaml, and in FIRM/lists how such a list is read, so that the next one needs no questions.

    Nothing is taken while any row of our articles is odd, unless it is left out. Rows that are none of our articles
    are listed and never guessed at.

    Exit code 0: written, or nothing to write; 1: not agreed to; 2: the list can't be used as it is.
    """  # fmt: skip
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick

    reading, terms = _reading(said), _terms(said)
    found = watched(
        lambda _: api.read_prices(said["list_"], said["firm"], reading, terms, said["name"]), "Reading the list"
    )
    if said["as_json"]:
        shown(lambda: click.echo(json.dumps(_as_json(found), indent=1)))
    else:
        shown(lambda: click.echo("\n".join(_told(found))))
    if found.stopped and not _goes_on(found, leave_out=said["leave_out_odd"]):
        raise SystemExit(BAD_INPUT)
    if not found.writes or (said["as_json"] and not said["yes"]):
        raise SystemExit(FINE)
    if not agreed(_question(found), said["yes"]):
        click.echo("nothing was written", err=True)
        raise SystemExit(STOPPED)
    written = api.take_prices(found, leave_out_odd=said["leave_out_odd"])
    if not said["as_json"]:
        shown(lambda: click.echo("".join(f"wrote {found.firm / name}\n" for name in sorted(written)), nl=False))
    raise SystemExit(FINE)


def _reading(said: dict[str, Any]) -> Any:
    """What is said of the list, to be kept."""
    from scantling.catalogue.pricelists.heads import Role  # noqa: PLC0415 - loaded when needed
    from scantling.catalogue.pricelists.mapping import Reading  # noqa: PLC0415 - as above

    roles = [role.value for role in Role]
    for word in said["columns"]:
        if word not in roles:
            raise UserError(f"--column {word}: no such role; there are {', '.join(roles)}")
    columns = {Role(word): head for word, head in said["columns"].items()}
    return Reading(columns, said["articles"], said["decimal"], said["dates"], said["currency"], said["sheet"])


def _terms(said: dict[str, Any]) -> Any:
    """What is said of this one list."""
    from scantling.catalogue.pricelists.judging import JUMP, Terms  # noqa: PLC0415 - loaded when needed

    days = {name: said[name] for name in ("priced_on", "valid_until", "confirmed_on") if said[name] is not None}
    return Terms(days, JUMP if said["jump"] is None else said["jump"])


def _question(found: "PriceImport") -> str:
    count = len(found.judged.changes)
    what = (
        f"Take {_many(count, 'price')} into {found.firm / 'prices.yaml'}" if count else "Keep how this list is read"
    )
    return f"{what}, and keep its reading as {found.name}?" if count and found.reading != found.kept else f"{what}?"


def _goes_on(found: "PriceImport", *, leave_out: bool) -> bool:
    """Tells what is odd; whether the rest may be taken."""
    from scantling.catalogue.pricelists.cells import told  # noqa: PLC0415 - loaded when needed

    asked, rows = found.judged.asked, _many(len({odd.row for odd in found.judged.odd}), "odd row")
    for line in told([*asked, *found.judged.odd]):
        click.echo(line, err=True)
    if leave_out and not asked:
        click.echo(f"left out: {rows}", err=True)
        return True
    why = "until the question above is answered" if asked else f"for {rows}"
    click.echo(f"nothing was taken, {why}; mend the list, or leave such rows out with --leave-out-odd", err=True)
    return False


def _told(found: "PriceImport") -> Iterator[str]:
    """What was found, for a person."""
    yield from (f"{found.file}: {note}" for note in found.judged.notes)
    yield f"Read {'for the first time' if found.new else 'as kept'}, as {found.name}:"
    yield from (f"  {role:<13} {_safe(head)}" for role, head in found.reading.columns.items())
    if unused := [
        _safe(cell.text)
        for column, cell in found.table.head.cells.items()
        if column not in found.table.columns.values()
    ]:
        yield f"  not used      {', '.join(unused[:MOST_SHOWN])}"
    if found.judged.changes:
        yield "\nPrices, before and after:"
        yield from _changes(found)
    if found.judged.unmatched:
        yield from _unmatched(found)
    others = _many(len(found.judged.unmatched), "row")
    counted = f"{_many(len(found.judged.changes), 'new price')}, {found.judged.same} as before"
    yield f"\n{counted}, {others} of no article of ours."


def _changes(found: "PriceImport") -> Iterator[str]:
    """Each price as it stands and as it would be."""
    width = max(len(change.article) for change in found.judged.changes)
    for change in found.judged.changes:
        share = "" if change.share is None else f"{change.share:+.1f} %"
        note = f"  ({change.note})" if change.note else ""
        money = f"{change.old:>12,.2f} -> {change.new:>12,.2f} {found.currency} {share:>9}"
        yield f"  {change.article:<{width}} {money}  {change.place}{note}"


def _unmatched(found: "PriceImport") -> Iterator[str]:
    """Rows of no article of ours, the first of them with what they may be."""
    many = found.judged.unmatched
    yield f"\nLeft out, since no article of ours is kept for the number ({len(many)}):"
    for offer in many[:MOST_SHOWN]:
        near = found.suggested(offer)
        hint = f'  perhaps --article "{_safe(offer.number)}={near}"' if near else ""
        yield f"  row {offer.row}: {_safe(offer.number)} {_safe(offer.name)}{hint}"
    if len(many) > MOST_SHOWN:
        yield f"  and {len(many) - MOST_SHOWN:,} more"
    if odd := len({odd.row for odd in found.judged.odd_elsewhere}):
        yield f"  {_many(odd, 'row')} of these could not be read whole; it does not matter while they are left out"


def _safe(text: str) -> str:
    from scantling.figures.spelled import shown as printable  # noqa: PLC0415 - loaded when needed

    return printable(" ".join(text.split()), 60)


def _many(count: int, what: str) -> str:
    return f"{count:,} {what}" + ("" if count == 1 else "s")


def _as_json(found: "PriceImport") -> dict[str, Any]:
    """What was found, as plain data."""
    judged = found.judged
    return {
        "list": found.file, "as": found.name, "new": found.new, "currency": found.currency,
        "reading": found.reading.written(), "notes": list(judged.notes), "same": judged.same,
        "changes": [
            {"article": c.article, "number": c.number, "old": str(c.old), "new": str(c.new), "old_place": c.old_place,
             "place": c.place, "note": c.note, **{name: day.isoformat() for name, day in c.days.items()}}
            for c in judged.changes
        ],
        "asked": _odd_as_json(judged.asked), "odd": _odd_as_json(judged.odd), "odd_elsewhere": _odd_as_json(judged.odd_elsewhere),
        "unmatched": [{"row": o.row, "number": o.number, "name": o.name} for o in judged.unmatched],
    }  # fmt: skip


def _odd_as_json(many: Iterable[Any]) -> list[dict[str, Any]]:
    return [{"file": o.file, "row": o.row, "column": o.column, "says": o.says} for o in many]
