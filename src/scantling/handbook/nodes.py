"""What demands and costs are made of: columns of numbers, gatherings and rules, each with its ends while slots are open.

While slots are open each column takes its most favourable end over the options still open: rising arguments high and
falling ones low for a floor, the other way round for a ceiling. A slot that is picked has but one end.
"""

from collections.abc import Callable, Iterable
from functools import cached_property
from typing import Any

UNREAD: Any = object()
"""Stands in a column for a number that nobody has asked for yet."""
End = Callable[[], Any]


class Fixed:
    """A figure: the same whatever is chosen."""

    scope: frozenset[int] = frozenset()
    undirected: frozenset[int] = frozenset()

    def __init__(self, value: Any) -> None:
        self.value = value

    def low(self) -> Any:
        """The value itself."""
        return self.value

    high = low

    def at(self, option: int) -> Any:  # noqa: ARG002 - the same question as of a column
        """The value itself, whatever the option."""
        return self.value


class Column:
    """One number for each option of one slot, worked out when it is first asked for, and its ends over what is open."""

    def __init__(self, slot: int, size: int, read: Callable[[int], Any]) -> None:
        self.slot, self.read, self.scope = slot, read, frozenset((slot,))
        self.values: list[Any] = [UNREAD] * size
        self.least: Any = None
        self.most: Any = None
        self.ends: tuple[Any, Any] = (None, None)
        self.gathered: list[tuple[list[Any], list[Any], int]] = []

    def at(self, option: int) -> Any:
        """The number of one option."""
        value = self.values[option]
        if value is UNREAD:
            value = self.values[option] = self.read(option)
        return value

    @cached_property
    def ordered(self) -> bool:
        """Whether its values are numbers, of which one can be more than another."""
        seen = next((value for value in self.values if value is not UNREAD), self.at(0) if self.values else None)
        return not isinstance(seen, (str, type(None)))

    @property
    def undirected(self) -> frozenset[int]:
        """The slot itself where its values have no order."""
        return frozenset() if self.ordered else self.scope

    def narrow(self, left: Iterable[int]) -> None:
        """The slot is open again, with these options."""
        values = self.values
        seen = [self.at(option) if values[option] is UNREAD else values[option] for option in left]
        self.ends = (min(seen), max(seen)) if seen and self.ordered else (None, None)
        self.free()

    def pick(self, option: int) -> None:
        """The slot is filled with this option, whose number has been read."""
        value = self.values[option]
        self.least = self.most = value
        for lows, highs, place in self.gathered:
            lows[place] = highs[place] = value

    def free(self) -> None:
        """The slot is open: anything between its ends."""
        self.least, self.most = self.ends
        for lows, highs, place in self.gathered:
            lows[place], highs[place] = self.ends

    def low(self) -> Any:
        """The least it can still be."""
        return self.least

    def high(self) -> Any:
        """The most it can still be."""
        return self.most


class Together:
    """One attribute gathered over every slot that has it."""

    undirected: frozenset[int] = frozenset()

    def __init__(self, columns: list[Column], fold: Callable[[Iterable[Any], Any], Any], nought: Any) -> None:
        self.columns, self.fold, self.nought = columns, fold, nought
        self.lows, self.highs = [nought] * len(columns), [nought] * len(columns)
        for place, column in enumerate(columns):
            column.gathered.append((self.lows, self.highs, place))
        self.scope = frozenset(column.slot for column in columns)

    def low(self) -> Any:
        """The least of all columns, folded."""
        return self.fold(self.lows, self.nought)

    def high(self) -> Any:
        """The most of all columns, folded."""
        return self.fold(self.highs, self.nought)


class Call:
    """A rule on such nodes: node and direction of each argument, in the rule's own order."""

    def __init__(self, function: Callable[..., Any], arguments: list[tuple[Any, int]]) -> None:
        self.function, self.arguments = function, arguments
        self.lows: list[End] = [node.low if way >= 0 else node.high for node, way in arguments]
        self.highs: list[End] = [node.high if way >= 0 else node.low for node, way in arguments]
        self.scope = frozenset(slot for node, _ in arguments for slot in node.scope)
        self.undirected = frozenset(slot for n, way in arguments for slot in (n.undirected if way else n.scope))

    def low(self) -> Any:
        """The rule at its low end, each argument turned by its direction."""
        return self.function(*[end() for end in self.lows])

    def high(self) -> Any:
        """The rule at its high end."""
        return self.function(*[end() for end in self.highs])


def columns_of(node: Any) -> set[Column]:
    """Every column that a node reads."""
    if isinstance(node, Column):
        return {node}
    if isinstance(node, Together):
        return set(node.columns)
    return (
        set[Column]().union(*(columns_of(inner) for inner, _ in node.arguments)) if isinstance(node, Call) else set()
    )
