"""What a rehearsal found: plain data that a page, a drawing and the evidence read; times stand apart from what is compared."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Played:
    """One service as it was rehearsed."""

    service: str
    """What it does, in words: addresses in IPv4, office names, lookups, time, files, ..."""
    machine: str
    program: str
    """The program that ran; empty for a stand-in."""
    real: bool
    why: str = ""
    """Of a stand-in: why it is one. Of a real one: what was set besides the plan's file, if anything."""
    files: tuple[str, ...] = ()
    """The plan's files it ran from, byte for byte."""


@dataclass(frozen=True, slots=True)
class Checked:
    """One generated file and what its real parser said."""

    path: str
    digest: str
    """SHA-256 of its bytes, hexadecimal."""
    parser: str
    """Program that read it; empty: no parser here."""
    says: str = ""
    """What it said against it; empty: taken."""


@dataclass(frozen=True, slots=True)
class Lease:
    """What one station was given, or was not."""

    station: str
    zone: str
    family: int
    address: str
    server: str
    wrong: str = ""
    """What is wrong with it, in a sentence; empty: nothing."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One question to a resolver or a clock, and what came back."""

    station: str
    asked: str
    """Server and question, in words."""
    got: str
    wrong: str = ""


@dataclass(frozen=True, slots=True)
class Cell:
    """Tries from one zone to another by what is carried."""

    source: str
    target: str
    """A zone, or a machine after its zone and a stroke: "servers/files"."""
    carried: str
    tried: int
    passed: int
    kept_out: int
    wrong: int


@dataclass(frozen=True, slots=True)
class Mismatch:
    """Tries that went otherwise than meant and have one cause."""

    says: str
    """Who, to whom, port, what was meant and by which line of the brief, what decided."""
    cause: str
    """Component, rule or intent that they share."""
    line: str = ""
    rule: str = ""
    packet: str = ""
    """As scantling prove --packet takes it."""
    many: int = 1


@dataclass(frozen=True, slots=True)
class Agreement:
    """Intents, proof and packets held against each other."""

    probes: int
    dated: int
    """Of these, how many depend on the hour."""
    agree: int
    proof: str
    """What the proof of the rules as the kernel lists them says, in a line."""
    differences: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault of the drill."""

    slug: str
    what: str
    component: str
    """Where it was put."""
    located: str
    """Where the checks say it is; empty: not noticed."""
    signs: tuple[str, ...]
    healed: bool

    @property
    def found(self) -> bool:
        """Whether it was located where it was."""
        return self.located == self.component


@dataclass(frozen=True, slots=True)
class PlantedError:
    """One single change of the rules."""

    change: str
    rule: str
    effect: bool
    """By the bit cube: whether some packet fares otherwise."""
    proof: bool
    """Whether the proof noticed."""
    packets: bool
    """Whether real packets noticed."""


@dataclass(frozen=True, slots=True)
class Day:
    """The busiest day with one lease time."""

    lease: float
    """Hours."""
    pool: int
    comers: int
    refused: int
    predicted: int
    """Refused, by counting who holds an address when."""
    steady: float
    """Share refused by the loss formula, 0 to 1."""
    most_present: int
    most_held: int
    held: tuple[tuple[float, int], ...]
    """Hour of the day, addresses held."""


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """All of it."""

    office: str
    way_in: str
    """ordinary user with a range of ids, ordinary user with one id, root; or parsers and proof only."""
    why_not: str = ""
    """Why nothing was stood up, where it was not."""
    mode: str = "representative"
    year: int = 0
    families: tuple[int, ...] = (4, 6)
    stations: int = 0
    checked: tuple[Checked, ...] = ()
    played: tuple[Played, ...] = ()
    leases: tuple[Lease, ...] = ()
    answers: tuple[Answer, ...] = ()
    cells: tuple[Cell, ...] = ()
    mismatches: tuple[Mismatch, ...] = ()
    agreement: Agreement | None = None
    planted: tuple[PlantedError, ...] = ()
    drill: tuple[Fault, ...] = ()
    days: tuple[Day, ...] = ()
    notes: tuple[str, ...] = ()
    """What was done otherwise than on site, each a sentence."""
    not_rehearsed: tuple[str, ...] = ()
    seconds: tuple[tuple[str, float], ...] = ()
    """Step and how long it took; never compared."""
    speeds: tuple[str, ...] = ()
    """What each line let through, in sentences; measured, so never compared."""

    @property
    def well(self) -> bool:
        """Whether everything that was tried went as meant."""
        return not (
            self.why_not
            or self.mismatches
            or any(one.says for one in self.checked)
            or any(lease.wrong for lease in self.leases)
            or any(answer.wrong for answer in self.answers)
            or (self.agreement is not None and self.agreement.differences)
            or any(not one.found or not one.healed for one in self.drill)
            or any(one.effect and not (one.proof and one.packets) for one in self.planted)
        )
