"""What of a rehearsal is wanted."""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wanted of a rehearsal."""

    everyone: bool = False
    """Every device there is, and every visitor of the busiest day; else one of each row."""
    year: int = 0
    """The office as it has grown after so many years."""
    families: tuple[int, ...] = (4, 6)
    drill: bool = False
    planted: bool = False
    busiest: bool = False
    live: bool = False
    out: Path | None = None
    """Where evidence and drawings are written; nowhere, where there is none."""
    way_in: str = ""
    """range, one-id or root; else the first that works."""
