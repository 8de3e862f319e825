"""The ground floor: values that explain themselves, and the plain records that trades exchange."""

from scantling.figures.arrangements import BOXED, IN_CLOUD, Box, Hosts, Rented
from scantling.figures.choosing import Candidate, Choosing
from scantling.figures.chosen import Chosen
from scantling.figures.desk import Desk, Ledger, Pin, PinError
from scantling.figures.fittings import Circuit, Draw, Place, Port, Site, Switching
from scantling.figures.figure import Figure, Origin, Source, missing, standard
from scantling.figures.gathering import Series, cell, cells, count_of, largest, peak, smallest, total
from scantling.figures.naming import (
    Address6, Asking, Name, NameRecord, NameZone, OutsideName, Prefix, Reservation, Server,
)  # fmt: skip
from scantling.figures.numbers import number, text
from scantling.figures.pages import Block, Caution, Facts, Page, Picture, Prose, Ruled, Steps
from scantling.figures.buying import PRICE, Cost, Demand, Every, Finding, Option, Slot, Weight
from scantling.figures.records import (
    Address, Array, Copy, Crowd, Dataset, Device, Fee, Lasting, Line, Machine, Pool, Range, Service, Subnet, Task,
    Visitors, Volume, Zone,
)  # fmt: skip
from scantling.figures.rules import Rule, Table, method, rule
from scantling.figures.traffic import (
    ANY_PROTOCOL, FIREWALL, OUTSIDE, End, FilterRule, Flow, Host, Leg, Net, Party, RemoteAccess, RuleSet, Translation, Transport,
    Verdict, Window,
)  # fmt: skip
from scantling.figures.terms import Attribute, Levels, Most, Of, Over, Row, Sum, Term

__all__ = [
    "ANY_PROTOCOL", "BOXED", "FIREWALL", "IN_CLOUD", "OUTSIDE", "PRICE", "Address", "Address6", "Array", "Asking",
    "Attribute", "Block", "Box", "Candidate", "Caution", "Choosing", "Chosen", "Circuit", "Copy", "Cost", "Crowd",
    "Dataset", "Demand", "Desk", "Device", "Draw", "End", "Every", "Facts", "Fee", "Figure", "FilterRule",
    "Finding", "Flow", "Host", "Hosts", "Lasting", "Ledger", "Leg", "Levels", "Line", "Machine", "Most", "Name",
    "NameRecord", "NameZone", "Net", "Of", "Option", "Origin", "OutsideName", "Over", "Page", "Party", "Picture", "Pin",
    "PinError", "Place", "Pool", "Port", "Prefix", "Prose", "Range", "RemoteAccess", "Rented", "Reservation", "Row", "Rule",
    "RuleSet", "Ruled", "Series", "Server", "Service", "Site", "Slot", "Source", "Steps", "Subnet", "Sum",
    "Switching", "Table", "Task", "Term", "Translation", "Transport", "Verdict", "Visitors", "Volume", "Weight",
    "Window", "Zone", "cell", "cells", "count_of", "largest", "method", "missing", "number", "peak", "rule",
    "smallest", "standard", "text", "total",
]  # fmt: skip
