"""The millrace example stood up for tests that ask for addresses in it: the office, its files, and whatever is done there."""

from collections.abc import Callable, Mapping
from functools import cache
from typing import TypeVar

from address_lab import Lab, inside, lab
from offices import example
from scantling.outputs.files import written as files_of
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.office import Office

T = TypeVar("T")
SIXTH = "addresses/kea-dhcp6.conf"


@cache
def office(*, everyone: bool = False) -> Office:
    """The millrace example, ready to be stood up."""
    return designed(example("millrace"), everyone=everyone)


@cache
def files() -> Mapping[str, bytes]:
    """What the plan writes of addresses."""
    return {one.path: one.content for one in files_of(example("millrace")) if one.path.startswith("addresses/")}


def stood(work: Callable[[Lab], T], where: Office | None = None, server: str = "addresses/kea-dhcp4.conf") -> T:
    """What `work` finds in an office that stands, with an address server and our relay.

    `server`: the generated file that it starts from, byte for byte.
    """
    plan, there, content = (
        example("millrace"),
        where or office(),
        files(),
    )  # made before: nobody can read this program's files
    family = 6 if server == SIXTH else 4

    def within() -> T:
        with lab(there, plan, content) as one:
            one.server(family)
            one.relay.start()
            return work(one)

    return inside(within)
