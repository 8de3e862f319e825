"""The firewall's relay: hears calls for addresses in every zone, asks the server in the device's stead, and hands the answers back."""

from functools import partial
from collections.abc import Callable, Sequence
from ipaddress import IPv4Address, IPv6Address, ip_address

from scantling.figures import OUTSIDE, Leg, Server
from scantling.trials.rehearsal.aside import Aside, attend
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.relay4 import Relay4
from scantling.trials.rehearsal.relay6 import Relay6
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.settings import setting
from scantling.trials.rehearsal.wire import closed


def heard_and_home(server: Server, legs: Sequence[Leg]) -> tuple[list[Leg], list[Leg]]:
    """Ports at which calls are heard, and ports behind which the address server is, which hears those beside it itself."""
    asked = [ip_address(one) for one in server.upstream]
    inside = [leg for leg in legs if leg.zone != OUTSIDE]
    home = [leg for leg in inside if any(host in net for net in leg.networks for host in asked)]
    return [leg for leg in inside if leg not in home], home


def has_sixth(room: Room) -> bool:
    """Whether a room speaks IPv6 at all."""
    try:
        return setting(room, "net/ipv6/conf/all/disable_ipv6") == "0"
    except FileNotFoundError:
        return False


class Relay:
    """It runs in a process of its own, in the firewall's room."""

    def __init__(self, room: Room, office: Office, server: Server, legs: Sequence[Leg] = ()) -> None:
        self.room, self.server, self.legs = room, server, tuple(legs or office.legs)
        self.aside: Aside | None = None

    def start(self) -> None:
        """Start it, unless it runs: the ports are open when this returns. Raises OSError, e.g. when another relay has them."""
        if self.running:
            return
        asked = [ip_address(one) for one in self.server.upstream]
        heard, home = heard_and_home(self.server, self.legs)
        fourth = Relay4(self.room, heard, home, [host for host in asked if isinstance(host, IPv4Address)])
        servers6 = [host for host in asked if isinstance(host, IPv6Address)] if has_sixth(self.room) else []
        sixth = Relay6(self.room, heard, home, servers6)
        self.aside = Aside("the relay", lambda: serve(fourth, sixth))
        self.aside.start()
        closed([*fourth.sockets(), *sixth.sockets()])  # the process has them now

    def pause(self) -> None:
        """It freezes."""
        if self.aside:
            self.aside.pause()

    def go_on(self) -> None:
        """It goes on, with what came meanwhile."""
        if self.aside:
            self.aside.go_on()

    def stop(self) -> None:
        """It ends."""
        if self.aside:
            self.aside.stop()

    @property
    def running(self) -> bool:
        """Whether it runs, frozen or not."""
        return self.aside is not None and self.aside.running


def serve(fourth: Relay4, sixth: Relay6) -> None:
    """Pass on and back for ever."""
    work: dict[int, Callable[[], None]] = {}
    for door in fourth.doors:
        work[door.calls.fileno()] = partial(fourth.from_devices, door)
    for near in fourth.home.values():
        work[near.fileno()] = partial(fourth.from_servers, near)
    for door6 in sixth.doors:
        work[door6.calls.fileno()] = partial(sixth.from_devices, door6)
    for near6 in sixth.home.values():
        work[near6.fileno()] = partial(sixth.from_servers, near6)
    attend(work)
