"""Our own words to the kernel against those of the ip tool, which lists what stands (iproute2, the judge here)."""

import errno
import json
import socket
import subprocess
from collections.abc import Callable
from ipaddress import ip_address
from pathlib import Path
from typing import Any

import pytest

from own_namespace import apart
from scantling.figures import Host
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.rooms import Room, empty, here
from scantling.trials.rehearsal.settings import setting, settings

MAC, OTHER = "02:16:0a:00:00:01", "02:16:0a:00:00:02"


def host(text: str) -> Host:
    return ip_address(text)


def ip(room: Room, *words: str) -> Any:
    """What the ip tool lists, in a room."""
    with room.entered():
        told = subprocess.run(["ip", "-json", "-details", *words], capture_output=True, check=True)  # noqa: S607
    return json.loads(told.stdout or b"[]")


def rooms() -> tuple[Room, Room]:
    home = here("home")
    return empty("switch", home.descriptor), empty("station", home.descriptor)


def joined() -> tuple[Room, Room, Netlink, Netlink]:
    """A bridge br-30 with a port p1, at the far end e0 of a station."""
    switch, station = rooms()
    near, far = Netlink(switch), Netlink(station)
    near.bridge("br-30")
    near.up("br-30")
    near.pair("p1", "e0", station, MAC, bridge="br-30")
    near.flush()
    far.up("lo")
    far.up("e0")
    far.flush()
    return switch, station, near, far


def test_a_bridge_and_a_cable_stand_as_the_ip_tool_lists_them() -> None:
    def work() -> Any:
        switch, station, near, _ = joined()
        return ip(switch, "link"), ip(station, "link"), near.links()

    switch, station, listed = apart(work)
    found = {one["ifname"]: one for one in switch}
    assert found["br-30"]["linkinfo"]["info_kind"] == "bridge"
    assert found["br-30"]["linkinfo"]["info_data"]["mcast_snooping"] == 0
    assert found["p1"]["master"] == "br-30"
    assert found["p1"]["linkinfo"]["info_kind"] == "veth"
    assert "UP" in found["p1"]["flags"]
    assert found["p1"]["operstate"] == "UP"
    far = {one["ifname"]: one for one in station}["e0"]
    assert far["address"] == MAC
    assert "UP" in far["flags"]
    ours = {one.name: one for one in listed}
    assert {name: one.index for name, one in ours.items()} == {name: one["ifindex"] for name, one in found.items()}
    assert ours["p1"].master == ours["br-30"].index
    assert ours["p1"].up
    assert ours["p1"].running
    assert ours["p1"].hardware == found["p1"]["address"]
