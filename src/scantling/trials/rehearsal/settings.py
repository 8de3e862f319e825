"""Settings of a room's network, written through the files of /proc/sys that show the room of whoever opens them."""

from collections.abc import Mapping
from pathlib import Path

from scantling.trials.rehearsal.rooms import Room

SYSTEM = Path("/proc/sys")


def settings(room: Room, wanted: Mapping[str, str]) -> None:
    """Write settings such as "net/ipv4/ip_forward". Raises OSError that names the setting and the room."""
    with room.entered():
        for path, value in wanted.items():
            _write(room, path, value)


def known(room: Room, wanted: Mapping[str, str]) -> dict[str, str]:
    """Those of some settings that this kernel has."""
    with room.entered():
        return {path: value for path, value in wanted.items() if (SYSTEM / path).exists()}


def _write(room: Room, path: str, value: str) -> None:
    try:
        # never created: what is not there is a mistake
        with (SYSTEM / path).open("r+b", buffering=0) as file:
            file.write(value.encode())
    except OSError as wrong:
        raise OSError(wrong.errno, f"setting {path} of {room.name}: {wrong.strerror}") from wrong


def setting(room: Room, path: str) -> str:
    """What a setting is. Raises OSError."""
    with room.entered():
        return (SYSTEM / path).read_text("utf-8").strip()
