"""Keeps what was made of a plan for as long as it is asked for again: plans are told apart by being the same object."""

from dataclasses import dataclass

from scantling.plan.make import Plan


@dataclass(frozen=True, eq=False)
class Same:
    """A plan as the key of a cache; holding it keeps its identity from being given to another."""

    plan: Plan

    def __hash__(self) -> int:
        return id(self.plan)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.plan is self.plan
