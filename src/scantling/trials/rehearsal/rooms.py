"""A room is a network namespace held open by a descriptor: no process need live in it, and it ends when it is let go."""

import os
import socket
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from scantling.trials.rehearsal.calls import NEW_NETWORK, setns, unshare

HERE = "/proc/thread-self/ns/net"


@dataclass(frozen=True, slots=True)
class Room:
    """A network namespace. Whoever enters does so with the calling thread alone; sockets made there stay there."""

    name: str
    descriptor: int
    home: int
    """Descriptor of the namespace to go back to."""

    @contextmanager
    def entered(self) -> Iterator[None]:
        """The calling thread is in the room; children that it starts are born there."""
        setns(self.descriptor, NEW_NETWORK)
        try:
            yield
        finally:
            setns(self.home, NEW_NETWORK)

    def socket(self, family: int, kind: int, protocol: int = 0) -> socket.socket:
        """A socket that belongs to the room."""
        with self.entered():
            return socket.socket(family, kind, protocol)

    def started(self, command: Sequence[str], **how: Any) -> "subprocess.Popen[bytes]":
        """A program that lives in the room."""
        with self.entered():
            return subprocess.Popen(command, **how)

    def close(self) -> None:
        """Let it go; the kernel takes it apart when nobody holds it any more."""
        os.close(self.descriptor)


def here(name: str) -> Room:
    """The namespace that this thread is in, as a room."""
    descriptor = os.open(HERE, os.O_RDONLY | os.O_CLOEXEC)
    return Room(name, descriptor, descriptor)


def empty(name: str, home: int) -> Room:
    """A new room. Raises OSError."""
    unshare(NEW_NETWORK)
    try:
        descriptor = os.open(HERE, os.O_RDONLY | os.O_CLOEXEC)
    finally:
        setns(home, NEW_NETWORK)
    return Room(name, descriptor, home)
