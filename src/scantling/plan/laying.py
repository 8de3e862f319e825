"""Lays what stands over what can be bought: parts that are there cost nothing, and what is no longer sold is left out."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from functools import lru_cache

from scantling.catalogue.columns import SOLD
from scantling.figures import Finding, Option, Slot, Weight, text
from scantling.figures.figure import Figure, Origin
from scantling.figures.units import TRUTH
from scantling.standing import Part, Piece, Standing

Pool = Mapping[str, int]
"""How many of each article stand for one slot."""


def pools(standing: Standing, *, bought: bool = False) -> dict[str, Counter[str]]:
    """How many of each article stand, by slot; what took another's place counts as that. `bought`: by an earlier plan only."""
    found: dict[str, Counter[str]] = {}
    for part in [part for _, part in standing.parts() if isinstance(part, Part) or not bought]:
        slot, article = _serves(part), part.article
        stands_for = part.stands_for if isinstance(part, Part) else None
        counted = stands_for if stands_for is not None else article
        assert counted is not None
        found.setdefault(slot, Counter())[text(counted)] += int(part.count.value)
    return found


def _serves(part: Piece | Part) -> str:
    assert part.serves is not None
    return text(part.serves)


def built(standing: Standing) -> dict[str, str]:
    """How what stands in a slot is put together, where that is written down."""
    return {_serves(part): text(part.built) for _, part in standing.parts() if part.built is not None}


def laid(slots: Sequence[Slot], standing: Standing) -> tuple[Slot, ...]:
    """Every slot with what stands in it laid over its options; options that want parts no longer sold are left out."""
    every, bought, how = pools(standing), pools(standing, bought=True), built(standing)
    return tuple(
        _laid(slot, (every.get(slot.id, {}), bought.get(slot.id, {})), how.get(slot.id, "")) for slot in slots
    )


def _laid(slot: Slot, there: tuple[Pool, Pool], how: str) -> Slot:
    pools_ = tuple(tuple(sorted(pool.items())) for pool in there)
    return replace(slot, options=_offered(_These(slot.options), pools_, how))


class _These:
    """Options known by being these very ones."""

    def __init__(self, options: tuple[Option, ...]) -> None:
        self.options = options

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _These) and self.options is other.options

    def __hash__(self) -> int:
        return id(self.options)


@lru_cache(64)  # most options are made of the catalogue alone and are the same in every plan
def _offered(these: _These, there: tuple[tuple[tuple[str, int], ...], ...], how: str) -> tuple[Option, ...]:
    every, bought = map(dict, there)
    laid_over = [over(option, every, how, bought) for option in these.options] if every else these.options
    return tuple(option for option in laid_over if sold(option))


def over(option: Option, pool: Pool, how: str, bought: Pool | None = None) -> Option:
    """The option with what stands of its parts.

    It changes the slot unless it is exactly what stands there, or what an earlier plan had bought for it, so put together.
    """
    left = Counter(pool)
    stands = []
    wanted: Counter[str] = Counter()
    for row, count in option.parts:
        here = min(count, left[row.slug])
        left[row.slug] -= here
        wanted[row.slug] += count
        if here:
            stands.append((row, here))
    same = how in ("", option.slug) and (wanted == Counter(pool) or (bool(bought) and wanted == Counter(bought)))
    return replace(option, stands=tuple(stands), changes=not same, left_out=0 if same else left.total())


def sold(option: Option) -> bool:
    """Whether everything that would have to be bought for it is still sold."""
    wanted = option.to_buy if option.stands else option.parts
    return all(row.get(SOLD) is not False for row, _ in wanted)


def unused(slots: Sequence[Slot], standing: Standing) -> Iterator[Finding]:
    """What stands for a part that this plan does not have (P-4): misspelt, or no longer wanted."""
    known = {slot.id for slot in slots}
    for path, part in standing.parts():
        slot = _serves(part)
        near = get_close_matches(slot, sorted(known), 1, 0.5)
        hint = f" Did you mean {near[0]}?" if near else ""
        alien = Figure(
            slot not in known, TRUTH, Origin("standing", f"{path}.serves: {slot}"), None, "", "serves nothing here"
        )
        yield Finding(
            "P-4", Weight.MEND, alien, f"What stands as {path} serves {slot}, which this plan does not have.",
            f"Write what it serves now, or that it is to retire.{hint} What can be served: {', '.join(sorted(known))}.", {},
        )  # fmt: skip
