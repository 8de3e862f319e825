"""Every finding of machines, host, storage, backup, premises, power and money, raised from a changed brief and nowhere else."""

import re
from pathlib import Path

import pytest
from generated_offices import brief
from offices import BRIEFS, changed, codes, example, fold, millrace, planned
from option_samples import other_ways
from standing_samples import beside_what_stands

from scantling.figures.numbers import counted
from scantling.plan.spine import trades

DOCS = Path(__file__).parent.parent / "docs/findings"
ONE_AND_SEVERAL = (
    r"(?<![\w.])1 (?!is\b|address\b)\w+s\b(?! (?:the|a)\b)|(?<![\w.])1 \w+ (?:are|have|lie|let|keep|stay|lead|come) "
)
SEVERAL_AND_ONE = (
    r"(?<![\w.])(?:[2-9]|\d{2,}) (?:intent|party|zone|device|conversation|machine|name|line|port|address)\b"
)


def pin(text: str, *lines: tuple[str, str]) -> str:
    """The brief with pins added."""
    made = "".join(f'  {id_}: {{value: "{value}", because: to see the finding}}\n' for id_, value in lines)
    return f"{text}\npins:\n{made}"


def one_core() -> str:
    """A maker who asks for one core."""
    return changed(fold(), "copies:    {profile: backup,", "copies:    {profile: backup, cores: 1,")


def one_port() -> str:
    """A firewall with one port."""
    return changed(millrace(), "ports: 2, outside: own", "ports: 1, outside: own")


def shared_port() -> str:
    """A firewall whose outside port is shared."""
    return changed(millrace(), "outside: own", "outside: shared")


def small_memory() -> str:
    """Too little memory for a cold start."""
    return pin(fold(), ("purchase.memory", "plain-16"))


def huge() -> str:
    """A server three times too large."""
    return pin(fold(), ("purchase.processor", "2x-large-24"), ("purchase.host", "tower-two-12"))


def few_cores() -> str:
    """Fewer cores than needed."""
    return pin(millrace(), ("purchase.processor", "middle-8"))


def nobody() -> str:
    """No support named."""
    return changed(fold(), "support:\n  who: Orla Quinn, consultant\n  reach: 4 h\n\n", "")


def slow_rebuild() -> str:
    """An array of the largest spinning disks."""
    return pin(millrace(), ("purchase.bulk", "4x-spin-20-single-parity"))


def single_boot() -> str:
    """One boot disk."""
    return changed(fold(), "data:\n", "data:\n  boot_disks: 1\n")


def full_array() -> str:
    """An array too small for the horizon."""
    return pin(millrace(), ("purchase.bulk", "3x-spin-8-single-parity"))


def left_out() -> str:
    """A body of data that is not to be copied."""
    return changed(fold(), "adds: 600 GB/year", "adds: 600 GB/year, copied: no")


def no_backup() -> str:
    """No backup at all."""
    return changed(changed(fold(), "near: box", "near: none"), "away: disks", "away: none")


def same_array() -> str:
    """The copy on the array it should save."""
    return changed(fold(), "near: box", "near: same array")


def nothing_away() -> str:
    """No copy elsewhere."""
    return changed(fold(), "away: disks", "away: none")


def hurried() -> str:
    """A service that must be back at once."""
    return changed(millrace(), "files:      {profile: files, down: 16 h", "files:      {profile: files, down: 1 h")


def short_window() -> str:
    """A window too short for the nightly run."""
    return changed(millrace(), 'window: "23:45-08:00"', 'window: "03:00-03:05"')


def no_loss_allowed() -> str:
    """A service that may lose nothing."""
    return changed(
        millrace(),
        "tickets-db: {name: Ticketing database, profile: database, down: 4 h, lost: 24 h",
        "tickets-db: {name: Ticketing database, profile: database, down: 4 h, lost: 1 h",
    )


def shallow() -> str:
    """A space 500 mm deep."""
    return changed(millrace(), "depth: 1000 mm", "depth: 500 mm")


def silent() -> str:
    """A limit that no server keeps."""
    return changed(fold(), "noise: 38 dB", "noise: 20 dB")


def closed_up() -> str:
    """A cupboard without air."""
    return changed(fold(), "ventilated: yes", "ventilated: no")


def weak_circuit() -> str:
    """A circuit that is nearly full."""
    return changed(fold(), "already: 400 W", "already: 2800 W")


def flat_battery() -> str:
    """The smallest battery unit under the largest server."""
    return pin(changed(millrace(), "hold: 10 min", "hold: 0 min"), ("purchase.ups", "unit-750"))


def long_hold() -> str:
    """Longer than any battery lasts."""
    return changed(millrace(), "hold: 10 min", "hold: 300 min")


def poor() -> str:
    """A budget of a thousand."""
    return changed(fold(), "once: 14000 EUR", "once: 1000 EUR")


def unconfirmed() -> str:
    """Array levels that nobody confirmed."""
    return changed(
        fold(), "  array-levels: {by: Ruth Fell, on: 2026-11-18}", "  address-plan: {by: Ruth Fell, on: 2026-11-18}"
    )


def risky() -> str:
    """An array whose loss is likely over the horizon."""
    return pin(millrace(), ("purchase.bulk", "8x-spin-20-single-parity"))


def all_ceilings() -> str:
    """As it stands: ceilings that can't all be kept."""
    return pin(millrace(), ("purchase.memory", "4x-registered-32"))


def low_cupboard() -> str:
    """A cupboard lower than the parts stacked."""
    return changed(fold(), "height: 900 mm", "height: 560 mm")


def box_on_top() -> str:
    """The copy box above the shoulder."""
    roomy = changed(millrace(), "depth: 1000 mm, height: 2000 mm", "depth: 1200 mm, height: 2200 mm")
    return pin(roomy, ("places.near.lowest", "33"), ("purchase.cabinet", "floor-42"))


def twice_filled() -> str:
    """Server and battery in one unit."""
    return pin(millrace(), ("places.host.lowest", "1"))


def weak_switch() -> str:
    """A switch that can just feed what is there."""
    return pin(fold(), ("purchase.switch", "switch-24-half"), ("wiring.powered.watts", "150 W"))


def full_switch() -> str:
    """A switch with one port left."""
    return pin(fold(), ("purchase.switch", "2x-switch-8-poe"))


def one_switch() -> str:
    """One switch for all."""
    return pin(fold(), ("purchase.switch", "switch-24-half"))


RAISED = [
    ("M-1", one_core), ("M-2", one_port), ("M-3", shared_port), ("M-4", small_memory), ("M-5", huge), ("M-6", few_cores),
    ("M-7", nobody), ("M-8", fold), ("M-9", all_ceilings), ("S-1", slow_rebuild), ("S-2", single_boot), ("S-3", full_array),
    ("S-4", risky), ("S-5", left_out), ("S-6", risky), ("B-1", no_backup), ("B-2", same_array), ("B-3", hurried), ("B-4", nothing_away),
    ("B-5", short_window), ("B-6", no_loss_allowed), ("C-1", shallow), ("C-2", silent), ("C-3", closed_up), ("C-4", weak_circuit),
    ("C-5", box_on_top), ("C-6", low_cupboard), ("C-7", twice_filled), ("W-1", weak_switch), ("W-2", full_switch), ("W-3", one_switch),
    ("E-1", flat_battery), ("E-2", millrace), ("E-3", long_hold), ("O-1", poor), ("G-1", unconfirmed), ("P-1", silent),
]  # fmt: skip


@pytest.mark.parametrize(("code", "brief"), RAISED, ids=[code for code, _ in RAISED])
def test_a_changed_brief_raises_it(code: str, brief: object) -> None:
    """The finding holds in the plan of that brief."""
    assert callable(brief)
    assert code in codes(planned(brief()))


WELL = [
    ("M-1", fold), ("M-2", millrace), ("M-3", millrace), ("M-4", fold), ("M-5", fold), ("M-6", millrace), ("M-7", fold),
    ("S-1", millrace), ("S-2", fold), ("S-3", millrace), ("S-4", millrace), ("S-5", fold), ("B-1", fold), ("B-2", fold),
    ("B-4", fold), ("B-5", millrace), ("B-6", millrace), ("C-1", millrace), ("C-2", fold), ("C-3", fold), ("C-4", fold),
    ("C-5", millrace), ("C-6", fold), ("C-6", millrace), ("C-7", millrace), ("W-1", millrace), ("W-2", fold), ("W-3", millrace),
    ("E-1", millrace), ("E-3", millrace), ("O-1", fold), ("O-1", millrace), ("P-1", millrace), ("M-8", millrace),
]  # fmt: skip


@pytest.mark.parametrize(("code", "brief"), WELL, ids=[f"{code} {brief.__name__}" for code, brief in WELL])
def test_without_the_change_it_is_not_raised(code: str, brief: object) -> None:
    """Looked at and found well, so that the test above is about the change."""
    assert callable(brief)
    made = planned(brief())
    assert code not in codes(made)
    assert code in {finding.code for finding in made.checked}


@pytest.mark.parametrize("office", [*BRIEFS, "6", "120"])
def test_one_thing_is_told_in_the_singular(office: str) -> None:
    """Every sentence of a plan that begins with a count, or has one in it, goes on with the words that fit it."""
    plan = example(office) if office in BRIEFS else planned(brief(int(office)))
    sentences = [told.says for told in plan.findings]
    assert not [one for one in sentences if re.search(ONE_AND_SEVERAL, one) or re.search(SEVERAL_AND_ONE, one)]
    assert not [one for one in sentences if re.search(r"\{\w+:[^{}]*\|", one)]


def test_words_for_a_count_fit_one_and_several() -> None:
    assert counted(1, "intent") == "1 intent"
    assert counted(0, "intent") == "0 intents"
    assert counted(12_000, "party is", "parties are") == "12,000 parties are"
    told = planned(fold()).findings
    assert [one.says for one in told if one.finding.code == "T-7"] == [
        "1 party is known by names whose addresses move: Makers of the programs."
    ]


def test_a_client_s_own_braces_and_strokes_stay_as_they_are() -> None:
    """What is no figure of the sentence is no place in it, however it is written."""
    name = "{one:more|less} {other|more}"
    plan = planned(changed(fold(), "name: Makers of the programs", f'name: "{name}"'))
    (says,) = [one.says for one in plan.findings if one.finding.code == "T-7"]
    assert says == f"1 party is known by names whose addresses move: {name}."


def test_every_code_has_a_paragraph_in_the_manual() -> None:
    """And no paragraph speaks of a code that no trade raises."""
    plans = (planned(fold()), planned(millrace()), *other_ways(), *beside_what_stands())
    raised = {told.finding.code for plan in plans for told in plan.findings}
    raised |= {finding.code for plan in plans for finding in plan.checked}
    told = {
        line.split()[1]
        for path in DOCS.glob("*.md")
        for line in path.read_text(encoding="utf-8").splitlines()
        if line.startswith("## ")
    }
    assert told == raised
    assert len(raised) >= 20
    assert trades()


def test_an_owner_may_decline_a_stop() -> None:
    """It is told as declined, with name and date, and no longer stops."""
    text = poor() + '\ndeclined:\n  O-1: {by: Ruth Fell, on: 2026-11-24, because: "paid from the reserve"}\n'
    made = planned(text)
    (told,) = [t for t in made.findings if t.finding.code == "O-1"]
    assert told.declined == "declined by Ruth Fell on 2026-11-24: paid from the reserve"
    assert told not in made.stops
