"""Files of names, lookups and time: written to a folder, checked by their own programs, zones read by another library."""

import os
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import dns.name
import dns.rdatatype
import dns.reversename
import dns.zone

from scantling.outputs.files import Written, clocks, lookups, name_server, name_zones
from scantling.plan.make import Plan

PROGRAMS = {**os.environ, "PATH": f"{os.environ.get('PATH', '')}:/usr/sbin:/sbin", "LC_ALL": "C"}
WRITERS = (name_zones, name_server, lookups, clocks)
MOST_STEPS = 5


def files(plan: Plan) -> Mapping[str, Written]:
    """All files of names, lookups and time, by path."""
    every = [one for writer in WRITERS for one in writer.write(plan)]
    found = {one.path: one for one in every}
    assert len(found) == len(every)
    return found


def put(given: Mapping[str, Written], folder: Path) -> list[tuple[Written, Path]]:
    """Write them; every path stays inside the folder."""
    placed = []
    for one in given.values():
        path = (folder / one.path).resolve()
        assert path.is_relative_to(folder.resolve())
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(one.content)
        placed.append((one, path))
    return placed


def run(*command: str) -> subprocess.CompletedProcess[str]:
    """One of the programs that the files are for."""
    return subprocess.run(command, env=PROGRAMS, capture_output=True, text=True, timeout=240, check=False)


def judged(placed: Sequence[tuple[Written, Path]]) -> list[str]:
    """What the programs say against the files; nothing where all is well."""
    told = []
    for one, path in placed:
        command = [part.replace("{file}", str(path)) for part in one.checked_by.split()]
        answer = run(*command)
        words = answer.stdout + answer.stderr
        if answer.returncode or "warning" in words.lower() or "ignor" in words.lower():
            told.append(f"{one.path}: {answer.returncode}: {words}")
        if path.suffix == ".zone":
            second = run("nsd-checkzone", path.name.removesuffix(".zone"), str(path))
            told += [f"{one.path}: {second.stdout}{second.stderr}"] if second.returncode else []
    return told


class Answers:
    """What the zones answer, read by dnspython."""

    def __init__(self, given: Mapping[str, Written]) -> None:
        self.zones: dict[dns.name.Name, dns.zone.Zone] = {}
        for path, one in given.items():
            if path.endswith(".zone"):
                zone = dns.zone.from_text(one.content.decode("ascii"), relativize=False, check_origin=True)
                assert zone.origin is not None
                self.zones[zone.origin] = zone

    def ask(self, name: str | dns.name.Name, kind: str) -> list[str]:
        """Every answer, with aliases followed from zone to zone."""
        at = dns.name.from_text(name) if isinstance(name, str) else name
        for _ in range(MOST_STEPS):
            zone = self.zone_of(at)
            if zone is None:
                return []
            found = zone.get_rdataset(at, kind)
            if found is not None:
                return [one.to_text() for one in found]
            alias = zone.get_rdataset(at, "CNAME")
            if alias is None:
                return []
            at = dns.name.from_text(next(iter(alias)).to_text())
        raise AssertionError(f"{name} goes round")

    def zone_of(self, name: dns.name.Name) -> dns.zone.Zone | None:
        """The nearest zone that holds a name."""
        holding = [origin for origin in self.zones if name.is_subdomain(origin)]
        return self.zones[max(holding, key=len)] if holding else None

    def addresses(self) -> Iterator[tuple[str, str]]:
        """Every name with every address that some zone gives it."""
        for zone in self.zones.values():
            for kind in ("A", "AAAA"):
                for name, _, one in zone.iterate_rdatas(kind):
                    yield name.to_text(), one.to_text()

    def pointed(self) -> Iterator[tuple[str, str]]:
        """Every address that bears a name by some reverse zone; classless zones are found through their aliases."""
        for zone in self.zones.values():
            for kind in ("PTR", "CNAME"):
                yield from self._pointed(zone, kind)

    def _pointed(self, zone: dns.zone.Zone, kind: str) -> Iterator[tuple[str, str]]:
        for name, _, one in zone.iterate_rdatas(kind):
            whole = name.to_text()
            if whole.endswith(".arpa.") and "-" not in whole.replace("in-addr", ""):
                named = [one.to_text()] if kind == "PTR" else self.ask(name, "PTR")
                yield dns.reversename.to_address(name), named[0]
