"""Traffic in the brief: every finding raised from one changed line and not without it, both lines named, nearest words told."""

import pytest
from offices import BRIEFS, changed, fold, millrace, planned

from scantling import UserError
from scantling.figures import FIREWALL, OUTSIDE, Flow, Page, Ruled, RuleSet, Verdict, Window
from scantling.plan.make import Plan

MILLRACE, FOLD = millrace(), fold()
BRACKWATER = BRIEFS["brackwater"].read_text(encoding="utf-8")
SCANS = "scans:       {from: staff/printers, to: files, what: tcp 445, why: scanned letters are kept with the files}"
FORBIDDEN = 'printers-out: {from: "staff/printers, staff/ticket-printers", to: outside, what: any, why: a printer has no business outside}'


def found(text: str) -> dict[str, str]:
    """Findings that hold, the sentences of one code together."""
    told: dict[str, str] = {}
    for one in planned(text).findings:
        told[one.finding.code] = f"{told.get(one.finding.code, '')} {one.says}".strip()
    return told


def allowing(line: str, text: str = MILLRACE) -> str:
    """Millrace with one more line that allows."""
    return changed(text, f"    {SCANS}", f"    {SCANS}\n    more: {line}")


ALLOWED = {
    "far": ("{from: staf, to: files, what: tcp 22}", "T-12", 'far.from: "staf" is no zone, machine, device or party'),
    "staf": ("{from: staf, to: files, what: tcp 22}", "T-12", "of this plan; did you mean staff?"),
    "wide": ("{from: staff, to: filess, what: tcp 22}", "T-12", 'wide.to: "filess" is no zone'),
    "odd": ("{from: staff/printer, to: files, what: tcp 22}", "T-12", "did you mean staff/printers?"),
    "lost": ("{from: staff, to: procesor, what: tcp 22}", "T-12", "did you mean processor?"),
    "moved": ("{from: processor, to: files, what: tcp 22}", "T-12", "moved.from: Card processor is known by names only"),
    "slip": ("{from: staff, to: files, what: tpc 22}", "T-13", 'slip.what: "tpc" is no protocol; did you mean tcp?'),
    "high": ("{from: staff, to: files, what: tcp 70000}", "T-13", "high.what: the port 70000 is out of range; from 0 to 65535"),
    "late": ('{from: staff, to: files, what: tcp 22, hours: "office hours"}', "T-14", 'the hours "office hours" are not understood'),
    "near": ("{from: database, to: files, what: tcp 22}", "T-15", "near: both ends lie in servers"),
    "all": ("{from: staff, to: servers, what: any}", "T-17", "all lets Staff reach all of Servers by any protocol"),
    "paid": ("{from: staff, to: payments, what: tcp 443}", "T-18", "opens the zone of the payment terminals (devices.terminals)"),
    "pays": ("{from: payments, to: outside, what: tcp 443}", "T-18", "pays opens the zone of the payment terminals"),
    "show": ("{from: staff, to: stage, what: tcp 443}", "T-19", "show opens a sealed zone (devices.stage-nodes): Staff to Stage"),
    "same": ("{from: staff/laptops, to: monitor, what: tcp 443}", "T-22", "same is meant for Laptops, whose addresses are lent"),
    "port": ("{from: outside, to: files, what: tcp 440-450}", "T-24", "The same port outside leads to two machines"),
}  # fmt: skip
PARTIES = {
    "nobody": ("{name: Nobody}", "T-5", "parties.nobody: neither names nor networks are given"),
    "inner": ("{networks: 203.0.113.5/24, listed: 2026-11-01}", "T-5", "the network itself is 203.0.113.0/24"),
    "ours": ("{networks: 10.44.30.0/28, listed: 2026-11-01}", "T-8", "lie in the office itself: Ours"),
    "old": (
        "{networks: 203.0.113.8/29, listed: 2026-03-01}",
        "T-6",
        "list of networks of Old is of 2026-03-01; lists older than 180 days",
    ),
    "undated": ("{networks: 203.0.113.16/29}", "T-9", "bear no date: Undated"),
    "private": (
        "{networks: 10.99.0.0/16, listed: 2026-11-01}",
        "T-27",
        "have networks that are set aside, and no line leads there: Ours, Private",
    ),
}
CROWDED = changed(
    changed(MILLRACE, f"    {SCANS}", "\n".join([f"    {SCANS}", *(f"    {slug}: {line}" for slug, (line, _, _) in ALLOWED.items())])),
    "parties:\n", "".join(["parties:\n", *(f"  {slug}: {line}\n" for slug, (line, _, _) in PARTIES.items())]),
)  # fmt: skip
"""All of them in one brief: every mistake is told at once."""


@pytest.mark.parametrize(("code", "says"), [(code, says) for _, code, says in (*ALLOWED.values(), *PARTIES.values())])
def test_a_wrong_line_raises_it(code: str, says: str) -> None:
    """And it says which line, and what to write instead."""
    assert says in found(CROWDED).get(code, "nothing"), found(CROWDED).get(code)
    assert says not in found(MILLRACE).get(code, "")


FORBIDDEN_TOO = (
    "{scans-too: {from: staff/printers, to: servers, what: tcp 445}, files-too: {from: staff, to: files, what: any}}"
)
WITHOUT_KINDS = changed(
    changed(changed(MILLRACE, "kind: processor,", "kind: other,"), "kind: telephone,", "kind: other,"),
    "kind: updates,",
    "kind: other,",
)
MISPLACED = changed(
    changed(changed(MILLRACE, "traffic:\n", "traffic:\n  manage_from: managment\n"), "lookups: {guests: block}", "lookups: {gusts: block}"),
    "{from: management, to: staff/printers, what: printing}", "{from: management, to: staff/pritners, what: printing}",
)  # fmt: skip
SHUT = changed(
    changed(MILLRACE, "  forbid:\n    " + FORBIDDEN, "  forbid: " + FORBIDDEN_TOO),
    "traffic:\n",
    "traffic:\n  manage_from: guests\n",
)
AMONG_GUESTS = changed(FOLD, "kind: pc, count: 5, zone: staff", "kind: pc, count: 5, zone: guests").replace(
    "kind: laptop, count: 4, zone: staff", "kind: laptop, count: 4, zone: guests"
)
RAISED = [
    ("T-1", WITHOUT_KINDS, "5 payment terminals"), ("T-2", WITHOUT_KINDS, "18 telephones"),
    ("T-10", WITHOUT_KINDS, "9 machines may reach any page outside"), ("T-3", AMONG_GUESTS, "Nobody may reach 1 service: Files"),
    ("T-12", MISPLACED, 'traffic.manage_from: "managment" is no zone'), ("T-12", MISPLACED, "traffic.lookups.gusts"),
    ("T-12", MISPLACED, "traffic.discovery.printers.to"), ("T-20", SHUT, "lets visitors manage the office"),
    ("T-23", SHUT, "traffic.allow.scans allows what traffic.forbid.scans-too forbids"),
    ("T-23", SHUT, "talk.intents.files-staff-to-files allows what traffic.forbid.files-too forbids"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("code", "text", "says"), RAISED, ids=[f"{code} {place}" for place, (code, _, _) in enumerate(RAISED)]
)
def test_a_changed_brief_raises_it(code: str, text: str, says: str) -> None:
    assert says in found(text).get(code, "nothing"), found(text).get(code)
    assert says not in found(MILLRACE).get(code, "")


DISCOVERED = "  discovery:\n    printers: {from: management, to: staff/printers, what: printing}\n"


@pytest.mark.parametrize(
    ("code", "text", "well"),
    [
        ("T-4", MILLRACE, None), ("T-7", MILLRACE, changed(changed(MILLRACE, 'names: "pay.processor.example, confirm.processor.example"',
         "networks: 203.0.113.192/28"), 'names: "updates.maker.example, packages.maker.example"', "networks: 203.0.113.224/28")),
        ("T-11", MILLRACE, None), ("T-16", MILLRACE, changed(MILLRACE, DISCOVERED, "")),
        ("T-25", MILLRACE, FOLD),
        ("T-28", changed(MILLRACE, "up: 15 Mbit/s", "handoff: shared, up: 15 Mbit/s"), MILLRACE),
        ("T-26", MILLRACE, FOLD),
    ],
)  # fmt: skip
def test_what_the_example_shows(code: str, text: str, well: str | None) -> None:
    """Held by the example as it stands, and not without what raises it."""
    assert code in found(text)
    assert well is None or code not in found(well)


def test_an_empty_zone_is_told() -> None:
    """T-21: a line to the servers of an office that has none."""
    bare = "".join(line + "\n" for line in FOLD.splitlines() if "{profile: " not in line or "firewall" in line)
    bare = changed(
        bare,
        "  manage_from: management, staff/workstations\n",
        "  allow:\n    more: {from: staff, to: servers, what: tcp 22}\n",
    )
    bare = bare.replace("service: files", "service: firewall")
    assert "traffic.allow.more speaks of Servers, where there is nothing" in found(bare)["T-21"]
    assert "T-21" not in found(FOLD)


def flows(text: str) -> dict[str, Flow]:
    """Intents by their slugs."""
    return {flow.slug: flow for flow in planned(text).records(Flow)}


def test_a_line_becomes_an_intent_that_rests_on_it() -> None:
    scans = flows(MILLRACE)["allow-scans"]
    assert (scans.source.zone, scans.target.zone, scans.verdict, scans.window) == (
        "staff",
        "servers",
        Verdict.ACCEPT,
        None,
    )
    assert [str(one) for one in scans.carried] == ["tcp 445"]
    assert scans.cause.id == "traffic.allow.scans"
    assert next(scans.cause.parents()).id == "brief.traffic.allow.scans.what"
    assert scans.why == "scanned letters are kept with the files"


def test_hours_become_windows_and_a_span_past_midnight_two() -> None:
    help_ = flows(MILLRACE)["allow-ticket-help"]
    assert help_.window == Window((1, 2, 3, 4), 600, 959)
    night = flows(allowing('{from: staff, to: monitor, what: tcp 443, hours: "sat 22:00-01:00"}'))
    assert {night["allow-more-1"].window, night["allow-more-2"].window} == {
        Window((5,), 1320, 1439),
        Window((6,), 0, 59),
    }


WORDS = {"guests": "guests", "staff/printers": "staff", "database": "servers", "tickets-db": "servers", "cameras": "cameras",
         "handsets": "phones", "telephones": OUTSIDE, "outside": OUTSIDE, "firewall": FIREWALL}  # fmt: skip


def test_every_word_means_an_end() -> None:
    """A zone, devices of a zone, a machine, a service, a device, a party, the outside, the firewall; several parted by commas."""
    made = flows(allowing(f'{{from: stage, to: "{", ".join(WORDS)}", what: tcp 22}}'))
    found_ = [flow for slug, flow in made.items() if slug.startswith("allow-more-")]
    assert [flow.target.zone for flow in found_] == list(WORDS.values())
    assert found_[2].target.networks == found_[3].target.networks != ()
    assert found_[8].target.networks, "the firewall's own address in the zone of whoever speaks"


def test_a_line_that_is_wrong_opens_nothing() -> None:
    opened = {slug.removeprefix("allow-").partition("-")[0] for slug in flows(CROWDED) if slug.startswith("allow-")}
    wrong = {slug for slug, (_, code, _) in ALLOWED.items() if code in {"T-12", "T-13", "T-14", "T-15"}}
    assert opened == {"scans", "ticket", *ALLOWED} - wrong


def test_lookups_are_shut_open_or_free_by_zone() -> None:
    for word, verdict, ports in (
        ("block", Verdict.DROP, {853}),
        ("allow", Verdict.ACCEPT, {853}),
        ("exempt", Verdict.ACCEPT, {53, 853}),
    ):
        made = flows(changed(MILLRACE, "lookups: {guests: block}", f"lookups: {{guests: {word}}}"))[
            "encrypted-guests"
        ]
        assert (made.verdict, {one.first for one in made.carried}) == (verdict, ports)
    with pytest.raises(UserError, match=r"traffic.lookups.guests: .*blck.*did you mean block"):
        planned(changed(MILLRACE, "lookups: {guests: block}", "lookups: {guests: blck}"))


def test_a_missing_word_of_a_line_is_a_mistake_of_the_brief() -> None:
    with pytest.raises(UserError, match=r"traffic.allow.more.from"):
        planned(allowing("{to: files, what: tcp 22}"))
    with pytest.raises(UserError, match=r"traffic.allow.more.form: .*did you mean from"):
        planned(allowing("{form: staff, from: staff, to: files, what: tcp 22}"))


def rows(plan: Plan, slug: str) -> list[list[str]]:
    """All rows of a page."""
    page = next(page for page in plan.records(Page) if page.slug == slug)
    tables = (block for block in page.blocks if isinstance(block, Ruled))
    return [
        [cell if isinstance(cell, str) else str(cell.value) for cell in row] for table in tables for row in table.rows
    ]


def test_the_page_tells_every_intent_with_its_line() -> None:
    plan = planned(MILLRACE)
    told = [row for row in rows(plan, "traffic") if len(row) == 5]
    scans = next(row for row in told if row[3] == "scanned letters are kept with the files")
    assert scans[1].startswith("machine files (10.44.20.")
    assert scans[2::2] == ["tcp 445", "traffic.allow.scans"]
    files = next(row for row in told if row[3] == "people open and save their files")
    assert files[4].startswith("services.files, devices.office-pcs")
    help_ = next(row for row in told if row[3] == "its maker helps with the ticketing")
    assert help_[2] == "tcp 443 (tue-fri 10:00-16:00)"
    processor = next(row for row in told if row[1].startswith("Card processor"))
    assert "names pay.processor.example, confirm.processor.example" in processor[1]
    telephones = next(row for row in told if row[1].startswith("Telephone provider"))
    assert telephones[1] == "Telephone provider (list of 2026-10-01)"
    never = next(row for row in told if row[3] == "a printer has no business outside")
    assert never[2] == "never any"
    why = {flow.why for flow in plan.records(Flow)}
    assert why == {row[3] for row in told}


def test_the_page_of_the_list_has_every_rule_in_order() -> None:
    plan = planned(MILLRACE)
    (rules,) = plan.records(RuleSet)
    listed = rows(plan, "rules")
    assert [slug for row in listed for slug in row[0].split(", ")] == [rule.slug for rule in rules.rules]
    assert len(listed) < len(rules.rules) * 0.75, "both families of a rule stand in one row"


def test_what_is_counted_is_what_is_there() -> None:
    plan = planned(MILLRACE)
    (rules,) = plan.records(RuleSet)
    intents = plan.records(Flow)
    assert plan.figures["rules.intents"].value == len(intents)
    assert plan.figures["rules.list"].value == len(rules.rules)
    assert plan.figures["rules.stage.in"].value == plan.figures["rules.stage.out"].value == 0
    accepted = {(f.source.zone, f.target.zone) for f in intents if f.verdict is Verdict.ACCEPT} - {(OUTSIDE, OUTSIDE)}
    joined = {pair for pair in accepted if FIREWALL not in pair}
    assert plan.figures["rules.open"].value == len(joined)
    assert plan.figures["rules.pairs"].value == 9 * 8, "eight zones and the outside"
    assert plan.figures["rules.shut"].value == pytest.approx(100 * (1 - len(joined) / 72))


def test_conversations_inside_one_zone_are_told_and_make_no_intent() -> None:
    plan = planned(MILLRACE)
    assert ["servers", "Database"] in [row[:2] for row in rows(plan, "inside")]
    assert not [
        flow for flow in plan.records(Flow) if flow.source.zone == flow.target.zone and flow.source.zone != FIREWALL
    ]


def test_without_its_sections_a_brief_still_plans() -> None:
    """Nothing of the brief's own; what services and devices need is there all the same."""
    start, end = MILLRACE.index("parties:\n"), MILLRACE.index("backup:\n")
    plan = planned(MILLRACE[:start] + MILLRACE[end:])
    groups = {flow.group for flow in plan.records(Flow)}
    assert {"services", "lookups", "management", "housekeeping"} <= groups
    assert "brief" not in groups
