"""All rows against facts outside the project: sizes of disks and modules, room in a rack unit, sockets, supplies."""

from collections.abc import Iterable
from decimal import Decimal
from math import floor, log2
from re import fullmatch

import pytest

from scantling.catalogue import Article
from scantling.catalogue.reading import read

CATALOGUE, HOUSE = read()
RACK_UNIT, OPENING = 44.45, 450.0
"""mm; EIA-310 and IEC 60297-3-100: one unit, and the least opening between the uprights of a 19-inch rack."""
WIDE_DISK, NARROW_DISK = (101.6, 26.1), (69.85, 15.0)
"""mm, width and greatest height; SFF-8301 for 3.5-inch disks, SFF-8201 for 2.5-inch ones."""
SOLD_BY_MODULE = (8, 16, 24, 32, 48, 64, 96, 128)
"""GiB; JEDEC JESD79-5 has devices of 16, 24 and 32 Gbit, so that modules are powers of two or three quarters of one."""
PRICED = ("host", "processor", "module", "disk", "boot_disk", "ups", "cabinet", "backup", "build")


def _ids(rows: Iterable[Article]) -> list[str]:
    return [row.slug for row in rows]


def _of(rows_of: str, **having: object) -> list[Article]:
    return [row for row in CATALOGUE.every(rows_of) if all(row.values[name] == word for name, word in having.items())]


disks = pytest.mark.parametrize(
    "row",
    [*CATALOGUE.every("disk"), *CATALOGUE.every("boot_disk")],
    ids=_ids([*CATALOGUE.every("disk"), *CATALOGUE.every("boot_disk")]),
)
hosts = pytest.mark.parametrize("row", CATALOGUE.every("host"), ids=_ids(CATALOGUE.every("host")))
modules = pytest.mark.parametrize("row", CATALOGUE.every("module"), ids=_ids(CATALOGUE.every("module")))
units = pytest.mark.parametrize("row", CATALOGUE.every("ups"), ids=_ids(CATALOGUE.every("ups")))


@disks
def test_a_disk_holds_what_its_name_says_in_decimal(row: Article) -> None:
    """IDEMA LBA1-03: 97,696,368 + 1,953,504 (GB - 50) sectors of 512 bytes, a little more than the decimal size."""
    gigabytes = row.values["size"] * 1000
    assert gigabytes == pytest.approx(round(gigabytes), abs=1e-9)
    sectors = 97_696_368 + 1_953_504 * (round(gigabytes) - 50)
    assert gigabytes * 1e9 <= sectors * 512 <= gigabytes * 1e9 * 1.001
    assert sectors % 8 == 0
    said = fullmatch(r".*?([\d.]+) (TB|GB)\b.*", str(row.values["name"]))
    assert said is not None
    assert float(said[1]) * (1000 if said[2] == "TB" else 1) == pytest.approx(gigabytes)


@pytest.mark.parametrize("row", _of("disk", medium="solid state"), ids=_ids(_of("disk", medium="solid state")))
def test_flash_comes_in_doublings(row: Article) -> None:
    """Steps of 480 GB doubled, or of 400 GB doubled where a larger share is spare for writing (common practice, no source)."""
    base = 400 if row.values["endurance"] >= 3 else 480
    steps = log2(row.values["size"] * 1000 / base)
    assert steps == pytest.approx(round(steps), abs=1e-9)


@modules
def test_a_module_is_of_a_size_that_is_made(row: Article) -> None:
    """JEDEC JESD79-5: powers of two, or three quarters of one."""
    assert row.values["capacity"] in SOLD_BY_MODULE
    assert row.values["modules"] == 1


@hosts
def test_memory_can_be_filled_to_its_limit(row: Article) -> None:
    largest = max(module.values["capacity"] for module in _of("module", memory_kind=row.values["memory_kind"]))
    assert row.values["memory_limit"] <= row.values["slots"] * largest


def _most_bays(height: int, form: int) -> int:
    """Disks that go side by side and above each other into the front of so many rack units, lying or on edge."""
    (wide, high), inside = (WIDE_DISK if form == 35 else NARROW_DISK), height * RACK_UNIT
    lying = floor(OPENING / wide) * floor(inside / high)
    on_edge = floor(OPENING / high) * floor(inside / wide)
    return max(lying, on_edge)


@pytest.mark.parametrize(
    "row", [row for row in CATALOGUE.every("host") if row.values["rails"]], ids=lambda row: str(row.slug)
)
def test_no_more_disks_than_the_front_of_a_rack_server_has_room_for(row: Article) -> None:
    """SFF-8301 and SFF-8201 against EIA-310; four wide disks to a unit, twelve to two."""
    assert row.values["bays"] <= _most_bays(row.values["height"], row.values["bay_form"])


def test_the_reckoning_of_bays_gives_what_the_trade_knows() -> None:
    """4 and 12 wide disks in one and two units, 24 narrow ones in two (common practice, no source)."""
    assert (_most_bays(1, 35), _most_bays(2, 35)) == (4, 12)
    assert _most_bays(2, 25) >= 24


@hosts
def test_a_server_is_as_heavy_as_what_is_in_it(row: Article) -> None:
    """An empty server weighs a few kilograms and some for each unit and bay (common practice, no source)."""
    assert 4 <= row.values["weight"] <= 40
    assert row.values["lift_weight"] == row.values["weight"]
    assert row.values["rails"] == (row.values["shape"] != "tower")
    assert row.values["height"] <= 2 if row.values["rails"] else 4 <= row.values["height"] <= 6


@hosts
def test_only_the_large_socket_comes_in_twos(row: Article) -> None:
    """Processors for one socket have no links to a second (makers' data sheets, from memory)."""
    assert row.values["sockets"] == 1 or row.values["socket"] == "large"


@hosts
def test_a_server_that_is_sold_fits_into_some_cabinet(row: Article) -> None:
    """With the room that cables want behind it (house rule premises.cables)."""
    cables = float(HOUSE.lines["premises.cables"].texts[0].removesuffix(" mm"))
    deepest = max(cabinet.values["usable_depth"] for cabinet in CATALOGUE.every("cabinet"))
    assert row.values["depth"] + cables <= deepest


@pytest.mark.parametrize("row", CATALOGUE.every("cabinet"), ids=_ids(CATALOGUE.every("cabinet")))
def test_a_cabinet_is_higher_than_its_units_and_not_by_much(row: Article) -> None:
    """EIA-310: 44.45 mm a unit; top, bottom, feet or castors add 100 to 200 mm (common practice, no source)."""
    frame = row.values["own_height"] - row.values["units_high"] * RACK_UNIT
    assert 80 <= frame <= 250
    assert row.values["own_depth"] - row.values["usable_depth"] >= 50


@pytest.mark.parametrize("row", _of("cabinet"), ids=_ids(_of("cabinet")))
def test_a_wall_carries_less_than_a_floor(row: Article) -> None:
    """Wall cabinets are rated for 30 to 100 kg, floor ones for 200 kg and more (common practice, no source)."""
    wall = row.slug.startswith("wall-")
    assert (30 <= row.values["load"] <= 100) if wall else row.values["load"] >= 200
    assert (row.values["units_high"] <= 18) if wall else row.values["units_high"] >= 12


@units
def test_a_battery_unit_gives_no_more_watts_than_volt_amperes(row: Article) -> None:
    """Active power is apparent power times a power factor of at most one (IEC 60050-131: 131-11-46)."""
    assert row.values["ups_watts"] <= row.values["va"]
    said = fullmatch(r".*?(\d+) VA\b.*", str(row.values["name"]))
    assert said is not None
    assert float(said[1]) == row.values["va"]


@units
def test_a_long_run_is_heavy(row: Article) -> None:
    """Lead weighs: at the hour's rate no more than 20 Wh a kilogram of the whole unit (from memory), at least 3."""
    energy = row.values["ups_watts"] * 0.5 * row.values["run_50"] / 60
    assert 3 <= energy / row.values["weight"] <= 20


@pytest.mark.parametrize("kind", PRICED)
def test_prices_are_whole_cents_and_nothing_is_free(kind: str) -> None:
    """Only what is rented costs nothing to begin with."""
    for row in CATALOGUE.every(kind):
        price = row.values["price"]
        assert price == price.quantize(Decimal("0.01"))
        assert price > 0 or row.values["monthly_fee"] > 0, row.slug


@pytest.mark.parametrize(
    "row", _of("backup", place="away", kind="disks"), ids=_ids(_of("backup", place="away", kind="disks"))
)
def test_disks_to_carry_are_several(row: Article) -> None:
    """Generations rotate: at least three, so that one is always away (common practice, no source)."""
    assert row.values["media"] % 3 == 0
    assert row.values["rate"] <= 270
