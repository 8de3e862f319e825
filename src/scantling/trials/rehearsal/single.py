"""One packet in a living office: what the intents say of it, what the rules say, and what became of a real one."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from ipaddress import IPv4Address, IPv6Address, ip_address

from scantling.figures import FIREWALL, OUTSIDE, End, Host
from scantling.trials.probe.aims import Aims
from scantling.trials.probe.choosing import Try
from scantling.trials.probe.intended import ECHOES, Intended
from scantling.trials.probe.ports import listeners
from scantling.trials.probe.probing import Expected, Heard, Judgement, Kind
from scantling.trials.probe.spots import ECHO_TYPES
from scantling.trials.proof.headers import INVALID, NEW, NUMBERS
from scantling.trials.proof.packet import PacketError, Places, Words, office, read_words
from scantling.trials.proof.tracing import Traced, traced
from scantling.trials.rehearsal.agreeing import living as running
from scantling.trials.rehearsal.office import Station
from scantling.trials.rehearsal.session import Living
from scantling.trials.rehearsal.trying import Trial, moment

KINDS = {"tcp": Kind.TCP, "udp": Kind.UDP, "ping": Kind.ECHO, "icmp": Kind.ECHO, "icmpv6": Kind.ECHO}
NUMBER = 1_000_000
"""Of the try: above those of all others."""
HEARD = {
    Heard.ANSWER: "the sender heard an answer",
    Heard.REFUSED: "the sender was refused",
    Heard.SILENCE: "the sender heard nothing",
}


@dataclass(frozen=True)
class Ends:
    """Who sends, and to whom, in one family."""

    source: Station
    source_address: Host
    target: str
    address: Host


def single(trial: Trial, text: str) -> Iterator[str]:
    """What is to be told of one packet, in words as scantling prove takes them, line by line. Raises PacketError, OSError."""
    words = read_words(text)
    if words.second is not None:
        raise PacketError("a real packet is sent now: leave out the hour")
    if words.state not in {NEW, INVALID}:
        raise PacketError("a reply can't be sent alone: leave out the state")
    places = office(trial.living.plan, trial.living.case.rules.legs)
    found = False
    for family in trial.living.families:
        ends = _ends(trial, places, words, family)
        kind = _kind(words, family)
        if ends is not None and kind is not None and words.family in {None, family}:
            found = True
            yield from _one(trial, words, ends, kind)
    if not found:
        raise PacketError(f"no station of this office could send that: {text}; who lists all stations")


def _kind(words: Words, family: int) -> tuple[Kind, int] | None:
    """How it is tried, and its port, type or protocol; None where the family has not the protocol. Raises PacketError."""
    if words.protocol in {"tcp", "udp"}:
        if words.port is None:
            raise PacketError(f"{words.protocol} needs a port; write {words.target}:443")
        return (
            Kind.STRAY if words.state == INVALID and words.protocol == "tcp" else KINDS[words.protocol]
        ), words.port
    if words.protocol in KINDS:
        if words.port not in {None, ECHO_TYPES[family]}:
            raise PacketError("of messages only an echo can be sent")
        own = {"ping": family, "icmp": 4, "icmpv6": 6}[words.protocol]
        return (Kind.ECHO, ECHO_TYPES[family]) if own == family else None
    number = int(words.protocol) if words.protocol.isdecimal() else NUMBERS[words.protocol]
    if number in {NUMBERS["tcp"], NUMBERS["udp"], *ECHOES.values()}:
        raise PacketError(f"write protocol {number} by its name")
    return Kind.RAW, number


def _ends(trial: Trial, places: Places, words: Words, family: int) -> Ends | None:
    """The first station that the words mean and that has an address, and whom it speaks to."""
    source = next(_stations(trial.living, places, words.source, family), None)
    if source is None:
        return None
    target = next(_targets(trial, places, words, source), None)
    return Ends(*source, *target) if target is not None else None


def _stations(living: Living, places: Places, word: str, family: int) -> Iterator[tuple[Station, Host]]:
    """Stations that a word means, with an address: by name, else those of a zone, row or party, else who has the address."""
    named = [one for one in living.office.stations if one.slug == word]
    if not named:
        end = places.end(word)
        named = [one for one in living.office.stations if one.zone == end.zone and _holds(living, end, one)]
    for one in named:
        for host in addresses(living, one):
            if host.version == family and (not _literal(word) or str(host) == str(ip_address(word))):
                yield one, host


def _holds(living: Living, end: End, station: Station) -> bool:
    """Whether a station belongs to an end: to its whole zone, to its holder, or by an address."""
    whole = not end.networks and not end.holder
    mine = bool(end.holder) and station.group == end.holder
    return whole or mine or any(host in net for host in addresses(living, station) for net in end.networks)


def host_of(word: str) -> Host:
    """An address. Raises ValueError."""
    found = ip_address(word)
    assert isinstance(found, IPv4Address | IPv6Address)
    return found


def _literal(word: str) -> bool:
    try:
        return bool(ip_address(word))
    except ValueError:
        return False


def addresses(living: Living, station: Station) -> tuple[Host, ...]:
    """What a station bears by now."""
    if station.zone == FIREWALL:
        own = [host for leg in living.office.legs for host in leg.own]
        return (*own, *living.lent.values())
    return living.held.get(station.slug, station.fixed)


def _targets(trial: Trial, places: Places, words: Words, sender: tuple[Station, Host]) -> Iterator[tuple[str, Host]]:
    """Whom the words mean: of the firewall its address on the sender's side, of what is published that outside."""
    living, word, (source, mine) = trial.living, words.target, sender
    if _literal(word):
        host = host_of(word)
        if host.version == mine.version:
            owner = (one.slug for one in living.office.stations if host in addresses(living, one))
            yield next(owner, ""), host
        return
    if source.zone == OUTSIDE:
        yield from _published(trial, words, mine.version)
    near = {host for leg in living.office.legs if leg.zone == source.zone for host in leg.own}
    for one, address in _stations(living, places, word, mine.version):
        if one.zone != FIREWALL or address in near:
            yield one.slug, address


def _published(trial: Trial, words: Words, family: int) -> Iterator[tuple[str, Host]]:
    """The firewall's own address outside, where something leads from there to the target."""
    living = trial.living
    mine = {host for one in living.office.stations if one.slug == words.target for host in addresses(living, one)}
    leading = (one for one in living.case.rules.translations if one.to in mine and one.carried is not None)
    if any(words.port == one.carried.first for one in leading if one.carried is not None):
        for _, host in Aims(living.office, trial.now, family).fronts:
            if host.version == family:
                yield words.target, host


def _one(trial: Trial, words: Words, ends: Ends, spot: tuple[Kind, int]) -> Iterator[str]:
    """In one family."""
    kind, port = spot
    one = Try(ends.source.slug, ends.source.zone, ends.source_address, kind, ends.target, ends.address, port)
    now = replace(trial.now, moment=moment())
    case = running(trial.living.case, trial.living.office, now)
    meant = Intended(case, Aims(trial.living.office, now, ends.address.version))
    probe = meant.probe(NUMBER, one)
    trial.responders.listen(listeners([probe], trial.living.real()))
    (judgement,) = trial.judge_more([probe])
    at = f"[{ends.address}]" if ends.address.version == 6 else str(ends.address)  # noqa: PLR2004 - the version
    yield (
        f"{ends.source.slug} ({ends.source_address}), {kind} {port}, to {ends.target or 'nobody known'} ({at}), "
        f"IPv{ends.address.version}"
    )
    wanted = "let it pass" if probe.expected is Expected.ALLOWED else "keep it out"
    yield f"  intents: {wanted}" + (f" ({_intent(trial.living, probe.reason)})" if probe.reason else "")
    yield f"  rules: {_ruled(trial, words, ends)}"
    yield f"  a real packet: {became(judgement)}"


def _intent(living: Living, slug: str) -> str:
    flow = next((flow for flow in living.case.flows if flow.slug == slug), None)
    return flow.name if flow is not None else slug


def _ruled(trial: Trial, words: Words, ends: Ends) -> str:
    """What the generated rules say of it."""
    now = replace(trial.now, moment=moment())
    case = running(trial.living.case, trial.living.office, now)
    exact = Words(
        str(ends.source_address), ends.source.zone if ends.source.zone != FIREWALL else "", words.protocol, str(ends.address),
        words.port, now.moment, ends.address.version, words.state,
    )  # fmt: skip
    told: Traced = next(iter(traced(case, case.compiled, exact)))
    if told.passes is None:
        return told.says
    return f"{'let it pass' if told.passes else 'keep it out'} ({told.rule or 'none says anything of it'})"


def became(judgement: Judgement) -> str:
    """What became of a real packet, in words."""
    seen = judgement.seen
    if not seen.entered:
        way = "it never came to the firewall"
    else:
        way = (
            "it came to the firewall and was let through" if seen.left else "it came to the firewall and was kept out"
        )
    who = f" of {seen.answerer}" if seen.answerer else ""
    end = "as meant" if judgement.well else f"NOT as meant: {judgement.verdict.value}"
    return f"{way}; {HEARD[seen.heard]}{who}; {end}"
