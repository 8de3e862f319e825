"""Rules that see a packet after its target was changed, told of packets as they are sent."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from ipaddress import ip_address
from typing import NamedTuple

from scantling.trials.proof.headers import IPV4, NEW, PORTS, Box, Ground, host, narrowed, real
from scantling.trials.proof.rulings import Outcome, Ruling
from scantling.trials.proof.spans import Spans, both, joined, less

BEGINNING = ((NEW, NEW),)


class Late(NamedTuple):
    """A rule on packets as they are after their target was changed."""

    boxes: tuple[Box, ...]
    outcome: Outcome
    by: str
    translated: bool | None = None
    """Whether it is about those only whose target was changed, or about the others only."""


def ending(to: int, port: int, family: int) -> str:
    """An address, and a port where that is changed: 10.0.0.1:443, [2001:db8::1]:443."""
    address = str(host(to, family)) if family == IPV4 else f"[{host(to, family)}]"
    return f"{address}:{port}" if port else address


def end_of(ending: str) -> int:
    """The number of the address in an ending."""
    address = ending.partition("]")[0].removeprefix("[") if ending.startswith("[") else ending.partition(":")[0]
    return int(ip_address(address))


@dataclass(frozen=True)
class Led:
    """Packets, as they are sent, whose target is changed; or is not, whatever comes after."""

    box: Box
    to: int | None
    """The new target; nothing: it stays."""
    port: int = 0
    """The new port; nothing: it stays."""
    name: str = ""

    def end(self, ground: Ground) -> str:
        """Where it ends, as an outcome has it."""
        return ending(self.to, self.port, ground.family) if self.to is not None else ""


def parted(led: Led) -> Iterator[Led]:
    """What keeps its port, and what gets another, apart; so that one end has one name."""
    if not led.port:
        yield led
        return
    same = joined((start + led.port,) * 2 for start, _ in blocks(led.box[4]))
    kept = both(led.box[4], same)
    for spans, port in ((kept, 0), (less(led.box[4], kept), led.port)):
        if spans:
            yield Led(narrowed(led.box, carried=spans), led.to, port, led.name)


def blocks(carried: Spans) -> Iterator[tuple[int, int]]:
    """The protocols that some runs touch, each as the run of all its ports."""
    numbers = {number for first, last in carried for number in range(first // PORTS, last // PORTS + 1)}
    yield from ((number * PORTS, number * PORTS + PORTS - 1) for number in sorted(numbers))


def rulings(
    ground: Ground, leads: Sequence[Led], late: Sequence[Late], unless: Ruling | None = None
) -> tuple[Ruling, ...]:
    """First those whose target is changed, lead by lead, then all as they are sent; what no rule matches is `unless`."""
    found: list[Ruling] = []
    for led in [part for one in leads for part in parted(one)]:
        found += [_seen(one, led, ground) for one in late if _concerns(one, changed=led.to is not None)]
        if unless is not None:
            found.append(unless._replace(boxes=(led.box,)))
    found += [Ruling(one.boxes, one.outcome, one.by) for one in late if _concerns(one, changed=False)]
    return tuple(ruling for ruling in found if ruling.boxes)


def _concerns(one: Late, *, changed: bool) -> bool:
    return one.translated is None or one.translated is changed


def _seen(one: Late, led: Led, ground: Ground) -> Ruling:
    """A rule on what one lead changes."""
    boxes = real(_sent(box, led) for box in one.boxes)
    outcome = one.outcome._replace(to=led.end(ground)) if one.outcome.passes else one.outcome
    return Ruling(boxes, outcome, one.by)


def _sent(box: Box, led: Led) -> Box:
    """The packets that a lead brings into a box, as they are sent."""
    met = tuple(both(some, others) for some, others in zip(box, led.box, strict=True))
    if led.to is None:
        return met
    arrives = both(box[2], ((led.to, led.to),))
    carried = both(box[4], led.box[4])
    if led.port:
        reached = {start for start, last in blocks(led.box[4]) if both(box[4], ((start + led.port,) * 2,))}
        carried = joined(
            span
            for start, last in blocks(led.box[4])
            if start in reached
            for span in both(led.box[4], ((start, last),))
        )
    return narrowed(met, target=led.box[2] if arrives else (), carried=carried)
