"""Where the proof of the loaded rules finds a difference, its packet is sent for real, so that it is seen and its rule traced."""

from collections.abc import Sequence

from scantling.figures import FIREWALL
from scantling.plan.evidence import Difference
from scantling.trials.probe.aims import Aims, Now
from scantling.trials.probe.choosing import Try
from scantling.trials.probe.intended import Intended
from scantling.trials.probe.probing import Kind, Probe
from scantling.trials.proof.headers import CODES, INVALID, PORTS, Header, host
from scantling.trials.proof.packet import PacketError, headers, office as places_of, read_words
from scantling.trials.rehearsal.passages import MESSAGE, TCP, UDP
from scantling.trials.rehearsal.session import Living

MOST = 64


def witnesses(living: Living, now: Now, differences: Sequence[Difference], first: int) -> list[Probe]:
    """A try for each difference; numbers from `first` on. One that can't be read back is noted."""
    places = places_of(living.plan, living.office.legs)
    grounds = [court.ground for court in living.case.courts if court.ground.family in now.families]
    meant = {ground.family: Intended(living.case, Aims(living.office, now, ground.family)) for ground in grounds}
    found: list[Probe] = []
    for one in differences[:MOST]:
        try:
            packets = [*headers(read_words(one.packet), places, grounds, ())]
        except PacketError as wrong:
            living.notes.append(f"A packet that shows a difference could not be sent: {wrong}.")
            continue
        for ground, header in packets:
            one_try = _tried(living, ground.zone_at(header.place), header, ground.family)
            found.append(meant[ground.family].probe(first + len(found), one_try))
    return found


def _tried(living: Living, zone: str, header: Header, family: int) -> Try:
    """A packet as somebody sends it: whoever has the address there, else whoever is there under another's."""
    source, target = host(header.source, family), host(header.target, family)
    there = dict(living.at())
    mine = [one.slug for one in living.office.stations if one.zone == zone]
    anybody = next((slug for slug in mine if slug == f"spare-{zone}"), next(iter(mine), FIREWALL))
    slug = FIREWALL if zone == FIREWALL else there.get(source, anybody)
    kind, port = _spot(header, family)
    return Try(slug, zone, source, kind, there.get(target, ""), target, port, source in there)


def _spot(header: Header, family: int) -> tuple[Kind, int]:
    protocol, port = divmod(header.carried, PORTS)
    if header.state == INVALID:
        return Kind.STRAY, port
    if protocol == MESSAGE[family]:
        return Kind.ECHO, port // CODES
    return {TCP: (Kind.TCP, port), UDP: (Kind.UDP, port)}.get(protocol, (Kind.RAW, protocol))
