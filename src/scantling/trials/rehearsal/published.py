"""Names that the office owns outside, tried as somebody outside uses them: looked up there, then called at whatever they lead to."""

from collections.abc import Iterator, Mapping, Sequence
from ipaddress import IPv4Address, ip_address

from scantling.figures import OUTSIDE, Flow, Host, OutsideName, Verdict
from scantling.trials.probe.probing import Expected, Judgement, Kind, Probe
from scantling.trials.proof.telling import rests_on
from scantling.trials.rehearsal.results import Mismatch
from scantling.trials.rehearsal.session import Living

KINDS = {"tcp": Kind.TCP, "udp": Kind.UDP}


def led(living: Living, first: int) -> dict[int, tuple[OutsideName, Probe]]:
    """A try of each name that leads to something inside, by whoever may use it; numbers from `first` on."""
    found: dict[int, tuple[OutsideName, Probe]] = {}
    offered = [
        (one, flow)
        for one in living.plan.records(OutsideName)
        for flow in living.case.flows
        if _offers(flow, one) and flow.window is None
    ]
    for one, flow in offered:
        for probe in _tries(living, one, flow, first + len(found)):
            found[probe.id] = one, probe
    return found


def _offers(flow: Flow, one: OutsideName) -> bool:
    """Whether an intent lets somebody outside come to what a name stands for."""
    is_let_in = flow.source.zone == OUTSIDE and flow.verdict is Verdict.ACCEPT
    return bool(one.holder) and flow.target.holder == one.holder and is_let_in


def _tries(living: Living, one: OutsideName, flow: Flow, first: int) -> Iterator[Probe]:
    callers = [
        station
        for station in living.office.stations
        if station.zone == OUTSIDE and (not flow.source.networks or _within(station.fixed, flow))
    ]
    inner = next((host for host in living.office.station(one.holder).fixed if isinstance(host, IPv4Address)), None)
    targets = [host for answer in one.answers if (host := _host(str(answer))) is not None]
    carried = [one for one in flow.carried if one.protocol in KINDS][:1]
    for station, host, what in ((s, h, w) for s in callers[:1] for h in targets for w in carried):
        source = next((mine for mine in station.fixed if isinstance(mine, IPv4Address)), None)
        if source is not None and inner is not None:
            yield Probe(
                first, station.slug, source, KINDS[what.protocol], one.holder, host, what.first, Expected.ALLOWED,
                one.holder, (inner, what.first), reason=flow.slug,
            )  # fmt: skip
            first += 1


def _within(hosts: Sequence[Host], flow: Flow) -> bool:
    return any(host.version == net.version and host in net for host in hosts for net in flow.source.networks)


def _host(answer: str) -> IPv4Address | None:
    kind, _, data = answer.partition(" ")
    found = ip_address(data) if kind == "A" else None
    return found if isinstance(found, IPv4Address) else None


def astray(
    living: Living, judgements: Sequence[Judgement], names: Mapping[int, tuple[OutsideName, Probe]]
) -> Iterator[Mismatch]:
    """Names that don't lead to where they should, each with the line of the brief."""
    own = {host for way in living.office.ways for host in way.own} | set(living.lent.values())
    known = ", ".join(map(str, sorted(own, key=int)))
    for one in living.plan.records(OutsideName):
        if any(_offers(flow, one) for flow in living.case.flows):
            for host in (
                host for answer in one.answers if (host := _host(str(answer))) is not None and host not in own
            ):
                yield _told(one, f"is led to {host}, which is none of the firewall's addresses outside ({known})")
    for judgement in judgements:
        one, probe = names[judgement.probe.id]
        if not judgement.well and probe.address in own:
            yield _told(
                one,
                f"is led to {probe.address}, port {probe.port}, and what came of it is: {judgement.verdict.value}",
            )


def _told(one: OutsideName, what: str) -> Mismatch:
    line = ", ".join(rests_on(one.written)) if one.written is not None else ""
    return Mismatch(f"Whoever outside calls {one.name} {what}.", f"name {one.name}", line)
