"""Puts finished diagrams together, node by node, and says their leaves in other words."""

from collections.abc import Callable, Mapping

from scantling.trials.proof.nodes import Nodes

Rule = Callable[[int, int], int | None]
"""What two nodes come to where that is known at once, else nothing; of two leaves it always is."""


def combined(nodes: Nodes, one: int, other: int, rule: Rule) -> int:
    """Two nodes put together by a rule."""
    known: dict[tuple[int, int], int] = {}

    def both(one: int, other: int) -> int:
        found = rule(one, other)
        if found is not None:
            return found
        pair = (one, other)
        found = known.get(pair)
        if found is None:
            found = known[pair] = cut(one, other)
        return found

    def cut(one: int, other: int) -> int:
        level, other_level = nodes.level(one), nodes.level(other)
        if level < other_level:
            return nodes.joined(level, nodes.lasts[one], [both(kid, other) for kid in nodes.kids[one]])
        if other_level < level:
            return nodes.joined(other_level, nodes.lasts[other], [both(one, kid) for kid in nodes.kids[other]])
        lasts: list[int] = []
        kids: list[int] = []
        ends, other_ends, mine, others = nodes.lasts[one], nodes.lasts[other], nodes.kids[one], nodes.kids[other]
        here = there = 0
        while here < len(ends):
            last = min(ends[here], other_ends[there])
            lasts.append(last)
            kids.append(both(mine[here], others[there]))
            here, there = here + (ends[here] == last), there + (other_ends[there] == last)
        return nodes.joined(level, lasts, kids)

    return both(one, other)


def over(silent: int) -> Rule:
    """The first of two, but the second where the first is silent."""

    def rule(one: int, other: int) -> int | None:
        if one == silent:
            return other
        return one if one < 0 or other in {silent, one} else None

    return rule


def retold(source: Nodes, root: int, target: Nodes, leaves: Mapping[int, int]) -> int:
    """The same cuts, in a store of the same dimensions, with other leaves. Raises KeyError for a leaf without another."""
    known = dict(leaves)
    # Where no two leaves become one, neighbours still differ.
    made = target.node if len(set(leaves.values())) == len(leaves) else target.joined

    def told(node: int) -> int:
        kids = source.kids[node]
        for kid in kids:
            if kid not in known:
                known[kid] = told(kid)
        return made(source.levels[node], source.lasts[node], [known[kid] for kid in kids])

    return known[root] if root in known else told(root)
