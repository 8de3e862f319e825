"""Stations that came to no address, or to a wrong one, told zone by zone with what is to be looked at."""

from collections.abc import Iterator, Sequence

from scantling.figures import Pool
from scantling.trials.proof.telling import rests_on
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.results import Day, Lease, Mismatch
from scantling.trials.rehearsal.session import Living, pools

FOURTH = 4


def short(office: Office, lent: Sequence[Pool], leases: Sequence[Lease]) -> Iterator[Mismatch]:
    """One for each zone and family in which something went wrong."""
    groups: dict[tuple[str, int], list[Lease]] = {}
    for one in leases:
        if one.wrong:
            groups.setdefault((one.zone, one.family), []).append(one)
    for (zone, family), wrong in groups.items():
        segment = office.segment(zone)
        asked = sum(one.zone == zone and one.family == family for one in leases)
        pool = next((one for one in lent if one.first in segment.network4), None)
        nothing = [one for one in wrong if not one.address]
        more = f"; and {len(wrong) - 1} more" if len(wrong) > 1 else ""
        if (
            family == FOURTH
            and pool is not None
            and len(nothing) == len(wrong)
            and asked - len(wrong) >= pool.size.value
        ):
            yield Mismatch(
                f"{segment.label}: {len(wrong)} of {asked} stations got no address: the pool has {int(pool.size.value)}, and all are lent.",
                f"pool of {zone}", ", ".join(rests_on(pool.size)), many=len(wrong),
            )  # fmt: skip
        else:
            yield Mismatch(f"{wrong[0].wrong}{more}.", f"addresses in {zone}, IPv{family}", many=len(wrong))


def turned_away(living: Living, days: Sequence[Day]) -> Iterator[Mismatch]:
    """Visitors whom the real server refused on the busiest day, with the lease that is planned, the first of the days."""
    if days and days[0].refused:
        day = days[0]
        pool = next((one for one in pools(living) if int(one.size.value) == day.pool), None)
        yield Mismatch(
            f"On the busiest day {day.refused} of {day.comers} who come get no address: {day.pool} can be lent, for {day.lease:g} h each.",
            "pool of visitors", ", ".join(rests_on(pool.size)) if pool is not None else "", many=day.refused,
        )  # fmt: skip
