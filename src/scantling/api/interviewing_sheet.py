"""The interview sheet of a folder, for the meeting: what is known already stands in it."""

from pathlib import Path

from scantling import UserError
from scantling.api.interviewing import BRIEF, SHEET, Meeting
from scantling.brief.answers import Answers
from scantling.brief.form import form
from scantling.brief.hearing import of_brief
from scantling.brief.loading import BriefError
from scantling.brief.reading import read_text
from scantling.outputs.documents.interview_form import printed
from scantling.outputs.documents.pdf import PrintError
from scantling.outputs.writing import OutputError, write_all


def sheet(meeting: Meeting, paper: str | None = None) -> Path:
    """Write interview.pdf into the meeting's folder; its path. Raises UserError."""
    try:
        pdf = printed(form(meeting.agenda, _known(meeting), paper or ""))
        write_all(meeting.folder, {SHEET: pdf})
    except (PrintError, OutputError) as wrong:
        raise UserError(str(wrong)) from None
    return meeting.folder / SHEET


def _known(meeting: Meeting) -> Answers:
    """The answers of the interview, else those of a brief that lies there."""
    brief = meeting.folder / BRIEF
    if meeting.resumed or not brief.exists():
        return meeting.answers
    try:
        return of_brief(meeting.agenda, read_text(brief), brief.name)
    except BriefError as wrong:
        raise UserError(str(wrong)) from None
