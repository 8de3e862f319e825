"""The address server for IPv6: Kea, from the plan's own file."""

from collections.abc import Mapping

from scantling.outputs.files import Written
from scantling.plan.make import Plan
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.services import kea
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.services.adapter import Job, Running
from scantling.trials.rehearsal.services.running import ended as stop
from scantling.trials.rehearsal.trees import Tree

SERVES = "addresses in IPv6"
AFTER: tuple[str, ...] = ()
PROGRAM, FAMILY = "kea-dhcp6", 6
check, ready, reconfigure, standin = kea.check, kea.ready, kea.reconfigure, kea.standin

__all__ = ["AFTER", "SERVES", "check", "ready", "reconfigure", "standin", "start", "stop", "wanted"]


def wanted(office: Office, plan: Plan, files: Mapping[str, Written]) -> list[Job]:
    """The one that the plan has."""
    del office
    return kea.wanted(plan, files, FAMILY)


def start(job: Job, tree: Tree, room: Room) -> Running:
    """Start it once its ports bear their addresses on the link, as a machine does at boot. Raises RehearsalError."""
    kea.settled(room, kea.listened(job.files[0].content))
    return kea.start(job, tree, room)
