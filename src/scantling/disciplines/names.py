"""Names: what every machine and device is called, and the domain that they are called in.

Figures:
    names.domain      the directory's domain
    names.register    who bears which name
    names.illegal     issued names that are not legal names of hosts
    names.long        names of computers that are longer than the house's limit
    names.stray       short names given for what is neither a machine nor a kind of device
Findings: D-1 D-2 D-3 D-4 D-5 D-6 D-7 D-8 D-9 D-10.
Records: Lasting, Name.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address
from re import fullmatch

from scantling.brief import Given, LastingChoices, Office, Section, assumed, optional
from scantling.catalogue import House, Practice
from scantling.figures import (
    Address, Address6, Box, Desk, Device, Every, Figure, Finding, Host, Lasting, Machine, Name, OutsideName, Prefix, Range, Reservation,
    Weight, Zone, cells, missing, text, total,
)  # fmt: skip
from scantling.figures.units import COUNT, WORD, Word
from scantling.handbook.naming import (
    LABELS, NAME, Bearer, bare, bearers, illegal, multicast_domain, other_word, residential, stand_in, strays_among,
    subdomain, too_long, unregistered, written_domain,
)  # fmt: skip
from scantling.handbook.sizing import beyond, negated
from scantling.standing import Doing, Standing

PREFIX, GATEWAY = Practice("names.prefix", WORD), Practice("names.gateway", WORD)
LONGEST, JOINED = Practice("names.longest", COUNT), Practice("names.joined", WORD)
DOMAIN = "domain"
"""Under this word the standing file keeps the directory's domain among the issued names."""
NONE = total((), COUNT)


class Names(Section):
    """What things are called."""

    key = "names"
    default_whole = True
    domain: Given[Word] | None = optional(
        "Which domain has the directory, if one is in use or agreed?", form=NAME, like="ad.client.example"
    )
    machine: Given[Word] = assumed(
        "How are machines called?", "names.machine", form=r"[a-z0-9-]*\{machine\}[a-z0-9-]*", like="{machine}"
    )
    device: Given[Word] = assumed(
        "How are devices called?", "names.device", form=r"[a-z0-9-]*\{device\}[a-z0-9-]*\{number\}[a-z0-9-]*",
        like="{device}-{number}",
    )  # fmt: skip
    called: dict[str, Given[Word]] | None = optional(
        "Which short names have machines or kinds of device, by their word in the brief?"
    )


def asks_domain(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    names: Names,
    office: Office,
    house: House,
    standing: Standing,
    lasting: LastingChoices,
    outside: Every[OutsideName],
    desk: Desk,
) -> Iterator[Lasting | Finding]:
    """The directory's domain: as issued, as given, or a label of the house before the first registered domain."""
    registered = {one.slug: one.written for one in outside if one.kind == DOMAIN and one.written is not None}
    known = (standing.issued.names or {}).get(DOMAIN)
    given = known.name if known is not None else names.domain
    if given is not None:
        domain = written_domain.of(written=given)
    elif registered:
        domain = subdomain.of(label=house[PREFIX], domain=next(iter(registered.values())))
    else:
        domain = stand_in.of(label=house[PREFIX], office=office.name)
    domain = desk.figure("domain", domain, "The directory's domain")
    nobody = missing(next(iter(registered.values()), given), "domains: a registered one")
    yield Finding(
        "D-1", Weight.MEND, nobody, "No registered domain is known; {domain} stands in for the directory's.",
        "Ask which domains the client has registered and write them under domains; buy one before the directory is built.",
        {"domain": domain},
    )  # fmt: skip
    yield from _domain_findings(domain, registered, stands=known is not None)
    yield from _agreed(domain, lasting)
    wanted = names.domain if names.domain is not None else domain
    yield Finding(
        "D-10", Weight.MEND, other_word.of(one=written_domain.of(written=wanted), other=domain),
        "The brief asks for the domain {wanted}, but {domain} was issued and stays.",
        "Write the issued domain into the brief. A domain is changed by building a new directory: plan that as a job of its own.",
        {"wanted": wanted, "domain": domain}, "directory-domain",
    )  # fmt: skip


def _domain_findings(
    domain: Figure[str], registered: Mapping[str, Figure[str]], *, stands: bool
) -> Iterator[Finding]:
    """What a domain must not be; where it stands already, it is told, and stays."""
    remedy = "Take a label before a registered domain, such as ad." + next(
        (text(one) for one in registered.values()), "client.example"
    )
    kept = "It stands and stays; when a new directory is built one day: " + remedy if stands else remedy
    shown, about = {"domain": domain}, "directory-domain"
    yield Finding(
        "D-2", Weight.NOTE if stands else Weight.MEND,
        multicast_domain.of(domain=domain),
        "{domain} ends in local, where devices ask each other and no server (RFC 6762).",
        f"{kept}. Some devices find the directory's names late or never.", shown, about,
    )  # fmt: skip
    yield Finding(
        "D-3", Weight.NOTE if stands else Weight.MEND,
        unregistered.of(domain=domain), "{domain} hangs on a name that nobody has registered.",
        f"{kept}. Who asks outside gets another's answer or none, and no certificate can be had for it.", shown, about,
    )  # fmt: skip
    yield Finding(
        "D-4", Weight.NOTE if stands else Weight.MEND,
        residential.of(domain=domain), "{domain} lies in home.arpa, which is set aside for homes (RFC 8375).",
        f"{kept}. Every home may use the same name, so a laptop takes a home's printer for the office's.", shown, about,
    )  # fmt: skip
    yield Finding(
        "D-5", Weight.NOTE if stands else Weight.MEND,
        bare.of(domain=domain, registered=registered),
        "{domain} is the registered domain itself: inside, the directory answers for it, and what is published there is not found.",
        f"{kept}. Until then write every public name into the inside zone by hand.", shown, about,
    )  # fmt: skip


def _agreed(domain: Figure[str], lasting: LastingChoices) -> Iterator[Lasting | Finding]:
    """Whether the client has confirmed the domain."""
    confirmed = lasting.items.get("directory-domain")
    unconfirmed = missing(confirmed.by if confirmed is not None else None, "lasting.directory-domain")
    yield Lasting("directory-domain", "The directory's domain", domain, negated.of(given=unconfirmed))
    yield Finding(
        "D-6", Weight.MEND, unconfirmed, "Nobody has confirmed the directory's domain, {domain}.",
        "Show it to the client and write down who agreed and when: every computer that joins the directory is named in it, and a "
        "change means a new directory.", {"domain": domain}, "directory-domain",
    )  # fmt: skip


def asks_names(  # noqa: PLR0913 - as above
    names: Names,
    house: House,
    standing: Standing,
    machines: Every[Machine],
    devices: Every[Device],
    zones: Every[Zone],
    desk: Desk,
) -> Iterator[Finding]:
    """Who bears which name: what was issued stays."""
    issued = {slug: one for slug, one in (standing.issued.names or {}).items() if slug != DOMAIN}
    called, given = names.called or {}, {slug: one.name for slug, one in (standing.issued.names or {}).items()}
    there = {**_things(standing), **{one.slug: one.cores for one in machines}}
    register = bearers.of(
        patterns={"machine": names.machine, "device": names.device, "gateway": house[GATEWAY]}, machines=there,
        devices={one.slug: one.now for one in devices}, zones={one.slug: one.number for one in zones}, called=called,
        issued={f"{text(one.holder)} {slug}": one.name for slug, one in issued.items()},
    )  # fmt: skip
    desk.figure("register", register, "All names inside the office")
    yield _not_legal(desk.figure("illegal", illegal.of(names=given) if given else total((), COUNT)))
    joined, borne = {text(kind) for kind in house.every(JOINED)}, {text(one.holder) for one in issued.values()}
    fresh = {one.slug: one.now for one in devices if one.kind in joined and one.slug not in borne}
    long = too_long.of(pattern=names.device, devices=fresh, called=called, limit=house[LONGEST])
    yield _cut_off(desk.figure("long", long), house[LONGEST])
    every = {**there, **{one.slug: one.now for one in devices}}
    yield _in_vain(desk.figure("stray", strays_among.of(called=called, there=every)))


def _not_legal(wrong: Figure[int]) -> Finding:
    return Finding(
        "D-7", Weight.MEND, beyond.of(have=wrong, limit=NONE),
        "Issued names that are not legal names of hosts (RFC 952, RFC 1123): {wrong}. The plan uses them with hyphens instead.",
        "Read the names on the page Names and time, and write those into the standing file.", {"wrong": wrong},
    )  # fmt: skip


def _cut_off(long: Figure[int], limit: Figure[int]) -> Finding:
    return Finding(
        "D-8", Weight.NOTE, beyond.of(have=long, limit=NONE),
        "{long:computer has a name|computers have names} of more than {limit} letters.",
        "Give their kind a short name under names.called: old protocols cut a computer's name there, and two that are cut alike are one.",
        {"long": long, "limit": limit},
    )  # fmt: skip


def _in_vain(stray: Figure[int]) -> Finding:
    return Finding(
        "D-9", Weight.NOTE, beyond.of(have=stray, limit=NONE),
        "{stray} short names are not used: what they are given to is not in the plan, or somebody else is called so.",
        "Write under names.called only words of machines and kinds of device in this brief, each with a name of its own.", {"stray": stray},
    )  # fmt: skip


def _things(standing: Standing) -> dict[str, Figure[int]]:
    """What stands and is known by its hardware address: each may get an address of its own, and then a name."""
    return {
        slug: piece.count for slug, piece in standing.kit.items()
        if piece.hardware_address is not None and text(piece.do) != Doing.RETIRE
    }  # fmt: skip


def design(  # noqa: PLR0913 - as above
    machines: Every[Machine],
    boxes: Every[Box],
    addresses: Every[Address],
    ranges: Every[Range],
    prefixes: Every[Prefix],
    addresses6: Every[Address6],
    reservations: Every[Reservation],
    desk: Desk,
) -> Iterator[Name]:
    """Every name with its addresses and its further names."""
    domain, given = text(desk.kept("domain", WORD)), cells(desk.kept("register", LABELS))
    singles, kept = _singles(addresses, prefixes, addresses6), _kept(ranges, reservations)
    roles = {**{one.slug: one.roles for one in machines}, **{one.slug: one.roles for one in boxes}}
    labels, first = {one.label for one in given.values()}, dict[str, str]()
    of_devices = {slug: kept.of_device(one) for slug, one in given.items() if one.number}
    taken = {address for many in of_devices.values() for address in many}
    for slug, one in given.items():
        own = first.setdefault(one.holder, slug) == slug
        aliases = (*one.also, *_aliases(roles.get(one.holder, ()), {*labels, *one.also})) if own else ()
        where = of_devices[slug] if one.number else tuple(singles.get(one.holder, kept.of_thing(one.holder, taken)))
        if where or one.number:
            yield Name(
                slug, f"{one.label}.{domain}", one.holder, where, tuple(f"{alias}.{domain}" for alias in aliases)
            )


def _singles(
    addresses: Sequence[Address], prefixes: Sequence[Prefix], addresses6: Sequence[Address6]
) -> dict[str, list[Host]]:
    """Addresses of machines by holder, of gateways by zone; both families."""
    found: dict[str, list[Host]] = {}
    given: list[tuple[str, Host]] = [(_bearer(one), one.address) for one in addresses]
    given += [(_bearer(one), one.address) for one in addresses6]
    given += [(f"gateway-{one.slug}", one.gateway) for one in prefixes]
    for bearer, address in given:
        there = found.setdefault(bearer, [])
        there += [address] if address not in there else []
    return found


def _bearer(one: Address | Address6) -> str:
    """A zone's gateway by its own word, all else by its holder's; a machine may be called gateway, too."""
    door = f"gateway-{one.zone}"
    return door if one.slug == door else one.holder


@dataclass(frozen=True)
class _Kept:
    """Addresses kept for devices: those of each kind in order, and those of single things by their word in the standing file."""

    runs: Mapping[str, Sequence[IPv4Address]]
    things: Mapping[str, Sequence[Host]]

    def of_device(self, one: Bearer) -> tuple[Host, ...]:
        """The first of its kind has the first address, and so on; what is reserved for that thing in IPv6 goes with it."""
        many = self.runs.get(one.holder, ())
        if one.number > len(many):
            return ()
        own = many[one.number - 1]
        return next((tuple(given) for given in self.things.values() if own in given), (own,))

    def of_thing(self, slug: str, taken: set[Host]) -> tuple[Host, ...]:
        """What is reserved for a thing that is no numbered device."""
        given = tuple(self.things.get(slug, ()))
        return () if set(given) & taken else given


def _kept(ranges: Sequence[Range], reservations: Sequence[Reservation]) -> _Kept:
    """The runs of addresses that are kept for each kind of device, the first one first; and the reservations, IPv4 first."""
    runs: dict[str, list[IPv4Address]] = {}
    found = [(fullmatch(r"(?:more-([0-9]+)-)?kept-(.+)", one.run), one) for one in ranges]
    for match, one in sorted(found, key=lambda pair: int(pair[0][1] or 0) if pair[0] is not None else 0):
        if match is not None:
            runs.setdefault(match[2], []).extend(map(IPv4Address, range(int(one.first), int(one.last) + 1)))
    things: dict[str, list[Host]] = {}
    for held in sorted(reservations, key=lambda one: one.address.version):
        things.setdefault(held.holder, []).append(held.address)
    return _Kept(runs, things)


def _aliases(roles: Sequence[str], labels: set[str]) -> Iterator[str]:
    """Services by their own words, so that one can move to another machine; none where something is called so."""
    return (role for role in roles if role not in labels)
