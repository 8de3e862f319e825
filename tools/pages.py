"""Writes the pages that are made from the code, or with --check says which are stale."""

import importlib
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGES: Mapping[str, str] = {  # page -> the function that returns its whole text
    "docs/brief-reference.md": "scantling.api:reference_page",
    "docs/brief.schema.json": "scantling.api:json_schema",
    "docs/standing-reference.md": "scantling.api:standing_page",
    "docs/commands.md": "pages_commands:page",
    "docs/findings.md": "pages_findings:page",
}


class PageError(Exception):
    """A page that can't be made; the text says why."""


def maker(name: str) -> Callable[[], str]:
    """The function called `module:function`. Raises PageError where there is none."""
    module, _, function = name.partition(":")
    try:
        found = getattr(importlib.import_module(module), function)
    except (ImportError, AttributeError) as wrong:
        message = f"{name} can't be had: {wrong}"
        raise PageError(message) from wrong
    if not callable(found):
        message = f"{name} is not a function"
        raise PageError(message)
    made: Callable[[], str] = found
    return made


def text_of(name: str) -> str:
    """The page's text, with one newline at its end. Raises PageError."""
    made = maker(name)()
    if not isinstance(made, str) or not made.strip():
        message = f"{name} returned no text"
        raise PageError(message)
    return made.rstrip("\n") + "\n"


def stale(root: Path, pages: Mapping[str, str]) -> list[str]:
    """What is wrong with the pages on disk: missing, old, or impossible to make."""
    told: list[str] = []
    for page, name in pages.items():
        path = root / page
        try:
            wanted = text_of(name)
        except PageError as wrong:
            told.append(f"{page}: {wrong}")
            continue
        if not path.is_file():
            told.append(f"{page} is not there: run python tools/pages.py")
        elif path.read_text("utf-8") != wanted:
            told.append(f"{page} is stale: run python tools/pages.py")
    return told


def write(root: Path, pages: Mapping[str, str]) -> list[str]:
    """Write every page in one step each. Raises PageError before any is written."""
    texts = {page: text_of(name) for page, name in pages.items()}
    for page, text in texts.items():
        path = root / page
        path.parent.mkdir(parents=True, exist_ok=True)
        part = path.with_name(path.name + ".part")
        part.write_text(text, "utf-8")
        part.replace(path)
    return list(texts)


def main(words: list[str]) -> int:
    """With --check compare, otherwise write; 0 when all is well."""
    sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tools")]
    if words == ["--check"]:
        told = stale(ROOT, PAGES)
        print("\n".join(told) or f"{len(PAGES)} pages are as the code says")
        return 1 if told else 0
    try:
        print("\n".join(write(ROOT, PAGES)))
    except PageError as wrong:
        print(wrong)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
