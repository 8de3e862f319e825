"""A small hand-made office whose days and months can be reckoned on paper, and what the tests of charts read from a chart."""

from functools import cache

from offices import changed, planned
from scantling.api import charting
from scantling.outputs.drawings.charts.model import Chart, ChartSheet, Level, Series
from scantling.plan.make import Plan

HAND_MADE = """\
office: {name: Hand Made, country: IE, currency: EUR, as_of: 2026-11-25, horizon: 5 year}
support: {who: Orla Quinn, reach: 4 h, on_site: Tom Farrell}
people:
  roles:
    day:   {name: Day, heads: 10, growth: 0 %/year, days: mon-fri, hours: "08:00-16:00", present: 100 %}
    night: {name: Night, heads: 4, growth: 0 %/year, days: fri sat, hours: "20:30-02:00", present: 50 %}
devices:
  pcs: {name: PCs, kind: pc, count: 10, zone: staff}
visitors:
  zone: guests
  join: 50 %
  active: 50 %
  devices_each: 1
  events:
    show: {name: Show, people: 80, days: fri, doors: "19:00", arrive: 60 min, stay: 2 h}
lines: {fibre: {name: Fibre, down: 400 Mbit/s, up: 100 Mbit/s, monthly: 55 EUR}}
premises:
  cabinet: {wanted: no, depth: 600 mm, height: 900 mm, place: cupboard, ventilated: yes}
  circuits: {cupboard: {rating: 16 A, already: 0 W}}
services:
  firewall: {profile: firewall, down: 8 h, lost: 24 h}
  directory: {profile: directory, down: 8 h, lost: 24 h}
  files: {profile: files, down: 8 h, lost: 24 h}
  copies: {profile: backup, down: 24 h, lost: 24 h}
data:
  sets:
    papers: {name: Papers, kind: documents, size: 2 TB, files: 200000, growth: 20 %/year, service: files}
    films:  {name: Films, kind: video, size: 3 TB, files: 9000, growth: 0 %/year, adds: 1.2 TB/year, service: files}
backup: {near: box, away: disks, window: "20:00-07:00"}
"""


@cache
def hand_made(old: str = "", new: str = "") -> Plan:
    """The plan of the hand-made office, one passage of its brief changed."""
    return planned(changed(HAND_MADE, old, new) if old else HAND_MADE)


def chart(sheet: ChartSheet, slug: str) -> Chart:
    """One plot of a sheet."""
    return next(one for one in sheet.charts if one.slug == slug)


def load(plan: Plan, slug: str) -> Chart:
    """One plot of load."""
    return chart(charting.chart_of_load(plan), slug)


def series(one: Chart, name: str) -> Series:
    """A line by how its name begins."""
    return next(each for each in one.series if each.name.startswith(name))


def level(one: Chart, name: str) -> Level:
    """A limit by how its name begins."""
    return next(each for each in one.levels if each.name.startswith(name))


def at(one: Chart, name: str, place: float) -> float:
    """The value of a line at a place."""
    return series(one, name).values[one.across.at.index(place)]
