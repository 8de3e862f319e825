"""What may stand at Fold & Fell's when the plan is made: one thing of every sort, and the plan beside it."""

from functools import cache

from offices import fold, planned
from scantling import api
from scantling.plan.make import Plan

STANDS = """\
kit:
  old-tower: {name: Old tower, kind: host, do: retire, known: seen, since: 2015-02-01, serial: "T-1", place: under the stairs}
  old-battery: {name: Old battery unit, kind: ups, do: retire}
  switch: {name: Switch, article: switch-24-half, serves: switch, do: keep, known: told, since: 2024-06-03,
    warranty_until: 2033-06-03, serial: "S-1", hardware_address: "02:00:5e:10:00:31", zone: management}
  scanner: {name: Large scanner, kind: scanner, do: keep, known: seen, since: 2024-01-10}

bought:
  host-tower-quiet-4: {serves: host, article: tower-quiet-4, on: 2025-11-25, price: 890.00 EUR, warranty_until: 2033-11-25}

issued:
  block: 10.71.0.0/16
  zones:
    management: {number: 10, network: 10.71.10.0/26, gateway: 10.71.10.1}
    staff: {number: 30, network: 10.71.30.0/26, gateway: 10.71.30.1}
  addresses:
    firewall: {zone: management, holder: firewall, address: 10.71.10.21}
    old-store: {zone: staff, holder: old-store, address: 10.71.30.5}
"""
"""All of it well: seen or told, in warranty until the horizon, young enough, large enough."""


@cache
def beside(stands: str = STANDS) -> Plan:
    """Fold & Fell's plan beside what stands."""
    return api.plan_text(fold(), stands=stands) if stands else planned(fold())


def beside_what_stands() -> tuple[Plan, ...]:
    """All that is told only where something stands."""
    return (beside(),)
