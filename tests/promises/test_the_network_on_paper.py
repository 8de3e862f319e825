"""The promises of the network on paper, tried through the command line as a new user would."""

import csv
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from kernel import accepted, listing
from offices import BRIEFS, ROOT, example

PROGRAMS = f"{os.environ['PATH']}:/usr/local/sbin:/usr/sbin:/sbin"
ENV = {"PATH": PROGRAMS, "PYTHONPATH": str(ROOT / "src"), "COLUMNS": "200", "LC_ALL": "C.UTF-8"}
SCENARIOS = ("millrace", "fold-and-fell", "brackwater")
GUEST_DOOR = 'iifname "zone-60" ip saddr 10.44.60.0/23 ip daddr 10.44.20.0/24 tcp dport 445 accept comment "oops"'


def brief_of(name: str) -> str:
    """The brief of an example."""
    return str(BRIEFS[name] if name in BRIEFS else ROOT / "examples" / name / "brief.yaml")


def scantling(*words: str, cwd: Path | None = None) -> "subprocess.CompletedProcess[str]":
    """Run a command as a person would."""
    command = [sys.executable, "-m", "scantling", *words]
    return subprocess.run(command, env=ENV, text=True, capture_output=True, check=False, cwd=cwd)


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The files of every scenario, written once."""
    made = {}
    for name in SCENARIOS:
        made[name] = tmp_path_factory.mktemp(name)
        done = scantling("files", brief_of(name), "--out", str(made[name]))
        assert done.returncode in (0, 1), done.stderr
    return made


def checked(*words: str, cwd: Path) -> None:
    """A program accepts its file."""
    done = subprocess.run(words, env=ENV, text=True, capture_output=True, check=False, cwd=cwd)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_file_is_taken_by_the_program_it_is_for(name: str, folders: dict[str, Path]) -> None:
    """The files of all three scenarios load in the real programs."""
    folder = folders[name]
    assert not accepted((folder / "firewall" / "rules.nft").read_text("utf-8"))
    zones = sorted((folder / "names").glob("*.zone"))
    assert zones
    for zone in zones:
        checked("named-checkzone", "-q", zone.name.removesuffix(".zone"), str(zone), cwd=folder)
        checked("nsd-checkzone", zone.name.removesuffix(".zone"), str(zone), cwd=folder)
    resolvers, clocks = sorted(folder.glob("lookups/*/unbound.conf")), sorted(folder.glob("time/*/chrony.conf"))
    assert resolvers
    assert clocks
    for file in clocks:
        checked("chronyd", "-p", "-f", str(file), cwd=folder)
    for file in (folder / "addresses").glob("*.conf"):
        json.loads(file.read_text("utf-8"))


@pytest.mark.parametrize("name", SCENARIOS)
def test_the_rules_are_proved(name: str) -> None:
    """The proof holds for each scenario, with nothing reachable that nobody asked for."""
    done = scantling("prove", brief_of(name), "--json")
    assert done.returncode == 0, done.stdout + done.stderr
    proof: dict[str, Any] = json.loads(done.stdout)
    assert proof["proved"] is True


def test_a_planted_wrong_rule_is_found_and_explained(folders: dict[str, Path], tmp_path: Path) -> None:
    """One rule too many in the list that the kernel holds is found, with a packet and the rule that lets it through."""
    rules = (folders["millrace"] / "firewall" / "rules.nft").read_text("utf-8")
    at = re.search(r"chain forward \{\n(?:.*\n)*?.*policy drop;?\n", rules)
    assert at is not None
    planted = rules[: at.end()] + f"    {GUEST_DOOR}\n" + rules[at.end() :]
    for told, written in (("good.json", rules), ("bad.json", planted)):
        (tmp_path / told).write_text(json.dumps({"nftables": listing(written, TZ="UTC")}), "utf-8")
    assert scantling("prove", brief_of("millrace"), "--rules", str(tmp_path / "good.json")).returncode == 0
    done = scantling("prove", brief_of("millrace"), "--rules", str(tmp_path / "bad.json"))
    assert done.returncode == 1, done.stderr
    assert "oops" in done.stdout
    assert "445" in done.stdout


def test_a_packet_is_answered_with_its_rule() -> None:
    """`prove --packet` answers with the verdict and the rule that decides."""
    shut = scantling("prove", brief_of("millrace"), "--packet", "guests tcp files:445")
    wide = scantling("prove", brief_of("millrace"), "--packet", "staff tcp files:445")
    assert "drop" in shut.stdout
    assert "passes" in wide.stdout
    assert re.search(r"r-\d+", wide.stdout)


def test_every_file_says_how_it_is_loaded_and_undone(folders: dict[str, Path]) -> None:
    """The list of files says of each what it is for, where it goes, how to load it and how to undo that."""
    folder = folders["brackwater"]
    with (folder / "files.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    listed = {row[0] for row in rows[1:]}
    there = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert there - listed <= {"files.csv", "files.txt"}
    assert all(all(cell.strip() for cell in row[:5]) for row in rows[1:])


def test_the_same_brief_writes_the_same_files(folders: dict[str, Path], tmp_path: Path) -> None:
    """The same inputs give the same files, byte for byte."""
    scantling("files", brief_of("brackwater"), "--out", str(tmp_path))
    first = {path.relative_to(tmp_path): path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    second = folders["brackwater"]
    assert first == {path.relative_to(second): path.read_bytes() for path in second.rglob("*") if path.is_file()}


def test_doors_and_matrix_are_in_the_drawing_set(tmp_path: Path) -> None:
    """The floor plan has numbered doors; the matrix, the address map and the paths of names and time are sheets of their own."""
    done = scantling("book", brief_of("fold-and-fell"), "--no-weigh", "--out", str(tmp_path))
    assert done.returncode in (0, 1), done.stderr
    assert {f"N-{number}.svg" for number in range(1, 6)} <= {path.name for path in tmp_path.iterdir()}
    assert "not yet planned" not in (tmp_path / "N-1.svg").read_text("utf-8")


def test_a_local_domain_that_stands_is_told_and_kept() -> None:
    """A directory's domain that ends in local stays where it stands, and its trouble is told (RFC 6762)."""
    made = example("brackwater")
    assert any(told.finding.code == "D-2" for told in made.findings)
    assert str(made.figures["names.domain"].value).endswith(".local")


def test_lines_that_contradict_each_other_are_both_named(tmp_path: Path) -> None:
    """An allow and a forbid that meet are told with both their lines."""
    text = Path(brief_of("fold-and-fell")).read_text("utf-8")
    said = (
        "\ntraffic:\n  allow:\n    one: {from: staff, to: management, what: tcp 8443, why: x}\n"
        "  forbid:\n    two: {from: staff, to: management, what: tcp 8000-9000, why: y}\n"
    )
    (tmp_path / "brief.yaml").write_text(re.sub(r"\ntraffic:\n(?:[ #].*\n|\n)*", "\n", text) + said, "utf-8")
    done = scantling("plan", "brief.yaml", cwd=tmp_path)
    assert "traffic.allow.one" in done.stdout, done.stderr
    assert "traffic.forbid.two" in done.stdout
