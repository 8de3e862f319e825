"""The evidence of a rehearsal: everything that comes out alike each time, with the digest of every file it was made from."""

import hashlib
import json
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from scantling.trials.rehearsal.results import Agreement, Cell, Day, Fault, Lease, Mismatch, PlantedError, Rehearsed

FORM = 1
LIMIT = "What was rehearsed is the generated files, not the box that will be installed."
MOMENT = re.compile(r" at (mon|tue|wed|thu|fri|sat|sun) \d\d:\d\d\b")
"""When a packet was sent: of no weight when two rehearsals are compared."""
BRACKETS = re.compile(r" ?\([^()]*\)")


def evidence(found: Rehearsed) -> str:
    """As JSON, the same bytes each time that the same things came out on this machine; plain ASCII.

    Under "compared" stands what must come out alike anywhere and at any hour, under "digest" a digest of just that, under
    "here" what this machine brought about. Times and who was lent which address are left out.
    """
    return _written(_told(found))


def record(found: Rehearsed) -> str:
    """The evidence, and under "this_run" all that came out this once, as `recalled.read` takes it."""
    return _written({**_told(found), "this_run": asdict(found)})


def digest_of(compared: Mapping[str, Any]) -> str:
    """SHA-256 over the compared part, written without a space and in order (as RFC 8785 does for such data)."""
    plain = json.dumps(compared, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
    return hashlib.sha256(plain.encode("ascii")).hexdigest()


def otherwise(found: Rehearsed) -> int:
    """How many things went otherwise than meant: refused files, causes, faults, missed errors.

    Wrong addresses and answers, and differences between intents, proof and packets, are grouped by their cause among the
    mismatches; they count by themselves only where there is none.
    """
    wrong: tuple[bool, ...] = (
        *(bool(one.says) for one in found.checked),
        *(not (one.found and one.healed) for one in found.drill),
        *(one.effect and not (one.proof and one.packets) for one in found.planted),
    )
    differences = len(found.agreement.differences) if found.agreement is not None else 0
    single = sum(bool(one.wrong) for one in found.leases) + sum(bool(one.wrong) for one in found.answers)
    causes = len(found.mismatches) or differences + single
    return sum(wrong) + causes


def gist(sign: str) -> str:
    """A sign without what stands in brackets: who showed what; the record has it whole."""
    while (shorter := BRACKETS.sub("", sign)) != sign:
        sign = shorter
    return sign


def _written(whole: Mapping[str, Any]) -> str:
    return json.dumps(whole, indent=1, sort_keys=True, ensure_ascii=True, allow_nan=False) + "\n"


def _told(found: Rehearsed) -> dict[str, Any]:
    compared = compared_part(found)
    here = {"way_in": found.way_in, "why_not": found.why_not, "notes": list(found.notes)}
    return {"form": FORM, "limit": LIMIT, "compared": compared, "digest": digest_of(compared), "here": here}


def compared_part(found: Rehearsed) -> dict[str, Any]:
    """What is compared: nothing of it rests on the clock, on which way in was taken, or on who asked first."""
    dated = found.agreement is not None and found.agreement.dated > 0
    return {
        "office": found.office,
        "stood_up": not found.why_not,
        "well": found.well,
        "otherwise": otherwise(found),
        "mode": found.mode,
        "year": found.year,
        "families": list(found.families),
        "stations": found.stations,
        "files": [asdict(one) for one in sorted(found.checked, key=lambda one: one.path)],
        "services": [asdict(one) for one in found.played],
        "leases": _leases(found.leases),
        "answers": {"asked": len(found.answers), "wrong": [asdict(one) for one in found.answers if one.wrong]},
        "cells": _cells(found.cells, dated=dated),
        "mismatches": [_mismatch(one) for one in found.mismatches],
        "agreement": _agreement(found.agreement),
        "planted": _planted(found.planted),
        "drill": [_fault(one) for one in found.drill],
        "days": [_day(one) for one in found.days],
        "not_rehearsed": list(found.not_rehearsed),
    }


def _leases(many: Iterable[Lease]) -> list[dict[str, Any]]:
    """By zone and family; who was lent which address comes out otherwise each time."""
    asked: Counter[tuple[str, int]] = Counter()
    wrong: dict[tuple[str, int], list[str]] = {}
    for one in many:
        asked[one.zone, one.family] += 1
        if one.wrong:
            wrong.setdefault((one.zone, one.family), []).append(f"{one.station}: {one.wrong}")
    return [
        {"zone": zone, "family": family, "asked": count, "wrong": sorted(wrong.get((zone, family), []))}
        for (zone, family), count in sorted(asked.items())
    ]


def _cells(many: Iterable[Cell], *, dated: bool) -> list[dict[str, Any]]:
    """In order. Where some tries depend on the hour, what passed comes out otherwise at another hour and is left out."""
    told = [asdict(one) for one in sorted(many, key=lambda one: (one.source, one.target, one.carried))]
    return [{key: one[key] for key in one if not dated or key not in {"passed", "kept_out"}} for one in told]


def _mismatch(one: Mismatch) -> dict[str, Any]:
    return {**asdict(one), "packet": MOMENT.sub("", one.packet)}


def _agreement(one: Agreement | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {**asdict(one), "differences": [MOMENT.sub("", words) for words in one.differences]}


def _planted(errors: Sequence[PlantedError]) -> dict[str, Any]:
    telling = [one for one in errors if one.effect]
    return {
        "planted": len(errors),
        "with_effect": len(telling),
        "caught_by_proof": sum(one.proof for one in telling),
        "caught_by_packets": sum(one.packets for one in telling),
        "missed": [asdict(one) for one in telling if not (one.proof and one.packets)],
    }


def _fault(one: Fault) -> dict[str, Any]:
    """Without its signs, in which counts stand that come out a little otherwise each time."""
    return {key: value for key, value in asdict(one).items() if key != "signs"} | {"found": one.found}


def _day(one: Day) -> dict[str, Any]:
    """What is foreseen; what the real server did, in hastened time, comes out a little otherwise each time."""
    whole = {key: getattr(one, key) for key in ("pool", "comers", "predicted", "most_present")}
    return {**whole, "lease": float(one.lease), "steady": float(one.steady)}
