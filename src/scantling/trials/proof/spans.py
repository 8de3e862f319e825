"""Sets of numbers as runs in order, both ends included, and what can be done with them."""

from collections.abc import Iterable, Iterator

from scantling.figures import Net

Span = tuple[int, int]
Spans = tuple[Span, ...]
"""Runs in order that neither meet nor touch; nothing: no number at all."""


def joined(many: Iterable[Span]) -> Spans:
    """Runs in any order as runs in order, joined where they meet or touch."""
    found: list[Span] = []
    for first, last in sorted(many):
        if found and first <= found[-1][1] + 1:
            found[-1] = (found[-1][0], max(last, found[-1][1]))
        else:
            found.append((first, last))
    return tuple(found)


def both(some: Spans, others: Spans) -> Spans:
    """What lies in both."""
    if len(some) == 1 == len(others):  # as nearly always
        (first, last), (start, end) = some[0], others[0]
        if start <= first and last <= end:
            return some
        first, last = max(first, start), min(last, end)
        return ((first, last),) if first <= last else ()
    found: list[Span] = []
    here = there = 0
    while here < len(some) and there < len(others):
        (first, last), (start, end) = some[here], others[there]
        if first <= end and start <= last:
            found.append((max(first, start), min(last, end)))
        if last < end:
            here += 1
        else:
            there += 1
    return tuple(found)


def less(some: Spans, taken: Spans) -> Spans:
    """What lies in the first and not in the second."""
    found: list[Span] = []
    for first, last in some:
        start = first
        for gone, until in taken:
            if until < start or gone > last:
                continue
            if gone > start:
                found.append((start, gone - 1))
            start = until + 1
        if start <= last:
            found.append((start, last))
    return tuple(found)


def holds(some: Spans, others: Spans) -> bool:
    """Whether all of the second lies in the first."""
    return not less(others, some)


def size(some: Spans) -> int:
    """How many numbers."""
    return sum(last - first + 1 for first, last in some)


def of_networks(networks: Iterable[Net], family: int) -> Spans:
    """The addresses of the networks of one family."""
    return joined((int(one.network_address), int(one.broadcast_address)) for one in networks if one.version == family)


def numbers(some: Spans) -> Iterator[int]:
    """Every number, one by one."""
    for first, last in some:
        yield from range(first, last + 1)
