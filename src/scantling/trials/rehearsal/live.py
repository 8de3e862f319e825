"""The office after its rehearsal, kept up: it does what somebody at the terminal asks of it, one order after the other."""

from collections.abc import Callable, Iterator, Mapping
from multiprocessing.connection import Connection
from typing import Any

from scantling.figures import FIREWALL
from scantling.trials.proof.packet import PacketError
from scantling.trials.rehearsal import shell
from scantling.trials.rehearsal.again import Bench, taken
from scantling.trials.rehearsal.building import SWITCH
from scantling.trials.rehearsal.capture import Capture, packets
from scantling.trials.rehearsal.loading import listing
from scantling.trials.rehearsal.noticing import watch
from scantling.trials.rehearsal.orders import Again, Enough, Go, Leave, Listen, Order, Ready, Said, Try, Who
from scantling.trials.rehearsal.results import Rehearsed
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.session import Living
from scantling.trials.rehearsal.single import addresses, single
from scantling.trials.rehearsal.trying import Trial

NOTHING_WRITTEN = "nothing is written: say --out FOLDER when you rehearse, and captures are kept there"


class Kept:
    """An office that is kept up."""

    def __init__(self, living: Living, trial: Trial, year: int) -> None:
        self.living, self.trial = living, trial
        self.bench = Bench(watch(living, trial), year)
        self.captures: dict[str, tuple[str, Capture]] = {}
        """By zone: the name of its file."""

    def served(self, orders: Connection, found: Rehearsed) -> None:
        """Do what is asked until somebody leaves, or nobody is there any more to ask."""
        self.bench.referee().proves_again(listing(self.living.run))  # what it reads now it need not read later
        self.living.inside.tell(Ready(found))
        while True:
            try:
                order: Order = orders.recv()
            except EOFError:
                return
            said = self.done(order)
            self.living.inside.tell(said)
            if isinstance(order, Leave):
                return

    def done(self, order: Order) -> Said:
        """One order; what went wrong with it is told, and the office stays up."""
        does: Mapping[type, Callable[[Any], Iterator[str]]] = {
            Go: self.go, Who: self.who, Try: self.attempt, Listen: self.listen, Again: self.again,
        }  # fmt: skip
        if isinstance(order, Enough | Leave):
            return self.enough()
        lines: list[str] = []
        try:
            lines += does[type(order)](order)
        except (RehearsalError, PacketError) as wrong:
            lines.append(str(wrong))
        except OSError as wrong:
            lines.append(f"that can't be done here: {wrong.strerror or wrong}")
        return Said(tuple(lines))

    def go(self, order: Go) -> Iterator[str]:
        """A shell in a station."""
        built, tree = self.living.built, self.living.trees.get(order.station)
        code = shell.visited(built.room(order.station), tree, f"{order.station} \\w $ ")
        yield f"back from {order.station}{f', whose shell ended with {code}' if code else ''}"

    def who(self, order: Who) -> Iterator[str]:
        """Stations and their addresses."""
        stations = [one for one in self.living.office.stations if order.zone in {"", one.zone}]
        width = max((len(one.slug) for one in stations), default=0)
        for one in stations:
            hosts = ", ".join(str(host) for host in addresses(self.living, one) if not host.is_link_local)
            files = " (its own files)" if one.slug in self.living.trees else ""
            yield f"{one.slug:<{width}}  {one.zone if one.zone != FIREWALL else ''}  {hosts}{files}"

    def attempt(self, order: Try) -> Iterator[str]:
        """One packet."""
        yield from single(self.trial, order.words)

    def listen(self, order: Listen) -> Iterator[str]:
        """A capture of a zone begins."""
        if order.zone in self.captures:
            yield f"{order.zone} is listened to already; enough ends that"
            return
        if order.file in {file for file, _ in self.captures.values()}:
            yield f"another zone is captured into {order.file} already; name another file"
            return
        number = self.living.office.segment(order.zone).number
        links = [f"br-{number}"]
        place = self.living.inside.files / "tmp" / f"{order.zone}.pcap"
        capture = Capture(self.living.built.rooms[SWITCH], links, place)
        capture.start()
        self.captures[order.zone] = (order.file, capture)
        yield f"listening to {order.zone}; enough ends it"

    def enough(self) -> Said:
        """All captures end."""
        lines: list[str] = []
        files: list[tuple[str, bytes]] = []
        for zone, (file, capture) in self.captures.items():
            content = capture.stop()
            files.append((file, content))
            lines.append(f"{zone}: {packets(content)} packets heard")
        self.captures.clear()
        return Said(tuple(lines), tuple(files))

    def again(self, order: Again) -> Iterator[str]:
        """The plan as the brief has it by now."""
        if order.plan is not None:
            yield from taken(self.bench, order.plan, order.files)
