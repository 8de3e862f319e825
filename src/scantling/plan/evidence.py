"""What a proof of the firewall's rules says: plain data that the plan keeps and that sheets, book and drawings read."""

from dataclasses import dataclass

from scantling.figures import Host, Transport

PROVED, DIFFERS = "proved", "differs"
BARRED, OPEN, ASTRAY = "barred", "open", "astray"
"""Kinds of difference: meant and shut; open and not meant; let through, but not to where or as whom it is meant."""


@dataclass(frozen=True, slots=True)
class Passing:
    """One thing that gets through between two places."""

    carried: Transport
    families: tuple[int, ...]
    """4, 6 or both."""
    flows: tuple[str, ...]
    """Slugs of the intents that ask for it; none: it is unasked."""
    whole: bool
    """From everybody in the one place to everybody in the other, at all hours; else for some addresses or hours only."""


@dataclass(frozen=True, slots=True)
class Door:
    """What may begin from one place to another."""

    source: str
    """Slug of a zone, OUTSIDE or FIREWALL."""
    target: str
    passing: tuple[Passing, ...]
    """Nothing: shut."""

    @property
    def asked(self) -> bool:
        """Whether some intent asks for everything that gets through."""
        return all(one.flows for one in self.passing)


@dataclass(frozen=True, slots=True)
class Reach:
    """What gets through to and from one machine or device with an address of its own."""

    holder: str
    zone: str
    hosts: tuple[Host, ...]
    into: tuple[tuple[str, Passing], ...]
    """By place that it comes from."""
    out: tuple[tuple[str, Passing], ...]
    """By place that it goes to."""


@dataclass(frozen=True, slots=True)
class Difference:
    """Where the rules do something else than is meant, with one packet that shows it."""

    kind: str
    """BARRED, OPEN or ASTRAY."""
    says: str
    """The sentence for a person: who, to whom, with what, which line or intent, which rule."""
    packet: str
    """One packet, as `scantling prove --packet` takes it."""
    intent: str = ""
    """Slug of the intent that is concerned, if any asks for this packet or forbids it."""
    line: str = ""
    """The line of the brief that the intent rests on, if there is one."""
    rule: str = ""
    """Number, comment or handle of the rule that decides."""


@dataclass(frozen=True, slots=True)
class Idle:
    """A rule that never decides."""

    rule: str
    comment: str
    why: str


@dataclass(frozen=True, slots=True)
class Pair:
    """Two rules that overlap in a way a reader should know of (Al-Shaer and Hamed, 2004)."""

    kind: str
    """shadowed, generalised, correlated or redundant."""
    first: str
    second: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """The proof of one list of rules against the intents of a plan."""

    verdict: str
    """PROVED or DIFFERS."""
    about: str
    """What was proved: the compiled rules, or a file."""
    intents: int
    holding: int
    """Intents of which every packet gets through, or is kept out, as meant."""
    rules: int
    doors: tuple[Door, ...]
    """Every ordered pair of places, the outside and the firewall among them."""
    machines: tuple[Reach, ...]
    differences: tuple[Difference, ...]
    idle: tuple[Idle, ...]
    pairs: tuple[Pair, ...]
    """Two rules that are both made from intents and overlap."""
    overlaps: tuple[tuple[str, int], ...] = ()
    """How many pairs of each kind there are among all rules, those of every list included."""
    notes: tuple[str, ...] = ()
    """What was taken for granted in reading the rules."""
    unshown: tuple[str, ...] = ()
    """What no such proof can show."""

    @property
    def proved(self) -> bool:
        """Whether the rules say exactly what is meant."""
        return self.verdict == PROVED

    @property
    def says(self) -> str:
        """The verdict in two or three words, for a title block."""
        if self.proved:
            return "proved"
        many = len(self.differences)
        return f"{many} difference{'s' if many != 1 else ''}"
