"""Zones: what is in each, and who must not share one; every finding raised from a changed brief."""

import pytest

from offices import changed, fold, millrace, planned
from scantling import UserError
from scantling.figures import Device, Port, Zone

MILLRACE, FOLD = millrace(), fold()


def _found(text: str) -> dict[str, str]:
    return {told.finding.code: told.says for told in planned(text).findings}


def test_zones_come_from_devices_services_and_visitors() -> None:
    """By number; the management and server zones are always there."""
    zones = planned(MILLRACE).records(Zone)
    numbers = [zone.number.value for zone in zones]
    assert numbers == sorted(set(numbers))
    assert {"management", "servers", "staff", "phones", "cameras", "guests", "payments", "stage"} <= {
        z.slug for z in zones
    }
    small = {zone.slug for zone in planned(FOLD).records(Zone)}
    assert {"management", "servers", "staff"} <= small
    assert not small & {"guests", "payments", "stage"}


def test_devices_and_ports_add_up() -> None:
    """A zone's devices are those of its kinds; the switch ports of all zones are those of all records."""
    plan = planned(MILLRACE)
    for zone in plan.records(Zone):
        assert zone.devices.value == sum(count.value for _, count in zone.kinds)
    mine = {zone.slug for zone in plan.records(Zone)}
    ports = [port.count.value for port in plan.records(Port) if port.zone in mine]
    assert plan.figures["zones.ports"].value == sum(ports)
    terminals = next(device for device in plan.records(Device) if device.slug == "terminals")
    assert (terminals.now.value, terminals.count.value) == (5, 6), "five and the house's spare of 10 %"


@pytest.mark.parametrize(
    ("code", "old", "new"),
    [
        ("Z-1", "kind: payment terminal, count: 5, zone: payments", "kind: payment terminal, count: 5, zone: staff"),
        ("Z-2", "kind: camera, count: 9, zone: cameras", "kind: camera, count: 9, zone: staff"),
        ("Z-2", "kind: control, count: 18, zone: stage", "kind: control, count: 18, zone: staff"),
        ("Z-3", "kind: payment terminal, count: 5", "kind: control, count: 5"),
        ("Z-4", "kind: laptop, count: 8, zone: staff", "kind: laptop, count: 8, zone: guests"),
    ],
)  # fmt: skip
def test_company_that_must_not_be(code: str, old: str, new: str) -> None:
    """Each is raised by one changed line, and not without it."""
    assert code not in _found(MILLRACE)
    assert code in _found(changed(MILLRACE, old, new))


def test_z5_a_zone_too_large() -> None:
    """A festival of 5,000: 3,300 devices among the guests."""
    assert "Z-5" not in _found(MILLRACE)
    assert "3300 devices" in _found(changed(MILLRACE, "people: 450", "people: 5000"))["Z-5"]


def test_how_many_share_the_terminals_zone_is_said() -> None:
    """Computers, laptops and printers of the staff zone with their spares: 16 + 7 + 9 + 4 + 5 = 41."""
    text = changed(
        MILLRACE, "kind: payment terminal, count: 5, zone: payments", "kind: payment terminal, count: 5, zone: staff"
    )
    assert "41 other things" in _found(text)["Z-1"]


def test_an_unknown_zone_is_told_with_the_nearest() -> None:
    """In a person's words, with the place in the brief."""
    with pytest.raises(
        UserError, match=r"brief.yaml:\d+:\d+: devices.terminals.zone: .*paymens.*did you mean .?[Pp]ayments"
    ):
        planned(changed(MILLRACE, "count: 5, zone: payments", "count: 5, zone: paymens"))
