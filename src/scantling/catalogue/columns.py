"""Every shared column of the catalogue, and which kind of row has which."""

from collections.abc import Mapping
from typing import Any

from scantling.figures import PRICE, Attribute, units
from scantling.figures.units import (
    COUNT,
    DATE,
    DECIBEL,
    GB,
    GIB,
    HEIGHT_UNIT,
    HOURLY,
    IOPS,
    KILOGRAM,
    MBIT_PER_S,
    MB_PER_S,
    MILLISECOND,
    MINUTE,
    MM,
    MONEY,
    MONEY_AN_HOUR,
    MONEY_A_YEAR,
    PER_DAY,
    PER_YEAR,
    RATIO,
    TB,
    TRUTH,
    WATT,
    WORD,
    YEAR,
)  # fmt: skip

NAME = Attribute("name", WORD)
SOCKET, MEMORY_KIND = Attribute("socket", WORD), Attribute("memory_kind", WORD)
WATTS, SERVER_WATTS = Attribute("watts", WATT, sums=True), Attribute("server_watts", WATT, sums=True)
DEPTH, NOISE = Attribute("depth", MM), Attribute("noise", DECIBEL)
HEIGHT, WEIGHT = Attribute("height", HEIGHT_UNIT, sums=True), Attribute("weight", KILOGRAM, sums=True)
RAILS, LIFT_WEIGHT = Attribute("rails", COUNT, sums=True), Attribute("lift_weight", KILOGRAM)

SHAPE, SOCKETS, CHANNELS = Attribute("shape", WORD), Attribute("sockets", COUNT), Attribute("channels", COUNT)
SLOTS, MEMORY_LIMIT = Attribute("slots", COUNT), Attribute("memory_limit", GIB)
BAYS, BAY_FORM, BOOT_BAYS = Attribute("bays", COUNT), Attribute("bay_form", COUNT), Attribute("boot_bays", COUNT)
SUPPLIES, SUPPLY_WATTS = Attribute("supplies", COUNT), Attribute("supply_watts", WATT)
PORTS, LIGHTS_OUT = Attribute("ports", COUNT), Attribute("lights_out", TRUTH)

CORES, CHIPS = Attribute("cores", COUNT, sums=True), Attribute("chips", COUNT, sums=True)
BASE_GHZ = Attribute("base_ghz", RATIO)
CAPACITY, MODULES = Attribute("capacity", GIB, sums=True), Attribute("modules", COUNT, sums=True)

MEDIUM, SIZE, FORM = Attribute("medium", WORD), Attribute("size", TB), Attribute("form", COUNT)
BAYS_TAKEN, BOOT_TAKEN = Attribute("bays_taken", COUNT, sums=True), Attribute("boot_taken", COUNT, sums=True)
RATE, SPEED = Attribute("rate", MB_PER_S), Attribute("speed", IOPS)
FAILURES = Attribute("failures", PER_YEAR)
READ_ERRORS, ENDURANCE = Attribute("read_errors", RATIO), Attribute("endurance", RATIO)

VA, UPS_WATTS, CARD = Attribute("va", units.VA), Attribute("ups_watts", WATT), Attribute("card", COUNT)
RUN_25, RUN_50 = Attribute("run_25", MINUTE), Attribute("run_50", MINUTE)
RUN_75, RUN_100 = Attribute("run_75", MINUTE), Attribute("run_100", MINUTE)
BATTERY_YEARS = Attribute("battery_years", YEAR)

PLACE, KIND, ROOM = Attribute("place", WORD), Attribute("kind", WORD), Attribute("room", TB)
READ_RATE, MEDIA = Attribute("read_rate", MB_PER_S), Attribute("media", COUNT)
OFF_LINE, OFF_SITE = Attribute("off_line", TRUTH), Attribute("off_site", TRUTH)
MONTHLY_FEE, FEE_PER_TB = Attribute("monthly_fee", MONEY), Attribute("fee_per_tb", MONEY)

UNITS_HIGH, USABLE_DEPTH = Attribute("units_high", COUNT), Attribute("usable_depth", MM)
LOAD, DAMPING = Attribute("load", KILOGRAM), Attribute("damping", DECIBEL)
OWN_HEIGHT, OWN_DEPTH = Attribute("own_height", MM), Attribute("own_depth", MM)

SWITCHES, SWITCH_PORTS = Attribute("switches", COUNT, sums=True), Attribute("switch_ports", COUNT, sums=True)
POWERED_PORTS, POWER_BUDGET = Attribute("powered_ports", COUNT, sums=True), Attribute("power_budget", WATT, sums=True)
UPLINKS, MANAGED = Attribute("uplinks", COUNT, sums=True), Attribute("managed", TRUTH)

THROUGHPUT, YEARLY_FEE = Attribute("throughput", MBIT_PER_S), Attribute("yearly_fee", MONEY_A_YEAR)
USER_FEE, ROOM_EACH = Attribute("user_fee", MONEY), Attribute("room_each", GB)
DOWN_EACH, UP_EACH = Attribute("down_each", MBIT_PER_S), Attribute("up_each", MBIT_PER_S)

LABOUR_RATE = Attribute("hourly", MONEY_AN_HOUR)

MACHINE, ZONE = Attribute("machine", WORD), Attribute("zone", WORD)
CORES_FIXED, CORES_EACH = Attribute("cores_fixed", RATIO), Attribute("cores_each", RATIO)
CORES_LEAST, FLOOR_FIXED = Attribute("cores_least", COUNT), Attribute("floor_fixed", GIB)
EXPECTED_FIXED, MEMORY_EACH = Attribute("expected_fixed", GIB), Attribute("memory_each", GIB)
CEILING, DISK = Attribute("ceiling", GIB), Attribute("disk", GB)
OPERATIONS_FIXED, OPERATIONS_EACH = Attribute("operations_fixed", IOPS), Attribute("operations_each", IOPS)
REQUESTS, SERVICE_TIME = Attribute("requests", HOURLY), Attribute("service_time", MILLISECOND)
STOP = Attribute("stop", MINUTE)

COMPRESSION, CHANGE = Attribute("compression", RATIO), Attribute("change", PER_DAY)
WIRED, FIXED, PORTS_EACH = Attribute("wired", TRUTH), Attribute("fixed", TRUTH), Attribute("ports_each", RATIO)
POWERED_CLASS = Attribute("powered_class", WORD)
NUMBER, SEALED, ALONE = Attribute("number", COUNT), Attribute("sealed", TRUTH), Attribute("alone", TRUTH)

TALK_SOURCE, TALK_TARGET = Attribute("source", WORD), Attribute("target", WORD)
TALK_CARRIED, TALK_GROUP, TALK_WHY = Attribute("carried", WORD), Attribute("group", WORD), Attribute("why", WORD)

BUILD_HOST, BUILD_PROCESSOR = Attribute("host", WORD), Attribute("processor", WORD)
BUILD_MODULE, BUILD_BOOT_DISK = Attribute("module", WORD), Attribute("boot_disk", WORD)
PROCESSORS, BUILD_MODULES = Attribute("processors", COUNT), Attribute("modules", COUNT)
BOOT_DISKS = Attribute("boot_disks", COUNT)
"""Of a set that is sold and tested whole. A word column called like a kind of row names a row of that kind."""

SOLD, APPROVED, CONFIRMED_ON = Attribute("sold", TRUTH), Attribute("approved", TRUTH), Attribute("confirmed_on", DATE)
PRICED_ON, VALID_UNTIL = Attribute("priced_on", DATE), Attribute("valid_until", DATE)
MARKS: tuple[Attribute[Any], ...] = (SOLD, APPROVED, CONFIRMED_ON, PRICED_ON, VALID_UNTIL)
"""What any row of any kind may say and none must: whether it is still sold (yes where nothing is said), whether the
maker has approved it, when the supplier confirmed price and stock, the day of its price and the last day it holds."""
HEAD = "prices"
"""The block of a file that says a mark for all its rows that do not say it themselves."""
HEAD_MARKS = (PRICED_ON, VALID_UNTIL)

KINDS: Mapping[str, tuple[Attribute[Any], ...]] = {
    "host": (
        NAME, PRICE, SHAPE, SOCKET, SOCKETS, CHANNELS, SLOTS, MEMORY_LIMIT, MEMORY_KIND, BAYS, BAY_FORM,
        BOOT_BAYS, SUPPLIES, SUPPLY_WATTS, PORTS, LIGHTS_OUT, DEPTH, HEIGHT, NOISE, WEIGHT, WATTS,
        SERVER_WATTS, RAILS, LIFT_WEIGHT,
    ),
    "processor": (NAME, PRICE, SOCKET, CORES, CHIPS, MEMORY_KIND, WATTS, SERVER_WATTS, BASE_GHZ),
    "module": (NAME, PRICE, CAPACITY, MODULES, MEMORY_KIND, WATTS, SERVER_WATTS),
    "disk": (
        NAME, PRICE, MEDIUM, SIZE, FORM, BAYS_TAKEN, RATE, SPEED, FAILURES, READ_ERRORS, ENDURANCE, WATTS,
        SERVER_WATTS, WEIGHT,
    ),
    "boot_disk": (NAME, PRICE, SIZE, BOOT_TAKEN, RATE, SPEED, FAILURES, WATTS, SERVER_WATTS),
    "ups": (
        NAME, PRICE, VA, UPS_WATTS, RUN_25, RUN_50, RUN_75, RUN_100, DEPTH, HEIGHT, WEIGHT, NOISE, WATTS,
        RAILS, CARD, BATTERY_YEARS, LIFT_WEIGHT,
    ),
    "backup": (
        NAME, PRICE, PLACE, KIND, ROOM, RATE, READ_RATE, OFF_LINE, OFF_SITE, MONTHLY_FEE, FEE_PER_TB, WATTS,
        DEPTH, HEIGHT, WEIGHT, NOISE, RAILS, LIFT_WEIGHT, MEDIA,
    ),
    "cabinet": (NAME, PRICE, UNITS_HIGH, USABLE_DEPTH, LOAD, DAMPING, OWN_HEIGHT, OWN_DEPTH, LIFT_WEIGHT),
    "switch": (
        NAME, PRICE, SWITCHES, SWITCH_PORTS, POWERED_PORTS, POWER_BUDGET, UPLINKS, MANAGED, DEPTH, HEIGHT, NOISE, WEIGHT, WATTS, RAILS,
        LIFT_WEIGHT,
    ),
    "box": (
        NAME, PRICE, KIND, THROUGHPUT, PORTS, ROOM, YEARLY_FEE, WATTS, DEPTH, HEIGHT, WEIGHT, NOISE, RAILS, LIFT_WEIGHT,
    ),
    "rented": (NAME, USER_FEE, MONTHLY_FEE, ROOM_EACH, FEE_PER_TB, DOWN_EACH, UP_EACH),
    "build": (
        NAME, PRICE, BUILD_HOST, BUILD_PROCESSOR, PROCESSORS, BUILD_MODULE, BUILD_MODULES, BUILD_BOOT_DISK, BOOT_DISKS,
    ),
    "labour": (NAME, LABOUR_RATE),
    "profile": (
        NAME, MACHINE, ZONE, CORES_FIXED, CORES_EACH, CORES_LEAST, FLOOR_FIXED, EXPECTED_FIXED, MEMORY_EACH,
        CEILING, DISK, OPERATIONS_FIXED, OPERATIONS_EACH, REQUESTS, SERVICE_TIME, PORTS, STOP,
    ),
    "data_kind": (NAME, COMPRESSION, CHANGE),
    "device_kind": (NAME, WIRED, FIXED, PORTS_EACH, WATTS, POWERED_CLASS),
    "zone_kind": (NAME, NUMBER, SEALED, ALONE),
    "talk": (NAME, TALK_SOURCE, TALK_TARGET, TALK_CARRIED, TALK_GROUP, TALK_WHY),
}  # fmt: skip
