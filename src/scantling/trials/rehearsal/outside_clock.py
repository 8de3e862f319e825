"""A clock that tells the time to whoever asks (RFC 5905), right or wrong by as many seconds as one wishes."""

import struct

HEADER = struct.Struct("!BBbbII4sIIIIIIII")
"""Mark and version and mode, stratum, poll, precision, delay, dispersion, reference, and four stamps of two words each."""
EPOCH = 2_208_988_800
"""Seconds from the beginning of 1900, by which clocks count, to that of 1970."""
ASKS, ANSWERS = 3, 4
VERSIONS = range(1, 5)
PRECISION = -20
"""Of a machine's clock: 2**-20 seconds, about a microsecond."""
ROOT = 66
"""Delay to the true clock and doubt about it: about a millisecond, in 65536ths of a second."""
SET_BEFORE = 8.0
"""Seconds since it was last set itself."""


def told(said: bytes, came: float, now: float, *, off: float = 0.0, stratum: int = 2) -> bytes | None:
    """The answer to a question that came at a time and is answered now (seconds since 1970); None where it is none.

    `off`: seconds by which the clock is ahead. `stratum`: how many steps it is from a true clock.
    """
    if len(said) < HEADER.size:
        return None
    head, _, poll, *_, high, low = HEADER.unpack_from(said)
    version = head >> 3 & 7
    if head & 7 != ASKS or version not in VERSIONS:
        return None
    stamps = [*_stamp(came + off - SET_BEFORE), high, low, *_stamp(came + off), *_stamp(now + off)]
    return HEADER.pack(version << 3 | ANSWERS, stratum, poll, PRECISION, ROOT, ROOT, b"OWN\0", *stamps)


def _stamp(seconds: float) -> tuple[int, int]:
    """As clocks write it: seconds since 1900 and their 2**32ths. They begin anew in 2036 (RFC 5905 section 6)."""
    whole = int(seconds // 1)
    return (whole + EPOCH) & 0xFFFFFFFF, int((seconds - whole) * 2**32) & 0xFFFFFFFF
