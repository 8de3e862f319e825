"""The texts of a brief that edits lead back and forth to."""

from dataclasses import dataclass, field


@dataclass
class Ways:
    """The texts to go back and forth to."""

    back: list[tuple[str, str]] = field(default_factory=list)
    forth: list[tuple[str, str]] = field(default_factory=list)
