"""Opens a spreadsheet's package with every limit held before anything is parsed: a small file may unpack to anything."""

import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from posixpath import dirname, join, normpath
from re import ASCII, fullmatch
from typing import IO
from xml.parsers import expat
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from scantling.catalogue.pricelists.cells import PriceListError, called
from scantling.figures.spelled import quoted

MOST_ENTRIES = 2_000
MOST_UNPACKED = 100_000_000
MOST_TIMES, SMALL = 200, 1_000_000
"""How many times its packed size a part may unpack to, and the size under which nobody minds (no source; tables of
repeated cells were measured at up to 60 times)."""
STEP = 65_536
ENCRYPTED = 0x1
NAMESPACE = " "
Attributes = Mapping[str, str]


class Package:
    """The parts of a spreadsheet file, read one by one and never more of them than is allowed."""

    def __init__(self, file: str, archive: ZipFile) -> None:
        self.file, self.archive, self.left = file, archive, MOST_UNPACKED
        self.parts = {entry.filename.lstrip("/"): entry for entry in archive.infolist()}

    def parse(self, part: str, begin: "Begin", end: "End" = None, text: "Said" = None) -> None:
        """Walk through the elements of a part by their plain names. Raises PriceListError for what is unfit."""
        parser = expat.ParserCreate(namespace_separator=NAMESPACE)
        parser.buffer_text = True
        parser.StartDoctypeDeclHandler = self._no_types
        parser.StartElementHandler = lambda name, given: begin(_plain(name), {_plain(k): v for k, v in given.items()})
        if end is not None:
            parser.EndElementHandler = lambda name: end(_plain(name))
        if text is not None:
            parser.CharacterDataHandler = text
        try:
            for chunk in self._chunks(part):
                parser.Parse(chunk, False)  # noqa: FBT003 - expat takes it by place
            parser.Parse(b"", True)  # noqa: FBT003 - as above
        except expat.ExpatError as wrong:
            raise self.refuse(f"{quoted(part)} in it is not well formed ({wrong})") from None

    def related(self, part: str) -> dict[str, tuple[str, str]]:
        """What a part leads to inside the file: id -> (last word of the kind, part). Outside targets are left alone."""
        folder, name = dirname(part), part.rsplit("/", maxsplit=1)[-1]
        found: dict[str, tuple[str, str]] = {}

        def begin(tag: str, given: Attributes) -> None:
            if tag == "Relationship" and given.get("TargetMode") != "External":
                target = given.get("Target", "")
                inside = normpath(target.lstrip("/") if target.startswith("/") else join(folder, target))
                found[given.get("Id", "")] = given.get("Type", "").rsplit("/", 1)[-1], inside

        where = join(folder, "_rels", f"{name}.rels")
        if where in self.parts:
            self.parse(where, begin)
        return found

    def refuse(self, says: str) -> PriceListError:
        """What is wrong with the whole file."""
        return PriceListError(f"{called(self.file)}: {says}")

    def _no_types(self, *_: object) -> None:
        raise self.refuse("it declares document types, which no spreadsheet needs and which can blow up; not read")

    def _counted(self, opened: IO[bytes]) -> Iterator[bytes]:
        """What comes out, no more than is allowed: the table of contents may lie."""
        while chunk := opened.read(STEP):
            self.left -= len(chunk)
            if self.left < 0:
                raise self.refuse(_too_large())
            yield chunk

    def _chunks(self, part: str) -> Iterator[bytes]:
        if part not in self.parts:
            raise self.refuse(f"it lacks its part {quoted(part)}; save it again as a spreadsheet (.xlsx) or as CSV")
        try:
            with self.archive.open(self.parts[part]) as opened:
                yield from self._counted(opened)
        except (BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError) as wrong:
            raise self.refuse(f"{quoted(part)} in it is damaged ({wrong}); save it again") from None


Begin = Callable[[str, Attributes], None]
End = Callable[[str], None] | None
Said = Callable[[str], None] | None


@contextmanager
def opened(path: Path) -> Iterator[Package]:
    """The parts of a file whose table of contents holds every limit. Raises PriceListError."""
    try:
        with ZipFile(path) as archive:
            package = Package(path.name, archive)
            if says := next(_unfit(archive.infolist()), ""):
                raise package.refuse(says)
            yield package
    except (BadZipFile, NotImplementedError, OSError, ValueError) as wrong:
        if isinstance(wrong, PriceListError):
            raise
        raise PriceListError(
            f"{called(path.name)}: it is no whole spreadsheet file ({wrong}); save it again"
        ) from None


def _unfit(entries: list[ZipInfo]) -> Iterator[str]:
    """Why the contents may not be unpacked, before anything is."""
    if len(entries) > MOST_ENTRIES:
        yield f"it holds {len(entries):,} parts, at most {MOST_ENTRIES:,} are read; a price list has a few dozen"
    if len({entry.filename for entry in entries}) < len(entries):
        yield "it holds two parts of one name; save it again"
    if sum(entry.file_size for entry in entries) > MOST_UNPACKED:
        yield _too_large()
    for entry in entries:
        if entry.file_size > SMALL and entry.file_size > MOST_TIMES * max(entry.compress_size, 1):
            yield f"{quoted(entry.filename)} in it unpacks to over {MOST_TIMES} times its size; not read"
        if entry.flag_bits & ENCRYPTED:
            yield "it is protected by a password; save it without one"
        if entry.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
            yield "it is packed in a way that spreadsheets don't use; save it again"


def _too_large() -> str:
    return f"it unpacks to more than {MOST_UNPACKED:,} bytes; not read. Save only the price list as a file of its own"


def number(written: str | None, otherwise: int) -> int:
    """A whole number of an attribute or a cell; the other where there is none."""
    return int(written) if written is not None and fullmatch(r"\d{1,9}", written, ASCII) else otherwise


def _plain(name: str) -> str:
    """The name without its namespace."""
    return name.rsplit(NAMESPACE, 1)[-1]
