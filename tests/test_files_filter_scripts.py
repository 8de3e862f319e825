"""The shell scripts beside the rules: what they leave in the kernel when nobody confirms, when somebody does, and when undone."""

from collections.abc import Iterator
from pathlib import Path

import pytest

import kernel
from rule_samples import NOWHERE, office
from scantling.outputs.files.firewall_scripts import FILL, LOAD, parties, script
from scantling.outputs.files.packet_filter import rules_text

OLD = """table inet office {
	set outside { type ifname; elements = { "outside-1" }
	}
	chain forward {
		type filter hook forward priority filter; policy drop;
		meta hour "22:00"-"23:59:59" counter accept comment "old"
	}
}
"""
ANSWERS = """#!/bin/sh
case $2 in
pay.processor.example) printf '%s STREAM\\n' 203.0.113.9 203.0.113.8 203.0.113.9 10.20.20.5 2001:db8:1::9 fe80::1 ::1 ;;
api.processor.example) printf '%s STREAM\\n' {more} ;;
*) exit 2 ;;
esac
"""


CLOCK = """#!/bin/sh
# a clock that rings when the test says so: the first that waits waits for ring1, the second for ring2
mkdir clock1 2>/dev/null && mine=ring1 || mine=ring2
until [ -e $mine ]; do /bin/sleep 0.02; done
"""
TOOLS = """cd {folder}
load() {{ sh ./load.sh $* 2>&1; }}
marks() {{ nft list ruleset | grep -o '"old"\\|r-040' | sort -u; }}
rings() {{ touch ring$1; /bin/sleep 0.5; }}
"""
LOADED, PUT_BACK = "r-040", '"old"'


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """The files as they lie on a firewall, a resolver that answers from here, and a clock that the test strikes.

    The clock strikes at the end of the test in any case, so that nothing goes on waiting.
    """
    (tmp_path / "rules.nft").write_text(rules_text(office(), ["rules"]), "utf-8")
    (tmp_path / "load.sh").write_text(script(["loads"], LOAD), "utf-8")
    (tmp_path / "fill-sets.sh").write_text(script(["fills"], FILL + parties(office())), "utf-8")
    (tmp_path / "old.nft").write_text(OLD, "utf-8")
    program(tmp_path / "sleep", CLOCK)
    answering(tmp_path, "198.51.100.77")
    yield tmp_path
    for ring in ("ring1", "ring2"):
        (tmp_path / ring).touch()


def program(path: Path, text: str) -> None:
    path.write_text(text, "utf-8")
    path.chmod(0o755)


def answering(folder: Path, more: str) -> None:
    program(folder / "getent", ANSWERS.replace("{more}", more))


def shell(folder: Path, commands: str) -> str:
    """What a shell says in a namespace of its own, where nothing is loaded yet."""
    command = ["sh", "-c", f"exec 2>&1; {TOOLS.format(folder=folder)}{commands}"]
    return kernel.alone(command, PATH=f"{folder}:{kernel.PATH}", OFFICE_FIREWALL_ROOT=f"{folder}/root").stdout


def kinds(said: str) -> list[str]:
    return [line for line in said.splitlines() if line in {LOADED, PUT_BACK, "-"}]


def test_what_nobody_confirms_goes_by_itself(folder: Path) -> None:
    said = shell(folder, "nft -f old.nft; load; marks; rings 1; marks; load confirm || echo refused")
    assert kinds(said) == [LOADED, PUT_BACK]
    assert said.endswith("refused\n")
    assert "no trial to confirm" in said


def test_what_is_confirmed_stays_and_can_be_undone(folder: Path) -> None:
    said = shell(
        folder, "nft -f old.nft; load; load confirm; rings 1; marks; load undo; marks; load undo || echo refused"
    )
    assert kinds(said) == [LOADED, PUT_BACK]
    assert said.endswith("There is nothing to go back to.\nrefused\n")


def test_a_trial_is_undone_at_once_and_only_one_runs(folder: Path) -> None:
    said = shell(
        folder, "nft -f old.nft; load; load || echo second; load undo; marks; rings 1; load; marks; rings 2; marks"
    )
    assert "second" in said
    assert kinds(said) == [PUT_BACK, LOADED, PUT_BACK]


def test_an_earlier_clock_does_not_end_a_later_trial(folder: Path) -> None:
    said = shell(folder, "nft -f old.nft; load; load confirm; load; rings 1; marks; load confirm; rings 2; marks")
    assert kinds(said) == [LOADED, LOADED]


def test_where_nothing_stood_nothing_comes_back(folder: Path) -> None:
    assert shell(folder, "load; rings 1; nft list tables").endswith("load.sh confirm\n")


def test_a_file_that_is_wrong_changes_nothing(folder: Path) -> None:
    (folder / "rules.nft").write_text("table inet office { nonsense }", "utf-8")
    said = shell(folder, "nft -f old.nft; load || echo refused; marks; ls root 2>&1")
    assert kinds(said) == [PUT_BACK]
    assert "refused" in said


def test_what_comes_back_is_what_stood_wherever_the_clock_stands(folder: Path) -> None:
    listed = "TZ=UTC nft -s list ruleset"
    said = shell(
        folder,
        f"export TZ=America/Los_Angeles; nft -f old.nft; {listed} >a; load; rings 1; {listed} >b; cmp a b && echo same",
    )
    assert said.endswith("same\n")


def test_names_fill_the_sets(folder: Path) -> None:
    said = shell(
        folder,
        "load; load confirm; nft list set inet office party-processor-4; nft list set inet office party-processor-6",
    )
    assert "elements = { 198.51.100.77, 203.0.113.8/31 }" in said
    assert "elements = { 2001:db8:1::9 }" in said
    assert "10.20.20.5" not in said
    assert "fe80" not in said


def test_a_name_without_answer_leaves_its_party(folder: Path) -> None:
    fill = "sh ./fill-sets.sh && echo well || echo failed"
    said = shell(
        folder,
        f"load; {fill}; printf '#!/bin/sh\\nexit 2\\n' >getent; {fill}; nft list set inet office party-processor-4",
    )
    assert "well" in said
    assert "failed" in said
    assert "elements = { 198.51.100.77, 203.0.113.8/31 }" in said


@pytest.mark.parametrize(
    "answer", ["'1.2.3.4; add rule'", NOWHERE, "127.0.0.1", "192.168.1.1", "'$(id)'", "fc00::1", "''"]
)
def test_no_odd_answer_gets_in(folder: Path, answer: str) -> None:
    answering(folder, answer)
    said = shell(folder, "load; nft list set inet office party-processor-4")
    assert "api.processor.example has no public address" in said or "1.2.3.4," in said
    assert "192.168" not in said
    assert "add rule" not in said
