"""The office's own sections, which every trade may read."""

from enum import StrEnum

from scantling.brief.sections import Given, Mapped, Section, asked, assumed, optional
from scantling.figures.units import Date, Hours, Volts, Word, Years


class Paper(StrEnum):
    """Sizes that plans are printed on (ISO 216; ANSI/ASME Y14.1)."""

    A4 = "A4"
    LETTER = "letter"


class Office(Section):
    """Who they are."""

    key = "office"
    name: Given[Word] = asked("What is the client called?", like="The Millrace Arts Centre")
    country: Given[Word] = asked("In which country (two letters, ISO 3166)?", form="[A-Z]{2}", like="IE")
    currency: Given[Word] = asked("In which currency (three letters, ISO 4217)?", form="[A-Z]{3}", like="EUR")
    mains: Given[Volts] = assumed("What is the mains voltage?", "office.mains", least="100 V", most="240 V")
    paper: Given[Paper] = assumed("Which paper do they print on, A4 or letter?", "office.paper")
    as_of: Given[Date] = asked("On which day is this planned?")
    horizon: Given[Years] = assumed(
        "For how many years should it last?", "office.horizon", least="1 year", most="15 year"
    )


class Support(Section):
    """Who looks after it."""

    key = "support"
    default_whole = True
    who: Given[Word] | None = optional("Who looks after the server once it runs?")
    reach: Given[Hours] = assumed("How soon can they be there?", "support.reach", least="5 min", most="60 day")
    on_site: Given[Word] | None = optional("Who on site knows where it stands?")


class Confirmed(Section):
    """A lasting choice that somebody confirmed."""

    by: Given[Word] = asked("Who confirmed it?")
    on: Given[Date] = asked("When?")


class LastingChoices(Mapped[Confirmed]):
    """Choices that are hard to change later, by name (array-levels, address-plan), and who confirmed them."""

    key = "lasting"
    default_whole = True


class Refusal(Section):
    """A finding that the owner has read and declined."""

    by: Given[Word] = asked("Who declined it?")
    on: Given[Date] = asked("When?")
    because: Given[Word] = asked("Why?")


class Declined(Mapped[Refusal]):
    """Advice the owner has declined, by the finding's code, such as M-8."""

    key = "declined"
    default_whole = True
    slugs = False


class PinLine(Section):
    """A figure or a choice set by hand."""

    value: Given[Word] = asked("What is it set to?")
    because: Given[Word] = asked("Why?")


class Pins(Mapped[PinLine]):
    """Figures and choices set by hand, by their id (machines.files.cores, purchase.host), each with a reason."""

    key = "pins"
    default_whole = True
    slugs = False
