"""The terminal of an office that is kept up: a line is asked for, answers are printed, and the brief is planned again when asked."""

import os
import sys
from collections.abc import Sequence
from pathlib import Path

from scantling import api
from scantling.cli.terminal import shown

PROMPT, CLEAR = "office: ", "\r\x1b[K"
END = b"\n"


def person(brief: Path, firm: Path | None, out: Path | None) -> api.Person:
    """Whoever sits here."""

    def show(found: api.Rehearsed) -> None:
        from scantling.cli.rehearsed import show_rehearsed  # noqa: PLC0415 - loaded when there is something to show

        if sys.stderr is not None and sys.stderr.isatty():
            sys.stderr.write(CLEAR)
            sys.stderr.flush()
        shown(lambda: show_rehearsed(found))

    return api.Person(show, asked, said, lambda: api.plan(brief, lambda _: None, firm), out)


def said(lines: Sequence[str]) -> None:
    """Print them."""
    shown(lambda: sys.stdout.write("".join(f"{line}\n" for line in lines)))


def asked() -> str | None:
    """The next line; None at the end. Never a byte more than the line is taken: what follows may be meant for a shell."""
    if sys.stdin is not None and sys.stdin.isatty() and sys.stdout is not None and sys.stdout.isatty():
        import readline  # noqa: F401, PLC0415 - lines can be edited and called back

        try:
            return input(PROMPT)
        except EOFError:
            said([""])
            return None
    return plainly()


def plainly() -> str | None:
    """A line from what is no terminal, octet by octet."""
    line = b""
    while (octet := _next()) not in {b"", END}:
        line += octet
    return line.decode("utf-8", "replace") if line or octet == END else None


def _next() -> bytes:
    try:
        return os.read(0, 1)
    except OSError:  # nobody is at the other end, or there never was one
        return b""
