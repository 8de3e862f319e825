"""A capture of a zone, in a namespace of one's own: what was sent before it ends stands in it, however busy the machine is."""

import socket
import tempfile
from pathlib import Path

from own_namespace import apart
from scantling.trials.rehearsal.capture import EVERYTHING, Capture, packets
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.rooms import Room, empty, here

MANY = 600
"""More than are heard at one time."""
FRAME = bytes.fromhex("ffffffffffff 021600000001 88b5".replace(" ", "")) + bytes(46)
"""To everybody, of a type for local experiments (IEEE Std 802, local experimental EtherType 1)."""


def of_a_bridge(folder: str) -> tuple[Room, Capture]:
    """A room with a bridge that is listened to from now on; whoever is apart may write into a folder of their own alone."""
    room = empty("switch", here("home").descriptor)
    with Netlink(room) as link:
        link.bridge("br-1")
        link.up("br-1")
    capture = Capture(room, ["br-1"], Path(folder, "zone.pcap"))
    capture.start()
    return room, capture


def test_a_capture_ends_with_all_that_was_sent() -> None:
    """Whoever keeps the packets may be far behind with them when told that it is enough."""

    def work() -> tuple[int, int]:
        with tempfile.TemporaryDirectory() as folder:
            room, capture = of_a_bridge(folder)
            capture.aside.pause()
            with room.socket(socket.AF_PACKET, socket.SOCK_RAW, socket.htons(EVERYTHING)) as mouth:
                mouth.bind(("br-1", 0))
                for _ in range(MANY):
                    mouth.send(FRAME)
            content = capture.stop()
        return packets(content), content.count(FRAME)

    heard, mine = apart(work)
    assert mine == MANY
    assert heard >= MANY


def test_a_capture_that_has_ended_by_itself_gives_what_it_has() -> None:
    """Nobody waits for it."""

    def work() -> int:
        with tempfile.TemporaryDirectory() as folder:
            _, capture = of_a_bridge(folder)
            capture.aside.stop()
            return packets(capture.stop())

    assert apart(work) == 0
