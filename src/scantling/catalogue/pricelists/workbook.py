"""What the sheets of a spreadsheet file share: their names, texts, formats, the beginning of their calendar."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from scantling.catalogue.pricelists.packed import Attributes, Package, number

DATE_FORMATS = frozenset({14, 15, 16, 17, 22, *range(27, 37), *range(50, 59)})
"""Built-in number formats that show a day (ISO/IEC 29500-1, 18.8.30)."""
SAID = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]|[_*].')
"""What a number format says besides its digits: quotations, escapes, colours and conditions, padding."""
SIGN = re.compile(r'\[\$([^\]-]+)(?:-[^\]]*)?\]|"([^"]*)"|([$£¥\u20a0-\u20bf])')
ESCAPED = re.compile("_x([0-9A-Fa-f]{4})_")


@dataclass(frozen=True)
class Sheet:
    """A sheet by name: its part, and whether people see it."""

    name: str
    part: str
    hidden: bool


@dataclass(frozen=True)
class Style:
    """What a cell's format shows: a day, a currency."""

    day: bool = False
    sign: str = ""


@dataclass
class Workbook:
    """What the sheets of a file share."""

    package: Package
    sheets: list[Sheet] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    styles: list[Style] = field(default_factory=list)
    since: date = date(1899, 12, 30)

    def day(self, serial: float) -> date:
        """The day of a serial number; whole days since the workbook's beginning. Raises OverflowError."""
        return self.since + timedelta(days=int(serial))


def workbook(package: Package) -> Workbook:
    """Everything but the sheets' own cells. Raises PriceListError."""
    book, named = Workbook(package), []
    start = next((part for kind, part in package.related("").values() if kind == "officeDocument"), "")
    if not start.endswith(".xml"):
        raise package.refuse("it is a packed file but no spreadsheet of the kind .xlsx; save it as .xlsx or as CSV")

    def begin(tag: str, given: Attributes) -> None:
        if tag == "sheet":
            named.append((given.get("name", ""), given.get("id", ""), given.get("state", "visible") != "visible"))
        elif tag == "workbookPr" and given.get("date1904") in ("1", "true"):
            book.since = date(1904, 1, 1)

    package.parse(start, begin)
    leads = package.related(start)
    for name, id_, hidden in named:
        kind, part = leads.get(id_, ("", ""))
        if kind == "worksheet":
            book.sheets.append(Sheet(name, part, hidden))
    for kind, part in leads.values():
        if kind == "sharedStrings":
            book.texts = _texts(package, part)
        elif kind == "styles":
            book.styles = _styles(package, part)
    return book


def _texts(package: Package, part: str) -> list[str]:
    """The texts that cells share; the readings beside them (phonetic) are left out."""
    found: list[str] = []
    spoken, inside = 0, False

    def begin(tag: str, _: Attributes) -> None:
        nonlocal spoken, inside
        if tag == "si":
            found.append("")
        spoken += tag == "rPh"
        inside = tag == "t" and not spoken

    def end(tag: str) -> None:
        nonlocal spoken, inside
        spoken -= tag == "rPh"
        inside = False

    def text(said: str) -> None:
        if inside and found:
            found[-1] += said

    package.parse(part, begin, end, text)
    return [unescaped(one) for one in found]


def _styles(package: Package, part: str) -> list[Style]:
    codes: dict[int, str] = {}
    found: list[Style] = []
    within: list[str] = []

    def begin(tag: str, given: Attributes) -> None:
        within.append(tag)
        if tag == "numFmt":
            codes[number(given.get("numFmtId"), 0)] = given.get("formatCode", "")
        elif tag == "xf" and "cellXfs" in within:
            found.append(_style(number(given.get("numFmtId"), 0), codes))

    def end(_: str) -> None:
        within.pop()

    package.parse(part, begin, end)
    return found


def _style(format_: int, codes: Mapping[int, str]) -> Style:
    code = codes.get(format_, "")
    bare = SAID.sub("", code).lower()
    signs = [next(part for part in match.groups() if part is not None).strip() for match in SIGN.finditer(code)]
    known = [sign for sign in signs if re.fullmatch(r"[A-Z]{3}|[^\w\s.,]|kr\.?", sign)]
    return Style(format_ in DATE_FORMATS or any(mark in bare for mark in "yd"), known[0] if known else "")


def unescaped(text: str) -> str:
    """A text with its escaped characters put back (ISO/IEC 29500-1, 22.9.2.19)."""
    return ESCAPED.sub(lambda match: chr(int(match[1], 16)), text) if "_x" in text else text
