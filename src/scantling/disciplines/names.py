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

from scantling.brief import Given, LastingChoices, Office, Section, assumed, optional
from scantling.catalogue import House, Practice
from scantling.figures import (
    Address, Address6, Box, Desk, Device, Every, Figure, Finding, Host, Lasting, Machine, Name, OutsideName, Prefix, Range,
    Weight, Zone, cells, missing, text, total,
)  # fmt: skip
from scantling.figures.units import COUNT, WORD, Word
from scantling.handbook.keeping import called as runs_for
from scantling.handbook.naming import (
    LABELS, NAME, Bearer, bare, bearers, illegal, multicast_domain, other_word, residential, stand_in, strays_among,
    subdomain, too_long, unregistered, written_name,
)  # fmt: skip
from scantling.handbook.sizing import beyond, negated
from scantling.standing import Standing

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
        domain = written_name.of(written=given)
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
        "D-10", Weight.MEND, other_word.of(one=written_name.of(written=wanted), other=domain),
        "The brief asks for the domain {wanted}, but {domain} was issued and stays.",
        "Write the issued domain into the brief. A domain is changed by building a new directory: plan that as a job of its own.",
        {"wanted": wanted, "domain": domain}, "directory-domain",
    )  # fmt: skip


def _domain_findings(
    domain: Figure[str], registered: Mapping[str, Figure[str]], *, stands: bool
) -> Iterator[Finding]:
    """What a domain must not be; where it stands already, it is told, and stays."""
    weight = Weight.NOTE if stands else Weight.MEND
    remedy = "Take a label before a registered domain, such as ad." + next(
        (text(one) for one in registered.values()), "client.example"
    )
    kept = "It stands and stays; when a new directory is built one day: " + remedy if stands else remedy
    shown, about = {"domain": domain}, "directory-domain"
    yield Finding(
        "D-2", weight, multicast_domain.of(domain=domain),
        "{domain} ends in local, where devices ask each other and no server (RFC 6762).",
        f"{kept}. Some devices find the directory's names late or never.", shown, about,
    )  # fmt: skip
    yield Finding(
        "D-3", weight, unregistered.of(domain=domain), "{domain} hangs on a name that nobody has registered.",
        f"{kept}. Who asks outside gets another's answer or none, and no certificate can be had for it.", shown, about,
    )  # fmt: skip
    yield Finding(
        "D-4", weight, residential.of(domain=domain), "{domain} lies in home.arpa, which is set aside for homes (RFC 8375).",
        f"{kept}. Every home may use the same name, so a laptop takes a home's printer for the office's.", shown, about,
    )  # fmt: skip
    yield Finding(
        "D-5", weight, bare.of(domain=domain, registered=registered),
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
    called = names.called or {}
    register = bearers.of(
        patterns={"machine": names.machine, "device": names.device, "gateway": house[GATEWAY]},
        machines={one.slug: one.cores for one in machines},
        devices={one.slug: one.now for one in devices},
        zones={one.slug: one.number for one in zones},
        called=called,
        issued={slug: one.name for slug, one in issued.items()},
        holders={slug: one.holder for slug, one in issued.items()},
    )
    register = desk.figure("register", register, "All names inside the office")
    wrong = desk.figure("illegal", illegal.of(names={slug: one.name for slug, one in issued.items()}))
    yield Finding(
        "D-7", Weight.MEND, beyond.of(have=wrong, limit=NONE),
        "{wrong} issued names are not legal names of hosts (RFC 952, RFC 1123); the plan uses them with hyphens instead.",
        "Read the names on the page Names and time, and write those into the standing file.", {"wrong": wrong},
    )  # fmt: skip
    kinds = {one.slug: one.now for one in devices if one.kind in {text(kind) for kind in house.every(JOINED)}}
    long = desk.figure("long", too_long.of(register=register, joined=kinds, limit=house[LONGEST]))
    yield Finding(
        "D-8", Weight.NOTE, beyond.of(have=long, limit=NONE),
        "{long} computers have names of more than {limit} letters.",
        "Give their kind a short name under names.called: old protocols cut a computer's name there, and two that are cut alike are one.",
        {"long": long, "limit": house[LONGEST]},
    )  # fmt: skip
    there = {**{one.slug: one.cores for one in machines}, **{one.slug: one.now for one in devices}}
    stray = desk.figure("stray", strays_among.of(called=called, there=there))
    yield Finding(
        "D-9", Weight.NOTE, beyond.of(have=stray, limit=NONE),
        "{stray} short names are not used: what they are given to is not in the plan, or somebody else is called so.",
        "Write under names.called only words of machines and kinds of device in this brief, each with a name of its own.", {"stray": stray},
    )  # fmt: skip


def design(  # noqa: PLR0913 - as above
    machines: Every[Machine],
    boxes: Every[Box],
    addresses: Every[Address],
    ranges: Every[Range],
    prefixes: Every[Prefix],
    addresses6: Every[Address6],
    desk: Desk,
) -> Iterator[Name]:
    """Every name with its addresses and its further names."""
    domain, given = text(desk.kept("domain", WORD)), cells(desk.kept("register", LABELS))
    singles, runs = _singles(addresses, prefixes, addresses6), _runs(ranges)
    roles = {**{one.slug: one.roles for one in machines}, **{one.slug: one.roles for one in boxes}}
    labels, first = {one.label for one in given.values()}, dict[str, str]()
    for slug, one in given.items():
        own = first.setdefault(one.holder, slug) == slug
        aliases = _aliases(roles.get(one.holder, ()), labels) if own else ()
        where = _of_device(one, runs) if one.number else tuple(singles.get(_key(slug, one), ()))
        yield Name(slug, f"{one.label}.{domain}", one.holder, where, tuple(f"{alias}.{domain}" for alias in aliases))


def _key(slug: str, one: Bearer) -> str:
    """Under what a thing's addresses stand: a machine's under its own word, a gateway's under its name's."""
    return slug if one.holder == "gateway" else one.holder


def _singles(
    addresses: Sequence[Address], prefixes: Sequence[Prefix], addresses6: Sequence[Address6]
) -> dict[str, list[Host]]:
    """Addresses of machines by holder, of gateways by zone; both families."""
    found: dict[str, list[Host]] = {}
    given: list[tuple[str, str, Host]] = [(one.slug, one.holder, one.address) for one in addresses]
    for slug, holder, address in [*given, *((one.slug, one.holder, one.address) for one in addresses6)]:
        found.setdefault(slug if holder == "gateway" else holder, []).append(address)
    for prefix in prefixes:
        door = found.setdefault(f"gateway-{prefix.slug}", [])
        door += [prefix.gateway] if prefix.gateway not in door else []
    return found


def _runs(ranges: Sequence[Range]) -> dict[str, list[Range]]:
    """The runs of addresses that are kept for each kind of device."""
    found: dict[str, list[Range]] = {}
    for zone in dict.fromkeys(one.zone for one in ranges):
        here = {one.slug.removeprefix(f"{zone}-"): one for one in ranges if one.zone == zone}
        for name in here:
            device = name.rpartition("kept-")[2] if "kept-" in name else ""
            if device and device not in found:
                found[device] = [here[run] for run in runs_for(f"kept-{device}", here)]
    return found


def _of_device(one: Bearer, runs: Mapping[str, Sequence[Range]]) -> tuple[Host, ...]:
    """The address kept for a device: the first for the first of its kind, and so on; none where none is kept."""
    place = one.number - 1
    for run in runs.get(one.holder, ()):
        many = int(run.last) - int(run.first) + 1
        if place < many:
            return (run.first + place,)
        place -= many
    return ()


def _aliases(roles: Sequence[str], labels: set[str]) -> Iterator[str]:
    """Services by their own words, so that one can move to another machine; none where something is called so."""
    return (role for role in roles if role not in labels)
