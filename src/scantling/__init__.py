"""Scantling: from a written brief to an explained, checked plan for a one-server office."""

from pathlib import Path

__version__ = "0.1.0"

STEPS, STEP = "SCANTLING_STEPS", "> "
"""Where this is set in a command's surroundings, it tells each step on standard error as a line that begins so."""


class UserError(Exception):
    """Something a person can put right; its text is all they need."""


def defect(wrong: Exception) -> str:
    """What went wrong and where, in one line, for whoever mends it: a mistake of ours, which the brief can't be blamed for."""
    place = wrong.__traceback__
    while place is not None and place.tb_next is not None:
        place = place.tb_next
    at = f"{Path(place.tb_frame.f_code.co_filename).name}:{place.tb_lineno}" if place is not None else ""
    says = " ".join(str(wrong).split())[:300]
    return f"a defect of scantling, not of the brief: {type(wrong).__name__} at {at}: {says}; please report it with the brief"
