"""The rule sheets: every rule on its zones' sheets under its number, and no client's text that could do harm."""

from dataclasses import replace

import pytest

from hostile import EVERYTHING
from rule_samples import LEGS, OFFICE_HOURS, office
from scantling.figures import Source, standard
from scantling.figures.traffic import FIREWALL, OUTSIDE, End, FilterRule, Flow, RuleSet, Transport, Verdict, Window
from scantling.figures.units import COUNT
from scantling.outputs.files.packet_filter_text import head, one_line
from scantling.outputs.files.rule_sheets import WIDTH, Terms, hours, sheet

ZONES = {"staff": "Staff", "servers": "Servers", "guests": "Guests", "tills": "The tills", "printers": "Printers"}
CAUSE = standard(1, COUNT, Source("a test"), "a cause")
FILES = Flow(
    "files", "Shared files", End("staff", "Staff"), End("servers", "machine files"), (Transport("tcp", 445, 445),),
    "people open and save their files", CAUSE, "services",
)  # fmt: skip
TERMS = Terms(ZONES, {"files": FILES})


def lines_of(zone: str, rules: RuleSet | None = None, terms: Terms = TERMS) -> list[str]:
    text = sheet(zone, rules or office(), terms, head("The office", "2026-11-25", ["a sheet"]))
    assert text.endswith("\n")
    return text.split("\n")[:-1]


def numbers(lines: list[str]) -> list[str]:
    return [line.split()[0] for line in lines if line.startswith("    r-")]


def under(lines: list[str], title: str) -> list[str]:
    """The lines of one section."""
    start = lines.index(title)
    titles = [place for place, line in enumerate(lines) if place > start and line and line[0] != " "]
    return lines[start + 1 : min(titles, default=len(lines))]


@pytest.mark.parametrize("zone", [*ZONES, FIREWALL])
def test_every_rule_of_a_zone_is_on_its_sheet_once_and_no_other(zone: str) -> None:
    meant = [rule.slug for rule in office().rules if concerns(rule, zone)]
    assert sorted(numbers(lines_of(zone))) == sorted(meant)


def concerns(rule: FilterRule, zone: str) -> bool:
    """Read plainly: named on one side, or anybody on one side."""
    if rule.early:
        return rule.zone_in == zone
    return zone in {rule.zone_in, rule.zone_out} or not rule.zone_in or not rule.zone_out


def test_sections_keep_the_order_of_the_rules() -> None:
    lines = lines_of("servers")
    for title in ("WHAT MAY LEAVE SERVERS", "WHAT MAY COME IN TO SERVERS", "WHAT IS STOPPED"):
        found = numbers(under(lines, title))
        assert found == sorted(found)
        assert found


def test_a_rule_says_for_whom_for_what_and_why() -> None:
    found = under(lines_of("servers"), "WHAT MAY COME IN TO SERVERS")
    assert found[1:5] == [
        "  Shared files: Staff to machine files (Servers)",
        "    Why: people open and save their files",
        "    r-040     passes: IPv4; tcp port 445; from 10.20.10.0/24; to 10.20.20.5.",
        "    r-041     passes: IPv6; tcp port 445; from 2001:db8:20:10::/64; to 2001:db8:20:20::5.",
    ]


def test_hours_parties_translation_and_the_log_are_said() -> None:
    staff, tills, servers = (" ".join(" ".join(lines_of(zone)).split()) for zone in ("staff", "tills", "servers"))
    assert "Hours, to begin: Monday to Friday, 08:00 up to and including 17:59, by the office's clock" in staff
    assert "to exchange: 203.0.113.0/26." in staff
    assert "to processor: whatever pay.processor.example, api.processor.example answer." in tills
    assert "r-070 passes: IPv4; tcp port 8443; to 10.20.20.8; after its target was translated." in servers
    assert "tcp 443, goes to 10.20.20.8, port 8443." in servers
    assert "r-999 dropped: IPv4 and IPv6; any protocol; and logged." in staff
    assert "10.20.20.8" not in tills


@pytest.mark.parametrize(
    ("window", "said"),
    [
        (OFFICE_HOURS, "Monday to Friday, 08:00 up to and including 17:59"),
        (Window((0, 1, 2, 3, 4, 5, 6), 0, 1439), "every day"),
        (Window((5, 6), 600, 600), "Saturday, Sunday, 10:00 up to and including 10:00"),
        (Window((0, 2, 3), 0, 1439), "Monday, Wednesday, Thursday"),
    ],
)
def test_hours_are_read_as_people_do(window: Window, said: str) -> None:
    assert hours(window) == said


def test_a_zone_that_may_nothing_says_so() -> None:
    lines = lines_of("printers", RuleSet("office", (), LEGS, ()))
    assert lines[lines.index("WHAT MAY LEAVE PRINTERS") + 1] == "  Nothing."
    assert "TRANSLATION" not in lines


@pytest.mark.parametrize("text", EVERYTHING)
def test_hostile_text_stays_on_its_lines_and_moves_no_terminal(text: str) -> None:
    ends = (End("staff", text), End("servers", text))
    flow = replace(FILES, name=text, why=text, source=ends[0], target=ends[1])
    rule = FilterRule("r-001", Verdict.ACCEPT, text, "files", zone_in="staff", zone_out="servers")
    other = replace(rule, slug="r-002", flow="", zone_in=OUTSIDE)
    rules = RuleSet("office", (rule, other), LEGS, ())
    terms = Terms({**ZONES, "servers": text, "staff": text}, {"files": flow})
    found = sheet("servers", rules, terms, head(text, "2026-11-25", ["a sheet"])).encode().decode("utf-8")
    plain = sheet("servers", rules, Terms(ZONES, {"files": FILES}), head("x", "2026-11-25", ["a sheet"]))
    assert found.replace("\n", "").isprintable()
    assert numbers(found.split("\n")) == numbers(plain.split("\n"))
    assert all(len(line) <= WIDTH for line in found.split("\n"))
    assert "".join(one_line(text).split()) in "".join(found.split())


@pytest.mark.parametrize("zone", [*ZONES, FIREWALL])
def test_no_line_is_longer_than_a_hundred(zone: str) -> None:
    assert all(len(line) <= WIDTH for line in lines_of(zone))
