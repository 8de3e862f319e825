"""Devices are told of servers that the rules let them ask, and of no others."""

from address_servers import files, settings
from offices import example


def test_nobody_is_told_of_a_server_that_the_rules_keep_from_them() -> None:
    """Devices of a quiet zone look nothing up: they are told the firewall's clock and no resolver."""
    plan = example("millrace")
    four, six = (settings(files(plan)[f"addresses/kea-dhcp{family}.conf"]) for family in (4, 6))
    cameras = next(one for one in four["subnet4"] if one["comment"] == "Cameras")
    told = {one["name"]: one["data"] for one in cameras["option-data"]}
    assert "domain-name-servers" not in told
    assert told["ntp-servers"] == "10.44.50.1"
    cameras6 = next(one for one in six["subnet6"] if one["comment"].startswith("Cameras"))
    assert "dns-servers" not in {one["name"] for one in cameras6["option-data"]}
    staff = next(one for one in four["subnet4"] if one["comment"] == "Staff")
    assert {one["name"] for one in staff["option-data"]} >= {"domain-name-servers", "domain-name"}
