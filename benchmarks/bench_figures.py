"""What an explained figure costs against a plain call, and a plan against its parts."""

from pathlib import Path

from measuring import Row, best
from scantling import api
from scantling.figures import Figure, Origin, Source
from scantling.figures.rules import rule
from scantling.figures.units import COUNT, Count
from scantling.plan.make import make

BRIEF = Path(__file__).parent.parent / "examples/millrace/brief.yaml"


@rule(Source("arithmetic", "own derivation"))
def together(first: Count, second: Count) -> Count:
    """Two counts added."""
    return first + second


def _plain(first: int, second: int) -> int:
    return first + second


def bench_figure() -> list[Row]:
    """One rule on numbers and on figures, and a working as text."""
    one = Figure(3, COUNT, Origin("standard", "three"), None, "one", "one")
    plain = best(lambda: _plain(first=3, second=4), loops=20_000)
    numbers = best(lambda: together(first=3, second=4), loops=20_000)
    figures = best(lambda: together.of(first=one, second=one), loops=20_000)
    made = together.of(first=one, second=one)
    told = best(lambda: made.how.working(made), loops=200)
    return [
        Row("rule on numbers", numbers, "plain call", plain, "reported"),
        Row("rule on figures", figures, "plain call", plain, "reported"),
        Row("a working as text", told, "rule on figures", figures, "reported"),
    ]


def bench_reading_and_planning() -> list[Row]:
    """Reading the brief, and the plan of what was read."""
    written = BRIEF.read_text("utf-8")
    kept = api.stock()
    lines = len(written.splitlines())
    reading = best(lambda: api.inputs(written, BRIEF.name, kept), repeats=3)
    read = api.inputs(written, BRIEF.name, kept)
    planning = best(lambda: make(read), repeats=3)
    return [
        Row(f"reading the brief, {lines} lines", reading, "", 0.0, "reported"),
        Row(
            "plan and purchase, Millrace, all read",
            planning,
            "reading the brief",
            reading,
            "plan 50 + purchase 50 ms",
        ),
    ]
