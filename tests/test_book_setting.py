"""How cells are set: what is an address, what stands to the right, and columns in which no number breaks."""

from ipaddress import ip_network

import pytest
from hypothesis import given
from hypothesis import strategies as st

from book_samples import figure, small
from scantling.figures.units import COUNT, NETWORK, TRUTH
from scantling.outputs.documents.letters import cleaned, printable, readable
from scantling.outputs.documents.setting import GUTTER, MONO, POINT, SIZES, Mark, columns, mark, right, short
from scantling.outputs.drawings.lettering import BOOK, EVEN, Hand, width

MEASURE = 164.0
WORDS = st.text(st.characters(codec="latin-1", categories=["L", "N", "P", "Zs"]), max_size=60).map(printable)
NUMBERS = st.integers(0, 10**7).map(lambda n: Mark(f"{n:,} GiB", number=True))
ADDRESSES = st.integers(0, 2**24 - 1).map(lambda n: Mark(str(ip_network(((10 << 24) + n, 32))), mono=True))
TABLES = st.lists(st.sampled_from(["words", "number", "address"]), min_size=1, max_size=7).flatmap(
    lambda kinds: st.tuples(
        st.lists(WORDS, min_size=len(kinds), max_size=len(kinds)),
        st.lists(
            st.tuples(*({"words": WORDS.map(Mark), "number": NUMBERS, "address": ADDRESSES}[kind] for kind in kinds)),
            min_size=1,
            max_size=6,
        ),
    )
)


def drawn(one: Mark, size: float) -> float:
    """Width of a cell in one line, in millimetres."""
    return width(one.text, Hand(EVEN, size * MONO * POINT) if one.mono else Hand(BOOK, size * POINT))


@given(TABLES)
def test_no_number_and_no_address_is_wider_than_its_column(table: tuple[list[str], list[tuple[Mark, ...]]]) -> None:
    """Seven columns of numbers and addresses always fit the paper; the table is never wider than the text."""
    heads, rows = table
    planned = columns(heads, rows, MEASURE)
    assert planned.size in SIZES
    assert sum(planned.widths) <= MEASURE + 0.05
    assert len(planned.widths) == len(heads)
    if planned.size > SIZES[-1]:
        for row in rows:
            for one, room in zip(row, planned.widths, strict=True):
                assert not (one.number or one.mono) or drawn(one, planned.size) <= room - GUTTER + 0.05


@pytest.mark.parametrize(
    ("words", "mono"),
    [
        ("10.44.0.0/16", True), ("10.44.10.1", True), ("10.44.10.2 to 10.44.10.20", True), ("10.1.1.1, 10.1.1.2", True),
        ("10.44.10", False), ("10.44.10.999", False), ("to", False), ("", False), ("1.2.3.4.5", False), ("none", False),
    ],
)  # fmt: skip
def test_addresses_are_set_evenly(words: str, mono: bool) -> None:  # noqa: FBT001 - the expected answer
    assert mark(words, small()).mono is mono


def test_a_figure_keeps_its_id_where_the_appendix_has_it() -> None:
    book = small()
    known, unknown = figure("host.memory", 3, COUNT), figure("host.other", 3, COUNT)
    assert mark(known, book) == Mark("3", "host.memory", number=True)
    assert mark(unknown, book) == Mark("3", "", number=True)
    assert mark(figure("a.b", True, TRUTH), book).number is False  # noqa: FBT003 - the value
    assert mark(figure("a.c", ip_network("10.0.0.0/8"), NETWORK), book).mono


def test_numbers_stand_to_the_right_under_each_other() -> None:
    number, word, nothing = Mark("3 TB", number=True), Mark("three"), Mark("")
    assert right([[number], [nothing], [number]], 0)
    assert not right([[number], [word]], 0)
    assert not right([[nothing]], 0)


def test_long_values_are_cut_at_a_blank() -> None:
    assert short("one two three", 10) == "one two …"
    assert short("one two", 9) == "one two"


def test_letters_that_do_not_print_are_named_with_their_place() -> None:
    made = cleaned(
        {"client": "\U0001f600", "sheets": [{"number": "S-1", "title": "\u6771", "blocks": ["ok", "\u202eturned"]}]}
    )
    assert made.data["client"] == "[U+1F600]"
    assert made.data["sheets"][0]["blocks"][1] == "turned"
    assert made.odd == {"[U+1F600]": "client", "[U+6771]": "sheet S-1"}


@given(st.text())
def test_what_is_printable_stays_so(words: str) -> None:
    """Cleaning twice is cleaning once; what comes out can be written as UTF-8."""
    once = printable(words)
    assert printable(once) == once
    assert readable(readable(words)) == readable(words)
    once.encode()
    readable(words).encode()
