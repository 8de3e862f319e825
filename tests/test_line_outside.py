"""Hand-off, contracts and ways in: every finding raised from one changed line; ports and addresses of the firewall outside."""

from ipaddress import IPv4Address, IPv6Address

import pytest

from hostile import HOSTILE
from hostile_briefs import quoted
from offices import BRIEFS, changed, codes, fold, millrace, planned
from option_samples import way
from register_files import by, comma_files
from scantling import UserError, api
from scantling.figures import (
    FIREWALL,
    OUTSIDE,
    Flow,
    Leg,
    Line,
    RemoteAccess,
    Ruled,
    RuleSet,
    Transport,
    Verdict,
    text,
)
from scantling.plan.make import Plan

BRACKWATER = BRIEFS["brackwater"].read_text(encoding="utf-8")
MILLRACE, FOLD = millrace(), fold()
FIBRE, GATEWAY = "handoff: fixed, address: 203.0.113.45", "  way_in: own gateway\n"
"""What the larger example says of its first line, and of the way in."""


def remote(text_: str, *lines: str) -> str:
    """The brief of the smaller office with people who come in."""
    return text_ + "\nremote:\n" + "".join(f"  {line}\n" for line in lines)


def told(plan: Plan, code: str) -> list[str]:
    """The sentences of one finding."""
    return [one.says for one in plan.findings if one.finding.code == code]


def outside(plan: Plan) -> list[tuple[str, str, tuple[object, ...]]]:
    """Line, port and own addresses of every leg outside."""
    return [(leg.slug, leg.interface, leg.own) for leg in plan.records(Leg) if leg.zone == OUTSIDE]


def test_every_line_has_a_port_in_the_order_of_the_brief() -> None:
    """With the fixed addresses that are given; of a line that lends, none."""
    own = (IPv4Address("203.0.113.45"), IPv6Address("2001:db8:ffff:44::2"))
    assert outside(planned(MILLRACE)) == [("fibre", "outside-1", own), ("standby", "outside-2", ())]
    assert outside(planned(FOLD)) == [("fibre", "outside-1", ())]
    lent = changed(changed(MILLRACE, "handoff: fixed", "handoff: dynamic"), "203.0.113.45", "203.0.113.46")
    assert outside(planned(lent))[0] == ("fibre", "outside-1", ())


def test_ports_outside_and_inside_never_share_a_name() -> None:
    for brief in (MILLRACE, FOLD, BRACKWATER):
        legs = planned(brief).records(Leg)
        assert len({leg.interface for leg in legs}) == len(legs)


RAISED = [
    ("L-4", MILLRACE, "handoff: fixed", "handoff: shared", "shared"),
    ("L-4", MILLRACE, FIBRE, "handoff: fixed, address: 100.64.9.9", "RFC 6598"),
    ("L-5", MILLRACE, FIBRE, f"{FIBRE}, router: yes", "translated twice"),
    ("L-5", MILLRACE, FIBRE, "handoff: fixed, address: 192.168.1.2", "translated twice"),
    ("L-6", MILLRACE, FIBRE, "handoff: fixed", "nobody has written it down"),
    ("L-7", MILLRACE, FIBRE, "handoff: dynamic, address: 203.0.113.45", "may change any day"),
    ("L-8", MILLRACE, "provider: Hill Radio", "provider: harbourline", "Radio line and Fibre have the same provider"),
    ("L-8", MILLRACE, "road: radio", "road: fibre", "Radio line and Fibre both come by fibre"),
    ("L-9", MILLRACE, "contract_end: 2028-06-30", "contract_end: 2027-02-20", "87 days from now"),
    ("L-9", MILLRACE, "contract_end: 2028-06-30", "contract_end: 2026-11-01", "-24 days from now"),
    ("L-11", MILLRACE, 'contact: "fault desk, as client M-4471", ', "", "that is so of 1: Fibre."),
    ("L-12", BRACKWATER, "up: 100 Mbit/s", "up: 50 Mbit/s", "fetch 20 Mbit/s on top of"),
    ("L-13", BRACKWATER, "second_factor: yes", "second_factor: no", "one password"),
    ("L-14", BRACKWATER, "  found_as: home.brackwater.example\n", "", "no name by which they find the office"),
    ("L-15", BRACKWATER, "handoff: bridge", "handoff: shared", "Nobody can come in from elsewhere"),
    ("L-16", changed(MILLRACE, "  on_site: Tom Farrell, house manager\n", ""), GATEWAY, "  way_in: none\n", "takes 2 h"),
    ("L-17", MILLRACE, GATEWAY, "  way_in: none\n", "somebody on site alone"),
    ("L-18", BRACKWATER, "who: drawing, 2", "who: drawings, 2", 'remote.who: "drawings" is no role; did you mean drawing?'),
    ("L-18", BRACKWATER, "who: drawing, 2", "who: drawing\n  ways: tpc 443", 'remote.ways: "tpc" is no protocol; did you mean tcp?'),
    ("L-18", BRACKWATER, "who: drawing, 2", "who: drawing\n  ways: tcp 70000", "the port 70000 is out of range"),
    ("L-18", MILLRACE, GATEWAY, "  who: programme\n  ends_on: machine\n", "no service of the profile remote access"),
    ("L-18", MILLRACE, GATEWAY, f"{GATEWAY}  by_line: fiber\n", "no line called fiber is reached from outside"),
    ("L-18", BRACKWATER, "second_factor: yes", "way_in: own gateway", "no line that stands by is reached from outside"),
    ("L-19", MILLRACE, GATEWAY, "  who: programme\n", "reaches nothing yet"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("code", "brief", "old", "new", "says"), RAISED, ids=[f"{r[0]}-{i}" for i, r in enumerate(RAISED)]
)
def test_one_changed_line_raises_it(code: str, brief: str, old: str, new: str, says: str) -> None:
    """And the brief as it is doesn't."""
    assert code not in codes(planned(brief))
    assert says in "; ".join(told(planned(changed(brief, old, new)), code))


def test_what_ends_before_the_horizon_is_told_and_later_is_not() -> None:
    """L-10; the horizon is 2031-11-25."""
    assert len(told(planned(MILLRACE), "L-10")) == 2
    later = changed(
        changed(MILLRACE, "contract_end: 2028-06-30", "contract_end: 2032-01-01"), "2027-11-30", "2032-01-01"
    )
    assert "L-10" not in codes(planned(later))


def test_a_shared_line_that_only_stands_by_is_a_note() -> None:
    weights = [one.weight for one in planned(BRACKWATER).findings if one.finding.code == "L-4"]
    assert weights == ["note"]
    used = changed(BRACKWATER, "standby: yes, handoff: shared", "standby: no, handoff: shared")
    assert [one.weight for one in planned(used).findings if one.finding.code == "L-4"] == ["mend"]


def test_a_firewall_in_its_own_box_is_the_way_in() -> None:
    """It stays up when the server is down."""
    plan = way("saltmarsh", "firewall-box")
    assert text(plan.figures["remote.way-in"]) == "through the firewall, a box of its own"
    assert not {"L-16", "L-17"} & codes(plan)


def test_people_who_come_in_are_counted() -> None:
    """Roles at the horizon, and a number: six at the drawing office grow by 5 % a year for five years to eight."""
    (access,) = planned(BRACKWATER).records(RemoteAccess)
    assert (access.machine, access.zone, access.second_factor) == ("gateway", "servers", True)
    assert text(access.people) == "10"
    assert planned(BRACKWATER).figures["line.up-remote"].value == pytest.approx(20)
    (unsaid,) = planned(changed(BRACKWATER, "  who: drawing, 2\n", "")).records(RemoteAccess)
    assert text(unsaid.people) == "8", "those who use the service"


def test_what_carries_them_is_let_in_and_nothing_else() -> None:
    """Only a port of remote access changes: the intents from the outside change with it."""

    def let_in(brief: str) -> set[Transport]:
        flows = planned(brief).records(Flow)
        return {
            one for flow in flows if flow.source.zone == OUTSIDE and flow.group == "remote" for one in flow.carried
        }

    assert let_in(BRACKWATER) == {
        Transport("tcp", 443, 443),
        Transport("udp", 500, 500),
        Transport("udp", 4500, 4500),
    }
    tunnel = changed(BRACKWATER, "who: drawing, 2", "who: drawing\n  ways: udp 51820")
    assert let_in(tunnel) == {Transport("udp", 51820, 51820)}
    assert not let_in(changed(BRACKWATER, "who: drawing, 2", "who: drawing\n  ways: tpc 1"))


def test_remote_access_may_end_on_the_firewall() -> None:
    """The rules let it in on the input side, in both families."""
    plan = planned(remote(FOLD, "who: surveyors", "ways: udp 51820"))
    (access,) = plan.records(RemoteAccess)
    assert (access.machine, access.zone, access.carried) == (FIREWALL, FIREWALL, (Transport("udp", 51820, 51820),))
    (rules,) = plan.records(RuleSet)
    mine = [rule for rule in rules.rules if rule.ports == ((51820, 51820),)]
    assert {(rule.zone_in, rule.zone_out, rule.family, rule.verdict) for rule in mine} == {
        (OUTSIDE, FIREWALL, 4, Verdict.ACCEPT), (OUTSIDE, FIREWALL, 6, Verdict.ACCEPT),
    }  # fmt: skip


def test_no_remote_access_where_nobody_wants_it() -> None:
    plan = planned(FOLD)
    assert not plan.records(RemoteAccess)
    assert "remote.people" not in plan.figures


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("address: 203.0.113.45", "address: 203.0.113.450", "lines.fibre.address"),
        ("address: 203.0.113.45", "address: fe80::1", "lines.fibre.address"),
        ("handoff: fixed", "handoff: fixd", "did you mean fixed?"),
        ("road: radio", "road: wire", "copper, cable, radio"),
        ("contract_end: 2028-06-30", "contract_end: 30.6.2028", "lines.fibre.contract_end"),
        ("term: 12 month", "term: 12 years", "lines.standby.term"),
        ("  way_in: own gateway", "  way_in: own gatway", "did you mean own gateway?"),
        ("  way_in: own gateway", "  found_as: not a name", "remote.found_as"),
        ("  way_in: own gateway", "  second_factor: maybe", "remote.second_factor"),
    ],
)  # fmt: skip
def test_a_slip_of_the_pen_is_told_with_its_place(old: str, new: str, says: str) -> None:
    with pytest.raises(UserError, match=r"brief\.yaml:\d+:\d+: ") as wrong:
        api.plan_text(changed(MILLRACE, old, new))
    assert says in str(wrong.value)


def test_the_page_of_lines_says_whom_to_call() -> None:
    plan = planned(MILLRACE)
    page = next(one for one in plan.pages() if one.slug == "lines")
    words = {
        str(cell) if isinstance(cell, str) else text(cell)
        for block in page.blocks
        if isinstance(block, Ruled)
        for row in block.rows
        for cell in row
    }
    assert {
        "fixed",
        "203.0.113.45",
        "2001:db8:ffff:44::2",
        "Harbourline",
        "fault desk, as client M-4471",
        "2028-06-30",
    } <= words
    ways = next(one for one in plan.pages() if one.slug == "ways-in")
    assert "a gateway of its own on a line" in {
        text(value) for block in ways.blocks for _, value in getattr(block, "rows", ()) if not isinstance(value, str)
    }


def test_hostile_words_of_a_line_stay_words() -> None:
    """Provider and contact, on the record as they were typed."""
    for words in HOSTILE[::7]:
        brief = changed(MILLRACE, "provider: Harbourline", f"provider: {quoted(words)}")
        brief = changed(brief, 'contact: "fault desk, as client M-4471"', f"contact: {quoted(words)}")
        line = planned(brief).records(Line)[0]
        assert line.provider is not None
        assert line.contact is not None
        assert text(line.provider) == text(line.contact) == words.strip()


def test_a_line_may_be_called_as_a_zone_is() -> None:
    """Then every file still names the zone's own port, and the addresses are lent on that one."""
    plan = planned(changed(FOLD, "  fibre: {name: Fibre", "  staff: {name: Fibre"))
    assert outside(plan) == [("staff", "outside-1", ())]
    made = {one.path: one.content.decode() for one in api.files(plan) if one.path.startswith("addresses/")}
    assert "outside-1" not in "".join(made.values())
    rows = by(comma_files(plan)["subnets"], "zone")
    assert rows["staff"]["port of the firewall"] == "zone-30"
