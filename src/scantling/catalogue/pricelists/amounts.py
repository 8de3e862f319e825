"""Reads prices and dates as suppliers of several countries write them, refusing whatever could mean two things."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from re import ASCII, DOTALL, fullmatch, split

from scantling.figures.quantities import limits_of
from scantling.figures.spelled import FIRST_DATE, LAST_DATE, quoted
from scantling.figures.units import MONEY

POINT, COMMA = ".", ","
MARKS: Mapping[str, str] = {"point": POINT, "comma": COMMA}
"""What a person calls the mark before the cents."""
GAPS = " \u00a0\u2009\u202f'\u2019"
"""What parts thousands beside comma and point: spaces, narrow ones, the apostrophe (Swiss)."""
SIGNS: Mapping[str, str] = {"€": "EUR", "£": "GBP", "zł": "PLN", "Kč": "CZK", "Fr.": "CHF", "SFr.": "CHF"}
"""Signs that mean one currency; the dollar and the crown mean several and are told as they stand."""
DAY_FIRST, MONTH_FIRST = "day-first", "month-first"
SIGN = r"[A-Z]{3}|S?Fr\.|zł|Kč|kr\.?|[$£¥\u20a0-\u20bf]"
BLANK = f"{GAPS}\t\r\n"
GROUP, MONTHS = 3, 12
NUMBER = r"[+-]?\(?[\d.,\u00a0\u2009\u202f'\u2019 ]*\d[\d.,]*\)?-?"
ROUND = r"(\d[\d.,\u00a0\u2009\u202f'\u2019 ]*)[.,](?:-|--|\u2013|\u2014)"
"""A price without cents, as the Swiss and the Germans write it: `12.-` (common practice, no source)."""


class OddAmountError(ValueError):
    """A price or date that can't be taken, in a person's words."""


@dataclass(frozen=True, slots=True)
class Price:
    """A price, its currency where one is written beside it, and the mark before its cents where it shows one."""

    value: Decimal
    currency: str = ""
    mark: str = ""


def read_price(text: str, mark: str = "") -> Price:
    """The price in a text; `mark` is the decimal mark of the whole list where that is known.

    Raises OddAmountError in a person's words: no number, not above nought, two readings, more than two places.
    """
    bare, currency = _parted(text)
    if not bare:
        raise OddAmountError(f"the price is missing: only {quoted(text)} stands here")
    if match := fullmatch(ROUND, bare):
        bare = match[1]
    if not fullmatch(NUMBER, bare, ASCII):
        raise OddAmountError(f"{quoted(text)} is no price; ask the supplier, or leave the row out")
    if bare[0] == "-" or bare[-1] == "-" or bare[0] == "(":
        raise OddAmountError(f"{quoted(text)} is below nought; a price is above it")
    digits, own = _plain(bare.strip("+()"), mark, text)
    return Price(in_bounds(Decimal(digits), text), currency, own)


def in_bounds(value: Decimal, text: str) -> Decimal:
    """The same price in hundredths. Raises OddAmountError where a price can't be so."""
    if value <= 0:
        raise OddAmountError(f"{quoted(text)} is not above nought; a price is")
    if value > limits_of(MONEY).most.exact:
        raise OddAmountError(f"{quoted(text)} is too much for a price")
    cents = value.quantize(Decimal("0.01"))
    if cents != value:
        raise OddAmountError(f"{quoted(text)} has more than two places after the mark; round it in the list")
    return cents


def _parted(text: str) -> tuple[str, str]:
    """The number and the currency beside it, before or after."""
    match = fullmatch(rf"({SIGN})?(.*?)({SIGN})?", text.strip(BLANK), DOTALL)
    assert match is not None
    before, after = (SIGNS.get(sign, sign) for sign in (match[1] or "", match[3] or ""))
    if before and after and before != after:
        raise OddAmountError(f"{quoted(text)} names two currencies")
    return match[2].strip(BLANK), before or after


def _plain(number: str, mark: str, text: str) -> tuple[str, str]:
    """Digits with a point before the cents, and the mark that the text itself shows."""
    marks = [letter for letter in number if letter in (POINT, COMMA)]
    kinds = sorted(set(marks))
    gapped = any(gap in number for gap in GAPS)
    if not marks:
        return "".join(_groups(number, GAPS, text)), ""
    own = ""
    if len(kinds) > 1:
        own = marks[-1]
    elif len(marks) > 1:
        own = COMMA if marks[0] == POINT else POINT
    elif gapped:
        own = marks[0]
    else:
        own = _single(number, marks[0], mark, text)
    if mark and own != mark:
        raise OddAmountError(f"{quoted(text)} is written with another decimal mark than this list's ({quoted(mark)})")
    return _joined(number, own, text), own


def _single(number: str, found: str, mark: str, text: str) -> str:
    """One mark and nothing else: before the cents, or between thousands."""
    whole, _, rest = number.partition(found)
    if len(rest) != GROUP or len(whole) > GROUP or whole in ("", "0"):
        return found
    if mark:
        return mark
    both = f"{whole}{rest} or {whole}.{rest}"
    raise OddAmountError(f"{quoted(text)} could mean {both}; say the list's decimal mark: --decimal comma or point")


def _joined(number: str, mark: str, text: str) -> str:
    whole, found, rest = number.partition(mark)
    other = COMMA if mark == POINT else POINT
    if not (rest.isdigit() or (rest == "" and not found)):
        raise OddAmountError(f"{quoted(text)} is not a number that can be read")
    return f"{''.join(_groups(whole, GAPS + other, text)) or '0'}.{rest or '0'}"


def _groups(whole: str, gaps: str, text: str) -> list[str]:
    """The digits between the marks that part thousands: three each but the first, one kind of mark only."""
    used = {letter for letter in whole if letter in gaps}
    parts = split("[" + "".join(f"\\{gap}" for gap in gaps) + "]", whole)
    lengths = [len(part) for part in parts]
    fine = len(used) <= 1 and (len(parts) == 1 or (1 <= lengths[0] <= GROUP and set(lengths[1:]) == {GROUP}))
    if not fine or not all(part.isdigit() or (part == "" and len(parts) == 1) for part in parts):
        raise OddAmountError(f"{quoted(text)} is not a number that can be read: thousands are parted by three digits")
    return parts


def read_date(text: str, order: str = "") -> date:
    """The day in a text: 2026-11-25, 25.11.2026, 25/11/2026; `order` says which comes first where both could.

    Raises OddAmountError in a person's words.
    """
    bare = text.strip().removesuffix(" 00:00:00")
    if match := fullmatch(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})", bare, ASCII):
        return _day(match[1], match[2], match[3], text)
    match = fullmatch(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})", bare, ASCII)
    if match is None:
        raise OddAmountError(f"{quoted(text)} is not a date that can be read; write one like 2026-11-25")
    first, second, year = match[1], match[3], match[4]
    own = DAY_FIRST if match[2] == "." or int(first) > MONTHS else MONTH_FIRST if int(second) > MONTHS else ""
    if not (own or order or first == second):
        both = f"{DAY_FIRST} or {MONTH_FIRST}"
        raise OddAmountError(f"{quoted(text)} could be two days; say which comes first: --dates {both}")
    if own and order and own != order and match[2] != ".":
        raise OddAmountError(f"{quoted(text)} is written in another order than this list's dates ({order})")
    return _day(year, first, second, text) if (own or order) == MONTH_FIRST else _day(year, second, first, text)


def _day(year: str, month: str, day: str, text: str) -> date:
    try:
        found = date(int(year), int(month), int(day))
    except ValueError:
        raise OddAmountError(f"{quoted(text)} is not a day of the calendar") from None
    if not FIRST_DATE <= found <= LAST_DATE:
        raise OddAmountError(f"{quoted(text)} is out of range; from {FIRST_DATE} to {LAST_DATE} is accepted")
    return found
