"""Outside parties: their names and networks as people write them, and how old a maker's list is."""

from collections.abc import Iterable
from dataclasses import dataclass
from ipaddress import ip_network
from re import ASCII, fullmatch

from scantling.figures import Net, Source, method
from scantling.figures.spelled import quoted
from scantling.figures.units import Date, Days, Truth
from scantling.handbook.naming import NAME
from scantling.handbook.spoken import parted

CALENDAR = Source("ISO 8601, calendar dates")


@dataclass(frozen=True, slots=True)
class Listed:
    """What was read of a party, and what could not be, each in a sentence."""

    networks: tuple[Net, ...] = ()
    names: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()


def read_party(names: str, networks: str) -> Listed:
    """Names and networks of a party, each parted by commas."""
    nets, wrong = list[Net](), list[str]()
    for word in parted(networks):
        try:
            nets.append(_network(word))
        except ValueError as said:
            wrong.append(str(said))
    good = [word.lower() for word in parted(names) if fullmatch(NAME, word.lower(), ASCII)]
    wrong += [f"{quoted(word)} is no name of a host; write one like pay.client.example" for word in parted(names)
              if not fullmatch(NAME, word.lower(), ASCII)]  # fmt: skip
    return Listed(tuple(dict.fromkeys(nets)), tuple(dict.fromkeys(good)), tuple(wrong))


def _network(word: str) -> Net:
    """A network or one address. Raises ValueError in a person's words."""
    try:
        return ip_network(word)
    except ValueError:
        pass
    try:
        whole = ip_network(word, strict=False)
    except ValueError:
        raise ValueError(f"{quoted(word)} is no network; write one like 203.0.113.0/24") from None
    raise ValueError(f"{word} is an address inside a network; the network itself is {whole}")


def overlapping(some: Iterable[Net], others: Iterable[Net]) -> tuple[Net, ...]:
    """The first networks that share an address with one of the others."""
    many = tuple(others)
    return tuple(one for one in some if any(one.version == other.version and one.overlaps(other) for other in many))


@method(CALENDAR, says="days from one to the other, more than so many")
def too_old(listed: Date, day: Date, most: Days) -> Truth:
    """A list is older than it should be."""
    return (day - listed).days > most
