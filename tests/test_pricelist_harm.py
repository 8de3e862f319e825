"""Files made to do harm, cut off, damaged or of another kind: refused in a sentence, before they cost anything."""

import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest

from pricelist_samples import ROWS, odd, read, sheet
from scantling import UserError
from scantling.catalogue.pricelists import packed


def rewritten(path: Path, change: Callable[[str, bytes], bytes], **more: bytes) -> Path:
    """The same package with its parts changed, and more parts."""
    made = BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, change(name, old.read(name)))
        for name, content in more.items():
            new.writestr(name, content)
    path.write_bytes(made.getvalue())
    return path


def in_sheet(old: bytes, new: bytes) -> Callable[[str, bytes], bytes]:
    """Changes a passage of the first sheet; the passage must be there."""

    def change(name: str, content: bytes) -> bytes:
        if name != "xl/worksheets/sheet1.xml":
            return content
        assert old in content
        return content.replace(old, new, 1)

    return change


def refused(path: Path) -> str:
    """What is said of a file that is not read."""
    with pytest.raises(UserError) as caught:
        read(path)
    return str(caught.value)


def test_a_small_file_that_unpacks_to_much_is_refused_before_it_is(tmp_path: Path) -> None:
    """200 MB of noughts take 200 kB when packed: as a part more, and as the sheet itself."""
    path = rewritten(sheet(tmp_path), lambda _, content: content, **{"xl/media/image1.png": bytes(200_000_000)})
    assert path.stat().st_size < 250_000
    assert "it unpacks to more than 100,000,000 bytes; not read" in refused(path)
    path = rewritten(sheet(tmp_path), in_sheet(b"<sheetData>", b"<sheetData>" + b" " * 90_000_000))
    assert '"xl/worksheets/sheet1.xml" in it unpacks to over 200 times its size; not read' in refused(path)


def test_a_file_that_lies_about_its_size_is_stopped_while_it_unpacks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The bytes that come out are counted too, whatever the table of contents says."""
    monkeypatch.setattr(packed, "MOST_UNPACKED", 40_000)
    monkeypatch.setattr(packed, "_unfit", lambda _: iter(()))
    path = rewritten(sheet(tmp_path), in_sheet(b"<sheetData>", b"<sheetData>" + b" " * 50_000))
    assert "it unpacks to more than 40,000 bytes" in refused(path)


def test_document_types_and_their_growing_entities_are_refused(tmp_path: Path) -> None:
    grown = b"".join(b'<!ENTITY %s "%s">' % (bytes([n]), b"&%s;" % bytes([n - 1]) * 10) for n in range(98, 107))
    types = b'<!DOCTYPE worksheet [<!ENTITY a "aaaaaaaaaa">' + grown + b"]>"
    path = rewritten(sheet(tmp_path), in_sheet(b"<worksheet", types + b"<worksheet"))
    assert "it declares document types" in refused(path)
    outside = b'<!DOCTYPE worksheet SYSTEM "file:///etc/hostname">'
    assert "document types" in refused(rewritten(sheet(tmp_path), in_sheet(b"<worksheet", outside + b"<worksheet")))


def test_a_merged_area_over_the_whole_sheet_costs_nothing(tmp_path: Path) -> None:
    """17 thousand million cells are merged by a dozen letters; each row of ours is told, and no cell is built."""
    path = sheet(tmp_path, change=lambda table: table.merge_cells("A4:B5"))
    rewritten(path, in_sheet(b"A4:B5", b"A1:XFD1048576"))
    assert "the head of the article is merged over several columns, A to XFD" in refused(path)
    path = sheet(tmp_path, change=lambda table: table.merge_cells("A4:B5"))
    rewritten(path, in_sheet(b"A4:B5", b"A2:XFD1048576"))
    assert len(odd(path)) == 2 * 4


def test_rows_and_cells_far_out_cost_nothing(tmp_path: Path) -> None:
    path = sheet(tmp_path, *ROWS, ("Z-1", "", 1, ""), change=lambda table: table.cell(1_048_576, 1, "A-8"))
    assert len(read(path).judged.changes) == 2
    wide = sheet(tmp_path, change=lambda table: table.cell(3, 16_384, "far"))
    assert "larger than a price list: at most 256 columns" in refused(wide)


def test_too_many_parts_are_refused(tmp_path: Path) -> None:
    parts = {f"xl/media/{number}": b"" for number in range(2_001)}
    assert "parts, at most 2,000 are read" in refused(rewritten(sheet(tmp_path), lambda _, content: content, **parts))


def test_links_to_outside_are_not_followed(tmp_path: Path) -> None:
    """A sheet that lies elsewhere is no sheet: nothing is opened but parts of the file."""

    def change(name: str, content: bytes) -> bytes:
        if name != "xl/_rels/workbook.xml.rels":
            return content
        return content.replace(
            b'Target="/xl/worksheets/sheet1.xml"', b'Target="file:///etc/hostname" TargetMode="External"'
        )

    assert "no sheet" in refused(rewritten(sheet(tmp_path), change))


@pytest.mark.parametrize("cut", [30, 300, 3000, -1, -25, -400])
def test_a_file_that_is_cut_off_is_refused(cut: int, tmp_path: Path) -> None:
    path = sheet(tmp_path)
    path.write_bytes(path.read_bytes()[:cut])
    assert "acme.xlsx: it is no whole spreadsheet file" in refused(path)


def test_a_file_whose_bytes_are_damaged_is_read_right_or_refused(tmp_path: Path) -> None:
    """Each byte of the packed sheet turned in its turn: never another price, never a traceback."""
    path = sheet(tmp_path)
    whole = path.read_bytes()
    for place in range(0, len(whole), 37):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 0x55]) + whole[place + 1 :])
        try:
            found = read(path)
        except UserError as wrong:
            assert str(wrong)  # noqa: PT017 - either way is right
        else:
            assert {str(change.new) for change in found.judged.changes} <= {"281.40", "118.00"}


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "the file is empty"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(500), "a spreadsheet of the old kind, or one with a password"),
        (b"%PDF-1.7", "a PDF, which is for reading"),
        (b"  <html><table>", "a web page or another marked-up text"),
        (b'Article no;Net EUR\nA-4;"118', "acme.xlsx:2:A: a quotation mark opens in this row and is never closed"),
        (b'Article no;Net EUR\nA-4;"118" x', "acme.xlsx:2:A: a quotation mark stands inside a quoted cell"),
        (b"Article no;Net EUR\nA-4;1\x008", "acme.xlsx:2:A: this is no text file"),
        (b"Article no;Net EUR\nA-4;1\x818", "acme.xlsx:2:A: a letter stands in this line that is neither"),
        (b"Article no Net EUR\nA-4 118\n", "acme.xlsx:1:A: no table stands here: its cells are parted by none of"),
        (b"PK\x05\x06" + bytes(18), "this is no text file"),
    ],
)  # fmt: skip
def test_what_is_no_list_is_told_in_a_sentence(content: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "acme.xlsx"
    path.write_bytes(content)
    assert says in refused(path)


def test_a_packed_file_that_is_no_spreadsheet_is_told(tmp_path: Path) -> None:
    path = tmp_path / "acme.xlsx"
    with zipfile.ZipFile(path, "w") as package:
        package.writestr("content.xml", "<x/>")
    assert "no spreadsheet of the kind .xlsx" in refused(path)


def test_missing_and_unreadable_lists_are_told(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "nowhere.csv")
    assert "this is a folder" in refused(tmp_path)
