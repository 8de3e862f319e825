"""What a station was given by an address server, or that it was given nothing, and why."""

from dataclasses import dataclass

from scantling.figures import Host


@dataclass(frozen=True, slots=True)
class Given:
    """The end of one station's talk with an address server."""

    station: str
    """Slug of the station."""
    zone: str
    """Slug of its zone."""
    family: int
    """4 or 6."""
    address: Host | None
    prefix: int
    """Length of the network's prefix; 128 in IPv6, where the server says nothing of the network."""
    router: Host | None
    """The way out; in IPv6 the announcements say it, never the server."""
    resolvers: tuple[Host, ...]
    times: tuple[Host, ...]
    domain: str
    server: str
    """The server's address (IPv4) or its identifier (IPv6, hexadecimal)."""
    seconds: int
    """For how long."""
    refused: str
    """Why nothing was given, in words; empty: something was."""


def nothing(station: str, zone: str, family: int, why: str) -> Given:
    """Nothing was given."""
    return Given(station, zone, family, None, 0, None, (), (), "", "", 0, why)
