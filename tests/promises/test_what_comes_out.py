"""The promises of the main job: commands, book, scenarios, checks from outside, speed."""

import io
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from time import process_time
from typing import Any
from xml.etree import ElementTree as ET

import pikepdf
import pytest
from offices import BRIEFS, ROOT, changed, example, fold, millrace, planned
from ruamel.yaml import YAML

import checks
import goldens
from scantling import api
from scantling.figures import composing
from scantling.outputs.documents.book import bound
from scantling.outputs.publish import published
from scantling.plan.make import make
from scantling.plan.telling import as_json, canonical
from test_rules_are_plain import written

MILLRACE = str(BRIEFS["millrace"])


def scantling(*words: str) -> subprocess.CompletedProcess[str]:
    """The program as a person starts it, its output in a pipe."""
    env = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "src"), "LANG": "C.UTF-8"}
    command = [sys.executable, "-m", "scantling", *words]
    return subprocess.run(command, env=env, text=True, capture_output=True, check=False)


@cache
def files() -> Mapping[str, bytes]:
    """Every file of Millrace's book."""
    return published(planned(millrace()))


def test_plan_shows_everything_a_person_asks_for() -> None:
    """`plan` shows what to buy, machines, networks, storage, copies, rough price and findings, quietly on a pipe."""
    done = scantling("plan", MILLRACE)
    assert (done.returncode, done.stderr) == (0, "")
    for title in ("What to buy", "Machines", "Networks", "Storage", "Copies", "Rough price", "Findings"):
        assert f"\n{title}" in done.stdout, title
    assert "\x1b" not in done.stdout


def test_json_is_whole_and_the_same_every_time() -> None:
    """`plan --json` holds figures, findings, choices and records, and the same brief gives the same bytes."""
    first, second = scantling("plan", "--json", MILLRACE), scantling("plan", "--json", MILLRACE)
    assert first.stdout == second.stdout
    told = json.loads(first.stdout)
    assert {"figures", "findings", "choices", "records"} <= told.keys()
    assert all(
        {"id", "label", "value", "unit", "working", "source", "inputs"} <= one.keys() for one in told["figures"]
    )
    ids = [one["id"] for one in told["figures"]]
    assert len(ids) == len(set(ids))


def test_every_figure_of_the_json_has_a_source() -> None:
    """Every figure of the JSON says where its number or its formula comes from."""
    assert not [one["id"] for one in as_json(planned(millrace()))["figures"] if not one["source"]]


def test_why_shows_the_working_down_to_its_leaves() -> None:
    """`why` shows a working as a tree down to brief line, catalogue row and house rule; a typo gets the nearest id."""
    done = scantling("why", "host.cores.needed", MILLRACE)
    assert done.returncode == 0
    for leaf in ("brief.yaml:", "catalogue: ", "house rule: "):
        assert leaf in done.stdout, leaf
    typo = scantling("why", "host.cores.neded", MILLRACE)
    assert typo.returncode == 2
    assert "host.cores.needed" in typo.stderr


def test_every_figure_can_be_asked_for() -> None:
    """`why` answers for every figure of a plan."""
    plan = planned(millrace())
    for id_ in plan.figures:
        assert api.why(plan, id_)[0].address == id_


def test_exit_codes_tell_what_happened(tmp_path: Path) -> None:
    """Exit code 0 is fine, 1 a stop finding, 2 input that can't be used."""
    poor = tmp_path / "poor.yaml"
    poor.write_text(changed(fold(), "once: 14000 EUR", "once: 1000 EUR"), "utf-8")
    codes = [scantling("plan", str(path)).returncode for path in (BRIEFS["fold"], poor, tmp_path / "none.yaml")]
    assert codes == [0, 1, 2]


def test_a_pipe_that_closes_early_is_quiet() -> None:
    """A reader that goes away early ends the program without a word."""
    command = f"'{sys.executable}' -m scantling plan --json '{MILLRACE}' | head -c 10 > /dev/null"
    env = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run(["bash", "-c", command], env=env, text=True, capture_output=True, check=False)  # noqa: S607 - the shell is the pipe
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_shells_complete_the_commands(shell: str) -> None:
    """The program hands out its completion for three shells."""
    done = scantling("completion", shell)
    assert done.returncode == 0
    assert "_SCANTLING_COMPLETE" in done.stdout


def test_book_writes_plan_drawings_and_book(tmp_path: Path) -> None:
    """`book` writes the plan, the drawings and the book as PDF and HTML."""
    done = scantling("book", MILLRACE, "--out", str(tmp_path / "out"))
    assert done.returncode == 0, done.stderr
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert {"book.pdf", "book.html", "plan.json", "N-1.svg", "S-1.svg"} <= names
    assert (tmp_path / "out/plan.json").read_text("utf-8") == canonical(example("millrace"))


def test_the_pdf_is_tagged_and_claims_its_standards() -> None:
    """The book's PDF has a title, a language, a structure tree, and says it is PDF/A and PDF/UA (no validator here)."""
    with pikepdf.open(io.BytesIO(files()["book.pdf"])) as pdf:
        told = pdf.open_metadata()
        assert pdf.Root.Lang == "en"
        assert bool(pdf.Root.MarkInfo.Marked)
        assert pdf.Root.StructTreeRoot.K is not None
        assert len(pdf.pages) > 10
        assert "Millrace" in str(told["dc:title"])
        assert any("pdfaid" in key or "pdfa/ns/id" in key for key in told)
        assert any("pdfuaid" in key or "pdfua/ns/id" in key for key in told)


def test_pdf_and_page_carry_the_same_sheets() -> None:
    """PDF and HTML are printed from the same blocks: every sheet's title is in both."""
    book = bound(planned(millrace()))
    page = files()["book.html"].decode()
    with pikepdf.open(io.BytesIO(files()["book.pdf"])) as pdf, pdf.open_outline() as outline:
        titles = " | ".join(str(one.title) for one in _all(outline.root))
    for sheet in book.sheets:
        assert sheet.title.replace("'", "&#39;") in page or sheet.title in page, sheet.title
        assert sheet.title.lower() in titles.lower().replace("’", "'"), sheet.title


def _all(items: Any) -> list[Any]:
    return [one for item in items for one in (item, *_all(item.children))]


def test_the_book_tells_all_that_was_promised() -> None:
    """Machines, storage, addresses, copies, power, what can't be changed, findings, cautions and workings are in the book."""
    book = bound(planned(millrace()))
    with pikepdf.open(io.BytesIO(files()["book.pdf"])) as pdf, pdf.open_outline() as outline:
        titles = " | ".join(str(one.title) for one in _all(outline.root)).lower().replace("’", "'")
    for word in (
        "summary", "machine", "storage", "address", "backup", "loss", "power", "can't be changed", "price", "finding", "caution",
        "workings",
    ):  # fmt: skip
        assert word in titles, f"{word}: {titles}"
    assert book.notes
    assert book.cautions
    ids = {working.id for _, group in book.workings for working in group}
    assert ids >= set(planned(millrace()).figures)


@pytest.mark.parametrize("sheet", ["N-1", "N-2", "S-1", "P-1"])
def test_a_drawing_has_its_title_block(sheet: str) -> None:
    """Each drawing is well-formed, has a title and description, and a title block with client, number and date."""
    root = ET.fromstring(files()[f"{sheet}.svg"])
    said = " ".join("".join(node.itertext()) for node in root.iter())
    names = {node.tag.rsplit("}", maxsplit=1)[-1] for node in root.iter()}
    assert {"title", "desc"} <= names
    for word in ("Millrace", sheet, "2026-11-25"):
        assert word in said, word


@pytest.mark.parametrize("scenario", ["millrace", "fold"])
def test_each_scenario_has_sixty_headline_figures(scenario: str) -> None:
    """Millrace and Fold & Fell are whole, with sixty headline figures each written down."""
    kept = goldens.kept(scenario)
    assert sum(id_ in kept for id_ in goldens.headlines(scenario)) >= 60
    assert {"N-1", "N-2", "N-3", "N-4", "N-5", "N-6", "S-1", "P-1"} <= set(goldens.kept_drawings(scenario))


def _checked() -> set[str]:
    subjects = checks.read(ROOT / checks.FOLDER)
    return {str(row["rule"]).rsplit(".", maxsplit=1)[-1] for rows in subjects.values() for row in rows}


def test_every_rule_has_its_check() -> None:
    """Every rule and method has a check, counted by kind."""
    names = {name.rsplit(".", maxsplit=1)[-1] for name in written()}
    assert not names - _checked()


def test_half_of_every_subjects_checks_are_from_outside() -> None:
    """At least half of a subject's checks are not our own derivations."""
    subjects = checks.read(ROOT / checks.FOLDER)
    assert subjects
    assert not [*checks.thin_subjects(subjects), *checks.wrong_rows(subjects)]


def test_help_loads_nothing_heavy() -> None:
    """`--help` answers without loading the reader, the document compiler or the plan."""
    code = "import sys; from scantling.cli import cli\ntry: cli(['--help'])\nexcept SystemExit: pass\nprint(*sys.modules)"
    env = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run([sys.executable, "-c", code], env=env, text=True, capture_output=True, check=True)
    loaded = set(done.stdout.splitlines()[-1].split())
    assert "scantling.cli" in loaded
    assert not loaded & {"typst", "ruamel.yaml", "pydantic", "jinja2", "rich", "scantling.api", "scantling.plan.make"}


def best(work: Any, repeats: int = 3) -> float:
    """Seconds of the processor for the quickest of some runs: what else the machine is at counts little."""
    times = []
    for _ in range(repeats):
        began = process_time()
        work()
        times.append(process_time() - began)
    return min(times)


def test_a_plan_costs_a_few_readings_of_its_brief() -> None:
    """A plan with its purchase, all read, takes no longer than a dozen readings of its brief (a ratio, not a time)."""
    kept = api.stock()
    read = api.inputs(millrace(), "brief.yaml", kept)

    def anew() -> None:
        composing.forget()  # pieces of a text are kept, so that an edit reads only one anew
        api.inputs(millrace(), "brief.yaml", kept)

    reading = best(anew)
    assert best(lambda: make(read)) < 12 * reading


def test_the_book_costs_a_few_plans() -> None:
    """All files of the book take no longer than a dozen plans."""
    read = api.inputs(millrace(), "brief.yaml", api.stock())
    plan = planned(millrace())
    assert best(lambda: published(plan), 2) < 12 * best(lambda: make(read))


def test_the_locks_and_the_gates_are_there() -> None:
    """A clean clone has its lock with hashes, and what integration runs is both commands."""
    assert "--hash=sha256:" in (ROOT / "requirements.lock").read_text("utf-8")
    ran = (ROOT / ".ci/run").read_text("utf-8")
    assert "./dev check" in ran
    assert "./dev test --all" in ran


def test_a_newcomers_reference_page_holds_a_whole_brief() -> None:
    """The brief at the top of the reference page is whole: it plans as it stands."""
    page = (ROOT / "docs/brief-reference.md").read_text("utf-8")
    example = page.split("```yaml\n", 1)[1].split("```", 1)[0]
    assert YAML(typ="safe").load(example)["office"]["name"]
    assert not api.plan_text(example).stops
