"""Counts the checks by kind; at least half of each subject's must be other than the house's own derivations."""

import sys
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

ROOT = Path(__file__).resolve().parent.parent
FOLDER = "tests/check"
OWN = "own derivation"
KINDS = ("published", "independent library", "common practice", OWN)
Row = Mapping[str, Any]


def read(folder: Path) -> dict[str, list[Row]]:
    """Every subject with its rows. Raises ValueError naming a file that is no list of rows."""
    subjects: dict[str, list[Row]] = {}
    for path in sorted(folder.glob("*.yaml")):
        try:
            rows = YAML(typ="safe").load(path.read_text("utf-8"))
        except YAMLError as wrong:
            message = f"{path.name}: not YAML: {wrong}"
            raise ValueError(message) from wrong
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            message = f"{path.name}: not a list of checks"
            raise ValueError(message)
        subjects[path.stem] = rows
    return subjects


def wrong_rows(subjects: Mapping[str, Sequence[Row]]) -> Iterator[str]:
    """Rows without rule or source, or of an unknown kind."""
    for subject, rows in subjects.items():
        for number, row in enumerate(rows, 1):
            if row.get("kind") not in KINDS:
                yield f"{subject}.yaml, check {number}: kind {row.get('kind')!r} is none of {', '.join(KINDS)}"
            yield from (f"{subject}.yaml, check {number}: no {key}" for key in ("rule", "source") if not row.get(key))


def thin_subjects(subjects: Mapping[str, Sequence[Row]]) -> Iterator[str]:
    """Subjects of which less than half comes from outside."""
    for subject, rows in subjects.items():
        if 2 * outside(rows) < len(rows):
            yield f"{subject}.yaml: {outside(rows)} of {len(rows)} checks are from outside; at least half must be"


def outside(rows: Sequence[Row]) -> int:
    """How many rows are not our own derivations."""
    return sum(row.get("kind") != OWN for row in rows)


def table(subjects: Mapping[str, Sequence[Row]]) -> str:
    """Counts by kind in all, then the share from outside by subject."""
    every = [row for rows in subjects.values() for row in rows]
    kinds = Counter(row.get("kind") for row in every)
    lines = [f"{len(every)} checks: " + ", ".join(f"{kinds[kind]} {kind}" for kind in KINDS)]
    lines += [f"  {s:24}{outside(rows):4} of {len(rows):4} from outside" for s, rows in subjects.items() if rows]
    return "\n".join(lines)


def main() -> int:
    """Print the counts and every complaint; 0 when there is no complaint."""
    try:
        subjects = read(ROOT / FOLDER)
    except ValueError as wrong:
        print(wrong)
        return 1
    told = [*wrong_rows(subjects), *thin_subjects(subjects)]
    if not any(subjects.values()):
        told.append(f"{FOLDER} holds no checks at all")
    print("\n".join([table(subjects), *told]))
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
