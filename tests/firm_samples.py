"""A firm's folder for tests, beside a copy of Millrace's brief."""

from pathlib import Path
from shutil import copyfile

from offices import BRIEFS


def written(folder: Path, **files: str) -> Path:
    """Writes the firm's files (`house__power` is house/power.yaml) and the brief; returns the brief."""
    brief = folder / "brief.yaml"
    copyfile(BRIEFS["millrace"], brief)
    for name, text in files.items():
        path = folder / "firm" / f"{name.replace('__', '/')}.yaml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return brief
