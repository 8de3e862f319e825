"""The command line as a person and a script meet it: exit codes, quiet pipes, one sentence for whatever goes wrong."""

import json
import os
import pty
import shutil
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from shutil import which

import pytest

from offices import BRIEFS, ROOT, changed, example, fold, millrace, planned
from scantling import api, cli
from scantling.plan.telling import why

MILLRACE = str(BRIEFS["millrace"])
FOLD = str(BRIEFS["fold"])
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT / "src"), "NO_COLOR": "", "TERM": "xterm-256color"}
PLAN = api.plan
DEEPEST = 16
"""Measured over both examples; the design wishes for 8 (a bound that may only fall, but for a trade that joins)."""


def run(*words: str, **more: str) -> subprocess.CompletedProcess[str]:
    """One command in a process of its own, as a script would start it."""
    command = [sys.executable, "-m", "scantling", *words]
    return subprocess.run(
        command, capture_output=True, text=True, encoding="utf-8", env={**ENVIRONMENT, **more}, check=False
    )


def shell(line: str) -> subprocess.CompletedProcess[str]:
    """One line of a shell; `scantling` in it is the program."""
    line = line.replace("scantling", f"'{sys.executable}' -m scantling")
    return subprocess.run(
        ["/bin/bash", "-o", "pipefail", "-c", line], capture_output=True, text=True, env=ENVIRONMENT, check=False
    )


def one_sentence(told: subprocess.CompletedProcess[str]) -> str:
    """What a person is told; no traceback, nothing on the other channel."""
    assert "Traceback" not in told.stderr + told.stdout
    assert told.stdout == ""
    assert told.stderr.strip()
    return told.stderr.strip()


def stopped_brief(folder: Path) -> Path:
    """Millrace with nobody to look after the server, which is a stop."""
    text = changed(millrace(), "support:\n  who: Orla Quinn, consultant\n", "support:\n")
    file = folder / "brief.yaml"
    file.write_text(text, encoding="utf-8")
    assert planned(text).stops
    return file


def test_a_plan_in_words_is_quiet_and_fine() -> None:
    """Exit 0, nothing on the error channel, no escape codes, every part that a client asks for."""
    told = run("plan", MILLRACE)
    assert (told.returncode, told.stderr) == (0, "")
    assert "\x1b" not in told.stdout
    parts = "What to buy", "Machines", "Networks", "Storage", "Copies", "Rough price", "Findings"
    places = [told.stdout.index(f"\n{part}") for part in parts]
    assert places == sorted(places)


def test_a_stop_finding_gives_one_everywhere(tmp_path: Path) -> None:
    brief = str(stopped_brief(tmp_path))
    for words in (
        ["plan", brief],
        ["plan", brief, "--json"],
        ["book", brief, "--no-weigh", "--out", str(tmp_path / "out")],
    ):
        assert run(*words).returncode == 1, words
    assert (tmp_path / "out/book.pdf").is_file()
    assert run("why", "host.cores.needed", brief).returncode == 0


def test_a_declined_stop_no_longer_stops(tmp_path: Path) -> None:
    text = stopped_brief(tmp_path).read_text(encoding="utf-8")
    codes = {told.finding.code for told in planned(text).stops}
    lines = "".join(f"  {code}: {{by: Aoife Brennan, on: 2026-11-20, because: known}}\n" for code in sorted(codes))
    made = planned(f"{text}\ndeclined:\n{lines}")
    assert not made.stops
    assert {told.finding.code for told in made.findings if told.declined} >= codes


def test_json_is_the_same_bytes_every_time(tmp_path: Path) -> None:
    """Other process, other seed of Python's hashes, other folder, other width: no other byte."""
    copy = tmp_path / "brief.yaml"
    copy.write_text(millrace(), encoding="utf-8")
    shutil.copy(BRIEFS["millrace"].with_name("standing.yaml"), tmp_path)
    first = run("plan", MILLRACE, "--json", PYTHONHASHSEED="1", COLUMNS="40")
    second = run("plan", str(copy), "--json", PYTHONHASHSEED="2", COLUMNS="200", LC_ALL="C", TZ="Asia/Tokyo")
    assert first.stdout == second.stdout
    assert (first.returncode, first.stderr, second.stderr) == (0, "", "")
    assert {"figures", "findings", "choices", "records"} <= json.loads(first.stdout).keys()


def test_text_can_be_printed_where_the_terminal_knows_ascii_only() -> None:
    """An old terminal gets question marks or escapes, never a traceback."""
    for words in (["plan", MILLRACE], ["plan", MILLRACE, "--json"], ["why", "host.cores.needed", MILLRACE]):
        told = run(*words, PYTHONIOENCODING="ascii", PYTHONUTF8="0")
        assert told.returncode == 0, told.stderr
        assert told.stderr == ""


@pytest.mark.parametrize("words", ["plan", "plan --json", "why host.cores.needed"])
def test_a_reader_that_has_gone_ends_it_quietly(words: str) -> None:
    """`| head -1` with pipefail: the exit code is the plan's own, nothing is said."""
    for tail in ("head -1", "true"):
        told = shell(f"scantling {words} '{MILLRACE}' | {tail}")
        assert (told.returncode, told.stderr) == (0, "")


@pytest.mark.parametrize("words", [f"plan '{MILLRACE}'", f"plan '{MILLRACE}' --json", "--help", "completion bash"])
def test_an_answer_that_cannot_be_written_is_told(words: str) -> None:
    """/dev/full is a disk without room; >&- is no output at all."""
    for where, says in ((">/dev/full", "No space left"), (">&-", "closed")):
        told = shell(f"scantling {words} {where}")
        assert told.returncode == 2
        assert says in one_sentence(told)


def test_a_terminal_sees_colour_and_a_sign_of_life() -> None:
    """On a terminal of its own: red pencil, the ruled tables, and no more columns than it has."""
    leader, follower = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "scantling", "plan", MILLRACE],
        stdout=follower, stderr=follower, env={**ENVIRONMENT, "COLUMNS": "100"}, close_fds=True,
    ) as process:  # fmt: skip
        os.close(follower)
        seen = b""
        while chunk := _read(leader):
            seen += chunk
        assert process.wait() == 0
    os.close(leader)
    assert b"\x1b[" in seen
    assert b"Looking for the cheapest set" in seen


def _read(leader: int) -> bytes:
    try:
        return os.read(leader, 65536)
    except OSError:  # Linux tells the end of a terminal so
        return b""


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["pln", MILLRACE], "'plan'"),
        (["plan", "--jsn", MILLRACE], "--json"),
        (["plan", MILLRACE, "another.yaml"], "another.yaml"),
        (["why"], "ID"),
        (["completion", "bsh"], "bash"),
        (["book", MILLRACE, "--out"], "--out"),
        (["plan", "no-such-folder/brief.yaml"], "no such file"),
        (["plan", str(ROOT / "examples")], "folder"),
        (["plan", ""], "folder"),
        (["why", "host.cores.neded", MILLRACE], "host.cores.needed"),
        (["why", "money.totl", MILLRACE], "money.total"),
        (["why", "", MILLRACE], "no figure called"),
        (["why", "host.cores.needed/nothing", MILLRACE], "one, other"),
        (["why", "zzzzqqqq", MILLRACE], "--json"),
        (["why", "\x1b[31mred", MILLRACE], "<U+001B>"),
        (["book", MILLRACE, "--no-weigh", "--out", "/dev/null/x"], "Not a directory"),
    ],
)
def test_bad_usage_and_bad_input_give_two_and_a_sentence(
    words: list[str], says: str, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """By the program's own main in this process; what a process of its own adds is tried beside it."""
    made = example("millrace")
    monkeypatch.setattr(api, "plan", lambda brief, *more: made if str(brief) == MILLRACE else PLAN(brief, *more))
    monkeypatch.setattr(sys, "argv", ["scantling", *words])
    with pytest.raises(SystemExit) as end:
        cli.main()
    assert end.value.code == 2
    said = capfd.readouterr()
    assert says in one_sentence(subprocess.CompletedProcess(words, 2, said.out, said.err))


def test_an_empty_file_is_told(tmp_path: Path) -> None:
    empty = tmp_path / "brief.yaml"
    empty.touch()
    told = run("plan", str(empty))
    assert (told.returncode, one_sentence(told)) == (2, "brief.yaml:1:1: the file is empty")


def test_a_brief_is_looked_for_where_one_stands(tmp_path: Path) -> None:
    """Without an argument it is brief.yaml of this folder."""
    (tmp_path / "brief.yaml").write_text(fold(), encoding="utf-8")
    command = [sys.executable, "-m", "scantling", "why", "money.total"]
    told = subprocess.run(command, capture_output=True, text=True, env=ENVIRONMENT, cwd=tmp_path, check=False)
    assert told.returncode == 0
    assert told.stdout.startswith("money.total")


def test_help_names_every_command() -> None:
    told = run("--help")
    assert told.returncode == 0
    listed = {line.split()[0] for line in told.stdout.split("Commands:\n")[1].splitlines() if line.strip()}
    commands = {*cli.cli.commands, *cli.LAZY}
    assert listed == commands
    assert "..." not in told.stdout.split("Commands:\n")[1], "a command's sentence is cut short"
    for command in commands:
        assert run(command, "-h").returncode == 0


def test_completion_scripts_are_read_by_their_shells(tmp_path: Path) -> None:
    for name in ("bash", "zsh", "fish"):
        script = run("completion", name)
        assert (script.returncode, script.stderr) == (0, "")
        assert "_SCANTLING_COMPLETE" in script.stdout
        file = tmp_path / name
        file.write_text(script.stdout, encoding="utf-8")
        if (program := which(name)) is not None:  # bash is always there; the others where they are installed
            subprocess.run([program, "-n", str(file)], check=True)


def test_completion_answers() -> None:
    """As the script asks: the words so far, and which of them stands under the cursor."""
    told = run(_SCANTLING_COMPLETE="bash_complete", COMP_WORDS="scantling p", COMP_CWORD="1")
    assert "plan" in told.stdout
    assert "why" not in told.stdout


@pytest.mark.parametrize("text", [millrace, fold], ids=["millrace", "fold"])
def test_why_tells_every_figure_down_to_its_leaves(text: object) -> None:
    """Every named figure: whole lines, each told once, no further than a choice; how deep it goes is measured."""
    made = planned(millrace() if text is millrace else fold())
    deepest = 0
    for id_, figure in made.figures.items():
        lines = api.why(made, id_)
        assert lines[0].address == id_
        assert all(line.address and line.value and line.working for line in lines), id_
        assert all(lower.depth <= upper.depth + 1 for upper, lower in pairwise(lines))
        once = [line.address for line in lines if line.working != "told above" and "/" not in line.address]
        assert len(once) == len(set(once)), id_
        deepest = max(deepest, *(line.depth for line in lines))
        assert list(why(made, figure)) == list(lines)
    assert deepest <= DEEPEST


def test_every_line_of_a_working_can_be_asked_for() -> None:
    """Leaves, figures without a name of their own (parent/argument), and those behind a choice."""
    made = planned(millrace())
    for id_ in ("host.cores.needed", "money.total", "addresses.guests.ranges", "purchase.host"):
        for line in api.why(made, id_):
            again = api.why(made, line.address)[0]
            assert (again.address, again.value) == (line.address, line.value)


def test_a_working_goes_down_to_brief_catalogue_standard_or_house_rule() -> None:
    told = run("why", "host.cores.needed", MILLRACE)
    assert told.returncode == 0
    for leaf in ("brief: brief.yaml:", "catalogue: profiles.yaml:", "house rule: host.yaml:"):
        assert leaf in told.stdout
    assert max(map(len, told.stdout.splitlines())) <= 120


def test_a_choice_tells_its_runners_up() -> None:
    line = api.why(planned(millrace()), "purchase.host")[0]
    assert "cheapest set" in line.working
    assert "EUR" in line.working
    assert "¤" not in line.working
