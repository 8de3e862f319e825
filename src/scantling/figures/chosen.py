"""What the purchase decided, told back as figures whose working leads to rows and demands."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, TypeVar

from scantling.figures.choosing import Choosing
from scantling.figures.figure import Figure, Origin
from scantling.figures.gathering import Gathering
from scantling.figures.numbers import text
from scantling.figures.buying import PRICE, Demand, Option
from scantling.figures.terms import Across, Of, Over, Term
from scantling.figures.units import TRUTH, WORD

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Taken:
    """An attribute of a choice: from a row, from several, or from the way it is put together."""

    counts: tuple[int, ...]
    stands: str = ""

    def working(self, figure: Figure[Any]) -> str:
        """Rows and counts."""
        rows = [f for name, f in figure.inputs.items() if name != "chosen"]
        parts = [f"{n} × {text(f)}" if n != 1 else text(f) for n, f in zip(self.counts, rows, strict=True)]
        if self.stands:
            bought = f"; to buy: {' + '.join(parts)}" if parts else ""
            return f"what stands costs nothing ({self.stands}){bought} = {text(figure)}"
        return f"{' + '.join(parts)} = {text(figure)}" if parts else f"as put together: {text(figure)}"


@dataclass(frozen=True, slots=True)
class Stood:
    """What stands in a slot, held against what was chosen there."""

    slot: str
    parts: str
    """What stands, in words."""
    changed: Figure[bool]
    """Whether what was chosen is not just what stands, as it stands."""
    gave_way: Figure[bool]
    """Whether some of what stands was left out, so that more than an addition is needed."""
    because: str
    """What the parts that stand fail, in words; empty where they stay."""
    replacing: Figure[Decimal]
    """What the cheapest part that fits beside all the rest costs new, beyond what is bought here anyway."""


class Chosen:
    """Options by slot; only functions that run after the purchase may ask for it."""

    def __init__(
        self,
        options: Mapping[str, Option],
        demands: Mapping[str, Demand],
        reasons: Mapping[str, Choosing],
        names: Mapping[str, str],
    ) -> None:
        self.options, self.demands = options, demands
        self.stood: Mapping[str, Stood] = {}
        self.entered: dict[str, Figure[Any]] = {}
        self._bounding = {id_: self.touched(demand.what) for id_, demand in demands.items() if demand.bounds}
        self.picked = {slot: self._pick(slot, reasons[slot], names.get(slot, slot)) for slot in options}

    def _pick(self, slot: str, reason: Choosing, name: str) -> Figure[str]:
        """The choice of one slot, with the amounts that bound it as its inputs."""
        amounts: dict[str, Figure[Any]] = {}
        for id_, touched in self._bounding.items():
            if slot in touched:
                for bound in self.demands[id_].bounds:
                    amounts[id_ if id_ not in amounts else f"{id_}, at most"] = bound
        return Figure(self.options[slot].slug, WORD, reason, amounts, f"purchase.{slot}", name)

    def touched(self, what: Any) -> frozenset[str]:
        """The slots that a term reads."""
        if isinstance(what, Over):
            return frozenset[str]().union(*map(self.touched, what.terms.values()))
        if isinstance(what, Across):
            return frozenset(slot for slot, option in self.options.items() if option.get(what.attribute) is not None)
        return frozenset({what.slot}) if isinstance(what, Of) else frozenset()

    def has(self, slot: str) -> bool:
        """Whether anything was bought under that name."""
        return slot in self.options

    def of(self, term: Term[T] | Figure[T]) -> Figure[T]:
        """One attribute of one slot, one over all, or a rule over such, as a figure.

        Raises KeyError when the choice has no such attribute.
        """
        if isinstance(term, Figure):
            return term
        if isinstance(term, Over):
            return term.told(self.of)
        if isinstance(term, Across):
            return self._across(term)
        assert isinstance(term, Of)
        return self._one(term)

    def _across(self, term: Across[T]) -> Figure[T]:
        slots = [slot for slot, option in self.options.items() if option.get(term.attribute) is not None]
        parts = {slot: self.of(Of(slot, term.attribute)) for slot in slots}
        kind: Any = term.attribute.unit.kind
        value = term.fold([part.value for part in parts.values()], kind())
        return Figure(value, term.attribute.unit, Gathering(term.word), parts)

    def _one(self, term: Of[T]) -> Figure[T]:
        option, attribute = self.options[term.slot], term.attribute
        value = option.get(attribute)
        if value is None:
            message = f"{option.slug} has no {attribute.name}"
            raise KeyError(message)
        own, stands = attribute in option.own, ""
        rows = [] if own else [(row, n) for row, n in option.parts if row.get(attribute) is not None]
        if attribute is PRICE and option.stands:
            rows = [(row, n) for row, n in option.to_buy if row.get(attribute) is not None]
            stands = ", ".join(f"{n} × {row.slug}" for row, n in option.stands)
        rows = rows if attribute.sums else rows[:1]
        inputs: dict[str, Any] = {row.slug: row.figure(attribute) for row, _ in rows} | {
            "chosen": self.picked[term.slot]
        }
        how = Taken(tuple(n if attribute.sums else 1 for _, n in rows), stands)
        return Figure(value, attribute.unit, how, inputs)

    def new(self, slot: str) -> Figure[bool]:
        """Whether anything is to be put in or changed there: nothing stands in the slot, or it gives way."""
        if slot in self.stood:
            return self.stood[slot].changed
        origin = Origin("standing", f"nothing stands as {slot}")
        return Figure(bool(self.options[slot].parts), TRUTH, origin, None, "", f"{slot} is new")

    def met(self, demand: str) -> Figure[Any]:
        """What the purchase gives against a demand, explained by the very rule that judged it; one figure for all."""
        if demand not in self.entered:
            self.entered[demand] = self.of(self.demands[demand].what)
        return self.entered[demand]

    def parts(self, slot: str) -> tuple[tuple[str, int], ...]:
        """Catalogue slugs and counts of one slot."""
        return tuple((row.slug, count) for row, count in self.options[slot].parts)
