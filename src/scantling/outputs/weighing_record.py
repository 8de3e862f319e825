"""Writes what was weighed into a file and reads it back, with the identity of the plan it is of; what is wrong is told in words."""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from decimal import Decimal, InvalidOperation
from hashlib import sha256
from math import inf, isinf
from typing import Any, NoReturn

from scantling import UserError
from scantling.figures import Demand, Figure, Origin
from scantling.figures.numbers import ENDLESS
from scantling.figures.spelled import shown
from scantling.figures.terms import Attribute, Of
from scantling.figures.units import COUNT, WRITTEN, Unit
from scantling.plan.weighing import Change, DemandPrice, NeverChosen, Runner, Step, Weighed

FORM = 1
LARGEST = 1e15
"""No amount of a plan comes near this, in any unit."""
LONGEST = 60
REASONS = ("fails", "fits nothing", "beaten", "too dear")
DO = "weigh again"
UNITS: Mapping[str, Unit[Any]] = {**WRITTEN, COUNT.symbol: COUNT}
Known = Mapping[str, Any]


class WeighingError(UserError):
    """A file that is no record of a weighing, or one that somebody has changed."""


class _WrongError(Exception):
    """A value that is not of its kind."""


def record(told: Weighed, of: str) -> str:
    """What was weighed as JSON text, with the identity `of` the plan; the second solver's word belongs to the plan, not here."""
    weighed = {
        "of": of,
        "next_best": [asdict(one) for one in told.next_best],
        "prices": [_price(one) for one in told.prices],
        "never": [asdict(one) for one in told.never],
    }
    written = json.dumps(weighed, sort_keys=True, default=str)
    return json.dumps({"form": FORM, "digest": _digest(written), "weighed": json.loads(written)}, indent=0) + "\n"


def _digest(written: str) -> str:
    return sha256(written.encode()).hexdigest()


def _price(one: DemandPrice) -> dict[str, Any]:
    demand = one.demand
    return {
        "id": demand.id, "label": demand.label, "unit": demand.what.unit.symbol, "least": demand.at_least is not None,
        "asked": _finite(one.asked), "given": _finite(one.given), "dropped": one.dropped,
        "easier": _told_step(one.easier), "harder": _told_step(one.harder),
    }  # fmt: skip


def _told_step(step: Step | None) -> dict[str, Any] | None:
    return None if step is None else {"value": _finite(step.value), "moves": step.moves}


def _finite(value: float) -> float | str:
    """JSON has no number for what never ends."""
    return ENDLESS if isinf(value) else value


def read(text: str, name: str) -> tuple[Weighed, str]:
    """What a text records, and the identity of the plan it is of. Raises WeighingError: what is wrong, what to do."""
    try:
        weighed = _body(text)
        return _weighed(weighed), _word(weighed["of"])
    except (KeyError, TypeError, AttributeError) as wrong:
        raise WeighingError(
            f"{name}: something is missing or of another kind ({shown(str(wrong), 60)}); {DO}"
        ) from None
    except (ValueError, RecursionError, _WrongError) as wrong:
        raise WeighingError(f"{name}: {shown(str(wrong), 100)}; {DO}") from None


def _body(text: str) -> Known:
    whole = json.loads(text, parse_constant=_no_number)
    if not isinstance(whole, dict) or whole.get("form") != FORM:
        raise _WrongError("this is no record of a weighing")
    weighed: Known = whole["weighed"]
    if whole["digest"] != _digest(json.dumps(weighed, sort_keys=True)):
        raise _WrongError("its parts don't belong together, so somebody has changed it")
    return weighed


def _no_number(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number that a record holds")


def _weighed(told: Known) -> Weighed:
    return Weighed(
        tuple(map(_runner, _list(told["next_best"]))), tuple(map(_demand_price, _list(told["prices"]))),
        tuple(map(_never, _list(told["never"]))), None,
    )  # fmt: skip


def _runner(told: Known) -> Runner:
    changes = [
        Change(*(_word(one[key]) for key in ("slot", "name", "instead", "bought"))) for one in _list(told["changes"])
    ]
    rank = _number(told["rank"])
    return Runner(int(rank), _money(told["price"]), _money(told["dearer"]), tuple(changes))


def _demand_price(told: Known) -> DemandPrice:
    unit, asked = UNITS.get(_word(told["unit"])), _number(told["asked"])
    if unit is None:
        raise _WrongError(f"there is no unit {shown(str(told['unit']))}")
    id_, bound = _word(told["id"]), "at_least" if told["least"] is True else "at_most"
    amount: Figure[Any] = Figure(asked, unit, Origin("brief", id_), None, "", _word(told["label"]))
    demand = Demand(id_, amount.label, Of("", Attribute(id_, unit)), need=True, **{bound: amount})
    return DemandPrice(
        demand, asked, _number(told["given"]), _maybe(_step, told["easier"]), _money(told["dropped"]),
        _maybe(_step, told["harder"]),
    )  # fmt: skip


def _step(told: Known) -> Step:
    return Step(_number(told["value"]), _money(told["moves"]))


def _maybe(read_one: Callable[[Known], Step], told: Any) -> Step | None:
    return None if told is None else read_one(told)


def _never(told: Known) -> NeverChosen:
    if told["why"] not in REASONS:
        raise _WrongError(f"{shown(str(told['why']))} is no reason")
    words = {key: _word(told[key]) for key in ("slot", "name", "option", "why", "demand", "by")}
    return NeverChosen(**words, dearer=_money(told["dearer"]))


def _list(told: Any) -> Sequence[Any]:
    if not isinstance(told, list):
        raise _WrongError(f"a list is wanted, not {shown(str(told), LONGEST)}")
    return told


def _word(told: Any) -> str:
    if not isinstance(told, str):
        raise _WrongError(f"a text is wanted, not {shown(str(told), LONGEST)}")
    return told


def _number(told: Any) -> int | float:
    if told == ENDLESS:
        return inf
    if isinstance(told, bool) or not isinstance(told, int | float) or not abs(told) <= LARGEST:
        raise _WrongError(f"a number is wanted, not {shown(str(told), LONGEST)}")
    return told


def _money(told: Any) -> Decimal:
    """An amount as it was written: text, so that no hundredth is lost."""
    try:
        amount = Decimal(_word(told)) if len(told) <= LONGEST else Decimal("nan")
    except InvalidOperation:
        amount = Decimal("nan")
    if not amount.is_finite() or abs(amount) > LARGEST or amount.adjusted() < -LONGEST:
        raise _WrongError(f"an amount of money is wanted, not {shown(str(told), LONGEST)}")
    return amount
