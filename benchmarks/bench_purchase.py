"""The purchase of the whole catalogue, the plan without it, and the book, each against something readable."""

from pathlib import Path

from measuring import Row, best
from scantling import api
from scantling.figures import Cost, Demand, Slot
from scantling.figures.desk import Ledger
from scantling.handbook.choosing import Search
from scantling.outputs.publish import published
from scantling.plan.make import make, planned_functions
from scantling.plan.spine import Book, run

BRIEF = Path(__file__).parent.parent / "examples/millrace/brief.yaml"


def _asked() -> Book:
    """What every trade asks of the purchase."""
    read = api.inputs(BRIEF.read_text("utf-8"), BRIEF.name, api.stock())
    book = Book()
    run([one for one in planned_functions() if not one.late], read.all(), Ledger(), book)
    return book


def _first_fit(book: Book) -> int:
    """A plain look at every option of every slot once: what merely reading the offers costs."""
    return sum(option.minor_units for slot in book.every(Slot) for option in slot.options)


def bench_purchase() -> list[Row]:
    """Compiling and searching; the combinations are the product of all options."""
    book = _asked()
    slots, demands, costs = book.every(Slot), book.every(Demand), book.every(Cost)
    combinations = 1
    for slot in slots:
        combinations *= len(slot.options)
    plain = best(lambda: _first_fit(book), repeats=3)
    search = best(lambda: Search(slots, demands, costs).best(1), repeats=3)
    three = best(lambda: Search(slots, demands, costs).best(3), repeats=3)
    label = f"cheapest of {combinations:.1e} sets"
    return [
        Row(label, search, "adding up every option's price once", plain, "under 50 ms"),
        Row("the three cheapest", three, "the cheapest", search, "reported"),
    ]


def bench_plan_without_purchase() -> list[Row]:
    """What is left of a plan when the search is taken out."""
    read = api.inputs(BRIEF.read_text("utf-8"), BRIEF.name, api.stock())
    book = _asked()
    slots, demands, costs = book.every(Slot), book.every(Demand), book.every(Cost)
    whole = best(lambda: make(read), repeats=3)
    search = best(lambda: Search(slots, demands, costs).best(3), repeats=3)
    return [Row("Millrace without purchase", max(whole - search, 0.0), "Millrace whole", whole, "under 50 ms")]


def bench_book() -> list[Row]:
    """Every file of Millrace."""
    made = api.plan_text(BRIEF.read_text("utf-8"))
    planning = best(lambda: api.plan_text(BRIEF.read_text("utf-8")), repeats=2)
    return [
        Row(
            "all files of the book",
            best(lambda: published(made), repeats=2),
            "the plan, brief read",
            planning,
            "under 2 s",
        )
    ]
