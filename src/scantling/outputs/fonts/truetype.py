"""Reads letter widths out of the vendored TrueType files and writes them to advances.json, which the drawings measure by.

Run `python -m scantling.outputs.fonts.truetype` after a font is changed. Source: OpenType specification 1.9, tables
head, hhea, hmtx, OS/2 and cmap (formats 4 and 12). A test rebuilds the file and compares.
"""

import json
import struct
from collections import defaultdict
from pathlib import Path
from typing import Any

from scantling.outputs.fonts import FILES, FOLDER

ADVANCES = "advances.json"


def tables(data: bytes) -> dict[str, bytes]:
    """Every table of a TrueType file by its tag."""
    (count,) = struct.unpack_from(">H", data, 4)
    found = {}
    for index in range(count):
        tag, _, offset, length = struct.unpack_from(">4sLLL", data, 12 + 16 * index)
        found[tag.decode("ascii")] = data[offset : offset + length]
    return found


def _format_4(data: bytes) -> dict[int, int]:
    """Code point to glyph, from a cmap subtable of format 4."""
    (twice,) = struct.unpack_from(">H", data, 6)
    size = twice // 2
    ends = struct.unpack_from(f">{size}H", data, 14)
    starts = struct.unpack_from(f">{size}H", data, 16 + twice)
    deltas = struct.unpack_from(f">{size}H", data, 16 + 2 * twice)
    place = 16 + 3 * twice
    offsets = struct.unpack_from(f">{size}H", data, place)
    glyphs = {}
    for index, (first, last) in enumerate(zip(starts, ends, strict=True)):
        for code in range(first, min(last, 0xFFFE) + 1):
            place_of = place + 2 * index + offsets[index] + 2 * (code - first)
            glyph = struct.unpack_from(">H", data, place_of)[0] if offsets[index] else code
            if glyph or not offsets[index]:
                glyphs[code] = (glyph + deltas[index]) & 0xFFFF
    return glyphs


def _format_12(data: bytes) -> dict[int, int]:
    """Code point to glyph, from a cmap subtable of format 12."""
    (groups,) = struct.unpack_from(">L", data, 12)
    glyphs = {}
    for index in range(groups):
        first, last, glyph = struct.unpack_from(">LLL", data, 16 + 12 * index)
        glyphs.update({code: glyph + code - first for code in range(first, last + 1)})
    return glyphs


def characters(cmap: bytes) -> dict[int, int]:
    """Code point to glyph, over all Unicode subtables. Raises ValueError when there is none that can be read."""
    (count,) = struct.unpack_from(">H", cmap, 2)
    readers = {4: _format_4, 12: _format_12}
    glyphs: dict[int, int] = {}
    for index in range(count):
        platform, _, offset = struct.unpack_from(">HHL", cmap, 4 + 8 * index)
        (kind,) = struct.unpack_from(">H", cmap, offset)
        if platform in {0, 3} and kind in readers:
            glyphs.update(readers[kind](cmap[offset:]))
    if not glyphs:
        message = "the font has no Unicode character table of format 4 or 12"
        raise ValueError(message)
    return glyphs


def measures(path: Path) -> dict[str, Any]:
    """Widths of all letters of one font in thousandths of the size, and the height of its capitals."""
    found = tables(path.read_bytes())
    (em,) = struct.unpack_from(">H", found["head"], 18)
    (full,) = struct.unpack_from(">H", found["hhea"], 34)
    widths = [struct.unpack_from(">H", found["hmtx"], 4 * glyph)[0] for glyph in range(full)]
    (capital,) = struct.unpack_from(">h", found["OS/2"], 88)
    letters: dict[int, list[int]] = defaultdict(list)
    for code, glyph in sorted(characters(found["cmap"]).items()):
        letters[round(1000 * widths[min(glyph, full - 1)] / em)].append(code)
    return {
        "capital": round(1000 * capital / em),
        "widths": {str(width): "".join(map(chr, letters[width])) for width in sorted(letters)},
    }


def advances() -> str:
    """The whole table, one line a font, as JSON text."""
    rows = [
        f"{json.dumps(name)}: {json.dumps(measures(FOLDER / name), ensure_ascii=True)}"
        for name in sorted(FILES.values())
    ]
    return "{\n" + ",\n".join(rows) + "\n}\n"


if __name__ == "__main__":
    (FOLDER / ADVANCES).write_text(advances(), encoding="ascii")
