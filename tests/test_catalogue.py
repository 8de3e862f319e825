"""The catalogue as it stands: counts, types, looking rows up, and what is said of a row that is not there."""

from re import fullmatch
from typing import Any

import pytest

from scantling import UserError, api
from scantling.brief import Section
from scantling.brief.sections import ask_of, group
from scantling.catalogue import Article, Catalogue, CatalogueError, House, Practice
from scantling.catalogue.columns import CORES, KINDS, NAME, SOCKET
from scantling.catalogue.reading import DATA, all_columns, read
from scantling.figures import PRICE, Attribute, Figure, Origin, text
from scantling.figures.quantities import parse
from scantling.figures.units import COUNT, CURRENCY, MINUTE, SHARE, WORD, convert
from scantling.standing import SECTIONS as STANDING_SECTIONS
from scantling.plan.spine import columns, practices, trades

MODULES = trades()
CATALOGUE, HOUSE = read(more=columns(MODULES), practices=practices(MODULES))
MINIMA = {
    "host": 20, "processor": 30, "module": 12, "disk": 30, "boot_disk": 6, "ups": 8, "backup": 8, "cabinet": 6,
    "labour": 3, "profile": 13, "data_kind": 7, "device_kind": 10, "zone_kind": 10,
}  # fmt: skip
PROFILES = {
    "directory", "names and addresses", "files", "wireless controller", "network monitor", "content filter",
    "firewall", "backup", "business application", "database", "print", "remote access", "camera recorder",
}  # fmt: skip


def _said(word: str, place: str = "brief.yaml:63", path: str = "brief.services.files.profile") -> Figure[str]:
    return Figure(word, WORD, Origin("brief", f"{path}: {word}", place), None, path)


def _values(kind: str, column: str) -> set[Any]:
    return {row.values[column] for row in CATALOGUE.every(kind)}


@pytest.mark.parametrize(("kind", "least"), MINIMA.items())
def test_there_are_enough_rows_to_choose_from(kind: str, least: int) -> None:
    assert len(CATALOGUE.every(kind)) >= least


def test_there_are_some_two_hundred_articles_beside_the_plain_kinds() -> None:
    plain = ("data_kind", "device_kind", "zone_kind")
    assert 180 <= sum(len(rows) for kind, rows in CATALOGUE.rows.items() if kind not in plain) <= 320


def test_every_cell_of_every_row_has_its_columns_type() -> None:
    known: dict[str, tuple[Attribute[Any], ...]] = dict(all_columns(columns(MODULES)))
    seen = 0
    for kind, rows in CATALOGUE.rows.items():
        for row in rows.values():
            assert set(row.values) == {column.name for column in known[kind]}
            for column in known[kind]:
                assert type(row.values[column.name]) is column.unit.kind, (kind, row.slug, column.name)
                seen += 1
    assert seen > 3000


def test_hosts_come_in_every_shape_that_makes_choosing_real() -> None:
    assert _values("host", "shape") == {"tower", "short rack", "full rack"}
    assert _values("host", "sockets") == {1, 2}
    assert {min(_values("host", "bays")), max(_values("host", "bays"))} == {2, 24}
    assert _values("host", "bay_form") == {25, 35}
    assert _values("host", "socket") == {"small", "middle", "large", "former"}
    assert _values("host", "lights_out") == {True, False}
    assert _values("host", "supplies") == {1, 2}
    assert _values("host", "rails") == {0, 1}
    assert {4, 24} <= _values("processor", "cores")


def test_every_socket_and_memory_kind_of_a_host_can_be_filled() -> None:
    for host in CATALOGUE.every("host"):
        fitting = [p for p in CATALOGUE.every("processor") if p.values["socket"] == host.values["socket"]]
        assert any(p.values["memory_kind"] == host.values["memory_kind"] for p in fitting), host.slug
        assert host.values["memory_kind"] in _values("module", "memory_kind")


def test_an_office_that_must_be_quiet_and_has_no_cabinet_can_be_served() -> None:
    """Under 38 dB, four wide bays, a boot mirror, two ports of its own, less than 600 mm deep, no rails."""
    quiet = [
        row.slug
        for row in CATALOGUE.every("host")
        if row.values["noise"] < 38 and row.values["bays"] >= 4 and row.values["bay_form"] == 35
        if row.values["boot_bays"] >= 2 and row.values["ports"] >= 2 and row.values["depth"] < 600
        if row.values["rails"] == 0 and row.values["lights_out"]
    ]  # fmt: skip
    assert "tower-quiet-4" in quiet
    assert all(row.values["depth"] < 700 for row in CATALOGUE.every("host") if row.values["shape"] == "tower")


def test_copies_are_offered_at_hand_and_elsewhere_by_every_means() -> None:
    means = {(row.values["place"], row.values["kind"]) for row in CATALOGUE.every("backup")}
    assert means == {("near", "box"), ("away", "disks"), ("away", "tape"), ("away", "online")}
    assert all(row.values["off_site"] for row in CATALOGUE.every("backup") if row.values["place"] == "away")
    assert not any(row.values["off_line"] for row in CATALOGUE.every("backup") if row.values["place"] == "near")


def test_every_named_service_has_a_profile() -> None:
    assert {str(row.values["name"]) for row in CATALOGUE.every("profile")} == PROFILES
    zones = {row.slug for row in CATALOGUE.every("zone_kind")}
    assert {row.values["zone"] for row in CATALOGUE.every("profile")} <= zones


def test_a_figure_of_a_row_knows_the_row_and_its_line() -> None:
    row = CATALOGUE.pick("processor", _said("small-8"))
    cores = row.figure(CORES)
    assert (cores.value, cores.unit, cores.id) == (8, COUNT, "catalogue.processor.small-8.cores")
    assert isinstance(cores.how, Origin)
    assert cores.how.kind == "catalogue"
    file, line = cores.how.place.split(":")
    written = (DATA / file).read_text(encoding="utf-8").splitlines()[int(line) - 1]
    assert written.startswith("  small-8:")


def test_a_row_without_a_column_says_so() -> None:
    row = Article("disk", "odd", {"name": "odd"}, "disks.yaml:3")
    assert row.get(CORES) is None
    with pytest.raises(CatalogueError, match="the disk odd has no cores"):
        row.figure(CORES)


def test_rows_are_picked_by_slug_and_by_name() -> None:
    by_slug = CATALOGUE.pick("profile", _said("names-and-addresses"))
    assert by_slug is CATALOGUE.pick("profile", _said("names and addresses"))
    assert by_slug.get(NAME) == "names and addresses"


def test_an_unknown_row_is_told_with_the_line_and_the_nearest() -> None:
    with pytest.raises(CatalogueError) as caught:
        CATALOGUE.pick("profile", _said("filez"))
    said = str(caught.value)
    assert said.startswith('brief.yaml:63: services.files.profile: no profile called "filez"; did you mean "files"?')
    assert all(name in said for name in PROFILES)


def test_an_unknown_row_with_nothing_near_is_told_without_a_guess() -> None:
    with pytest.raises(CatalogueError, match=r'no zone kind called "qqqq"\. There are: Cameras, '):
        CATALOGUE.pick("zone_kind", _said("qqqq"))


def test_a_long_word_is_cut_in_the_message() -> None:
    with pytest.raises(CatalogueError) as caught:
        CATALOGUE.pick("profile", _said("x" * 500))
    assert "x" * 40 + '"' in str(caught.value)
    assert "x" * 41 not in str(caught.value)


def test_all_unknown_rows_are_told_at_once() -> None:
    words = [_said("filez"), _said("files"), _said("prunt", "brief.yaml:70")]
    first, second = CATALOGUE.lacking("profile", words)
    assert '"filez"' in first
    assert second.startswith("brief.yaml:70: ")
    assert 'did you mean "print"?' in second
    assert CATALOGUE.lacking("profile", words[1:2]) == ()


def test_a_kind_that_is_not_there_is_told() -> None:
    with pytest.raises(CatalogueError, match="no rows of kind anvil"):
        CATALOGUE.every("anvil")
    with pytest.raises(CatalogueError, match=r'no anvil called "heavy"\. There are: none'):
        CATALOGUE.pick("anvil", _said("heavy"))


def test_the_only_row_of_a_kind_must_be_the_only_one() -> None:
    with pytest.raises(CatalogueError, match="one row of kind labour is wanted; the catalogue has consultant, "):
        CATALOGUE.only("labour")
    alone = CATALOGUE.rows["labour"]["consultant"]
    assert Catalogue({"labour": {"consultant": alone}}).only("labour") is alone


def test_options_count_rows_and_their_price() -> None:
    options = CATALOGUE.options("processor", counts=(1, 2))
    assert len(options) == 2 * len(CATALOGUE.every("processor"))
    pair = next(option for option in options if option.slug == "2x-small-8")
    row = CATALOGUE.rows["processor"]["small-8"]
    assert pair.get(CORES) == 16
    assert pair.get(SOCKET) == "small"
    assert pair.price == 2 * row.values[PRICE.name]


def test_an_unknown_profile_in_a_brief_is_bad_input_with_its_line() -> None:
    brief = (DATA.parents[3] / "examples/millrace/brief.yaml").read_text(encoding="utf-8")
    line = next(n for n, written in enumerate(brief.splitlines(), 1) if "profile: files" in written)
    with pytest.raises(
        UserError,
        match=f'brief.yaml:{line}:\\d+: services.files.profile: "filez" is not one of .*; did you mean files',
    ):
        api.plan_text(brief.replace("profile: files", "profile: filez", 1))


def _assumed(section: type[Section]) -> set[str]:
    keys: set[str] = set()
    for field in section.model_fields.values():
        if key := ask_of(field).assumed:
            keys.add(key)
        if (below := group(field)) is not None:
            keys |= _assumed(below)
    return keys


def _all_assumed() -> set[str]:
    return set().union(*map(_assumed, [*api.known_sections(), *STANDING_SECTIONS]))


def test_no_house_rule_is_missing_or_asked_for_by_nobody() -> None:
    known = _all_assumed() | {practice.key for practice in practices(MODULES)}
    assert len(known) > 100
    assert set(HOUSE.lines) == known


def test_every_house_rule_has_range_reason_and_source() -> None:
    for key, line in HOUSE.lines.items():
        assert line.texts, key
        assert all((line.range, line.reason, line.source)), key
        assert line.place.partition(":")[0].endswith(".yaml"), key


def test_a_house_rule_is_a_figure_with_its_reason() -> None:
    stop = HOUSE[Practice("power.host-stop", MINUTE)]
    line = HOUSE.lines["power.host-stop"]
    assert text(stop) == line.texts[0]
    assert stop.id == "house.power.host-stop"
    assert isinstance(stop.how, Origin)
    assert line.reason in stop.how.where
    assert stop.how.place == line.place


def test_a_house_rule_that_is_a_list_gives_each_of_its_values() -> None:
    leases = next(p for p in practices(MODULES) if p.key == "addresses.guest-leases")
    figures = list(HOUSE.every(leases))
    assert [text(figure) for figure in figures] == list(HOUSE.lines["addresses.guest-leases"].texts)
    assert len({figure.id for figure in figures}) == len(figures) > 1


def test_a_house_rule_that_was_not_read_is_told() -> None:
    with pytest.raises(CatalogueError, match=r"the house rules lack tea\.milk"):
        House()[Practice("tea.milk", SHARE)]


def test_shared_kinds_name_no_column_twice() -> None:
    for kind, many in KINDS.items():
        assert len({column.name for column in many}) == len(many), kind


RANGE = r"(?:up to |([\d.]+) ?(\D*?) to )?([\d.]+) ?(\D*)"


def _bounds(written: str) -> tuple[str, str] | None:
    """`15 to 25 %` as the texts of its ends, None where the range is told in words."""
    match = fullmatch(RANGE, written)
    if match is None:
        return None
    most = f"{match[3]} {match[4]}".rstrip()
    least = f"{match[1] or (0 if written.startswith('up to') else match[3])} {match[2] or match[4]}".rstrip()
    return least, most


def test_every_house_rule_lies_in_the_range_it_names() -> None:
    """A range of numbers can be read by the same parser; words (yes or no, any zone) are left to the reader."""
    held = 0
    for practice in practices(MODULES):
        bounds = _bounds(HOUSE.lines[practice.key].range)
        if bounds is None or not practice.unit.numeric or CURRENCY in practice.unit.symbol:
            continue
        ends = [convert(*parse(end, practice.unit), practice.unit) for end in bounds]
        for figure in HOUSE.every(practice):
            value = convert(figure.value, figure.unit, practice.unit)
            assert min(ends) <= value <= max(ends), (practice.key, value, ends)
            held += 1
    assert held >= 50
