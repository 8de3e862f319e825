"""What a pin costs: reckoned again from two plans that the command line printed, one with the pin and one without."""

import json
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from offices import ROOT, fold, millrace, planned
from scantling import UserError, api
from scantling.outputs.summary import pinned
from scantling.plan.telling import canonical, identity
from test_plan_json import SCHEMA

DATA = ROOT / "src/scantling/catalogue/data"
PINS = {
    "purchase.host": ("tower-two-12", "the owner has seen one"),
    "host.cores.needed": ("30", "room to grow"),
    "purchase.near": ("box-96", "they have its twin"),
    "money.labour.total": ("9000.00 EUR", "agreed"),
}


def with_pins(text: str, pins: dict[str, tuple[str, str]]) -> str:
    """The brief with pins at its end."""
    lines = [f'  {id_}: {{value: "{value}", because: {because}}}' for id_, (value, because) in pins.items()]
    return "\n".join([text, "pins:", *lines, ""]) if pins else text


def printed(folder: Path, text: str) -> dict[str, Any]:
    """The plan of a brief as `plan --json` prints it."""
    folder.mkdir(exist_ok=True)
    (folder / "brief.yaml").write_text(text, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "scantling", "plan", "brief.yaml", "--json"],
        cwd=folder, env={"PYTHONPATH": str(ROOT / "src")}, text=True, capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode in (0, 1), done.stderr
    made: dict[str, Any] = json.loads(done.stdout)
    return made


def catalogue_prices() -> dict[str, Decimal]:
    """Every row's price, read from the catalogue's own files by another reader of YAML."""
    found: dict[str, Decimal] = {}
    for path in DATA.glob("*.yaml"):
        read = YAML(typ="safe", pure=True).load(path)
        for kind in read.values():
            rows = kind if isinstance(kind, dict) else {}
            found |= {
                slug: Decimal(str(row["price"]).split()[0])
                for slug, row in rows.items()
                if isinstance(row, dict) and "price" in row
            }
    return found


def bought(plan: dict[str, Any]) -> Decimal:
    """What the choices of a plan cost, by catalogue prices and counts."""
    prices = catalogue_prices()
    return sum(
        (
            prices.get(part["row"], Decimal(0)) * part["count"]
            for choice in plan["choices"]
            for part in choice["parts"]
        ),
        Decimal(0),
    )


def whole(plan: dict[str, Any]) -> Decimal:
    """The whole price."""
    return Decimal(next(figure["value"] for figure in plan["figures"] if figure["id"] == "money.total"))


def usable() -> dict[str, tuple[str, str]]:
    """The pins whose ids this plan has."""
    figures = planned(millrace()).figures
    return {id_: pin for id_, pin in PINS.items() if id_ in figures}


def test_each_pins_price_is_the_difference_of_two_plans(tmp_path: Path) -> None:
    """All pins laid against all but one, each pair of plans made by programs of their own."""
    pins = usable()
    assert len(pins) >= 3
    full = printed(tmp_path / "all", with_pins(millrace(), pins))
    told = {pin["id"]: pin for pin in full["pins"]}
    assert set(told) == set(pins)
    for id_, (value, because) in pins.items():
        others = {other: pin for other, pin in pins.items() if other != id_}
        without = printed(tmp_path / id_, with_pins(millrace(), others))
        assert (told[id_]["value"], told[id_]["because"]) == (value, because)
        assert Decimal(told[id_]["purchase"]) == bought(full) - bought(without)
        assert Decimal(told[id_]["whole"]) == whole(full) - whole(without)
    assert any(Decimal(pin["purchase"]) > 0 for pin in told.values())


def test_the_summary_tells_reason_and_price(tmp_path: Path) -> None:
    path = tmp_path / "brief.yaml"
    path.write_text(with_pins(millrace(), {"purchase.host": PINS["purchase.host"]}), encoding="utf-8")
    (price,) = api.price_of_pins(path)
    assert api.price_of_pins(api.inputs(path.read_text(encoding="utf-8"), "brief.yaml", api.stock())) == (price,)
    (line,) = pinned(api.plan(path))
    assert line.startswith("pinned: purchase.host = tower-two-12 (the owner has seen one): costs ")
    assert f"{price.purchase:,.2f} EUR more than without (there it is {price.otherwise})" in line
    done = subprocess.run(
        [sys.executable, "-m", "scantling", "plan", "brief.yaml"],
        cwd=tmp_path, env={"PYTHONPATH": str(ROOT / "src")}, text=True, capture_output=True, check=False,
    )  # fmt: skip
    assert " ".join(line.split()) in " ".join(done.stdout.split())


def test_a_pin_on_what_is_chosen_anyway_costs_nothing(tmp_path: Path) -> None:
    path = tmp_path / "brief.yaml"
    chosen = str(planned(millrace()).figures["purchase.host"].value)
    path.write_text(with_pins(millrace(), {"purchase.host": (chosen, "it is liked")}), encoding="utf-8")
    (price,) = api.price_of_pins(path)
    assert (price.purchase, price.whole) == (Decimal(0), Decimal(0))
    assert (price.breaks, price.otherwise) == ((), chosen)
    assert "costs no more than without" in next(pinned(api.plan(path)))


def test_a_pin_that_breaks_a_demand_names_it(tmp_path: Path) -> None:
    """Set below what is wanted: the stop finding stands in the plan, and the pin's price names it."""
    path = tmp_path / "brief.yaml"
    path.write_text(with_pins(millrace(), {"host.cores.bought": ("1", "a slip")}), encoding="utf-8")
    made = api.plan(path)
    missed = [told.says for told in made.stops if told.finding.code == "P-1"]
    assert missed
    assert list(made.pin_prices[0].breaks) == missed
    assert f"breaks: {missed[0]}" in next(pinned(made))


def test_pins_that_only_go_together_say_that_there_is_no_plan_without(tmp_path: Path) -> None:
    """A second switch is there only because a pin asks for it; a pin on its place names nothing without that."""
    pins = {"purchase.switch": ("2x-switch-8", "spare"), "places.switch-2.lowest": ("1", "it hangs there")}
    path = tmp_path / "brief.yaml"
    path.write_text(with_pins(fold(), pins), encoding="utf-8")
    place, switch = api.price_of_pins(path)
    assert place.unpriced == ""
    assert "pin places.switch-2.lowest: this plan has no figure of that name" in switch.unpriced
    assert "there is no plan without it" in list(pinned(api.plan(path)))[1]


@pytest.mark.parametrize(("id_", "value"), [("host.cores.neded", "30"), ("purchase.hots", "rack-8")])
def test_a_pin_to_nothing_is_told_with_its_place(tmp_path: Path, id_: str, value: str) -> None:
    path = tmp_path / "brief.yaml"
    path.write_text(with_pins(millrace(), {id_: (value, "so")}), encoding="utf-8")
    line = 1 + next(i for i, row in enumerate(path.read_text("utf-8").splitlines()) if row.startswith(f"  {id_}:"))
    with pytest.raises(UserError, match=rf"^brief\.yaml:{line}.*pin {id_}: this plan has no figure of that name"):
        api.price_of_pins(path)


def test_reason_is_part_of_the_plans_identity_and_price_is_not(tmp_path: Path) -> None:
    """Another reason is another plan; whether the price was asked makes no difference."""
    one, other = (with_pins(fold(), {"host.cores.needed": ("12", why)}) for why in ("so", "otherwise"))
    assert identity(planned(one)) != identity(planned(other))
    path = tmp_path / "brief.yaml"
    path.write_text(one, encoding="utf-8")
    priced = api.plan(path)
    assert priced.pin_prices
    assert identity(priced) == identity(planned(one))


def test_a_brief_without_pins_tells_nothing_of_them() -> None:
    assert list(pinned(planned(fold()))) == []


def test_the_printed_plan_tells_the_price_of_each_pin_in_its_form(tmp_path: Path) -> None:
    """The form that every printed plan has, with a pin in it."""
    path = tmp_path / "brief.yaml"
    path.write_text(with_pins(fold(), {"host.cores.needed": ("12", "so")}), encoding="utf-8")
    made = json.loads(canonical(api.plan(path)))
    jsonschema.Draft202012Validator(SCHEMA).validate(made)
    assert set(made["pins"][0]) == {"id", "value", "because", "otherwise", "purchase", "whole", "breaks"}
