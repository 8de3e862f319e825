"""Parties outside: their sets filled as the firewall itself will do, and their networks held against the office's."""

from collections.abc import Iterator

from scantling.figures import Party
from scantling.plan.make import Plan
from scantling.trials.proof.telling import rests_on
from scantling.trials.rehearsal.results import Mismatch
from scantling.trials.rehearsal.session import SETS, Living


def filled(living: Living) -> list[Mismatch]:
    """Run the script, which asks the office's own resolver; what it could not fill, by party."""
    if SETS not in living.files:
        return []
    told = living.run(["sh", "/etc/office-firewall/fill-sets.sh"])
    if not told.returncode:
        return []
    said = (told.stderr or told.stdout).decode("utf-8", "replace").strip().splitlines()
    return [_unfilled(living.plan, line.strip()) for line in said if line.strip()] or [
        Mismatch(f"fill-sets.sh ended with {told.returncode} on the firewall and said nothing.", "sets of parties")
    ]


def _unfilled(plan: Plan, line: str) -> Mismatch:
    slug = line.removeprefix("party ").partition(":")[0]
    party = next((one for one in plan.records(Party) if one.slug == slug), None)
    where = ", ".join(rests_on(party.written)) if party is not None else ""
    return Mismatch(f"The set of a party can't be filled on the firewall: {line}.", f"party {slug}", where)


def misplaced(living: Living) -> Iterator[Mismatch]:
    """Parties outside whose networks lie in the office, or are all there is."""
    for party in living.plan.records(Party):
        for net in party.networks:
            zones = [
                leg.zone
                for leg in living.office.legs
                for own in leg.networks
                if own.version == net.version and own.overlaps(net)
            ]
            if zones:
                yield Mismatch(
                    f"{party.name} is said to be outside, and its network {net} lies in the office: {', '.join(dict.fromkeys(zones))}.",
                    f"party {party.slug}", ", ".join(rests_on(party.written)),
                )  # fmt: skip
