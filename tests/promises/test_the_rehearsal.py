"""The promises of the rehearsal, tried through the command line as a new user would, and where rights matter as an ordinary user."""

import json
import os
import random
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from conftest import Scale
from offices import BRIEFS, changed, example
from ordinary_user import Driver, driver
from rehearsal_runs import ENV, NONE, REAL, SCENARIOS, as_nobody, quiet, started, told, with_files
from scantling import api
from scantling.outputs.files import written
from scantling.trials.rehearsal import rehearsing, services
from scantling.trials.rehearsal.design import designed

# ---------------------------------------------------------------------------------------------- 1 as an ordinary user


@pytest.mark.parametrize("name", SCENARIOS)
def test_an_ordinary_user_rehearses_each_scenario(name: str) -> None:
    """All three scenarios rehearse as meant as an ordinary user, without root."""
    found = as_nobody(name)
    assert found.way_in.startswith("ordinary user")
    assert found.well, [one.says for one in found.mismatches]


def test_nothing_is_written_and_the_hosts_network_is_left_alone(tmp_path: Path) -> None:
    """Nothing is written on the host's disk, and the host's own network is as before."""
    before = Path("/proc/net/route").read_text("ascii"), sorted(Path("/sys/class/net").iterdir())
    places = {"HOME": str(tmp_path), "TMPDIR": str(tmp_path), "XDG_RUNTIME_DIR": str(tmp_path)}
    done = started(str(BRIEFS["fold"]), cwd=tmp_path, env={**ENV, **places, "PYTHONDONTWRITEBYTECODE": "1"})
    assert done.returncode == 0, done.stderr
    assert not list(tmp_path.iterdir())
    assert (Path("/proc/net/route").read_text("ascii"), sorted(Path("/sys/class/net").iterdir())) == before


def test_nothing_is_left_after_it_is_killed(scale: Scale) -> None:
    """After SIGKILL at any moment nothing is left behind within three seconds."""
    made = example("fold")
    for _ in range(scale(short=2, full=10)):
        mine: Driver = driver(lambda _: (rehearsing.rehearsed(made, api.RehearsalWish(), quiet), None)[1])
        time.sleep(random.uniform(0.05, 1.5))
        namespaces = mine.families()
        os.kill(mine.process, 9)
        os.waitpid(mine.process, 0)
        assert not mine.gone_within(3, namespaces)


def test_where_no_way_in_is_open_it_says_why_and_falls_back() -> None:
    """Three ways in; where none is open, each is told with its reason, and parsers and proof are left."""
    done = started(str(BRIEFS["fold"]), before=f"unshare -Ur sh -c '{NONE} \"$@\"' sh")
    said = " ".join(done.stdout.split())
    assert done.returncode == 1, done.stderr
    assert "nothing could be stood up here; the files were read and the rules proved, no more" in said
    for way in ("range of ids: ", "one id: ", "root: "):
        assert way in said
    assert "no packet was sent" in said


def test_where_no_way_in_is_open_no_file_is_wrongly_refused() -> None:
    """Falling back finds no fault with files that are well."""
    done = started(str(BRIEFS["fold"]), "--json", before=f"unshare -Ur sh -c '{NONE} \"$@\"' sh")
    assert [one["says"] for one in json.loads(done.stdout)["compared"]["files"] if one["says"]] == []


# ------------------------------------------------------------------------------------------ 2 from the generated files


def test_it_runs_from_the_plans_own_files_byte_for_byte(tmp_path: Path) -> None:
    """Every file that is rehearsed is byte for byte the one that `scantling files` writes."""
    words = [sys.executable, "-m", "scantling", "files", str(BRIEFS["fold"]), "--out", str(tmp_path)]
    subprocess.run(words, env=ENV, check=True, capture_output=True)
    for one in told("fold")["compared"]["files"]:
        done = subprocess.run(
            ["/usr/bin/sha256sum", one["path"]], cwd=tmp_path, check=True, capture_output=True, text=True
        )
        assert done.stdout.split()[0] == one["digest"], one["path"]


def test_the_servers_are_real_and_stand_ins_are_labelled() -> None:
    """Real servers run from those files; whatever is a stand-in says so, and why."""
    services_ = told("millrace")["compared"]["services"]
    assert {one["program"] for one in services_ if one["real"]} >= REAL
    assert all(one["files"] for one in services_ if one["real"])
    assert all(one["why"] for one in services_ if not one["real"])


def test_a_service_more_is_one_file_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Adding a service adapter is one file."""
    own = Path(services.__path__[0])
    (tmp_path / "bells.py").write_text(
        (own / "chrony.py").read_text("utf-8").replace('SERVES = "time"', 'SERVES = "bells"'), "utf-8"
    )
    monkeypatch.setattr(services, "__path__", [*services.__path__, str(tmp_path)])
    services.adapters.cache_clear()
    try:
        assert "bells" in {one.SERVES for one in services.adapters()}
    finally:
        sys.modules.pop(f"{services.__name__}.bells", None)
        services.adapters.cache_clear()


# ------------------------------------------------------------------------------------------------- 3 every device tries


def test_every_device_takes_a_lease_and_asks_for_names() -> None:
    """Every device takes a real lease and resolves names forward and back."""
    found = as_nobody("millrace")
    assert {one.family for one in found.leases} == {4, 6}
    assert all(one.address and one.server and not one.wrong for one in found.leases)
    asked = " ".join(one.asked for one in found.answers)
    assert all(kind in asked for kind in (" A", " AAAA", " PTR", "the time"))
    assert not [one.wrong for one in found.answers if one.wrong]


def test_every_zone_tries_every_other_what_it_may_and_what_it_may_not() -> None:
    """Every flow and its complement is tried, from clients, machines, the firewall and outside."""
    cells = told("millrace")["compared"]["cells"]
    zones = {one.slug for one in designed(example("millrace")).segments}
    assert {one["source"] for one in cells} == zones | {"outside", "firewall"}
    reached = {(one["source"], one["target"].partition("/")[0]) for one in cells}
    assert {(one, other) for one in zones for other in zones if one != other} <= reached
    assert sum(one["tried"] for one in cells) > 5000


def test_a_rule_too_many_is_found_and_named() -> None:
    """A mismatch names device, target, port and the rule that decided."""
    path = "firewall/rules.nft"
    rules = next(one.content for one in written(example("fold")) if one.path == path).decode()
    end = rules.index("\n", rules.index("policy", rules.index("chain forward {")))
    oops = '\n\t\tiifname "zone-30" ip daddr 10.71.20.21 tcp dport 445 counter accept comment "oops"'
    found = with_files("fold", {path: (rules[:end] + oops + rules[end:]).encode()})
    assert not found.well
    [says] = [one for one in found.mismatches if "oops" in one.rule]
    assert re.search(r"workstations-01|laptops-01|plotter-01|in Staff", says.says)
    assert "445" in says.says
    assert "copies" in says.says


def test_a_wrong_line_of_a_brief_is_found_and_the_line_named(tmp_path: Path) -> None:
    """A planted wrong line in a brief is found and explained so that one knows which line to mend."""
    right = "leads_to: tickets, address: 203.0.113.45"
    text = changed(BRIEFS["millrace"].read_text("utf-8"), right, right.replace("113.45", "113.46"))
    (tmp_path / "brief.yaml").write_text(text, "utf-8")
    done = started(cwd=tmp_path)
    said = " ".join(done.stdout.split())
    assert done.returncode == 1, done.stderr
    assert "203.0.113.46" in said
    line = text[: text.index("203.0.113.46")].count("\n") + 1
    assert f"brief.yaml:{line}" in said


# -------------------------------------------------------------------------------------- 4 three ways, and planted errors


@pytest.mark.parametrize("name", SCENARIOS)
def test_intents_proof_and_packets_agree(name: str) -> None:
    """Intents, the exact proof of the rules as the kernel lists them, and real packets agree at every boundary."""
    agreed = told(name)["compared"]["agreement"]
    assert agreed["agree"] == agreed["probes"] > 1000
    assert agreed["differences"] == []
    assert "as the kernel lists them" in agreed["proof"]


@pytest.mark.slow
def test_planted_errors_with_an_effect_are_all_noticed() -> None:
    """Of at least 150 planted errors, proof and packets notice every one that has an effect."""
    planted = told("fold", "--planted")["compared"]["planted"]
    assert planted["planted"] >= 150
    assert planted["with_effect"] == planted["caught_by_proof"] == planted["caught_by_packets"] > 100
    assert planted["missed"] == []


# ------------------------------------------------------------------------------------------------------- 5 fault drill


@pytest.mark.slow
def test_every_fault_of_the_drill_is_noticed_located_and_healed() -> None:
    """At least twenty faults are put into one living office, each located where it was put, healed, checked again."""
    drill = told("millrace", "--drill")["compared"]["drill"]
    assert len(drill) >= 20
    assert [one["slug"] for one in drill if one["located"] != one["component"] or not one["healed"]] == []
