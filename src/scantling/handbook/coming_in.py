"""Who comes in from elsewhere, where that ends, and whether the outside finds and reaches the office at all."""

from collections.abc import Iterable, Mapping

from scantling.figures import Source, method
from scantling.figures.spelled import nearest, quoted
from scantling.figures.units import Address, Count, Truth, Word
from scantling.handbook.spoken import parted

COUNTING = Source("heads of the roles that are named, or the number that is written", "own derivation")
WISHES = Source("the brief's word, else what is there", "own derivation")
LENT = Source("RFC 2131: an address that is lent may be another next time")
FIXED, DYNAMIC, SHARED, FIREWALL, MACHINE = "fixed", "dynamic", "shared", "firewall", "machine"


@method(
    COUNTING, says="the number, or the heads of the roles named; where nobody is named, those who use the service"
)
def people_meant(who: Mapping[str, Word], roles: Mapping[str, Count], users: Mapping[str, Count]) -> Count:
    """How many people work from elsewhere."""
    words = [word for said in who.values() for word in parted(said)]
    if not words:
        return max(users.values(), default=0)
    return sum(int(word) if word.isdecimal() else roles.get(word, 0) for word in words)


def misnamed(said: str, roles: Iterable[str]) -> tuple[str, ...]:
    """What is wrong with each word that is neither a role nor a number, in a sentence."""
    known = list(roles)
    odd = [word for word in parted(said) if not word.isdecimal() and word not in known]
    return tuple(f"{quoted(word)} is no role; {_hint(word, known)}" for word in odd)


def _hint(word: str, known: list[str]) -> str:
    near = nearest(word, known)
    return f"did you mean {near}?" if near else f"write a number, or of {', '.join(known)}"


@method(WISHES, says="what is written; else a machine or box of its own where one does it, else the firewall")
def ends_at(given: Mapping[str, Word], holders: Mapping[str, Count]) -> Word:
    """Where remote access ends: on a machine, or on the firewall."""
    return next(iter(given.values()), MACHINE if holders else FIREWALL)


@method(LENT, says="so where it is handed over with a fixed address, or one is given that is neither lent nor shared")
def keeps_address(handoff: Word, addresses: Mapping[str, Address]) -> Truth:
    """Whether a line's address stays the same, so that people find the office by it."""
    return handoff == FIXED or (bool(addresses) and handoff not in {DYNAMIC, SHARED})
