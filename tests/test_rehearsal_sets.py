"""Sets of the recorder read and emptied by our own words, against what nft lists of them."""

import time
from ipaddress import ip_address
from typing import Any

import pytest

from own_namespace import apart
from recorder_lab import SENT, SETTLED, Lab, office
from scantling.trials.rehearsal.attributes import attribute, nest, number
from scantling.trials.rehearsal.loading import in_room
from scantling.trials.rehearsal.nfnetlink import Netfilter, keys
from scantling.trials.rehearsal.recorder import SETS, TABLE, Recorder


def unpacked(lines: Any, name: str) -> set[tuple[Any, ...]]:
    """What nft lists of a set, as tuples of text."""
    found = next(one["set"] for one in lines if "set" in one and one["set"]["name"] == name)
    return {tuple(str(part) for part in element["concat"]) for element in found.get("elem", [])}


def test_our_reading_is_that_of_nft_and_emptying_empties() -> None:
    near, far = SENT[4]

    def work() -> Any:
        lab = Lab()
        for place in range(300):
            lab.udp(4, 20000 + place, (far, 123 + place % 2))
            lab.udp(6, 20000 + place, (SENT[6][1], 123 + place % 2))
        time.sleep(SETTLED)
        with Netfilter(lab.firewall) as talk:
            ours = {name: talk.elements(TABLE, name) for name in SETS}
        lists = lab.listed(TABLE)
        lab.recorder.clear()
        return ours, lists, lab.listed(TABLE), lab.recorder.read().noted

    ours, lists, emptied, noted = apart(work)
    assert len(ours["left-flows-4"]) == 150
    assert (
        {
            (
                str(ip_address(key[:4])),
                "udp",
                str(int.from_bytes(key[8:10])),
                str(ip_address(key[12:16])),
                str(int.from_bytes(key[16:18])),
            )
            for key in ours["entered-flows-4"]
        }
        == {(str(near), "udp", str(20000 + place), str(far), str(123 + place % 2)) for place in range(300)}
        == unpacked(lists, "entered-flows-4")
    )
    for name in SETS:
        assert len(unpacked(lists, name)) == len(ours[name]), name
        assert not unpacked(emptied, name)
    assert not any(noted.values())
    assert len(ours["entered-flows-6"]) == 300


class Rearranged(Netfilter):
    """A kernel that rearranges a set while it is read: some keys come twice, others not at all."""

    def __init__(self, readings: list[list[bytes]]) -> None:
        self.readings = iter(readings)

    def _read(self, table: str, set_name: str) -> list[bytes]:  # noqa: ARG002 - as the real one
        return next(self.readings)


def test_a_set_that_was_rearranged_while_it_was_read_is_read_again() -> None:
    one, other = b"one.", b"two."
    assert Rearranged([[one, one], [other, other], [other, one]]).elements("t", "s") == [other, one]
    with pytest.raises(OSError, match="set s changes all the time"):
        Rearranged([[one, one]] * 100).elements("t", "s")


def test_elements_of_unlike_shapes_are_read_one_by_one() -> None:
    """By the layout of linux/netfilter/nf_tables.h: an element holds a key, and may hold more besides."""
    key = [nest(1, attribute(1, bytes([place]) * 8)) for place in (1, 2)]
    more = number(3, 1)
    assert keys(nest(1, key[0]) + nest(1, key[1])) == [b"\1" * 8, b"\2" * 8]
    assert keys(nest(1, key[0], more) + nest(1, key[1], more)) == [b"\1" * 8, b"\2" * 8]
    assert keys(nest(1, key[0], more) + nest(1, key[1])) == [b"\1" * 8, b"\2" * 8]
    assert keys(nest(1, key[0])) == [b"\1" * 8]
    assert keys(b"") == []


def test_a_recorder_that_is_not_there_is_said_so() -> None:
    def work() -> Any:
        firewall, _ = office()
        recorder = Recorder(firewall, in_room(firewall))
        said = []
        for call in (recorder.read, recorder.clear):
            with pytest.raises(OSError, match=r"entered-flows-4: No such file") as caught:
                call()
            said.append(str(caught.value))
        return said

    assert [one.split(" entered")[0] for one in apart(work)] == ["[Errno 2] elements of", "[Errno 2] empty"]
