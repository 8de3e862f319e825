"""Compiles catalogue and house rules, so that reading them takes milliseconds; run it after every change of data."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "src"))

from scantling.catalogue.compiled import NAME, compiled
from scantling.catalogue.reading import DATA, CatalogueFileError, all_columns, build, read_trees, written_lines
from scantling.plan.spine import columns, trades


def made(folder: Path = DATA) -> str:
    """The compiled form of the written files as they are now. Raises CatalogueFileError."""
    known = all_columns(columns(trades()))
    return compiled(folder, build(read_trees(folder), known), written_lines(folder), known)


def main() -> int:
    """Write the compiled form; with --check only say whether the one that stands is fresh."""
    target = DATA / NAME
    try:
        fresh = made()
    except CatalogueFileError as wrong:
        print(wrong, file=sys.stderr)
        return 2
    if target.exists() and target.read_text(encoding="utf-8") == fresh:
        print(f"{target.name}: fresh")
        return 0
    if "--check" in sys.argv[1:]:
        print(f"{target.name} is stale: run python tools/compile_catalogue.py", file=sys.stderr)
        return 1
    beside = target.with_suffix(".new")
    beside.write_text(fresh, encoding="utf-8")
    beside.replace(target)
    print(f"{target.name}: written")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
