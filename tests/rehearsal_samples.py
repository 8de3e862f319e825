"""Invented rehearsals for tests of what is told of them: the smallest office, the largest, one that went wrong, one with no rights."""

import hashlib
from dataclasses import replace

from scantling.trials.rehearsal.results import (
    Agreement, Answer, Cell, Checked, Day, Fault, Lease, Mismatch, Played, PlantedError, Rehearsed,
)  # fmt: skip

NEVER = ("VLAN tags: one bridge stands for each VLAN, and the tag is kept as data.", "Delay and loss on lines.")
RANGE = "ordinary user with a range of ids"
PROOF = "136 rules as the kernel lists them: every packet fares as is meant"


def checked(path: str, parser: str = "", says: str = "") -> Checked:
    """A file of which the bytes are its own path."""
    return Checked(path, hashlib.sha256(path.encode()).hexdigest(), parser, says)


SMALL = Rehearsed(
    office="Fold & Fell Surveyors",
    way_in=RANGE,
    stations=14,
    checked=(checked("firewall/rules.nft"), checked("names/nsd.conf", "nsd-checkconf")),
    played=(
        Played("office names", "directory", "nsd", real=True, files=("names/nsd.conf",)),
        Played("time", "files", "chronyd", real=True, why="it is kept from setting this machine's own clock (-x)"),
        Played("Files", "files", "", real=False, why="nothing of its settings is planned yet"),
    ),
    leases=(
        Lease("laptops-01", "staff", 4, "10.71.30.50", "10.71.20.22"),
        Lease("laptops-01", "staff", 6, "fdbd:2bb:aac9:30:0:1::", "00010001329a491c021600140001"),
    ),
    answers=(Answer("laptops-01", "10.71.20.22, files.ad.foldandfell.example A", "10.71.20.23"),),
    cells=(
        Cell("staff", "servers/files", "", 50, 26, 24, 0),
        Cell("staff", "servers", "", 29, 0, 29, 0),
        Cell("servers", "staff", "", 82, 0, 82, 0),
        Cell("outside", "firewall", "", 108, 0, 108, 0),
        Cell("firewall", "outside", "", 61, 15, 46, 0),
    ),
    agreement=Agreement(330, 0, 330, PROOF),
    notes=("The provider's gateways are made up, from the ranges for examples.",),
    not_rehearsed=NEVER,
    seconds=(("asking for addresses", 0.02), ("trying 330 flows", 0.15)),
)
"""The smallest office, as meant."""

NIGHT = tuple((13 + place / 4, min(388, 69 * place)) for place in range(28))
DAYS = (
    Day(2, 388, 603, 0, 0, 8.95e-05, 327, 327, tuple((hour, min(327, held)) for hour, held in NIGHT)),
    Day(8, 388, 603, 215, 214, 0.359, 327, 388, NIGHT),
)
ZONES = tuple(f"zone-of-people-{place}" for place in range(12))
PLACES = (*ZONES, "outside", "firewall")
DRILL = tuple(
    Fault(f"fault-{place}", f"server {place} killed", f"server {place}", f"server {place}", ("silence there",), healed=True)
    for place in range(22)
)  # fmt: skip
PLANTED = tuple(
    PlantedError(f"rule {place} deleted", f"r-{place}", effect=place % 20 > 0, proof=True, packets=True)
    for place in range(170)
)
LARGE = Rehearsed(
    office="The Largest Office There Is, with a Name that Goes on and on",
    way_in=RANGE,
    mode="everyone",
    year=5,
    stations=1312,
    checked=tuple(checked(f"names/{place}.zone", "nsd-checkzone") for place in range(64)),
    played=tuple(Played("time", f"machine-{place}", "chronyd", real=True) for place in range(20)),
    leases=tuple(
        Lease(f"device-{place:04}", ZONES[place % 12], 4, f"10.44.{place // 250}.{place % 250}", "10.44.20.24")
        for place in range(1200)
    ),
    answers=tuple(Answer(f"device-{place:04}", "10.44.20.26, the time", "the time") for place in range(1200)),
    cells=tuple(
        Cell(source, target, "", 4000, 1200 if len(source + target) % 3 else 0, 2800 if len(source + target) % 3 else 4000, 0)
        for source in PLACES
        for target in (*PLACES, *(f"{ZONES[1]}/machine-{place}" for place in range(16)))
        if source != target.partition("/")[0]
    ),
    agreement=Agreement(58476, 4, 58476, PROOF),
    planted=PLANTED,
    drill=DRILL,
    days=DAYS,
    notes=("The busiest day is hastened.",),
    not_rehearsed=NEVER,
    seconds=(("trying 58476 flows", 2.1),),
)  # fmt: skip
"""The largest office, everything tried, as meant."""

MISMATCH = Mismatch(
    'guests-0003 (10.44.60.23) reached files by tcp 445 in IPv4, and no intent asks for it: let through by rule "oops"; and so did '
    "2 more tries.",
    "oops", "", "oops", "10.44.60.23 tcp 10.44.20.25:445 at fri 21:00 v4", 3,
)  # fmt: skip
ASTRAY = Mismatch(
    "tickets.millrace.example leads to 203.0.113.46, and nobody answers there.",
    "tickets",
    "brief.yaml:88 domains.tickets",
)
WRONG = replace(
    SMALL,
    checked=(checked("names/nsd.conf", "nsd-checkconf", "nsd.conf:3: unknown keyword"), checked("firewall/rules.nft")),
    leases=(*SMALL.leases, Lease("laptops-02", "staff", 4, "", "", "Laptops 2: no address was given")),
    answers=(*SMALL.answers, Answer("files", "10.71.20.1, the time", "", "nobody answered")),
    cells=(*SMALL.cells, Cell("guests", "servers/files", "", 40, 3, 37, 3)),
    mismatches=(MISMATCH, ASTRAY),
    agreement=Agreement(330, 4, 327, PROOF, ("guests to files: the packet fares otherwise [x tcp y:445 at fri 21:00 v4]",)),
    planted=(*PLANTED[:9], PlantedError("port range one too wide", "r-7", effect=True, proof=True, packets=False)),
    drill=(
        DRILL[0],
        Fault("rogue", "rogue address server", "guests", "", (), healed=True),
        Fault("cable", "cable out", "port of files", "relay on the firewall", ("no offer",), healed=False),
    ),
    days=DAYS,
)  # fmt: skip
"""Everything that can go otherwise."""

REFUSED = "this machine lets nothing be stood up in namespaces:\n  root: this user is not root\n  ordinary user: switched off"
BARE = Rehearsed(
    office="Fold & Fell Surveyors",
    way_in="parsers and proof only",
    why_not=REFUSED,
    checked=SMALL.checked,
    agreement=Agreement(0, 0, 0, PROOF),
    not_rehearsed=("Everything that is done with packets: leases, names, flows, faults.", *NEVER),
)
"""No rights here."""
EVERY = {"small": SMALL, "large": LARGE, "wrong": WRONG, "bare": BARE}


def hostile(text: str) -> Rehearsed:
    """One text wherever words of a client, or of a program, may stand."""
    return Rehearsed(
        text, text, text, text, 3, (4, 6), 14, (Checked(text, text, text, text),),
        (Played(text, text, text, real=True, why=text, files=(text,)), Played(text, text, "", real=False, why=text)),
        (Lease(text, text, 4, text, text, text),), (Answer(text, text, text, text),), (Cell(text, text, text, 3, 1, 2, 1),),
        (Mismatch(text, text, text, text, text, 2),), Agreement(3, 1, 2, text, (text,)),
        (PlantedError(text, text, effect=True, proof=False, packets=False),), (Fault(text, text, text, "", (text,), healed=False),),
        DAYS, (text,), (text,), ((text, 0.5),),
    )  # fmt: skip
