"""What the client owns outside, whom each zone asks, and which machine answers: findings raised, ways to build, records."""

from ipaddress import ip_address

import pytest
from offices import changed, codes, example, fold, millrace, planned

from scantling.figures import FIREWALL, Asking, NameZone, OutsideName, Server, Subnet
from scantling.plan.make import Plan

OLD = 'old-name: {domain: millrace-theatre.example, registrar: Harbour Names, owner: "Eamon Duffy, former manager"}'
CLOCKS = "time:\n  first: ntp.harbourline.example\n  second: clock.college.example\n"
BOXED = [
    ("box", changed(fold(), "firewall:  {profile: firewall,", "firewall:  {profile: firewall, stands: box,")),
    ("no names", changed(fold(), "  names:     {profile: names and addresses, down: 8 h, lost: 24 h}\n", "")),
    ("cloud", changed(fold(), "names:     {profile: names and addresses,", "names:     {profile: names and addresses, stands: box,")),
]  # fmt: skip
RAISED = [
    ("D-11", millrace()),
    ("D-12", millrace()),
    ("D-13", millrace()),
    ("D-14", changed(millrace(), 'registrar: Harbour Names, owner: "Eamon Duffy, former manager"', "registrar: Harbour Names")),
    ("D-15", millrace()),
    ("D-16", changed(millrace(), "second: clock.college.example", "second: none")),
    ("D-16", changed(millrace(), "second: clock.college.example", "second: NTP.harbourline.example")),
    ("D-17", changed(millrace(), CLOCKS, "time:\n  first: none\n  second: none\n")),
    ("D-19", changed(millrace(), "leads_to: tickets", "leads_to: shop")),
    ("D-20", changed(fold(), "  ask: {provider: 203.0.113.53, second: 203.0.113.54}\n", "")),
    ("D-21", changed(millrace(), "leads_to: tickets, address: 203.0.113.45", "leads_to: tickets")),
]  # fmt: skip
WELL = [
    ("D-11", fold()), ("D-12", changed(fold(), "expires: 2027-06-01", "expires: 2033-06-01")), ("D-13", fold()), ("D-14", millrace()),
    ("D-15", fold()), ("D-16", millrace()), ("D-17", millrace()), ("D-18", millrace()), ("D-19", millrace()), ("D-20", fold()),
    ("D-21", millrace()),
]  # fmt: skip


@pytest.mark.parametrize(("code", "brief"), RAISED, ids=[f"{code}-{place}" for place, (code, _) in enumerate(RAISED)])
def test_a_changed_brief_raises_it(code: str, brief: str) -> None:
    assert code in codes(planned(brief))


@pytest.mark.parametrize(("code", "brief"), WELL, ids=[code for code, _ in WELL])
def test_without_the_change_it_is_not_raised(code: str, brief: str) -> None:
    plan = planned(brief)
    assert code not in codes(plan)
    assert code in {one.code for one in plan.checked}


def test_times_that_nobody_advises_are_told() -> None:
    """RFC 1912 section 2.2: two to four weeks; a firm's house rule says a week (planted by a pin on what it makes)."""
    pinned = f'{millrace()}\npins:\n  zonefiles.odd: {{value: "1", because: to see the finding}}\n'
    assert "D-18" in codes(planned(pinned))


def test_a_second_change_of_the_day_is_pinned() -> None:
    pinned = f'{millrace()}\npins:\n  zonefiles.revision: {{value: "2", because: the second change today}}\n'
    assert {one.serial for one in planned(pinned).records(NameZone)} == {2026112502}
    assert {one.serial for one in planned(millrace()).records(NameZone)} == {2026112501}


def servers(plan: Plan) -> dict[str, Server]:
    """By slug."""
    return {one.slug: one for one in plan.records(Server)}


def asking(plan: Plan) -> dict[str, Asking]:
    """By zone."""
    return {one.slug: one for one in plan.records(Asking)}


def test_outside_names_are_kept_as_given() -> None:
    given = {one.slug: one for one in example("millrace").records(OutsideName)}
    assert given["tickets"].holder == "application"
    assert str(given["tickets"].expires) == "2027-01-10"
    assert given["mail"].mail == "mx.posthouse.example"
    assert given["old-name"].owner == "Eamon Duffy, former manager"


def test_the_filter_answers_for_zones_that_know_the_office() -> None:
    plan = example("millrace")
    lookups = servers(plan)["lookups"]
    assert lookups.holder == "filter"
    knowing = {"management", "servers", "staff", "phones", "cameras"}
    assert {zone for zone, one in asking(plan).items() if one.resolvers == lookups.addresses} == knowing
    assert {zone for zone, one in asking(plan).items() if one.domain} == knowing


def test_guests_and_payments_ask_the_firewall_and_learn_no_office_name() -> None:
    plan = example("millrace")
    for zone in ("guests", "payments"):
        gate = next(one.gateway for one in plan.records(Subnet) if one.slug == zone)
        assert asking(plan)[zone].resolvers[0] == gate
        assert asking(plan)[zone].time_sources[0] == gate
        assert asking(plan)[zone].domain == ""
        assert not set(asking(plan)[zone].time_sources) & set(servers(plan)["time-directory"].addresses)


def test_the_firewalls_own_lookups_go_through_the_filter() -> None:
    given = servers(example("millrace"))
    assert given["lookups-firewall"].upstream == tuple(map(str, given["lookups"].addresses))


def test_control_zones_look_nothing_up_and_still_have_the_time() -> None:
    for office, zone in (("millrace", "stage"), ("brackwater", "workshop")):
        one = asking(example(office))[zone]
        assert one.resolvers == ()
        assert one.time_sources


def test_two_clocks_inside_and_two_outside() -> None:
    plan = example("millrace")
    given = servers(plan)
    assert given["time-firewall"].upstream == ("ntp.harbourline.example", "clock.college.example")
    assert given["time-directory"].upstream == given["time-firewall"].upstream
    assert set(given["time-directory"].addresses) < set(asking(plan)["staff"].time_sources)


def test_assumed_time_sources_are_listed_to_be_asked() -> None:
    """The house's two stand below example, and their lines say that they are assumed."""
    plan = planned(fold())
    assert servers(plan)["time-firewall"].upstream == ("ntp-one.example", "ntp-two.example")
    how = plan.figures["asking.sources"].inputs["sources"]["first"].how
    assert how.assumed


def test_the_resolver_keeps_a_copy_while_the_directory_is_down() -> None:
    says = asking(example("millrace"))["staff"].when_down
    assert "filter answers from its copy" in says
    assert "21 days" in says
    assert "cold start" in says


@pytest.mark.parametrize(("way", "brief"), BOXED, ids=[way for way, _ in BOXED])
def test_every_way_to_build_has_somebody_who_answers(way: str, brief: str) -> None:
    """Whatever is in a box or elsewhere: names, lookups, time and addresses have a holder, and every zone asks one."""
    plan = planned(brief)
    given = servers(plan)
    assert {one.does for one in given.values()} >= {"names", "lookups", "time", "addresses"}
    everywhere = {address for one in given.values() for address in one.addresses}
    assert everywhere
    for zone in asking(plan).values():
        assert set(zone.resolvers) <= everywhere
        assert set(zone.time_sources) <= everywhere


@pytest.mark.parametrize("brief", [brief for way, brief in BOXED if way != "box"])
def test_the_firewall_holds_the_names_where_no_machine_does(brief: str) -> None:
    given = servers(planned(brief))
    assert given["names"].holder == given["addresses"].holder == given["lookups"].holder == FIREWALL
    assert "relay" not in given


def test_no_server_at_all_leaves_all_to_the_firewall() -> None:
    """Every service in the cloud or in a box: the firewall alone."""
    text = fold()
    for service in ("firewall", "directory", "names", "files", "copies"):
        where = "cloud" if service in ("files", "copies", "directory") else "box"
        line = next(one for one in text.splitlines() if one.startswith(f"  {service}:") and "profile" in one)
        text = changed(text, line, line.replace("{profile", f"{{stands: {where}, profile"))
    given = servers(planned(text))
    assert {one.holder for one in given.values()} == {FIREWALL}
    assert len([one for one in given.values() if one.does == "time"]) == 1


def test_forwarding_asks_those_who_are_named() -> None:
    assert servers(planned(fold()))["lookups"].upstream == ("203.0.113.53", "203.0.113.54")
    assert servers(example("millrace"))["lookups"].upstream == ()


def test_a_published_name_has_a_zone_of_its_own_inside() -> None:
    """The same name, two answers; all beside it is still found outside."""
    plan = example("millrace")
    origins = {one.origin: one for one in plan.records(NameZone)}
    assert "millrace.example" not in origins
    inside = {
        ip_address(one.data) for one in origins["tickets.millrace.example"].records if one.kind in ("A", "AAAA")
    }
    assert inside
    assert ip_address("203.0.113.45") not in inside


def test_mail_is_answered_only_where_the_zone_is_ours() -> None:
    plan = example("millrace")
    assert not [record for zone in plan.records(NameZone) for record in zone.records if record.kind == "MX"]
    bare = changed(millrace(), "names:\n", "names:\n  domain: millrace.example\n")
    mail = [one for zone in planned(bare).records(NameZone) for one in zone.records if one.kind == "MX"]
    assert [(one.owner, one.data) for one in mail] == [("millrace.example", "10 mx.posthouse.example.")]
