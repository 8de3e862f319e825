"""A firm's own rows and house rules lie over ours row by row, and every working says which of both spoke."""

import subprocess
import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from shutil import copyfile

import pytest
from hypothesis import given, strategies as st

from hostile import EVERYTHING
from offices import BRIEFS, ROOT, changed, fold, millrace, planned
from scantling import UserError, api
from scantling.catalogue.ranges import ends
from scantling.figures import PRICE
from scantling.figures.units import GB, MINUTE, SHARE, TB, TRUTH
from scantling.plan.make import Plan

OURS = api.stock()
PLAN = planned(millrace())
BULK = PLAN.purchase.chosen.options["bulk"].parts[0][0].slug
NEW_DISK = """\
disk:
  spin-13:
    name: "spinning disk, 13 TB"
    price: 150.00 EUR
    medium: spinning
    size: 13 TB
    form: 35
    bays_taken: 1
    rate: 245 MB/s
    speed: 105 op/s
    failures: 1.3 %/year
    read_errors: 0.000000000000001
    endurance: 0
    watts: 7 W
    server_watts: 7 W
    weight: 0.7 kg
"""
Laid = Callable[..., Path]


@pytest.fixture
def laid(tmp_path: Path) -> Laid:
    """Writes a firm's files beside a copy of Millrace's brief; returns the brief."""

    def write(**files: str) -> Path:
        brief = tmp_path / "brief.yaml"
        copyfile(BRIEFS["millrace"], brief)
        for name, text in files.items():
            path = tmp_path / "firm" / f"{name.replace('__', '/')}.yaml"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return brief

    return write


def told(brief: Path) -> list[str]:
    """Every mistake of the firm's folder beside the brief."""
    with pytest.raises(UserError) as caught:
        api.stock(firm=brief.parent / "firm")
    return str(caught.value).splitlines()


def workings(plan: Plan, id_: str) -> str:
    """The whole working of one figure."""
    return "\n".join(line.working for line in api.why(plan, id_))


def test_a_price_of_the_firm_is_the_price_of_the_plan_and_its_working_says_so(laid: Laid) -> None:
    brief = laid(disks=f"disk:\n  # our supplier's\n  {BULK}: {{price: 61.50 EUR, priced_on: 2026-11-20}}\n")
    plan = api.plan(brief)
    option = plan.purchase.chosen.options["bulk"]
    assert option.parts[0][0].slug == BULK  # cheaper than it was: still the choice
    assert plan.figures["money.parts.bulk"].value == Decimal("61.50") * option.parts[0][1]
    assert f"catalogue: firm/disks.yaml:3, disk.{BULK}.price" in workings(plan, "money.parts.bulk")
    assert f"catalogue: {OURS.catalogue.rows['disk'][BULK].place}, disk.{BULK}.price" in workings(
        PLAN, "money.parts.bulk"
    )


def test_columns_that_the_firm_does_not_name_stay_ours_with_our_place(laid: Laid) -> None:
    brief = laid(disks=f"disk:\n  {BULK}:\n    noise_of_it: no\n".replace("noise_of_it: no", "price: 61.50 EUR"))
    row, ours = api.stock(firm=brief.parent / "firm").catalogue.rows["disk"][BULK], OURS.catalogue.rows["disk"][BULK]
    assert {**row.values, "price": ours.values["price"]} == ours.values
    assert row.place == ours.place
    assert dict(row.places) == {"price": "firm/disks.yaml:3"}
    assert getattr(row.figure(PRICE).how, "place", "") == "firm/disks.yaml:3"


def test_days_of_our_price_do_not_speak_for_the_firms_price(laid: Laid) -> None:
    """A price of the firm without its days has none: ours were those of another price."""
    brief = laid(
        a=f"prices: {{priced_on: 2026-01-01, valid_until: 2026-02-01}}\ndisk:\n  {BULK}: {{price: 61.50 EUR}}\n  spin-2: {{watts: 6 W}}\n",
        prices=f"disk:\n  {BULK}: {{price: 62.50 EUR, priced_on: 2026-03-01}}\n",
    )
    rows = api.stock(firm=brief.parent / "firm").catalogue.rows["disk"]
    assert rows[BULK].mark("priced_on").isoformat() == "2026-03-01"
    assert rows[BULK].mark("valid_until") is None
    assert rows[BULK].places["price"] == "firm/prices.yaml:2"
    assert rows["spin-2"].marks == OURS.catalogue.rows["disk"]["spin-2"].marks  # no price, so no day of one


def test_a_row_of_the_firms_own_can_be_chosen(laid: Laid) -> None:
    plan = api.plan(laid(disks=NEW_DISK))
    assert plan.purchase.chosen.options["bulk"].parts[0][0].slug == "spin-13"
    assert "catalogue: firm/disks.yaml:4, disk.spin-13.price" in workings(plan, "money.parts.bulk")


def test_an_article_that_the_firm_does_not_sell_is_not_chosen(laid: Laid) -> None:
    plan = api.plan(laid(disks=f"disk:\n  {BULK}: {{sold: no}}\n"))
    assert plan.purchase.chosen.options["bulk"].parts[0][0].slug != BULK
    assert BULK in api.stock(firm=None).catalogue.rows["disk"]


def test_house_rules_of_the_firm_say_what_ours_was(laid: Laid) -> None:
    ours = OURS.house.lines["money.contingency"].texts[0]
    brief = laid(
        house__money='# ours\n# and this\nmoney.contingency: {value: 12 %, reason: "we have been wrong before"}\n'
    )
    plan = api.plan(brief)
    said = workings(plan, "money.contingency")
    assert f"house rule: firm/house/money.yaml:3 (ours: {ours}), money.contingency: " in said
    assert "we have been wrong before" in said
    assert OURS.house.lines["money.contingency"].source in said
    assert plan.figures["money.contingency"].value > PLAN.figures["money.contingency"].value


def test_a_house_rule_that_a_brief_falls_back_on_says_so_too(laid: Laid) -> None:
    """Without `hold:` in the brief the firm's rule answers, marked as assumed."""
    line = next(line for line in millrace().splitlines() if line.strip().startswith("hold:"))
    brief = laid(house__power='power.hold: {value: 12 min, reason: "our clients like it"}\n')
    brief.write_text(changed(millrace(), f"power:\n{line}\n", ""), encoding="utf-8")
    plan = api.plan(brief)
    assert api.why(plan, "brief.power.hold")[0].value == "12 min"
    working = api.why(plan, "brief.power.hold")[0].working
    assert working.startswith("house rule: firm/house/power.yaml:1 (ours: 10 min), power.hold: 12 min")
    assert working.endswith("(assumed, ask)")


@pytest.mark.parametrize(
    ("rule", "says"),
    [
        ("power.hold: {value: 40 min, reason: x}", "1:21: power.hold.value: this lies outside our range, 5 to 15 min"),
        ("power.hold: {value: 40 min, range: 5 to 30 min, reason: x}", "1:21: power.hold.value: this lies outside the firm's own"),
        ("power.hold: {value: 40 kg, reason: x}", "1:21: power.hold.value: kg does not measure this"),
        ("power.hold: {value: 12 min}", "1:1: power.hold.reason: this is missing"),
        ("power.hold: {reason: x}", "1:1: power.hold.value: this is missing"),
        ("power.hold: 12 min", "1:1: power.hold: a firm's house rule is a mapping with value and reason"),
        ("power.hold: {value: [12 min, 13 min], reason: x}", "1:14: power.hold.value: one text is wanted here, not a list"),
        ("power.hold: {value: 12 min, reason: x, becaus: y}", "1:40: power.hold.becaus: a house rule has no such field"),
        ("power.holt: {value: 12 min, reason: x}", "1:1: power.holt: there is no such rule; did you mean power.hold?"),
        ("addresses.guest-leases: {value: [1 h, 40 kg], reason: x}", "1:39: addresses.guest-leases.value: kg does not"),
    ],
)  # fmt: skip
def test_a_mistake_in_a_house_rule_is_told_at_its_place(laid: Laid, rule: str, says: str) -> None:
    (line,) = told(laid(house__rules=rule + "\n"))
    assert line.startswith(f"firm/house/rules.yaml:{says}")


def test_a_range_of_the_firms_own_admits_its_value(laid: Laid) -> None:
    brief = laid(
        house__power="power.hold: {value: 40 min, range: 5 to 60 min, reason: x, source: our service book}\n"
    )
    line = api.stock(firm=brief.parent / "firm").house.lines["power.hold"]
    assert (line.texts, line.range, line.source) == (("40 min",), "5 to 60 min", "our service book")


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (f"{BULK}: {{price: 61.50 USD}}", "2:{at}: disk.{BULK}.price: this office pays in EUR, not USD"),
        (f"{BULK}: {{price: 61.505 EUR}}", "disk.{BULK}.price: money has at most two places"),
        (f"{BULK}: {{prize: 61.50 EUR}}", "disk.{BULK}.prize: no such column; did you mean price?"),
        (f"{BULK}: {{medium: paper}}", 'disk.{BULK}.medium: "paper" is not one of: spinning, solid state'),
        (f"{BULK}: {{size: [1 TB]}}", "disk.{BULK}.size: one value is wanted here"),
        (f'{BULK}: {{name: "spinning disk, 2 TB"}}', "disk.{BULK}.name: spin-2 has this name too"),
        (f"{BULK}: {{priced_on: 2026-02-02, valid_until: 2026-01-01}}", "the price ends (2026-01-01) before the day"),
        (f"{BULK}: 61.50 EUR", "2:3: disk.{BULK}: a row is a mapping of columns to values"),
        ("solid-4ww: {price: 61.50 EUR}", "2:3: disk.solid-4ww: there is no row of that name to lie over; did you mean solid-4w?"),
    ],
)  # fmt: skip
def test_a_mistake_in_a_row_is_told_at_its_place(laid: Laid, row: str, says: str) -> None:
    (line,) = told(laid(disks=f"disk:\n  {row}\n"))
    assert line.startswith("firm/disks.yaml:2:")
    assert says.replace("{BULK}", BULK).replace("{at}", str(row.find("61") + 3)) in line


def test_all_mistakes_of_all_files_are_told_at_once(laid: Laid) -> None:
    lines = told(
        laid(
            a=f"disk:\n  {BULK}: {{price: -1 EUR, noise: loud}}\ndisc: {{}}\n",
            b=f"disk:\n  {BULK}: {{price: 61.50 EUR}}\n",
            c="disk: [1]\n",
            d="",
            house__e="power.hold: {value: 40 min, reason: x}\npower.fold: {}\n",
        )
    )
    places = [line.split(": ")[0] for line in lines]
    at = len(BULK)
    assert places == [
        f"firm/a.yaml:2:{at + 13}", f"firm/a.yaml:2:{at + 21}", "firm/a.yaml:3:1", f"firm/b.yaml:2:{at + 6}",
        "firm/c.yaml:1:1", "firm/d.yaml:1:1", "firm/house/e.yaml:1:21", "firm/house/e.yaml:2:1",
    ]  # fmt: skip
    assert any("this stands in firm/a.yaml:2 too" in line for line in lines)


def test_a_profile_may_name_a_zone_of_the_firms_own(laid: Laid) -> None:
    """Also where the zone's file comes later."""
    rows = {
        "a": "profile:\n  files: {zone: archive}\n",
        "z": "zone_kind:\n  archive: {name: Archive, number: 77, sealed: no, alone: no}\n",
    }
    assert api.stock(firm=laid(**rows).parent / "firm").catalogue.rows["profile"]["files"].values["zone"] == "archive"
    (laid().parent / "firm/z.yaml").unlink()
    assert told(laid())[0].startswith("firm/a.yaml:2:17: profile.files.zone: no such zone")


def test_a_folder_that_is_named_must_be_there_and_hold_something(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no such folder"):
        api.stock(firm=tmp_path / "nowhere")
    (tmp_path / "empty").mkdir()
    with pytest.raises(UserError, match="no written files"):
        api.stock(firm=tmp_path / "empty")
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(UserError, match="this is a file, not a folder"):
        api.stock(firm=tmp_path / "file")


def test_an_empty_folder_beside_the_brief_lies_over_nothing(laid: Laid) -> None:
    brief = laid()
    (brief.parent / "firm/lists").mkdir(parents=True)
    assert api.stock_for(brief) == api.stock()


def test_a_firms_files_are_read_anew_each_time(laid: Laid) -> None:
    brief = laid(a=f"disk:\n  {BULK}: {{price: 61.50 EUR}}\n")
    assert api.stock_for(brief).catalogue.rows["disk"][BULK].values["price"] == Decimal("61.50")
    laid(a=f"disk:\n  {BULK}: {{price: 71.50 EUR}}\n")
    assert api.stock_for(brief).catalogue.rows["disk"][BULK].values["price"] == Decimal("71.50")


@pytest.mark.parametrize(
    "bad", [b"\xff\xfe\x00a", b"disk: {" * 60, b"a: &x 1\nb: *x\n", b"disk:\n  a: {b: 1}\n  a: {b: 1}\n"]
)
def test_damaged_files_are_told_with_their_name(laid: Laid, bad: bytes) -> None:
    brief = laid(a="disk: {}\n")
    (brief.parent / "firm/a.yaml").write_bytes(bad)
    assert all(line.startswith("firm/a.yaml:") for line in told(brief))


@given(st.sampled_from(EVERYTHING), st.sampled_from(["kind", "slug", "column", "value", "rule"]))
def test_hostile_words_are_told_on_one_line_each(word: str, where: str) -> None:
    """Whatever stands there, the message holds no control character and no second line of its own."""
    import tempfile  # noqa: PLC0415 - Hypothesis and the fixture of folders don't go together
    from json import dumps  # noqa: PLC0415 - as above

    quoted = dumps(word)
    text = {
        "kind": f"{quoted}: {{}}\n",
        "slug": f"disk:\n  {quoted}: {{price: 1.00 EUR}}\n",
        "column": f"disk:\n  {BULK}: {{{quoted}: 1}}\n",
        "value": f"disk:\n  {BULK}: {{price: {quoted}}}\n",
        "rule": f"{quoted}: {{value: 1, reason: x}}\n",
    }[where]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / ("house/a.yaml" if where == "rule" else "a.yaml")
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8", errors="surrogatepass")
        with pytest.raises(UserError) as caught:
            api.stock(firm=Path(folder))
    for line in str(caught.value).split("\n"):
        assert line.startswith(f"{Path(folder).name}/")
        assert line.isprintable() or not any(ord(letter) < 32 or 0x7F <= ord(letter) <= 0x9F for letter in line)


@pytest.mark.parametrize(
    ("written", "unit", "both"),
    [
        ("15 to 25 %", SHARE, (15.0, 25.0)),
        ("up to 10 GB", GB, (0.0, 10.0)),
        ("80 %", SHARE, (80.0, 80.0)),
        ("0.1 to 0.5 TB", TB, (0.1, 0.5)),
        ("90 min to 2 h", MINUTE, (90.0, 120.0)),
        ("0.01 to 0.001 %", SHARE, (0.001, 0.01)),
        ("yes or no", TRUTH, None),
        ("any hours", MINUTE, None),
        ("2 to 3 kg", MINUTE, None),
    ],
)
def test_ranges_are_read_as_people_write_them(written: str, unit: object, both: tuple[float, float] | None) -> None:
    assert ends(written, unit) == both  # type: ignore[arg-type]


def test_our_own_rules_lie_in_their_own_ranges_by_the_same_reader() -> None:
    """What a firm's value is held to does not refuse ours."""
    held = 0
    for key, line in OURS.house.lines.items():
        for value, unit in OURS.house.values.get(key, ()):
            both = ends(line.range, unit, "EUR")
            if both is not None:
                assert both[0] <= value <= both[1], key
                held += 1
    assert held > 50


def test_the_commands_take_the_firms_folder(laid: Laid, tmp_path: Path) -> None:
    brief = laid(disks=f"disk:\n  {BULK}: {{price: 61.50 EUR}}\n")
    (brief.parent / "firm").rename(tmp_path / "elsewhere")

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "scantling", *words]
        return subprocess.run(
            command, capture_output=True, text=True, env={"PYTHONPATH": str(ROOT / "src")}, check=False
        )

    found = run("why", "money.parts.bulk", str(brief), "--firm", str(tmp_path / "elsewhere"))
    assert "elsewhere/disks.yaml:2" in found.stdout, found.stderr
    missing = run("plan", str(brief), "--firm", str(tmp_path / "nowhere"))
    assert (missing.returncode, missing.stdout) == (2, "")
    assert "no such folder" in missing.stderr


def test_without_a_firm_nothing_changes() -> None:
    assert api.stock(firm=None) is api.stock()
    assert planned(fold()).purchase.chosen.options.keys()
