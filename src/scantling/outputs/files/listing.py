"""The list of all files itself, for people and for programs: files.txt and files.csv."""

from collections.abc import Iterator, Sequence
from textwrap import wrap

from scantling.figures import text
from scantling.outputs.files import Written
from scantling.outputs.files.packet_filter_text import head, one_line
from scantling.outputs.files.tables import separated
from scantling.plan.make import Plan

WIDTH = 100
HEADS = ("path", "what for", "where it goes", "how to load", "how to undo", "checked by")
LABELS = ("what for", "goes", "load", "undo", "checked by")
INDENT, MARGIN = 4, 16
READ_ME = (
    "every file of this folder, what it is for, where it goes, how to load it and how to undo that",
    "",
    "Load nothing before it was read by somebody who knows the machine, and never the first time from afar.",
)


def listed(plan: Plan, files: Sequence[Written]) -> list[Written]:
    """The two files of the list; they stand in it too."""
    said = [
        Written(
            path, b"", what, "Into the handover folder; nowhere on a machine.", "Read it.", "Nothing to undo: nothing is set by it.",
        )
        for path, what in (("files.csv", "This list for programs."), ("files.txt", "This list for people."))
    ]  # fmt: skip
    every = sorted([*files, *said], key=lambda one: one.path)
    contents = (separated(HEADS, map(row, every)), _told(plan, every).encode())
    return [
        Written(one.path, content, one.what, one.goes, one.load, one.undo)
        for one, content in zip(said, contents, strict=True)
    ]


def row(one: Written) -> tuple[str, ...]:
    """What is known of a file, under HEADS."""
    return one.path, one.what, one.goes, one.load, one.undo, one.checked_by


def _told(plan: Plan, files: Sequence[Written]) -> str:
    opening = head(text(plan.office.name), text(plan.office.as_of), READ_ME)
    lines = [line for words in opening for line in (wrap(words, WIDTH) or [""])]
    return "\n".join([*lines, *(line for one in files for line in _entry(one))]) + "\n"


def _entry(one: Written) -> Iterator[str]:
    """Its path, then what is known of it, each under its label; no word is broken, so that commands can be copied."""
    yield from ("", one.path)
    for label, words in zip(LABELS, row(one)[1:], strict=True):
        if words:
            yield from wrap(
                one_line(words), WIDTH, initial_indent=" " * INDENT + label.ljust(MARGIN - INDENT), subsequent_indent=" " * MARGIN,
                break_on_hyphens=False, break_long_words=False,
            )  # fmt: skip
