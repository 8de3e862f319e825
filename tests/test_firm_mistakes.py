"""Whatever is wrong in a firm's files is told at its place, all of it at once, and ranges are read as people write them."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

from hostile import EVERYTHING
from firm_samples import written
from scantling import UserError, api
from scantling.catalogue.ranges import ends
from scantling.figures.units import GB, MINUTE, SHARE, TB, TRUTH

OURS = api.stock()
BULK = "spin-12"
Laid = Callable[..., Path]


@pytest.fixture
def laid(tmp_path: Path) -> Laid:
    """Writes a firm's files beside a copy of Millrace's brief; returns the brief."""
    return partial(written, tmp_path)


def told(brief: Path) -> list[str]:
    """Every mistake of the firm's folder beside the brief."""
    with pytest.raises(UserError) as caught:
        api.stock(firm=brief.parent / "firm")
    return str(caught.value).splitlines()


@pytest.mark.parametrize(
    ("rule", "says"),
    [
        ("power.hold: {value: 40 min, reason: x}", "1:21: power.hold.value: this lies outside our range, 5 to 15 min"),
        ("power.hold: {value: 40 min, range: 5 to 30 min, reason: x}", "1:21: power.hold.value: this lies outside the firm's own"),
        ("power.hold: {value: 40 kg, reason: x}", "1:21: power.hold.value: 40 kg does not measure this"),
        ("power.hold: {value: 12 min}", "1:1: power.hold.reason: this is missing"),
        ("power.hold: {reason: x}", "1:1: power.hold.value: this is missing"),
        ("power.hold: 12 min", "1:1: power.hold: a firm's house rule is a mapping with value and reason"),
        ("power.hold: {value: [12 min, 13 min], reason: x}", "1:14: power.hold.value: one text is wanted here, not a list"),
        ("power.hold: {value: 12 min, reason: x, becaus: y}", "1:40: power.hold.becaus: a house rule has no such field"),
        ("power.holt: {value: 12 min, reason: x}", "1:1: power.holt: there is no such rule; did you mean power.hold?"),
        ("addresses.guest-leases: {value: [1 h, 40 kg], reason: x}", "1:39: addresses.guest-leases.value: 40 kg does not"),
    ],
)  # fmt: skip
def test_a_mistake_in_a_house_rule_is_told_at_its_place(laid: Laid, rule: str, says: str) -> None:
    (line,) = told(laid(house__rules=rule + "\n"))
    assert line.startswith(f"firm/house/rules.yaml:{says}")


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


def test_a_folder_that_is_named_must_be_there_and_hold_something(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no such folder"):
        api.stock(firm=tmp_path / "nowhere")
    (tmp_path / "empty").mkdir()
    with pytest.raises(UserError, match="no written files"):
        api.stock(firm=tmp_path / "empty")
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(UserError, match="this is a file, not a folder"):
        api.stock(firm=tmp_path / "file")


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
