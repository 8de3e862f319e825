"""Runs of the command rehearse as a person starts it, and rehearsals by an ordinary user, each made once for all who look at it."""

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import dns.rdata
import dns.rdataclass
import dns.rdatatype

from offices import BRIEFS, ROOT, example
from ordinary_user import as_ordinary
from scantling import api
from scantling.outputs.files import Written, written
from scantling.trials.proof.proving import case
from scantling.trials.rehearsal import rehearsing
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.performing import performed
from scantling.trials.rehearsal.results import Rehearsed
from scantling.trials.rehearsal.sandbox import Inside
from scantling.trials.rehearsal.sandbox import run as stood_up
from scantling.trials.rehearsal.session import Living

ENV = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "src"), "LC_ALL": "C.UTF-8"}
SCENARIOS = tuple(BRIEFS)
NONE = "for kind in net user pid mnt; do echo 0 > /proc/sys/user/max_${kind}_namespaces; done; exec "
REAL = {"kea-dhcp4", "kea-dhcp6", "nsd", "unbound", "chronyd"}


def started(*words: str, before: str = "", **how: Any) -> "subprocess.CompletedProcess[str]":
    """The command, as a person starts it; `before`: what a shell does first."""
    command = [sys.executable, "-m", "scantling", "rehearse", *words]
    if before:
        command = ["sh", "-c", f'{before} "$@"', "sh", *command]
    return subprocess.run(command, check=False, **{"env": ENV, "text": True, "capture_output": True, **how})


@cache
def told(name: str, *words: str) -> Mapping[str, Any]:
    """What a rehearsal of an example says in JSON, run once; with its exit code."""
    done = started(str(BRIEFS[name]), *words, "--json")
    assert done.stdout, done.stderr
    return {**json.loads(done.stdout), "code": done.returncode}


@cache
def paged(name: str, *words: str) -> str:
    """The page of the same, on one line."""
    done = started(str(BRIEFS[name]), *words)
    assert done.returncode == 0, done.stdout + done.stderr
    return " ".join(done.stdout.split())


def quiet(_: Any) -> None:
    """Hear nothing."""


@cache
def as_nobody(name: str) -> Rehearsed:
    """An example, rehearsed by an ordinary user. What comes lazily is fetched before: that user may not read Python's files."""
    made = example(name)
    written(made)
    for kind in ("A", "AAAA", "PTR", "SOA", "NS"):
        dns.rdata.get_rdata_class(dns.rdataclass.IN, dns.rdatatype.from_text(kind))  # type: ignore[no-untyped-call]
    return as_ordinary(lambda: rehearsing.rehearsed(made, api.RehearsalWish(), quiet))


def with_files(name: str, change: Mapping[str, bytes]) -> Rehearsed:
    """An example rehearsed from files of which some were spoiled."""
    made = example(name)
    own: dict[str, Written] = {one.path: one for one in written(made)}
    own |= {path: replace(own[path], content=content) for path, content in change.items()}
    one = case(made)
    assert one is not None

    def work(inside: Inside) -> Rehearsed:
        return performed(Living(made, one, designed(made), inside, own), api.RehearsalWish())

    return as_ordinary(lambda: stood_up(work, quiet))
