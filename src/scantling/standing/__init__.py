"""What stands already: kit that a survey found, parts bought, addresses and names issued; no file is read here."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from scantling.brief import Given, Mapped, Section, asked, assumed, optional
from scantling.figures import text
from scantling.figures.units import Address, Address6, Count, Date, Money, Network, Network6, Word


class Doing(StrEnum):
    """What becomes of a piece of kit."""

    KEEP = "keep"
    REUSE = "reuse"
    MOVE = "move"
    RETIRE = "retire"


class Known(StrEnum):
    """How it is known: looked at, told by somebody, or guessed."""

    SEEN = "seen"
    TOLD = "told"
    GUESSED = "guessed"


class Piece(Section):
    """One piece of kit that a survey found."""

    name: Given[Word] | None = optional("What is it called?")
    kind: Given[Word] | None = optional("What kind of thing is it?")
    article: Given[Word] | None = optional("Which row of the catalogue is it?")
    serves: Given[Word] | None = optional("As which part of the purchase does it serve (host, switch, ups)?")
    count: Given[Count] = assumed("How many of it?", "kit.count", least="1", most="1000")
    do: Given[Doing] = asked("Is it to keep, reuse, move or retire?")
    known: Given[Known] = assumed("Was it seen, told or guessed?", "kit.known")
    since: Given[Date] | None = optional("Since when does it stand?")
    warranty_until: Given[Date] | None = optional("Until when does its warranty last?")
    serial: Given[Word] | None = optional("What is its serial number?")
    place: Given[Word] | None = optional("Where does it stand?")
    unit: Given[Count] | None = optional("In which unit of the cabinet, counted from below?", least="1", most="60")
    zone: Given[Word] | None = optional("In which zone is it?", among="zone_kind")
    hardware_address: Given[Word] | None = optional(
        "What is its hardware address?", form="[0-9a-fA-F]{2}(?::[0-9a-fA-F]{2}){5}", like="02:00:5e:10:00:01"
    )
    built: Given[Word] | None = optional("How is it put together, as the plan calls it?")


class Part(Section):
    """Parts that a plan had bought."""

    serves: Given[Word] = asked("As which part of the purchase does it serve (host, bulk, ups)?")
    article: Given[Word] = asked("Which row of the catalogue?")
    stands_for: Given[Word] | None = optional("As which article does it count, if it took the place of one?")
    count: Given[Count] = assumed("How many of it?", "kit.count", least="1", most="1000")
    on: Given[Date] | None = optional("When was it bought?")
    price: Given[Money] | None = optional("What did one cost, without tax?")
    warranty_until: Given[Date] | None = optional("Until when does its warranty last?")
    serial: Given[Word] | None = optional("What is its serial number?")
    place: Given[Word] | None = optional("Where does it stand?")
    unit: Given[Count] | None = optional("In which unit of the cabinet, counted from below?", least="1", most="60")
    built: Given[Word] | None = optional("How is it put together, as the plan calls it?")


class Kit(Mapped[Piece]):
    """What a survey found."""

    key = "kit"
    default_whole = True


class BoughtParts(Mapped[Part]):
    """What plans have had bought."""

    key = "bought"
    default_whole = True


class IssuedZone(Section):
    """A zone as it was issued."""

    number: Given[Count] = asked("Which network number?", least="1", most="4094")
    network: Given[Network] = asked("Which subnet?")
    gateway: Given[Address] = asked("Which address has its gateway?")


class IssuedRange(Section):
    """A run of addresses as it was issued."""

    zone: Given[Word] = asked("In which zone?")
    purpose: Given[Word] = asked("What is it for?")
    first: Given[Address] = asked("Which is its first address?")
    last: Given[Address] = asked("Which is its last address?")


class IssuedAddress(Section):
    """One address as it was issued."""

    zone: Given[Word] = asked("In which zone?")
    holder: Given[Word] = asked("Who holds it?")
    address: Given[Address] = asked("Which address?")


class IssuedName(Section):
    """One name as it was issued."""

    holder: Given[Word] = asked("Who bears it?")
    name: Given[Word] = asked("Which name?")


class IssuedPort(Section):
    """One port of a switch as it was issued."""

    switch: Given[Word] = asked("Of which switch?")
    number: Given[Count] = asked("Which port?", least="1", most="1000")
    holder: Given[Word] = asked("What is plugged in there?")


class IssuedPrefix(Section):
    """One IPv6 prefix as it was issued."""

    prefix: Given[Network6] = asked("Which prefix?")
    gateway: Given[Address6] | None = optional("Which address has its gateway, if not the first?")


class IssuedAddress6(Section):
    """One IPv6 address as it was issued."""

    zone: Given[Word] = asked("In which zone?")
    holder: Given[Word] = asked("Who holds it?")
    address: Given[Address6] = asked("Which address?")


class Issued(Section):
    """What a plan has issued: networks, ranges, addresses, names, ports, prefixes."""

    key = "issued"
    default_whole = True
    slugs = False
    block: Given[Network] | None = optional("Which private block?")
    zones: dict[str, IssuedZone] | None = optional("Which subnet has each zone?")
    ranges: dict[str, IssuedRange] | None = optional("Which runs of addresses are set aside?")
    addresses: dict[str, IssuedAddress] | None = optional("Which address has each thing?")
    names: dict[str, IssuedName] | None = optional("Which name has each thing?")
    ports: dict[str, IssuedPort] | None = optional("What is plugged in where?")
    prefixes: dict[str, IssuedPrefix] | None = optional("Which IPv6 prefix has each zone?")
    addresses6: dict[str, IssuedAddress6] | None = optional("Which IPv6 address has each thing?")


SECTIONS: tuple[type[Section], ...] = (Kit, BoughtParts, Issued)


@dataclass(frozen=True)
class Standing:
    """All of it; empty where nothing stands."""

    kit: Mapping[str, Piece] = field(default_factory=dict)
    bought: Mapping[str, Part] = field(default_factory=dict)
    issued: Issued = field(default_factory=Issued)

    def parts(self) -> Iterator[tuple[str, Piece | Part]]:
        """What is there to be used, by its path: kit that is not retired and names an article and a slot, and all bought parts."""
        for slug, piece in self.kit.items():
            if text(piece.do) != Doing.RETIRE and piece.article is not None and piece.serves is not None:
                yield f"kit.{slug}", piece
        for slug, part in self.bought.items():
            yield f"bought.{slug}", part


NOTHING = Standing()
