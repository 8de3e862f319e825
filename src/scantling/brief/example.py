"""A small whole brief of an invented office, to start from."""

EXAMPLE = """\
# Larkfield Seeds: an invented shop and office of seven.
office:
  name: Larkfield Seeds
  country: IE
  currency: EUR
  as_of: 2026-11-25

support:
  who: Nuala Byrne, consultant
  reach: 8 h
  on_site: Peter Hale, office

people:
  roles:
    office: {name: Office, heads: 4, growth: 5 %/year, days: mon-fri, hours: "08:30-17:30"}
    shop:   {name: Shop, heads: 3, growth: 0 %/year, days: mon-sat, hours: "09:00-18:00"}

devices:
  pcs:      {name: Office and shop PCs, kind: pc, count: 6, zone: staff}
  printers: {name: Printers, kind: printer, count: 2, zone: staff}
  terminal: {name: Payment terminal, kind: payment terminal, count: 1, zone: payments}

premises:
  noise: 45 dB
  cabinet: {wanted: no, depth: 700 mm, height: 1200 mm, place: store room}
  circuits:
    store: {rating: 16 A, already: 300 W}

lines:
  fibre: {name: Fibre, down: 200 Mbit/s, up: 40 Mbit/s, monthly: 45.00 EUR}

services:
  firewall:  {profile: firewall, down: 8 h, lost: 24 h}
  directory: {profile: directory, down: 8 h, lost: 24 h}
  names:     {profile: names and addresses, down: 8 h, lost: 24 h}
  files:     {profile: files, down: 8 h, lost: 24 h}
  copies:    {profile: backup, down: 24 h, lost: 24 h}

data:
  sets:
    shared: {name: Shared documents, kind: documents, size: 400 GB, files: 150000, growth: 12 %/year, service: files}

backup:
  near: box
  away: disks

budget:
  once: 16000 EUR
  tax: 23 %
"""
