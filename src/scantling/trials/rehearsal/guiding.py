"""The terminal's side of an office that is kept up: reads a line, has it done, tells the answer, until somebody leaves."""

from collections.abc import Iterator, Sequence
from multiprocessing.connection import Connection
from typing import Any

from scantling import UserError
from scantling.outputs.files import FilesError, written
from scantling.outputs.writing import OutputError, write_all
from scantling.trials.rehearsal.live import NOTHING_WRITTEN
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.orders import WORDS, Again, Leave, Order, OrderError, Ready, Said, read_order
from scantling.trials.rehearsal.person import Person

WELCOME = "The office stays up. Type one of these words:"


class Guide:
    """Leads a person through an office that is kept up."""

    def __init__(self, person: Person, office: Office, orders: Connection) -> None:
        """`orders`: into the office."""
        self.person, self.office, self.orders = person, office, orders
        self.leaving = False

    def heard(self, event: Any) -> bool:
        """Take what the office says; whether it was meant for here. What is typed next is sent to it."""
        if isinstance(event, Ready):
            self.person.show(event.found)
            self.person.say([WELCOME, *helped()])
        elif isinstance(event, Said):
            self.person.say([*event.lines, *self.kept(event.captures)])
        else:
            return False
        if not self.leaving:
            order = self.order()
            self.leaving = isinstance(order, Leave)
            self.orders.send(order)
        return True

    def order(self) -> Order:
        """The next order; words that mean nothing are told, and asked for again."""
        while True:
            line = self.person.ask()
            if line is None:
                return Leave()
            try:
                order = read_order(line, self.office)
                if isinstance(order, Again):
                    plan = self.person.replan()
                    return Again(plan, {file.path: file for file in written(plan)})
            except (OrderError, UserError, FilesError) as wrong:
                self.person.say([str(wrong)])
                continue
            if order is not None:
                return order
            if line.strip():
                self.person.say([*helped()])

    def kept(self, captures: Sequence[tuple[str, bytes]]) -> Iterator[str]:
        """Captures are written, where there is a folder for them."""
        if not captures:
            return
        if self.person.out is None:
            yield NOTHING_WRITTEN
            return
        try:
            write_all(self.person.out, dict(captures))
        except OutputError as wrong:
            yield str(wrong)
            return
        yield from (f"written: {self.person.out / name}" for name, _ in captures)


def helped() -> Iterator[str]:
    """All words, and what they do."""
    width = max(map(len, WORDS))
    yield from (f"  {word:<{width}}  {does}" for word, does in WORDS.items())
