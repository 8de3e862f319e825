"""Find the trades, order their functions by what they read and yield, run them."""

import importlib
import inspect
import pkgutil
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from graphlib import CycleError, TopologicalSorter
from types import ModuleType, UnionType
from typing import Any, get_args, get_origin, get_type_hints

from scantling import disciplines
from scantling.brief import Section
from scantling.figures import Attribute, Chosen, Cost, Demand, Desk, Every, Ledger, Slot
from scantling.catalogue import Practice

WAYS = ("asks", "design")


class PlanError(Exception):
    """The trades cannot be put in an order, or a signature asks for what nobody gives."""


@dataclass(frozen=True, eq=False)
class Function:
    """One exported function of a trade, as its signature tells."""

    trade: str
    name: str
    call: Callable[..., Iterator[Any]]
    needs: Mapping[str, Any]
    yields: frozenset[type[Any]]
    sections: tuple[type[Section], ...] = ()

    @property
    def late(self) -> bool:
        """Whether it runs after the purchase."""
        return self.name.startswith("design")

    @property
    def reads(self) -> frozenset[type[Any]]:
        """The kinds of record it reads."""
        return frozenset(self.records.values())

    @cached_property
    def records(self) -> Mapping[str, type[Any]]:
        """The kind of record that each argument wants all of."""
        return {name: get_args(hint)[0] for name, hint in self.needs.items() if get_origin(hint) is Every}

    def __str__(self) -> str:
        return f"{self.trade}.{self.name}"


@dataclass
class Book:
    """Every record of a plan in the making, with the trade that yielded it; unique by kind, trade and slug."""

    entries: dict[type[Any], list[tuple[str, Any]]] = field(default_factory=lambda: defaultdict(list))
    seen: set[tuple[type[Any], str, str]] = field(default_factory=set)

    def add(self, trade: str, record: Any) -> None:
        """Enter a record. Raises PlanError when its kind, trade and slug are taken."""
        kind = type(record)
        slug = getattr(record, "slug", getattr(record, "id", ""))
        key = (kind, trade, slug)
        if slug and key in self.seen:
            message = f"{trade} yields two {kind.__name__} records called {slug}"
            raise PlanError(message)
        self.seen.add(key)
        self.entries[kind].append((trade, record))

    def every(self, kind: type[Any]) -> tuple[Any, ...]:
        """All of a kind in the order they came."""
        return tuple([record for _, record in self.entries.get(kind, ())])


def trades() -> list[ModuleType]:
    """Every module in the folder of disciplines, by name; a leading underscore hides one."""
    names = sorted(m.name for m in pkgutil.iter_modules(disciplines.__path__) if not m.name.startswith("_"))
    return [importlib.import_module(f"{disciplines.__name__}.{name}") for name in names]


def sections(modules: Sequence[ModuleType]) -> list[type[Section]]:
    """The brief sections that trades declare."""
    return [
        thing for module in modules for thing in vars(module).values()
        if isinstance(thing, type) and issubclass(thing, Section) and thing.__module__ == module.__name__ and thing.key
    ]  # fmt: skip


def columns(modules: Sequence[ModuleType]) -> dict[str, tuple[Attribute[Any], ...]]:
    """Catalogue kinds that trades declare for themselves (`COLUMNS`)."""
    found: dict[str, tuple[Attribute[Any], ...]] = {}
    for module in modules:
        found |= getattr(module, "COLUMNS", {})
    return found


def practices(modules: Sequence[ModuleType]) -> list[Practice[Any]]:
    """House rules that trades rely on (module-level `Practice` constants, alone or as the values of a mapping)."""
    things = [thing for module in modules for thing in vars(module).values()]
    grouped = [item for thing in things if isinstance(thing, dict) for item in thing.values()]
    return [thing for thing in (*things, *grouped) if isinstance(thing, Practice)]


def functions(modules: Sequence[ModuleType]) -> list[Function]:
    """asks…, design… of every trade, read from their signatures. Raises PlanError for one that asks too much."""
    found = []
    for module in modules:
        own = tuple(sections([module]))
        for name, call in sorted(vars(module).items()):
            if name.startswith(WAYS) and inspect.isfunction(call) and call.__module__ == module.__name__:
                found.append(_function(module, name, call, own))
    return found


def _function(module: ModuleType, name: str, call: Any, own: tuple[type[Section], ...]) -> Function:
    hints = get_type_hints(call, include_extras=True)
    given = get_args(hints.pop("return"))[0]
    kinds = get_args(given) if isinstance(given, UnionType) else (given,)
    made = Function(module.__name__.rsplit(".", 1)[-1], name, call, hints, frozenset(kinds), own)
    if not made.late and Chosen in hints.values():
        message = f"{made} runs before the purchase and may not see Chosen"
        raise PlanError(message)
    if made.late and made.yields & {Demand, Slot, Cost}:
        message = f"{made} runs after the purchase and may not demand"
        raise PlanError(message)
    for hint in hints.values():
        foreign = (
            isinstance(hint, type) and issubclass(hint, Section) and hint.__module__.startswith(disciplines.__name__)
        )
        if foreign and hint not in own:
            message = f"{made} reads {hint.__name__}, the section of another trade"
            raise PlanError(message)
    return made


def ordered(many: Sequence[Function]) -> list[Function]:
    """Makers of a record before its readers; a function does not wait for itself. Raises PlanError naming a circle."""
    graph: dict[Function, set[Function]] = {}
    for reader in sorted(many, key=str):
        reads, late = reader.reads, reader.late
        graph[reader] = {m for m in many if m.yields & reads and m.late == late and m is not reader}
    try:
        return list(TopologicalSorter(graph).static_order())
    except CycleError as wrong:
        ring = list(reversed(wrong.args[1]))
        steps = [f"{a} yields {_common(a, b)} to {b}" for a, b in pairwise(ring)]
        message = "a circle: " + ", ".join(steps) + "; let one ask for its worst case, or split it"
        raise PlanError(message) from None


def _common(maker: Function, reader: Function) -> str:
    return "/".join(sorted(kind.__name__ for kind in maker.yields & reader.reads))


def run(many: Sequence[Function], inputs: Mapping[type[Any], Any], ledger: Ledger, book: Book) -> None:
    """Call each in order; a trade whose sections the brief lacks stays silent."""
    for function in many:
        if function.sections and not any(section in inputs for section in function.sections):
            continue
        given = _given(function, inputs, ledger, book)
        if given is None:
            continue
        for record in function.call(**given):
            if type(record) not in function.yields:
                message = f"{function} yields a {type(record).__name__} that its signature does not name"
                raise PlanError(message)
            book.add(function.trade, record)


def _given(function: Function, inputs: Mapping[type[Any], Any], ledger: Ledger, book: Book) -> dict[str, Any] | None:
    """The arguments; None when a section it needs is not in the brief."""
    given: dict[str, Any] = {}
    for name, hint in function.needs.items():
        if hint is Desk:
            given[name] = Desk(function.trade, ledger)
        elif name in function.records:
            given[name] = Every(book.every(function.records[name]))
        elif hint in inputs:
            given[name] = inputs[hint]
        elif isinstance(hint, type) and issubclass(hint, Section):
            return None
        else:
            message = f"{function}: nobody gives {name}: {hint}"
            raise PlanError(message)
    return given
