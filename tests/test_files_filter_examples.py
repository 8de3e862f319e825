"""The examples' own firewall files: each taken by the program that it is for, the same each time, none wider than the rules."""

import json
import shutil
import subprocess
import sysconfig
from pathlib import Path

import pytest

import kernel
from offices import BRIEFS, example
from referees.access_lists import passes
from referees.filtering import Moment, deciding
from rule_packets import packets_of, standing
from scantling.figures import OUTSIDE, Leg, RuleSet, Verdict, Zone
from scantling.outputs.files import Written
from scantling.outputs.files import access_lists, firewall_scripts, firewall_settings, packet_filter, rule_sheets
from scantling.outputs.files.access_lists import lists, text_of

MODELS = Path(sysconfig.get_path("data"), "share/yang/modules")
WRITERS = (access_lists, firewall_scripts, firewall_settings, packet_filter, rule_sheets)
NOON_ON_MONDAY = Moment(0, 12 * 60)


def files(name: str) -> dict[str, Written]:
    return {one.path: one for writer in WRITERS for one in writer.write(example(name))}


def complaint(one: Written, folder: Path) -> str:
    """What the program that a file names says against it; the models of the lists are those that are published."""
    place = folder / Path(one.path).name
    place.write_bytes(one.content)
    words = one.checked_by.replace("{file}", str(place)).split()
    if words[0] == "yanglint":
        folders = ["-p", str(MODELS / "ietf"), "-p", str(MODELS / "iana")]
        words = [words[0], *folders, *(str(next(MODELS.rglob(w))) if w.endswith(".yang") else w for w in words[1:])]
    program = shutil.which(words[0], path=kernel.PATH)
    assert program, f"{words[0]} is missing"
    if words[0] == "nft":
        return kernel.accepted(one.content.decode())
    run = subprocess.run([program, *words[1:]], capture_output=True, text=True, check=False)
    return run.stderr if run.returncode else ""


@pytest.mark.parametrize("name", BRIEFS)
def test_every_program_takes_its_file(name: str, tmp_path: Path) -> None:
    written = files(name)
    checked = [one for one in written.values() if one.checked_by]
    assert {"firewall/rules.nft", "firewall/acl.json", "firewall/load.sh"} <= {one.path for one in checked}
    assert {one.path: complaint(one, tmp_path) for one in checked} == dict.fromkeys((one.path for one in checked), "")
    assert all(one.what and one.goes and one.load and one.undo for one in written.values())


@pytest.mark.parametrize("name", BRIEFS)
def test_every_zone_has_its_sheet_and_every_file_its_head(name: str) -> None:
    plan, written = example(name), files(name)
    sheets = {f"sheets/{leg.zone}.txt" for leg in plan.records(Leg) if leg.zone != OUTSIDE}
    assert len(sheets) == len(plan.records(Zone))
    assert sheets <= set(written)
    for one in written.values():
        head = one.content.decode().split("\n\n")[0]
        assert one.path.endswith(".json") or "Made by scantling: edit the brief, not this file." in head


@pytest.mark.parametrize("name", BRIEFS)
def test_the_lists_pass_nothing_that_the_rules_drop(name: str) -> None:
    rules = standing(example(name).records(RuleSet)[0])
    content, unsaid = lists(rules)
    data = json.loads(text_of(content))
    exact = not unsaid.left_out and not unsaid.widened
    for packet, _ in packets_of(rules):
        rule = deciding(packet, rules, NOON_ON_MONDAY)
        meant = rule is not None and rule.verdict is Verdict.ACCEPT
        passed = packet.state == "new" and not packet.translated and passes(data, packet, rules.legs)
        assert passed <= meant, (packet, rule)
        assert not exact or packet.state != "new" or passed == meant, (packet, rule)
