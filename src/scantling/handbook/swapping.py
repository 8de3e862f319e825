"""Which of several ready-made sets could take the place of what was bought, with every demand still met."""

from collections.abc import Mapping, Sequence

from scantling.figures.buying import Demand, Option, Slot
from scantling.handbook.judging import Bench


def meeting(
    bought: Mapping[str, Option], demands: Sequence[Demand], sets: Sequence[Mapping[str, Option]]
) -> tuple[int, ...]:
    """Places of the sets that meet every demand when they replace the options of their slots, all others kept.

    Judged on numbers by the very terms of the purchase, so that a set is never recommended that could not be bought.
    """
    if not sets:
        return ()
    offered = {slot: tuple(one.get(slot, option) for one in sets) for slot, option in bought.items()}
    bench = Bench([Slot(slot, options) for slot, options in offered.items()])
    tests = [bench.test(demand) for demand in demands]
    swapped = {bench.position[slot] for one in sets for slot in one if slot in bench.position}
    apart = [test for test in tests if not test.scope & swapped]  # what these say is the same for every set
    if not all(test.passes([0] * len(bench.slots)) for test in apart):
        return ()
    asked = [test for test in tests if test.scope & swapped]
    return tuple(n for n in range(len(sets)) if all(test.passes([n] * len(bench.slots)) for test in asked))
