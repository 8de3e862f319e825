"""Faults of the firewall: forwarding off, rules emptied, opened, one too many, one too few; translations gone, sets of parties empty."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from scantling.figures import FIREWALL, OUTSIDE
from scantling.trials.probe.probing import Expected, Kind, Probe
from scantling.trials.rehearsal.faults.fault import Ground, LeftOut, Mishap
from scantling.trials.rehearsal.loading import NFT, LoadingError, listing, load
from scantling.trials.rehearsal.noticing.watch import sets_filled
from scantling.trials.rehearsal.office import Sort, Station
from scantling.trials.rehearsal.parties import filled
from scantling.trials.rehearsal.planted import TABLES, amended, chain_lines, handles
from scantling.trials.rehearsal.prober import Manner, tried
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.session import Living
from scantling.trials.rehearsal.settings import settings
from scantling.trials.rehearsal.tracer import Sent, deciding, traced
from scantling.trials.rehearsal.trying import quiet

RULES = "rules on the firewall"
FORWARD, LEAVING, INCOMING, OFFICE = "forward", "leaving", "incoming", "inet office"
OFF = {"net/ipv4/ip_forward": "0", "net/ipv6/conf/all/forwarding": "0"}
FOURTH = 4
"""The version of which sources are translated."""
AGAIN = ("sysctl", "-q", "-p", "/etc/office-firewall/forwarding.conf")
Lines = Sequence[str]


def forwarding_off(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """The firewall's kernel passes nothing on any more."""

    @contextmanager
    def lasts() -> Iterator[None]:
        settings(ground.living.built.rooms[FIREWALL], OFF)
        try:
            yield
        finally:
            told = ground.living.run(AGAIN)
            if told.returncode:
                raise RehearsalError(
                    f"forwarding.conf can't be set: {told.stderr.decode('utf-8', 'replace').strip()}"
                )

    yield Mishap("forwarding-off", "the firewall passes nothing on any more", "forwarding on the firewall", lasts)


def filter_emptied(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """All rules of the filter are gone."""

    @contextmanager
    def lasts() -> Iterator[None]:
        nft(ground.living, f"delete table {OFFICE}\n")
        try:
            yield
        finally:
            load(ground.living.run, ground.living.rules())
            filled(ground.living)

    yield Mishap("filter-emptied", "all rules of the packet filter are gone", RULES, lasts)


def everything_let_through(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """Somebody puts a rule first that lets everything through, to see whether the firewall is to blame, and forgets it."""
    yield Mishap(
        "everything-let-through", "a rule that lets everything through stands before all others", RULES,
        lambda: with_lines(ground.living, FORWARD, ("counter accept", *lines(ground.living, FORWARD))),
    )  # fmt: skip


def one_rule_too_many(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """One rule lets a zone reach a machine that it must not."""
    probe = _forbidden(ground)
    if probe is None:
        yield LeftOut("one-rule-too-many", "no zone is kept from a machine in another")
        return
    stations = {one.slug: one for one in ground.living.office.stations}
    source, target = (_segment(ground.living, stations[slug]) for slug in (probe.source, probe.target))
    line = f'iifname "{source}" oifname "{target}" tcp dport {probe.port} counter accept'
    yield Mishap(
        "one-rule-too-many", f"one rule lets {stations[probe.source].zone} reach {probe.target} at tcp {probe.port}", RULES,
        lambda: with_lines(ground.living, FORWARD, (line, *lines(ground.living, FORWARD))),
    )  # fmt: skip


def one_rule_missing(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """One rule is left out that lets devices reach a machine."""
    probes = _wanted(ground)
    if not probes:
        yield LeftOut("one-rule-missing", "nobody may reach a machine in another zone")
        return

    @contextmanager
    def lasts() -> Iterator[None]:
        before = lines(ground.living, FORWARD)
        place = _deciding(ground, probes, FORWARD)
        with with_lines(ground.living, FORWARD, (*before[:place], *before[place + 1 :])):
            yield

    first = probes[0]
    yield Mishap(
        "one-rule-missing", f"the rule is left out that lets {first.source} reach {first.target} at tcp {first.port}", RULES, lasts
    )  # fmt: skip


def sources_not_translated(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """What goes out keeps the office's own addresses."""
    if not lines(ground.living, LEAVING) or FOURTH not in ground.living.families:
        yield LeftOut("sources-not-translated", "no addresses are translated where something goes out")
        return
    yield Mishap(
        "sources-not-translated", "what goes out keeps the office's own addresses", "translation of sources on the firewall",
        lambda: with_lines(ground.living, LEAVING, ()),
    )  # fmt: skip


def ports_not_translated(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """What is published outside leads nowhere."""
    if not any(one.arrives and one.expected is Expected.ALLOWED for one in ground.trial.probes):
        when = " at this hour" if lines(ground.living, INCOMING) else ""
        yield LeftOut("ports-not-translated", f"nothing is open to the outside{when}")
        return
    yield Mishap(
        "ports-not-translated", "what is published outside leads nowhere any more", "port translation on the firewall",
        lambda: with_lines(ground.living, INCOMING, ()),
    )  # fmt: skip


def parties_forgotten(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """The sets of parties whose addresses move are empty, as after a start without a resolver."""
    if not sets_filled(ground.living):
        yield LeftOut("parties-forgotten", "no party's addresses move")
        return

    @contextmanager
    def lasts() -> Iterator[None]:
        full = sorted(sets_filled(ground.living))
        nft(ground.living, "".join(f"flush set {OFFICE} {name}\n" for name in full))
        try:
            yield
        finally:
            filled(ground.living)

    yield Mishap(
        "parties-forgotten",
        "the sets of parties whose addresses move are empty",
        "sets of parties on the firewall",
        lasts,
    )


def lines(living: Living, chain: str) -> Lines:
    """The rules of a chain, as the generated file has them."""
    return chain_lines(living.rules().decode(), chain)


@contextmanager
def with_lines(living: Living, chain: str, after: Lines) -> Iterator[None]:
    """A chain has other rules; afterwards it has its own again. Only what differs is touched. Raises LoadingError."""
    own = lines(living, chain)
    _change(living, chain, own, after)
    try:
        yield
    finally:
        _change(living, chain, after, own)


def _change(living: Living, chain: str, before: Lines, after: Lines) -> None:
    nft(living, amended(before, after, f"{TABLES[chain]} {chain}", handles(listing(living.run), chain)))


def nft(living: Living, script: str) -> None:
    """Do it in one step. Raises LoadingError."""
    told = living.run(NFT, script.encode())
    if told.returncode:
        raise LoadingError(f"a fault can't be put into the rules: {told.stderr.decode('utf-8', 'replace').strip()}")


def _between(ground: Ground, expected: Expected) -> Iterator[Probe]:
    """Tries by TCP that devices make on machines of another zone."""
    stations = {one.slug: one for one in ground.living.office.stations}
    for one in ground.trial.probes:
        source, target = stations[one.source], stations.get(one.target)
        is_device = source.sort is not Sort.MACHINE and source.zone not in {FIREWALL, OUTSIDE}
        apart = target is not None and target.sort is Sort.MACHINE and source.zone != target.zone
        own = one.source_address in ground.living.held.get(one.source, ())
        if is_device and own and apart and one.kind is Kind.TCP and one.expected is expected and not one.arrives:
            yield one


def _forbidden(ground: Ground) -> Probe | None:
    """A try that is kept out, at a port that other zones may reach; on the file server, where there is one."""
    zones = {one.slug: one.zone for one in ground.living.office.stations}
    heard: dict[tuple[str, int], set[str]] = {}
    for one in _between(ground, Expected.ALLOWED):
        heard.setdefault((one.target, one.port), set()).add(zones[one.source])
    found = [
        one for one in _between(ground, Expected.KEPT_OUT)
        if (by := heard.get((one.target, one.port))) and zones[one.source] not in by
    ]  # fmt: skip
    return min(found, key=lambda one: (one.target != "files", -one.id), default=None)


def _wanted(ground: Ground) -> list[Probe]:
    """Tries that must be answered, of one device on one machine at one port."""
    found = [one for one in _between(ground, Expected.ALLOWED) if one.answers and not one.first]
    return [
        one
        for one in found
        if (one.source, one.target, one.port) == (found[0].source, found[0].target, found[0].port)
    ][:1]


def _deciding(ground: Ground, probes: Sequence[Probe], chain: str) -> int:
    """The place in its chain of the rule that lets a try pass. Raises OSError, RehearsalError when none does."""
    living, trial = ground.living, ground.trial
    sent = [Sent(one.source_address, trial.ports[one.id], one.kind, one.address) for one in probes]

    def send() -> None:
        tried(probes, trial.rooms, trial.ports, living.recorder, quiet, Manner(again=()))

    steps = traced(living.built.rooms[FIREWALL], living.run, sent, send)
    step = next((step for packet in sent if (step := deciding(steps.get(packet, ()))) is not None), None)
    if step is None or step.chain != chain or not step.handle:
        raise RehearsalError("no rule lets devices reach a machine that they may reach, so none can be left out")
    return handles(listing(living.run), chain).index(step.handle)


def _segment(living: Living, station: Station) -> str:
    return living.office.segment(station.zone).interface


SORTS = (
    forwarding_off, filter_emptied, everything_let_through, one_rule_too_many, one_rule_missing, sources_not_translated,
    ports_not_translated, parties_forgotten,
)  # fmt: skip
