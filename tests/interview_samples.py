"""An agenda of the program's own, scripts of whole interviews, and offices that were never there."""

from functools import cache

from scantling import api
from scantling.api.planning import words
from scantling.brief import Section
from scantling.brief.answers import Answers
from scantling.brief.drafting import Draft
from scantling.brief.hearing import heard
from scantling.brief.interview import take
from scantling.brief.loading import load
from scantling.brief.minutes import minutes
from scantling.brief.questions import Agenda, agenda

DAY = "2026-11-25"

BAKERY: tuple[str, ...] = (
    "Barley Row Bakery", "IE", "", DAY, "", "", "", "Nuala Byrne, consultant", "Peter Hale, shop", "6 h",
    "Bakers", "5", "0 %/year", "mon-sat", "03:00-11:00", "",
    "Shop", "3", "", "mon-sat", "07:30-18:00", "70 %",
    "",
    "Office PCs", "pc", "4", "", "Tills", "payment terminal", "2", "", "Oven control", "control", "3", "workshop", "",
    "yes",
    "none",
    "back office", "no", "650 mm", "1100 mm", "42 dB", "Back office", "16 A", "500 W", "",
    "Fibre", "200 Mbit/s", "40 Mbit/s", "45.00 EUR", "",
    "yes", "shared files, printing", "Orders and recipes", "database", "", "",
    "Shared documents", "documents", "220 GB", "", "10 %/year", "", "files", "yes",
    "Orders", "database", "12 GB", "400", "", "", "", "",
    "",
    "12 h", "24 h", "8 h", "", "8 h", "12 h", "disks", "",
    "16000 EUR", "23 %",
)  # fmt: skip
"""What the owner of an invented bakery says, line by line."""

ROUGH: tuple[str, ...] = (
    "12", "12 PCs, 5 laptops", "30", "files, print, business application", "1.5 TB", "15 %/year", "8 h", "cupboard, 40 dB",
    "200/40 Mbit/s", "IE, 20000 EUR",
)  # fmt: skip
"""Ten answers of an office of twelve."""


@cache
def own() -> Agenda:
    """The agenda of our own catalogue and house rules."""
    kept = api.stock()
    return agenda(api.known_sections(), api.defaults(kept.house), words(kept.catalogue), kept.catalogue.currency, DAY)


def draft(answers: Answers) -> str:
    """The brief that an interview has come to."""
    asks = own()
    return Draft(asks.picture(answers), asks.by_key, asks.defaults, asks.words).text()


def said(lines: tuple[str, ...], answers: Answers | None = None) -> tuple[Answers, list[str]]:
    """Answers after typed lines, and everything that was said back."""
    told: list[str] = []
    answers = answers or Answers()
    for line in lines:
        turn = take(own(), answers, line)
        answers = turn.answers
        told += turn.says
    return answers, told


def loaded(written: str) -> dict[type[Section], Section]:
    """A brief's sections by the brief's own loader."""
    kept = api.stock()
    return load(written, "brief.yaml", api.known_sections(), api.defaults(kept.house), words(kept.catalogue))


def again(answers: Answers) -> Answers:
    """The same answers after they lay in a file."""
    return heard(own(), minutes(own(), answers), "answers.yaml")
