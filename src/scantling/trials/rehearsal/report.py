"""The evidence of a rehearsal: everything that comes out alike each time, with the digest of every file it was made from."""

import hashlib
import json
import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from scantling.trials.rehearsal.results import Cell, Day, Fault, Lease, Mismatch, PlantedError, Rehearsed

FORM = 1
LIMIT = "What was rehearsed is the generated files, not the box that will be installed."
MOMENT = re.compile(r" at (mon|tue|wed|thu|fri|sat|sun) \d\d:\d\d\b")
"""When a packet was sent: of no weight when two rehearsals are compared."""


def evidence(found: Rehearsed) -> str:
    """As JSON, the same bytes each time that the same things came out; times and who was lent which address are left out."""
    compared = compared_part(found)
    whole = {"form": FORM, "limit": LIMIT, "compared": compared, "digest": digest_of(compared)}
    return json.dumps(whole, indent=1, sort_keys=True, ensure_ascii=True) + "\n"


def digest_of(compared: Mapping[str, Any]) -> str:
    """SHA-256 over the compared part, written without a space and in order (as RFC 8785 does for such data)."""
    plain = json.dumps(compared, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(plain.encode("ascii")).hexdigest()


def compared_part(found: Rehearsed) -> dict[str, Any]:
    """What is compared."""
    return {
        "office": found.office,
        "way_in": found.way_in,
        "why_not": found.why_not,
        "mode": found.mode,
        "year": found.year,
        "families": list(found.families),
        "stations": found.stations,
        "well": found.well,
        "files": [asdict(one) for one in found.checked],
        "services": [asdict(one) for one in found.played],
        "leases": [*_leases(found.leases)],
        "names": {"asked": len(found.answers), "wrong": [asdict(one) for one in found.answers if one.wrong]},
        "cells": [_cell(one) for one in sorted(found.cells, key=lambda one: (one.source, one.target, one.carried))],
        "mismatches": [_mismatch(one) for one in found.mismatches],
        "agreement": None if found.agreement is None else asdict(found.agreement),
        "planted": _planted(found.planted),
        "drill": [_fault(one) for one in found.drill],
        "days": [_day(one) for one in found.days],
        "notes": list(found.notes),
        "not_rehearsed": list(found.not_rehearsed),
    }


def _leases(many: Iterable[Lease]) -> list[dict[str, Any]]:
    """By zone and family; who was lent which address comes out otherwise each time."""
    asked: Counter[tuple[str, int]] = Counter()
    wrong: dict[tuple[str, int], list[str]] = {}
    for one in many:
        asked[one.zone, one.family] += 1
        if one.wrong:
            wrong.setdefault((one.zone, one.family), []).append(one.wrong)
    return [
        {"zone": zone, "family": family, "asked": count, "wrong": sorted(wrong.get((zone, family), []))}
        for (zone, family), count in sorted(asked.items())
    ]


def _cell(one: Cell) -> dict[str, Any]:
    return asdict(one)


def _mismatch(one: Mismatch) -> dict[str, Any]:
    return {**asdict(one), "packet": MOMENT.sub("", one.packet)}


def _planted(many: Iterable[PlantedError]) -> dict[str, Any]:
    errors = list(many)
    telling = [one for one in errors if one.effect]
    return {
        "planted": len(errors),
        "with_effect": len(telling),
        "caught_by_proof": sum(one.proof for one in telling),
        "caught_by_packets": sum(one.packets for one in telling),
        "missed": [asdict(one) for one in telling if not (one.proof and one.packets)],
    }


def _fault(one: Fault) -> dict[str, Any]:
    return {**asdict(one), "found": one.found}


def _day(one: Day) -> dict[str, Any]:
    """Without the curve, whose points fall a little otherwise each time."""
    told = asdict(one)
    del told["held"]
    return told
