"""Opens a price list, whatever kind of file it is, and says what it is where it can't be read."""

from collections.abc import Iterable
from pathlib import Path

from scantling.catalogue.pricelists.cells import Grid, PriceListError, called
from scantling.catalogue.pricelists.separated import read_separated
from scantling.catalogue.pricelists.spreadsheet import read_sheets
from scantling.figures.spelled import shown

MOST_BYTES = 20_000_000
PACKED = b"PK\x03\x04"
KNOWN: tuple[tuple[bytes, str], ...] = (
    (
        b"\xd0\xcf\x11\xe0",
        "a spreadsheet of the old kind, or one with a password; save it as .xlsx or CSV, without one",
    ),
    (b"%PDF", "a PDF, which is for reading; ask the supplier for a spreadsheet"),
    (b"<", "a web page or another marked-up text; open it in a spreadsheet and save it as .xlsx or CSV"),
)
"""How files begin that people take for lists, and what to do."""


def read_grids(path: Path, sheet: str = "") -> list[Grid]:
    """Every table that the file could hold. Raises PriceListError in a person's words."""
    raw = _content(path)
    if raw.startswith(PACKED):
        return list(read_sheets(path, sheet))
    for begins, says in KNOWN:
        if raw.lstrip().startswith(begins):
            raise PriceListError(f"{called(path.name)}: this is {says}")
    return _named(read_separated(raw, path.name), path, sheet)


def _content(path: Path) -> bytes:
    """The file's bytes, no more than a list may have."""
    name = called(path.name or str(path))
    try:
        if not path.is_file():
            raise PriceListError(
                f"{name}: {'this is a folder' if path.is_dir() else 'no such file'}; name the price list"
            )
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as wrong:
        if isinstance(wrong, PriceListError):
            raise
        raise PriceListError(
            f"{name}: can't be read: {shown(getattr(wrong, 'strerror', '') or str(wrong))}"
        ) from None
    if len(raw) > MOST_BYTES:
        raise PriceListError(f"{name}: the file is too large: at most {MOST_BYTES:,} bytes")
    if not raw.strip():
        raise PriceListError(f"{name}: the file is empty")
    return raw


def _named(grids: Iterable[Grid], path: Path, sheet: str) -> list[Grid]:
    if sheet:
        raise PriceListError(f"{called(path.name)}: this is a text file, which has no sheets; leave --sheet out")
    return list(grids)
