"""The promises of choosing and trusting, tried through the command line as a new user would."""

import json
import os
import re
import shutil
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from offices import BRIEFS, ROOT, changed

from scantling import api

ENV = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "src"), "COLUMNS": "200"}


def scantling(*words: str, cwd: Path | None = None, said: str = "") -> "subprocess.CompletedProcess[str]":
    """Run a command as a person would; `said` is what is typed into it."""
    command = [sys.executable, "-m", "scantling", *words]
    return subprocess.run(command, env=ENV, text=True, capture_output=True, check=False, cwd=cwd, input=said)


@pytest.fixture
def office(tmp_path: Path) -> Path:
    """A folder with Millrace's brief and nothing standing."""
    shutil.copy(BRIEFS["millrace"], tmp_path / "brief.yaml")
    return tmp_path


def plan_of(folder: Path, *more: str) -> dict[str, Any]:
    """The plan of a folder's brief as JSON."""
    done = scantling("plan", "brief.yaml", "--json", *more, cwd=folder)
    assert done.returncode in (0, 1), done.stderr
    made: dict[str, Any] = json.loads(done.stdout)
    return made | {"figures": {figure["id"]: figure for figure in made["figures"]}}


def addresses(plan: dict[str, Any]) -> dict[str, Any]:
    """Every figure of the address plan that names an address, by its id."""
    figures = plan["figures"]
    wanted = re.compile(r"addresses\.(?:[\w-]+\.(?:subnet|machines|ranges)|gateways|block)$")
    return {id_: figure["value"] for id_, figure in figures.items() if wanted.fullmatch(id_)}


def test_keep_asks_first_and_writes_what_was_issued(office: Path) -> None:
    """`keep` shows what it would write, asks, and writes what the plan issued into standing.yaml."""
    refused = scantling("keep", "brief.yaml", cwd=office, said="no\n")
    assert not (office / "standing.yaml").exists()
    assert "10.44." in refused.stdout + refused.stderr
    done = scantling("keep", "brief.yaml", "--bought", "--yes", cwd=office)
    assert done.returncode in (0, 1), done.stderr
    assert "issued:" in (office / "standing.yaml").read_text("utf-8")


def test_what_stands_costs_nothing(office: Path) -> None:
    """After `keep --bought` the same brief has nothing left to buy and not one address moved."""
    before = addresses(plan_of(office))
    scantling("keep", "brief.yaml", "--bought", "--yes", cwd=office)
    after = plan_of(office)
    assert addresses(after) == before
    figures = after["figures"]
    parts = {id_: f["value"] for id_, f in figures.items() if id_.startswith("money.parts.")}
    assert parts
    assert set(parts.values()) == {"0.00"}


def test_an_addition_moves_no_address(office: Path) -> None:
    """A new person, device or zone moves nothing that was issued; taken away and put back it gets the same again."""
    scantling("keep", "brief.yaml", "--yes", cwd=office)
    brief, old = office / "brief.yaml", (office / "brief.yaml").read_text("utf-8")
    before = addresses(plan_of(office))
    more = changed(old, "  cameras:    ", "  tills: {kind: pc, count: 3, zone: staff}\n  cameras:    ")
    brief.write_text(more, "utf-8")
    with_more = addresses(plan_of(office))
    for id_, value in before.items():
        if id_.endswith(".subnet"):
            assert with_more[id_] == value
    brief.write_text(old, "utf-8")
    assert addresses(plan_of(office)) == before


def test_year_two_changes_only_what_it_must(office: Path) -> None:
    """With 30 staff, one disk swapped and prices up 8 %, the plan buys no second server and renumbers nothing."""
    before = plan_of(office)
    scantling("keep", "brief.yaml", "--bought", "--yes", cwd=office)
    brief, standing = office / "brief.yaml", office / "standing.yaml"
    text = changed(brief.read_text("utf-8"), "heads: 12, growth", "heads: 18, growth")
    brief.write_text(changed(text, "as_of: 2026-11-25", "as_of: 2027-11-25"), "utf-8")
    kept = standing.read_text("utf-8")
    line = next(line for line in kept.splitlines() if "serves: bulk" in line)
    fewer = re.sub(r"count: (\d+)", lambda found: f"count: {int(found[1]) - 1}", line)
    article = re.search(r"article: ([\w-]+)", line)
    assert article
    swapped = f"  bulk-swapped: {{serves: bulk, article: spin-16, stands_for: {article[1]}, on: 2027-06-01}}"
    standing.write_text(kept.replace(line, f"{fewer}\n{swapped}"), "utf-8")
    dearer(office / "firm", Decimal("1.08"))
    after = plan_of(office)
    subnets = {id_: value for id_, value in addresses(before).items() if id_.endswith(".subnet")}
    assert {id_: value for id_, value in addresses(after).items() if id_.endswith(".subnet")} == subnets
    assert subnets
    bought = {id_: f["value"] for id_, f in after["figures"].items() if id_.startswith("money.parts.")}
    assert bought["money.parts.host"] == "0.00"
    assert after["figures"]["purchase.host"]["value"] == before["figures"]["purchase.host"]["value"]
    assert [id_ for id_, price in bought.items() if price != "0.00"] == []
    assert after["figures"]["money.labour.total"]["value"] == "0.00"
    assert not [finding for finding in after["findings"] if finding["weight"] == "stop"]


def dearer(folder: Path, factor: Decimal) -> None:
    """A firm's folder in which every price of the catalogue is so many times as high."""
    folder.mkdir()
    for kind, rows in api.stock().catalogue.rows.items():
        priced = {slug: row.values["price"] * factor for slug, row in rows.items() if "price" in row.values}
        lines = [f"  {slug}: {{price: {price:.2f} EUR}}" for slug, price in priced.items()]
        if lines:
            (folder / f"{kind}.yaml").write_text("\n".join([f"{kind}:", *lines, ""]), "utf-8")


def test_contradictions_in_standing_are_told_at_their_place(office: Path) -> None:
    """Two machines at one address, an unknown bought part and an address outside every zone are told at once, with their places."""
    (office / "standing.yaml").write_text(
        "bought:\n  disk: {serves: bulk, article: no-such-disk}\nissued:\n  zones:\n"
        "    staff: {number: 10, network: 10.44.10.0/24, gateway: 10.44.10.1}\n  addresses:\n"
        "    a: {zone: staff, holder: files, address: 10.44.10.5}\n    b: {zone: staff, holder: names, address: 10.44.10.5}\n"
        "    c: {zone: staff, holder: print, address: 10.99.10.5}\n",
        "utf-8",
    )
    done = scantling("plan", "brief.yaml", cwd=office)
    assert done.returncode == 2
    places = re.findall(r"^standing\.yaml:(\d+):(\d+): ", done.stderr, re.MULTILINE)
    assert [line for line, _ in places] == ["2", "8", "9"]


def test_the_catalogue_is_wide() -> None:
    """At least 20 hosts, 30 processors, 12 memory modules, 30 disks, 8 battery units, 8 switches, 6 cabinets, 8 backup targets."""
    rows = api.stock().catalogue.rows
    least = {
        "host": 20,
        "processor": 30,
        "module": 12,
        "disk": 30,
        "ups": 8,
        "switch": 8,
        "cabinet": 6,
        "backup": 8,
        "build": 1,
    }
    assert {kind: len(rows.get(kind, {})) for kind, few in least.items() if len(rows.get(kind, {})) < few} == {}


def test_a_firms_row_speaks_in_the_working(office: Path) -> None:
    """A firm's price lies over ours, row by row, and the working says which of the two spoke."""
    (office / "firm").mkdir()
    (office / "firm" / "cabinets.yaml").write_text("cabinet:\n  floor-32: {price: 841.00 EUR}\n", "utf-8")
    told = scantling("why", "money.parts.cabinet", "brief.yaml", cwd=office)
    assert "firm/cabinets.yaml:2" in told.stdout


def test_a_price_list_is_taken_whole_or_not_at_all(office: Path) -> None:
    """A price list with odd rows is refused, each row at file:row:column, and nothing is half-imported."""
    (office / "list.csv").write_text(
        "number,name,price\nfloor-24,Cabinet,691.00\nbox-96,Backup box,\nfloor-24,Cabinet again,692.00\n", "utf-8"
    )
    done = scantling("prices", "list.csv", "--firm", "firm", "--yes", cwd=office)
    assert done.returncode == 2
    assert re.search(r"list\.csv:3:", done.stderr)
    assert re.search(r"list\.csv:4:", done.stderr)
    assert not (office / "firm" / "prices.yaml").exists()


def test_a_second_solver_confirms_every_plan(office: Path) -> None:
    """A second, independent solver confirms the price of every plan to the cent, and standard output stays clean."""
    done = scantling("plan", "brief.yaml", "--json", cwd=office)
    assert json.loads(done.stdout)["confirmed"]["agrees"] is True
    assert done.stdout.startswith("{")


def test_the_weighing_shows_what_else_and_why_not(office: Path) -> None:
    """`plan --weigh` shows the ten next-best sets, the price of every demand, and what was never chosen and why."""
    made = plan_of(office, "--weigh")
    weighed = made["weighed"]
    assert len(weighed["next_best"]) == 10
    assert weighed["prices"]
    assert weighed["never"]


def test_options_of_the_firm_stand_side_by_side(office: Path) -> None:
    """Firewall as guest or box, no server at all, one host or two: each a full plan, side by side."""
    done = scantling("options", "brief.yaml", cwd=office)
    assert done.returncode in (0, 1), done.stderr
    for said in ("box", "no server", "two smaller servers"):
        assert said in done.stdout.lower()


def test_a_pin_has_a_price(office: Path) -> None:
    """A pin is shown with its reason and what it costs; one that breaks a demand is a stop finding."""
    brief = office / "brief.yaml"
    text = (
        brief.read_text("utf-8") + "\npins:\n  purchase.cabinet: {value: floor-42, because: the landlord has one}\n"
    )
    brief.write_text(text, "utf-8")
    done = scantling("plan", "brief.yaml", cwd=office)
    assert "the landlord has one" in done.stdout
    assert re.search(r"purchase\.cabinet.*EUR", done.stdout)


def test_two_briefs_are_compared(office: Path) -> None:
    """`compare` tells moved figures with both workings, the purchase's difference, findings and records; as text, JSON and a page."""
    other = office / "more"
    other.mkdir()
    text = changed((office / "brief.yaml").read_text("utf-8"), "heads: 12, growth", "heads: 30, growth")
    (other / "brief.yaml").write_text(text, "utf-8")
    done = scantling("compare", "brief.yaml", "more/brief.yaml", "--page", "moved.html", cwd=office)
    assert done.returncode in (0, 1), done.stderr
    assert "host.memory.needed" in done.stdout
    assert (office / "moved.html").read_text("utf-8").startswith("<!doctype html>")


def test_an_office_is_interviewed_from_answers(tmp_path: Path) -> None:
    """`new` with a file of answers writes a commented brief that plans, and nothing is asked."""
    (tmp_path / "answers.yaml").write_text(
        "office.name: The Lantern Library\noffice.country: IE\noffice.as_of: 2026-11-25\nsupport.who: Orla Quinn\n"
        "people.roles: [Desk]\npeople.roles.desk.heads: 7\nservices: [files, print]\ndata.sets: [Shared documents]\n"
        "data.sets.shared-documents.size: 600 GB\nbudget.once: 20000 EUR\n",
        "utf-8",
    )
    done = scantling("new", "lantern", "--answers", "answers.yaml", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    brief = (tmp_path / "lantern" / "brief.yaml").read_text("utf-8")
    assert "The Lantern Library" in brief
    assert "assumed, ask" in brief
    assert scantling("plan", "lantern/brief.yaml", cwd=tmp_path).returncode in (0, 1)


def test_an_office_like_another_is_scaled(tmp_path: Path) -> None:
    """With --like millrace and 12 people, `new` starts from that office, scaled, and asks only what is personal."""
    said = "Mill Lane Players\nIE\n2026-11-25\nNuala Byrne\n\n4 h\n26000 EUR\n23 %\n"
    done = scantling("new", "lane", "--like", "millrace but 12 people", cwd=tmp_path, said=said)
    assert done.returncode == 0, done.stderr
    made = json.loads(scantling("plan", "lane/brief.yaml", "--json", cwd=tmp_path).stdout)
    assert next(figure["value"] for figure in made["figures"] if figure["id"] == "people.heads") == 12


def test_the_interview_sheet_is_a_printable_form(tmp_path: Path) -> None:
    """The interview sheet is a PDF to take to the meeting."""
    done = scantling("new", "lantern", "--sheet", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "lantern" / "interview.pdf").read_bytes().startswith(b"%PDF-")


def test_the_cabinet_is_drawn_from_the_front(office: Path) -> None:
    """The book's folder holds a front elevation of the cabinet with height marks and every part."""
    done = scantling("book", "brief.yaml", "--no-weigh", "--out", "out", cwd=office)
    assert done.returncode in (0, 1), done.stderr
    assert any("front" in path.read_text("utf-8").lower() for path in (office / "out").glob("P-*.svg"))


def test_the_switch_is_chosen() -> None:
    """The switch is chosen exactly from ports and powered devices, and no allowance for ports is left in the price."""
    figures = plan_of(BRIEFS["millrace"].parent)["figures"]
    assert "purchase.switch" in figures
    assert "money.ports.price" not in figures


def test_brackwater_plans() -> None:
    """Brackwater Joinery, 48 people in two shifts, plans without a stop finding."""
    done = scantling("plan", str(ROOT / "examples/brackwater/brief.yaml"))
    assert done.returncode == 0, done.stdout + done.stderr


def test_set_changes_one_line(office: Path) -> None:
    """`set` changes one value by its id: one line differs, comments stay."""
    old = (office / "brief.yaml").read_text("utf-8").splitlines()
    done = scantling("set", "people.roles.programme.heads", "18", "brief.yaml", "--yes", cwd=office)
    assert done.returncode == 0, done.stderr
    new = (office / "brief.yaml").read_text("utf-8").splitlines()
    assert len(old) == len(new)
    assert sum(one != other for one, other in zip(old, new, strict=True)) == 1
