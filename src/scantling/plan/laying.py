"""Lays what stands over what can be bought: parts that are there cost nothing, and what is no longer sold is left out."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches

from scantling.catalogue.columns import SOLD
from scantling.figures import Finding, Option, Slot, Weight, text
from scantling.figures.figure import Figure, Origin
from scantling.figures.units import TRUTH
from scantling.standing import Part, Piece, Standing

Pool = Mapping[str, int]
"""How many of each article stand for one slot."""


def pools(standing: Standing) -> dict[str, Counter[str]]:
    """How many of each article stand, by slot; what took another's place counts as that."""
    found: dict[str, Counter[str]] = {}
    for _, part in standing.parts():
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
    there, how = pools(standing), built(standing)
    return tuple(_laid(slot, there.get(slot.id, Counter()), how.get(slot.id, "")) for slot in slots)


def _laid(slot: Slot, pool: Pool, how: str) -> Slot:
    options = [over(option, pool, how) for option in slot.options] if pool else slot.options
    return replace(slot, options=tuple(option for option in options if sold(option)))


def over(option: Option, pool: Pool, how: str) -> Option:
    """The option with what stands of its parts; it changes the slot unless it is exactly what stands there, so put together."""
    left = Counter(pool)
    stands = []
    for row, count in option.parts:
        here = min(count, left[row.slug])
        left[row.slug] -= here
        if here:
            stands.append((row, here))
    exactly = Counter({row.slug: 0 for row, _ in option.parts})
    for row, count in option.parts:
        exactly[row.slug] += count
    same = exactly == Counter(pool) and how in ("", option.slug)
    return replace(option, stands=tuple(stands), changes=not same, left_out=left.total())


def sold(option: Option) -> bool:
    """Whether everything that would have to be bought for it is still sold."""
    return all(row.get(SOLD) is not False for row, _ in option.to_buy)


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
