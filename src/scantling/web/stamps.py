"""What tells that a file of the office has changed: which file it is, when it was written, how large it is."""

from pathlib import Path

BRIEF, STANDING, FIRM = "brief.yaml", "standing.yaml", "firm"
Stamps = tuple[tuple[str, int, int, int], ...]


def stamps(folder: Path, firm: Path | None) -> Stamps:
    """Of everything that an office is planned from: the brief, what stands, the firm's own files."""
    files = [folder / BRIEF, folder / STANDING, *sorted((firm or folder / FIRM).glob("*"))]
    return tuple((str(path), *_stamp(path)) for path in files)


def _stamp(path: Path) -> tuple[int, int, int]:
    try:
        told = path.stat()
    except OSError:
        return 0, 0, 0
    return told.st_ino, told.st_mtime_ns, told.st_size
