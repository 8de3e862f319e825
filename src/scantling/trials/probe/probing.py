"""A probe is data: who tries what on whom, what is expected, and why; what was seen of it is data too."""

from dataclasses import dataclass
from enum import StrEnum

from scantling.figures import Host


class Kind(StrEnum):
    """How something is tried."""

    TCP = "tcp"
    UDP = "udp"
    ECHO = "echo"
    RAW = "raw"
    """A packet of another protocol; its number stands in the port."""
    STRAY = "stray"
    """A TCP segment that belongs to no connection."""
    FALSE = "false"
    """A first TCP segment under a source address that does not belong behind its port."""


class Expected(StrEnum):
    """What is meant to become of it."""

    ALLOWED = "allowed"
    KEPT_OUT = "kept out"


@dataclass(frozen=True, slots=True)
class Probe:
    """One try."""

    id: int
    """Its place among the tries; source port or echo number follow from it."""
    source: str
    """Slug of the station that tries."""
    source_address: Host
    """The address it tries from."""
    kind: Kind
    target: str
    """Slug of the station meant, as people would say it."""
    address: Host
    """Where the packet is sent to; of what is published, the firewall's own address outside."""
    port: int
    """Target port, message type of an echo, or number of another protocol."""
    expected: Expected
    answers: str = ""
    """Slug of the station that must answer, where somebody listens; empty: nobody is expected to listen."""
    arrives: tuple[Host, int] | None = None
    """Address and port that it must have when it leaves the firewall, where its target is changed."""
    seen_as: Host | None = None
    """The source it must bear where it arrives, if that is not its own (addresses translated)."""
    first: str = ""
    """First message: empty for the plain one, or the name of a real service's (names, time)."""
    reason: str = ""
    """Slug of the intent that asks for it or forbids it; empty: nothing asks for it."""
    dated: bool = False
    """Whether what is meant depends on the hour."""

    @property
    def family(self) -> int:
        """4 or 6."""
        return self.address.version


class Heard(StrEnum):
    """What the socket that tried it saw."""

    ANSWER = "answer"
    REFUSED = "refused"
    """A reset, or an error message that says it may not be or nobody is there."""
    SILENCE = "silence"


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen of one probe."""

    probe: int
    heard: Heard
    answerer: str = ""
    """Who the answer says it is from."""
    answered_at: int = 0
    """The port at which the answerer was reached."""
    seen_as: str = ""
    """The source address that the answerer saw."""
    entered: bool = False
    """Whether the firewall's recorder saw it come in (or, of the firewall's own, begin)."""
    left: bool = False
    """Whether it left the firewall toward its target, or was taken by the firewall itself."""
    tries: int = 1


class Verdict(StrEnum):
    """What a probe shows."""

    AS_MEANT = "as meant"
    LET_THROUGH = "let through"
    """Meant to be kept out."""
    DROPPED = "dropped"
    """Meant to be allowed; the firewall swallowed it."""
    REJECTED = "rejected"
    """Meant to be allowed; the firewall said no."""
    DEAD = "allowed, but nobody answers"
    CLOSED = "allowed, but nobody listens"
    WRONG_HOST = "another machine answers"
    WRONG_SOURCE = "arrives under a wrong address"
    NEVER_CAME = "never came to the firewall"


@dataclass(frozen=True, slots=True)
class Judgement:
    """A probe, what was seen, what that shows."""

    probe: Probe
    seen: Seen
    verdict: Verdict

    @property
    def well(self) -> bool:
        """Whether it went as meant."""
        return self.verdict is Verdict.AS_MEANT

    @property
    def passed(self) -> bool:
        """Whether the firewall let it pass."""
        return self.seen.left
