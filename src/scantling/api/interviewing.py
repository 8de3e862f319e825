"""The verb new: an interview kept in a folder, what each answer changes, and the brief that comes of it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from pathlib import Path
from re import IGNORECASE, fullmatch
from re import compile as compile_

from scantling import UserError
from scantling.api.planning import (
    STANDING, Stock, defaults, known_sections, plan_text, stock_for, words,
)  # fmt: skip
from scantling.brief.answers import Answers, Asking, Similar
from scantling.brief.drafting import Draft, is_ours
from scantling.brief.hearing import heard
from scantling.brief.interview import Put, Turn, asked, take
from scantling.brief.loading import BriefError
from scantling.brief.minutes import minutes
from scantling.brief.questions import Agenda, agenda
from scantling.brief.reading import is_there, read_text
from scantling.brief.rough import UNKNOWNS
from scantling.brief.scaling import similar
from scantling.figures import Figure
from scantling.figures.numbers import in_currency, text
from scantling.figures.spelled import nearest, quoted, shown
from scantling.outputs.writing import OutputError, write_all
from scantling.plan.make import Plan

BRIEF, ANSWERS, SHEET = "brief.yaml", "answers.yaml", "interview.pdf"
EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
"""The offices that come with the program, where it runs from its own folder."""
PRICE, MEMORY = "money.total", "host.memory.bought"
MOST_PEOPLE = 1000
REMARK = compile_(r"  # assumed, ask[^\"']*$")
MUTE = ("name:", "who:", "on_site:", "place:", "country:", "paper:")
"""Words of a brief that move no price."""


@dataclass(frozen=True)
class Quick:
    """A plan in two figures; `lacking` says why there is none."""

    price: str = ""
    memory: str = ""
    lacking: str = ""
    short: bool = False
    """Whether nothing meets every need, so that the price is of what comes nearest."""


@dataclass(frozen=True)
class Range:
    """A rough price between its favourable and its cautious end, and the unknowns that the ends rest on."""

    price: str
    low: str
    high: str
    unknowns: tuple[str, ...]
    short: str = ""
    """The ends, in words, at which nothing in the catalogue meets every need."""


class Meeting:
    """An interview in a folder: every answer is kept as soon as it is given."""

    def __init__(self, folder: Path, today: str, kept: Stock | None = None) -> None:
        """Goes on with the answers that lie in the folder. Raises UserError with all mistakes in them."""
        self.folder = folder
        self.stock = kept or stock_for(folder / BRIEF)
        house = defaults(self.stock.house)
        currency = self.stock.catalogue.currency
        self.agenda: Agenda = agenda(known_sections(), house, words(self.stock.catalogue), currency, today)
        self.resumed = (folder / ANSWERS).exists()
        self.answers = self._heard(folder / ANSWERS, whole=False) if self.resumed else Answers()
        self._last = "", Quick()

    def _heard(self, path: Path, *, whole: bool, begun: Answers | None = None) -> Answers:
        try:
            return heard(self.agenda, read_text(path), path.name, whole=whole, begun=begun)
        except BriefError as wrong:
            raise UserError(str(wrong)) from None

    # ------------------------------------------------------------------------------------------------------ the talk

    def question(self) -> Put | None:
        """What is asked now; None at the end."""
        step = self.agenda.current(self.answers)
        return asked(self.agenda, step, self.answers) if step is not None else None

    def put(self, typed: str) -> Turn:
        """One typed line; the answers are kept when they changed. Raises UserError when they can't be."""
        turn = take(self.agenda, self.answers, typed)
        if turn.answers != self.answers:
            self.answers = turn.answers
            self.save()
        return turn

    def begin(self, asking: Asking, like: Similar | None = None) -> None:
        """Ask so much from now on, beginning with a similar office if one is given; what was said stays."""
        kept = like if like is not None else self.answers.similar
        changed = replace(self.answers, asking=asking, similar=kept)
        if changed != self.answers:
            self.answers = changed
            self.save()

    def script(self, path: Path, begun: Answers | None = None) -> None:
        """All answers of a file, what it leaves out assumed. Raises UserError with every mistake at once.

        `begun` says how much is asked and which office is similar, instead of the file.
        """
        self.answers = self._heard(path, whole=True, begun=begun)

    def save(self) -> None:
        """Keep what was said, whole or not at all. Raises UserError."""
        _written(self.folder, {ANSWERS: minutes(self.agenda, self.answers).encode()})

    @property
    def progress(self) -> tuple[int, int]:
        """Questions answered, and questions as far as one can see."""
        return self.agenda.left(self.answers)

    # ------------------------------------------------------------------------------------------------------ the brief

    def draft(self, over: Mapping[str, str] | None = None) -> str:
        """The brief as far as it is known; `over` answers what was not asked, by id with * for names."""
        picture = self.agenda.picture(self.answers)
        return Draft(picture, self.agenda.by_key, self.agenda.defaults, self.agenda.words, over).text()

    def plan(self, over: Mapping[str, str] | None = None) -> Plan:
        """The plan of the brief as far as it is known. Raises UserError."""
        beside = self.folder / STANDING
        try:
            stands = read_text(beside) if is_there(beside) else ""
        except BriefError as wrong:
            raise UserError(str(wrong)) from None
        return plan_text(self.draft(over), BRIEF, kept=self.stock, stands=stands)

    @property
    def enough(self) -> bool:
        """Whether enough is known for a price: how many people there are."""
        said = self.answers.said
        told = any(
            id_.startswith("people.roles.") and id_.endswith(".heads") and text_ for id_, text_ in said.items()
        )
        return told or bool(said.get("rough.people")) or self.answers.similar is not None

    def quick(self) -> Quick:
        """Price and memory now, provisional; why not, where there is none."""
        if not self.enough:
            return Quick(lacking="no price yet: how many people work there is not yet known")
        key = _bare(self.draft())
        if key != self._last[0]:
            self._last = key, self._reckoned()
        return self._last[1]

    def _reckoned(self) -> Quick:
        try:
            made = self.plan()
        except UserError as wrong:
            return Quick(lacking=f"no price yet: {str(wrong).splitlines()[0]}")
        return Quick(_shown(made, PRICE), _shown(made, MEMORY), short=made.provisional)

    def theirs(self) -> bool:
        """Whether a brief lies in the folder that was not written here, or was changed by hand since. Raises UserError."""
        path = self.folder / BRIEF
        try:
            return path.exists() and not is_ours(read_text(path))
        except BriefError as wrong:
            raise UserError(str(wrong)) from None

    def write(self, *, yes: bool) -> None:
        """Write brief and answers, whether the brief can be planned or not. Raises UserError; another's brief needs a yes."""
        if self.theirs() and not yes:
            raise UserError(f"{self.folder / BRIEF} was written or changed by hand; add --yes to write it anew")
        files = {BRIEF: self.draft().encode(), ANSWERS: minutes(self.agenda, self.answers).encode()}
        _written(self.folder, files)

    def range(self, made: Plan) -> Range:
        """The price of a plan, and what it would be if all unknowns ended well, or badly. Raises UserError."""
        asked_ = [one for one in UNKNOWNS if not self._known(one.id)]
        low = self.plan({one.id: one.favourable for one in asked_})
        high = self.plan({one.id: one.cautious for one in asked_})
        told = tuple(f"{one.what}: {one.favourable} to {one.cautious}" for one in asked_)
        ends = (("favourable", low), ("cautious", high))
        short = " and the ".join(name for name, plan in ends if plan.provisional)
        return Range(_shown(made, PRICE), _hundreds(low, ROUND_FLOOR), _hundreds(high, ROUND_CEILING), told, short)

    def _known(self, pattern: str) -> bool:
        """Whether an unknown is answered, or has nothing that it could be about."""
        list_, star, rest = pattern.partition(".*.")
        picture = self.agenda.picture(self.answers)
        if star:
            return not any(not picture.told(f"{list_}.{slug}.{rest}") for slug in picture.things(list_))
        if pattern.startswith("visitors."):
            return not picture.things("visitors.events") or bool(picture.told(pattern))
        if pattern.startswith("services."):
            slug = pattern.split(".")[1]
            return slug not in picture.things("services") or bool(picture.told(pattern))
        return bool(picture.told(pattern))


def _bare(written: str) -> str:
    """A brief without remarks and without words that move no price, so that such an answer is not reckoned again."""
    lines = [REMARK.sub("", line) for line in written.splitlines() if not line.lstrip().startswith(("#", *MUTE))]
    return "\n".join(lines)


def price_of(made: Plan) -> str:
    """The rough price as the plan shows it."""
    return _shown(made, PRICE)


def _shown(made: Plan, id_: str) -> str:
    figure: Figure[object] | None = made.figures.get(id_)
    return in_currency(text(figure), made.currency) if figure is not None else ""


def _hundreds(made: Plan, rounding: str) -> str:
    """The price in whole hundreds."""
    price = Decimal(made.figures[PRICE].value)
    return f"{(price / 100).to_integral_value(rounding) * 100:,.0f} {made.currency}"


def moved(before: Quick, after: Quick) -> str:
    """One line: what an answer changed; empty when nothing moved, or nothing is known yet."""
    if after.lacking:
        return after.lacking if after.lacking != before.lacking and before.price else ""
    pairs = (("rough price", before.price, after.price), ("memory", before.memory, after.memory))
    told = [f"{name} {_from(old, new)}" for name, old, new in pairs if new and new != old]
    if told and after.short:
        told.append("nothing meets every need")
    return "; ".join(told)


def _from(old: str, new: str) -> str:
    """`31,200.00 -> 33,900.00 EUR`: the unit once, where both have the same."""
    if not old:
        return new
    number, _, unit = old.rpartition(" ")
    return f"{number if new.endswith(f' {unit}') else old} -> {new}"


def _written(folder: Path, files: Mapping[str, bytes]) -> None:
    try:
        write_all(folder, files)
    except OutputError as wrong:
        raise UserError(str(wrong)) from None


# ------------------------------------------------------------------------------------------------------- similar offices


def scenarios(folder: Path = EXAMPLES) -> Mapping[str, Path]:
    """The offices that lie beside the program, by the name of their folder."""
    return {path.parent.name: path for path in sorted(folder.glob("*/brief.yaml"))} if folder.is_dir() else {}


def wished(words_: str) -> tuple[str, int | None]:
    """Office and people of `like Millrace but 12 people`; without a number, None."""
    found = fullmatch(r"\s*(?:like\s+)?(.+?)(?:\s+but\s+(?:with\s+)?(\d{1,6})(?:\s+people)?)?\s*", words_, IGNORECASE)
    return (found[1], int(found[2]) if found[2] else None) if found else (words_, None)


def like(meeting: Meeting, wish: str, people: int | None) -> Similar:
    """A similar office for so many people, as many as there if none are said, by name or path. Raises UserError."""
    name, told = wished(wish)
    heads = people if people is not None else told
    if heads is not None and not 1 <= heads <= MOST_PEOPLE:
        raise UserError(f"{heads} people; from 1 to {MOST_PEOPLE:,} is accepted")
    path = _office(name)
    try:
        return similar(meeting.agenda, read_text(path), path.name, heads)
    except (BriefError, ValueError) as wrong:
        raise UserError(str(wrong)) from None


def _office(name: str) -> Path:
    """The brief that a name or path leads to. Raises UserError with the nearest name."""
    known = scenarios()
    plain = name.lower().removeprefix("the ").strip()
    first = plain.replace("-", " ").split()[:1]
    found = [slug for slug in known if plain == slug or first == slug.split("-")[:1]]
    if found:
        return known[found[0]]
    path = Path(name)
    if path.is_dir():
        path = path / BRIEF
    if path.exists() or "/" in name or name.endswith(".yaml"):
        return path
    if not known:
        raise UserError(
            f"no offices come with this copy of the program; name a brief's path instead of {shown(name)}"
        )
    near = nearest(plain, known, 0.5)
    hint = f"; did you mean {near}?" if near else "."
    raise UserError(f"no office called {quoted(name)}{hint} There are {', '.join(known)}; or name a brief's path")
