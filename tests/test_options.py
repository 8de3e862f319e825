"""Firm options: the firewall in a box, no server at all, a service left with others; each judged from raw numbers."""

import json
from decimal import ROUND_HALF_UP, Decimal

import pytest
from offices import changed, codes, fold, millrace, planned
from option_samples import EXAMPLES, WAYS, number, options_of, other_ways, raw, way
from ruamel.yaml import YAML

from scantling import UserError, api
from scantling.brief.editing import with_values
from scantling.figures import PRICE, Box, Copy, Device, Hosts, Machine, Port, Range, Rented, Service, Subnet, Sum
from scantling.plan.make import Plan
from scantling.plan.telling import canonical

SERVER_SLOTS = {"host", "processor", "memory", "boot", "fast", "bulk"}
CENT = Decimal("0.01")
every_office = pytest.mark.parametrize("office", list(EXAMPLES))


@every_office
def test_each_way_is_a_whole_plan_with_a_price(office: str) -> None:
    """Four columns, each with purchase, price, pages; and a plan of its own, not the same one again."""
    made = options_of(office)
    assert tuple(option.variant.slug for option in made) == WAYS
    assert len({canonical(way(office, slug)) for slug in WAYS}) == len(WAYS)
    for slug in WAYS:
        plan = way(office, slug)
        assert plan.figures["money.total"].value > 0
        assert plan.confirmed is not None
        assert (plan.confirmed.finished, plan.confirmed.agrees) == (True, True), plan.confirmed.says
        assert {"near", "away"} <= set(plan.purchase.chosen.options)
        assert {page.slug for page in plan.pages()} >= {"machines", "backup", "price", "power"}


def test_a_brief_that_says_what_the_house_assumes_is_the_same_plan() -> None:
    """One server and guests are the default: said or not said, the plan is the same to the byte."""
    said = changed(fold(), "{profile: firewall,", "{profile: firewall, stands: guest,") + "\nbuild: {hosts: 1}\n"
    assert canonical(planned(said), places=False) == canonical(planned(fold()), places=False)


@every_office
def test_nothing_of_it_is_in_the_plan_of_one_server(office: str) -> None:
    plan = way(office, "as-planned")
    assert not any(plan.records(kind) for kind in (Box, Rented, Hosts))
    assert not {id_ for id_ in plan.figures if id_.split(".")[0] in ("boxes", "rented", "hosts")}


@every_office
def test_the_firewall_leaves_the_server_and_a_box_carries_every_line(office: str) -> None:
    """No machine, no ports of the host for it; the row's throughput and ports against the brief's own lines."""
    before, after = way(office, "as-planned"), way(office, "firewall-box")
    gone = {m.slug for m in before.records(Machine)} - {m.slug for m in after.records(Machine)}
    assert gone == {"firewall"}
    row = raw("boxes.yaml", "box")[after.purchase.chosen.options["box-gateway"].slug]
    lines = YAML(typ="safe").load(EXAMPLES[office].read_text(encoding="utf-8"))["lines"].values()
    used = [line for line in lines if not line.get("standby")]
    assert number(row["throughput"]) >= sum(number(line["down"]) for line in used)
    assert number(row["throughput"]) >= max(number(line["down"]) for line in lines)
    assert int(row["ports"]) > len(list(lines))
    assert after.figures["host.ports.needed"].value == before.figures["host.ports.needed"].value - 2


@every_office
def test_the_box_stands_in_a_zone_with_an_address_and_every_gateway_stays(office: str) -> None:
    before, after = way(office, "as-planned"), way(office, "firewall-box")
    gateways = {subnet.slug: subnet.gateway for subnet in before.records(Subnet)}
    assert {subnet.slug: subnet.gateway for subnet in after.records(Subnet)} == gateways
    (box,) = [device for device in after.records(Device) if device.slug == "box-gateway"]
    (held,) = [run for run in after.records(Range) if run.slug == "management-kept-box-gateway"]
    (net,) = [subnet.network for subnet in after.records(Subnet) if subnet.slug == box.zone]
    assert (box.zone, held.zone) == ("management", "management")
    assert held.first == held.last
    assert held.first in net
    assert [port.zone for port in after.records(Port) if port.slug == "box-gateway"] == ["management"]


@every_office
def test_without_a_server_nothing_of_one_is_bought_and_the_data_are_still_copied(office: str) -> None:
    plan = way(office, "no-server")
    assert not plan.records(Machine)
    assert not SERVER_SLOTS & set(plan.purchase.chosen.options)
    assert not {id_ for id_ in plan.figures if id_.split(".")[0] in ("host", "arrays")}
    kept = {one.slug: one for one in plan.records(Copy)}
    assert kept["near"].needed.value > 0
    assert kept["near"].capacity.value >= kept["near"].needed.value
    elsewhere = {"in a box", "in the cloud"}
    assert {service.machine for service in plan.records(Service)} == elsewhere


@every_office
def test_rent_is_users_times_price_times_twelve(office: str) -> None:
    """Every rented service by hand, from the written rows: users, fixed sum and data beyond what is included."""
    plan = way(office, "no-server")
    rows, sizes = raw("rented.yaml", "rented"), _data(office, plan)
    profiles = {service.slug: service.profile for service in plan.records(Service)}
    rented = plan.records(Rented)
    assert rented
    for one in rented:
        row, users = rows[profiles[one.slug]], one.users.value
        extra = max(sizes.get(one.slug, Decimal(0)) - number(row["room_each"]) * users / 1000, Decimal(0))
        monthly = users * number(row["user_fee"]) + number(row["monthly_fee"]) + number(row["fee_per_tb"]) * extra
        assert one.yearly.value == pytest.approx(monthly * 12, abs=CENT), one.slug
    assert plan.figures["rented.yearly"].value == sum(one.yearly.value for one in rented)
    assert plan.figures["rented.horizon"].value == 5 * plan.figures["rented.yearly"].value


def test_the_smallest_rent_by_hand() -> None:
    """Fold & Fell: 4 surveyors at 5 % for 5 years make 6 heads and one more stays one: 7 people at 4.00 EUR for a year."""
    plan = way("fold", "no-server")
    assert plan.figures["rented.services.directory.yearly"].value == Decimal("336.00")


def _data(office: str, plan: Plan) -> dict[str, Decimal]:
    """Terabytes at the horizon by service, compounded by hand from the brief."""
    sets = YAML(typ="safe").load(EXAMPLES[office].read_text(encoding="utf-8"))["data"]["sets"]
    years, found = Decimal(int(plan.office.horizon.value)), dict[str, Decimal]()
    for body in sets.values():
        size = number(body["size"]) / (1000 if "GB" in body["size"] else 1)
        adds = str(body.get("adds", "0 TB/year"))
        more = number(adds) / (1000 if "GB" in adds else 1)
        grown = size * (1 + number(body["growth"]) / 100) ** years + more * years
        found[body["service"]] = found.get(body["service"], Decimal(0)) + grown
    return found


@every_office
@pytest.mark.parametrize("slug", WAYS)
def test_the_price_is_the_sum_of_its_rows(office: str, slug: str) -> None:
    """Parts row by row, work, access points, contingency and tax, each rounded half up to the cent."""
    plan = way(office, slug)
    options = plan.purchase.chosen.options.values()
    parts = sum((row.get(PRICE) * count for o in options for row, count in o.to_buy if row.get(PRICE)), Decimal(0))
    assert plan.purchase.chosen.of(Sum(PRICE)).value == parts
    figures = plan.figures
    whole = parts + figures["money.labour.total"].value + figures["money.radio.price"].value
    net = whole + (whole * 10 / 100).quantize(CENT, ROUND_HALF_UP)
    assert figures["money.total"].value == net + (net * 23 / 100).quantize(CENT, ROUND_HALF_UP)


def test_what_cannot_be_rented_and_what_cannot_stand_in_a_box_is_refused() -> None:
    """A stop, a plan all the same, and the other findings of the new trades where they hold."""
    lone = changed(fold(), "{profile: names and addresses,", "{profile: names and addresses, stands: cloud,")
    assert "F-3" in codes(planned(lone))
    boxed = changed(fold(), "{profile: files,", "{profile: files, stands: box,")
    assert "F-1" in codes(planned(boxed))


SLOW = "fibre: {name: Fibre, down: 250 Mbit/s, up: 50 Mbit/s,"


def rented_files(line: str = SLOW) -> str:
    """Fold & Fell with its files left with others, over a line of one's own choosing."""
    moved = changed(fold(), "{profile: files,", "{profile: files, stands: cloud,")
    return changed(moved, SLOW, line)


def test_a_slow_line_is_told() -> None:
    """Seven people at 2 and 1 Mbit/s want 14 and 7; a night at 80 % of 2 Mbit/s fetches 5.76 GB."""
    made = planned(rented_files("fibre: {name: Fibre, down: 2 Mbit/s, up: 1 Mbit/s,"))
    assert made.figures["rented.down-needed"].value == 14
    assert made.figures["rented.up-needed"].value == 7
    assert made.figures["rented.night"].value == pytest.approx(2 * 0.8 * 8 * 3600 / 8000)
    assert {"F-4", "F-11"} <= codes(made)
    assert not {"F-4", "F-11"} & codes(planned(rented_files()))


def test_a_line_that_stands_by_keeps_what_is_rented_at_work() -> None:
    assert {"F-5", "F-6", "F-7"} <= codes(planned(rented_files()))
    spare = changed(rented_files(), "lines:\n", "lines:\n  radio: {down: 50 Mbit/s, up: 10 Mbit/s, standby: yes}\n")
    assert "F-5" not in codes(planned(spare))
    assert {"F-6", "F-7"} <= codes(planned(spare))


def test_a_patient_client_needs_no_spare_box() -> None:
    boxed = changed(fold(), "{profile: firewall, down: 8 h", "{profile: firewall, stands: box, down: 8 h")
    assert "F-2" in codes(planned(boxed))
    assert "F-2" not in codes(planned(changed(boxed, "stands: box, down: 8 h", "stands: box, down: 72 h")))


def test_only_data_on_our_own_machines_is_on_our_arrays() -> None:
    """What is left with others leaves the arrays and stays in the backup."""
    before, after = planned(fold()), planned(rented_files())
    assert after.figures["storage.data.needed"].value == 0
    assert after.figures["backup.nightly"].value == before.figures["backup.nightly"].value


def test_pins_and_refusals_that_a_way_has_no_use_for_are_left_out_and_named() -> None:
    """A pin on the firewall's machine means nothing without that machine; the brief itself stays strict."""
    text = fold() + (
        "\npins:\n  machines.firewall.cores: {value: '3', because: asked}\n"
        "declined:\n  M-9: {by: Ruth Fell, on: 2026-11-24, because: known}\n"
    )
    made = {option.variant.slug: option for option in api.options_text(text)}
    assert made["firewall-box"].left_out == ("machines.firewall.cores",)
    assert made["no-server"].left_out == ("machines.firewall.cores", "M-9")
    assert made["two-hosts"].left_out == ()
    assert made["two-hosts"].plan is not None
    assert made["two-hosts"].plan.figures["machines.firewall.cores"].value == 3
    with pytest.raises(UserError, match=r"machines\.firewall\.cors"):
        api.options_text(text.replace("firewall.cores", "firewall.cors"))


def test_a_brief_without_a_server_is_offered_one() -> None:
    """The other way round: what the brief has chosen already is not offered again."""
    bare = next(option for option in options_of("fold") if option.variant.slug == "no-server")
    text = with_values(fold(), bare.variant.edits)
    made = {option.variant.slug: option for option in api.options_text(text)}
    assert set(made) == {"as-planned", "firewall-guest", "one-server"}
    both = {option.variant.slug for option in api.options_text(fold() + "\nbuild: {hosts: 2}\n")}
    assert both == {"as-planned", "firewall-box", "no-server", "one-host"}
    assert made["one-server"].plan is not None
    assert canonical(made["one-server"].plan, places=False) == canonical(planned(fold()), places=False)


def test_every_way_is_written_the_same_every_time() -> None:
    """Two runs, the same bytes; and they are JSON."""
    one, two = (api.options_text(millrace())[1].plan for _ in range(2))
    assert one is not None
    assert two is not None
    assert canonical(one) == canonical(two)
    assert json.loads(canonical(one))["client"] == "The Millrace Arts Centre"
    assert other_ways()
