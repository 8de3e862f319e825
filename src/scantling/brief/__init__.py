"""The client's answers, typed by the sections that trades declare, each with its place; no file is read here."""

from scantling.brief.office import Declined, LastingChoices, Office, Paper, Pins, Support
from scantling.brief.sections import Given, Mapped, Section, asked, assumed, optional

__all__ = [
    "Declined", "Given", "LastingChoices", "Mapped", "Office", "Paper", "Pins", "Section", "Support", "asked",
    "assumed", "optional",
]  # fmt: skip
