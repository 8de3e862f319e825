"""Makes a small web font from a vendored TrueType file: only the letters a page uses, packed as WOFF 1.0.

Sources: OpenType specification 1.9 (tables head, loca, glyf, post; table checksums), W3C WOFF File Format 1.0. Glyphs keep
their numbers, so every other table stays true; those not used become empty. Substitutions are left out, for they could
lead to an empty glyph. The vendored fonts' licences name no reserved font name, so a cut font may keep its own.
"""

import struct
import zlib
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from itertools import pairwise

from scantling.outputs.fonts import FOLDER
from scantling.outputs.fonts.truetype import characters, tables

LEFT_OUT = frozenset({"GSUB", "hdmx", "VDMX", "STAT", "DSIG"})
LONG_ARGUMENTS, SCALE, TWO_SCALES, MATRIX, MORE = 0x0001, 0x0008, 0x0040, 0x0080, 0x0020
"""Flags of a composite glyph's parts (OpenType, table glyf)."""
MAGIC = 0xB1B0AFBA
FLAVOUR = 0x00010000


@cache
def _font(file: str) -> Mapping[str, bytes]:
    return tables((FOLDER / file).read_bytes())


@cache
def _letters(file: str) -> Mapping[int, int]:
    return characters(_font(file)["cmap"])


def woff(file: str, letters: Iterable[str]) -> bytes:
    """The vendored file with no more than the letters given, as WOFF. Same letters, same bytes."""
    font = dict(_font(file))
    known = _letters(file)
    wanted = {0, *(known[ord(letter)] for letter in letters if ord(letter) in known)}
    glyphs = _glyphs(font)
    kept = _with_parts(glyphs, wanted)
    font["glyf"], font["loca"] = _packed([glyph if i in kept else b"" for i, glyph in enumerate(glyphs)])
    font["head"] = font["head"][:8] + bytes(4) + font["head"][12:50] + struct.pack(">h", 1) + font["head"][52:]
    font["post"] = struct.pack(">L", 0x00030000) + font["post"][4:32]
    return _wrapped({tag: data for tag, data in font.items() if tag not in LEFT_OUT})


def _glyphs(font: Mapping[str, bytes]) -> list[bytes]:
    """Every glyph's outline by its number."""
    (long,) = struct.unpack_from(">h", font["head"], 50)
    (count,) = struct.unpack_from(">H", font["maxp"], 4)
    if long:
        places: Sequence[int] = struct.unpack_from(f">{count + 1}L", font["loca"])
    else:
        places = [2 * half for half in struct.unpack_from(f">{count + 1}H", font["loca"])]
    return [font["glyf"][first:last] for first, last in pairwise(places)]


def _with_parts(glyphs: Sequence[bytes], wanted: Iterable[int]) -> set[int]:
    """The glyphs wanted, and those that they are put together from."""
    kept: set[int] = set()
    waiting = list(wanted)
    while waiting:
        number = waiting.pop()
        if number not in kept:
            kept.add(number)
            waiting += _parts(glyphs[number])
    return kept


def _parts(glyph: bytes) -> list[int]:
    """Numbers of the glyphs that a composite one is put together from."""
    if not glyph or struct.unpack_from(">h", glyph)[0] >= 0:
        return []
    found, place, flags = [], 10, MORE
    while flags & MORE:
        flags, number = struct.unpack_from(">HH", glyph, place)
        found.append(number)
        place += 8 if flags & LONG_ARGUMENTS else 6
        place += 2 if flags & SCALE else 4 if flags & TWO_SCALES else 8 if flags & MATRIX else 0
    return found


def _packed(glyphs: Sequence[bytes]) -> tuple[bytes, bytes]:
    """Outlines one after another, and where each begins."""
    body, places = bytearray(), [0]
    for glyph in glyphs:
        body += glyph + bytes(-len(glyph) % 4)
        places.append(len(body))
    return bytes(body), struct.pack(f">{len(places)}L", *places)


def _checksum(data: bytes) -> int:
    padded = data + bytes(-len(data) % 4)
    words: tuple[int, ...] = struct.unpack(f">{len(padded) // 4}L", padded)
    return sum(words) & 0xFFFFFFFF


def _directory(font: Mapping[str, bytes]) -> bytes:
    """The head of the TrueType file that a reader unpacks: needed for the checksum of the whole."""
    count = len(font)
    power = count.bit_length() - 1
    made = struct.pack(">LHHHH", FLAVOUR, count, 16 << power, power, 16 * count - (16 << power))
    place = 12 + 16 * count
    for tag, data in sorted(font.items()):
        made += tag.encode("ascii") + struct.pack(">LLL", _checksum(data), place, len(data))
        place += len(data) + -len(data) % 4
    return made


def _wrapped(font: dict[str, bytes]) -> bytes:
    """The tables as WOFF 1.0, each packed where that makes it smaller."""
    directory = _directory(font)
    whole = (_checksum(directory) + sum(map(_checksum, font.values()))) & 0xFFFFFFFF
    sums = {tag: _checksum(data) for tag, data in font.items()}
    font["head"] = font["head"][:8] + struct.pack(">L", (MAGIC - whole) & 0xFFFFFFFF) + font["head"][12:]
    place = 44 + 20 * len(font)
    entries, body = b"", bytearray()
    for tag, data in sorted(font.items()):
        small = min(zlib.compress(data, 9), data, key=len)
        entries += tag.encode("ascii") + struct.pack(">LLLL", place + len(body), len(small), len(data), sums[tag])
        body += small + bytes(-len(small) % 4)
    plain = len(directory) + sum(len(data) + -len(data) % 4 for data in font.values())
    total = place + len(body)
    return (
        struct.pack(">4sLLHHLHHLLLLL", b"wOFF", FLAVOUR, total, len(font), 0, plain, 1, 0, 0, 0, 0, 0, 0)
        + entries
        + bytes(body)
    )
