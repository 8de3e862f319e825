"""The spine: order by records, circles refused by name, signatures that ask too much refused."""

from collections.abc import Iterator
from types import ModuleType

import pytest
from offices import fold, planned


from scantling.figures import Draw, Every, Ledger, Port
from scantling import api
from scantling.plan.spine import Book, Function, PlanError, functions, ordered, run
from scantling.plan.telling import canonical


def function(trade: str, needs: dict[str, object], yields: set[type]) -> Function:
    """A function of a made-up trade."""
    return Function(trade, "asks", lambda **_: iter(()), needs, frozenset(yields))


def test_makers_come_before_readers() -> None:
    """Whatever their names."""
    reader, maker = function("aaa", {"ports": Every[Port]}, {Draw}), function("zzz", {}, {Port})
    assert [str(one) for one in ordered([reader, maker])] == ["zzz.asks", "aaa.asks"]


def test_a_circle_is_refused_by_name() -> None:
    """Naming the functions, what they yield, and the cure."""
    one, other = function("power", {"ports": Every[Port]}, {Draw}), function("wiring", {"draws": Every[Draw]}, {Port})
    with pytest.raises(PlanError, match=r"a circle: .*power\.asks yields Draw to wiring\.asks.*split it"):
        ordered([one, other])


def planted(source: str) -> ModuleType:
    """A trade's module from its text."""
    module = ModuleType("scantling.disciplines.planted")
    exec(compile(source, "planted", "exec"), module.__dict__)  # noqa: S102 - the test's own text
    return module


HEAD = """
from collections.abc import Iterator
from scantling.figures import Chosen, Demand, Desk, Draw, Port, Slot
from scantling.disciplines.power import Power
"""


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("def asks(chosen: Chosen) -> Iterator[Port]:\n    yield from ()", "may not see Chosen"),
        ("def design(desk: Desk) -> Iterator[Demand]:\n    yield from ()", "may not demand"),
        ("def asks(power: Power) -> Iterator[Port]:\n    yield from ()", "the section of another trade"),
    ],
)
def test_a_signature_that_asks_too_much_is_refused(text: str, says: str) -> None:
    """Before anything is computed."""
    with pytest.raises(PlanError, match=says):
        functions([planted(HEAD + text)])


def test_a_record_that_the_signature_does_not_name_is_refused() -> None:
    """So that the order is always right."""

    def asks() -> Iterator[Port]:
        yield Draw("x", None)  # type: ignore[arg-type, misc]

    liar = Function("liar", "asks", asks, {}, frozenset({Port}))
    with pytest.raises(PlanError, match="does not name"):
        run([liar], {}, Ledger(), Book())


def test_two_records_of_one_slug_are_refused() -> None:
    """Unique by kind, trade and slug."""
    book = Book()
    book.add("power", Draw("x", None))  # type: ignore[arg-type]
    with pytest.raises(PlanError, match="two Draw records called x"):
        book.add("power", Draw("x", None))  # type: ignore[arg-type]


def test_the_same_inputs_give_the_same_bytes() -> None:
    """Twice, from the text."""
    assert canonical(api.plan_text(fold())) == canonical(planned(fold()))
