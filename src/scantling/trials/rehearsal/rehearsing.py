"""The whole of a rehearsal: in, stood up, tried, told; where nothing may be stood up, parsers and proof alone, and that is said."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from scantling.figures import text
from scantling.outputs.files import Written, written
from scantling.plan.make import Plan
from scantling.trials.proof.proving import Case, case
from scantling.trials.rehearsal.bare import agreed, digests, parsed
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.performing import performed
from scantling.trials.rehearsal.results import Checked, Rehearsed
from scantling.trials.rehearsal.sandbox import Inside, RehearsalError, SandboxError, open_way, run
from scantling.trials.rehearsal.session import Living
from scantling.trials.rehearsal.wish import Wish

BARE = "parsers and proof only"
NEVER = (
    "VLAN tags: one bridge stands for each VLAN, and the tag is kept as data.",
    "Radio: ranges, roaming, and who hears what.",
    "Delay and loss on lines and cables.",
    "How fast the real boxes, drivers and disks are: a kernel passes packets between namespaces far faster.",
    "Who may read which folder, and logging in: no rights and no directory are planned yet.",
)
"""What no rehearsal on one machine shows, or nothing is planned of yet."""


def rehearsed(plan: Plan, wish: Wish, tell: Callable[[str], None]) -> Rehearsed:
    """Rehearse a plan. To be called while this process has one thread. Raises RehearsalError in a person's words."""
    one = case(plan)
    if one is None:
        raise RehearsalError(
            "this plan has no rules for a firewall, so there is nothing to rehearse; plan its zones and lines first"
        )
    files = {file.path: file for file in written(plan)}
    office = designed(plan, everyone=wish.everyone, year=wish.year)
    try:
        open_way(wish.way_in)
    except SandboxError as shut:
        return bare(plan, one, files, wish, str(shut))
    return run(partial(inside, plan, one, files, office, wish), partial(heard, tell), wish.way_in)


def heard(tell: Callable[[str], None], event: Any) -> None:
    """What the office says on its way."""
    tell(str(event))


def inside(
    plan: Plan, one: Case, files: Mapping[str, Written], office: Office, wish: Wish, there: Inside
) -> Rehearsed:
    """What is done inside the sandbox."""
    living = Living(plan, one, office, there, files, wish.families, wish.everyone)
    return performed(living, wish)


def bare(plan: Plan, one: Case, files: Mapping[str, Written], wish: Wish, why: str) -> Rehearsed:
    """What is left where nothing may be stood up."""
    read = {file.path: file for file in parsed([*files.values()])}
    checked: tuple[Checked, ...] = tuple(read.get(file.path, file) for file in digests(files))
    return Rehearsed(
        text(plan.office.name), BARE, why, "everyone" if wish.everyone else "representative", wish.year, wish.families, 0,
        checked, agreement=agreed(one),
        not_rehearsed=("Everything that is done with packets: leases, names, flows, faults.", *NEVER),
    )  # fmt: skip
