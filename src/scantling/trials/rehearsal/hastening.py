"""The busiest day in the living office: its own address server, relay and rules, and the crowd at the port of one visitor."""

from functools import partial

from scantling.trials.rehearsal.busiest import HOW, Doorway, busiest_days
from scantling.trials.rehearsal.results import Day
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.services.adapter import Running
from scantling.trials.rehearsal.services.kea import told
from scantling.trials.rehearsal.session import Living
from scantling.trials.rehearsal.visiting import busy

PROGRAM = "kea-dhcp4"


def busiest_day(living: Living) -> tuple[Day, ...]:
    """The day with the planned lease and with a longer one; nothing where nobody visits, or where no address server runs.

    Notes in `living` how it was done, or why it wasn't. Raises RehearsalError when the server doesn't take its settings.
    """
    day = busy(living.plan)
    server = _server(living)
    station = next((one for one in living.office.stations if day and one.zone == day.zone and one.asks), None)
    if day is None or station is None:
        living.notes.append("There is no busiest day: nobody visits this office.")
        return ()
    if server is None:
        living.notes.append("The busiest day was not lived: no address server runs here.")
        return ()
    door = Doorway(
        living.built.rooms[station.slug],
        living.built.interfaces[station.slug],
        living.office.segment(day.zone).number,
    )
    settings = server.job.files[0].content
    try:
        found = busiest_days(day, door, settings, partial(told, server, "config-set"), tell=living.inside.tell)
    except OSError as wrong:
        raise RehearsalError(f"the busiest day can't be lived: {wrong.strerror or wrong}") from wrong
    living.notes.append(HOW)
    return found


def _server(living: Living) -> Running | None:
    """The real address server, if it runs."""
    return next((one for one in living.running if one.job.program == PROGRAM and one.process is not None), None)
