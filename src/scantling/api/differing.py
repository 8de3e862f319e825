"""In which answers two texts of a brief differ, as edits that lead from one to the other and back."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from scantling import UserError
from scantling.figures.composing import placed
from scantling.figures.placed import WrittenError

Edits = Mapping[str, str | None]


@dataclass(frozen=True)
class Difference:
    """One answer that differs, or one group of answers that only one text has; values as they are written.

    `edits` make the first text say what the second says, `back` the other way round.
    """

    id: str
    old: str
    new: str
    edits: Edits
    back: Edits

    def meets(self, other: "Difference") -> bool:
        """Whether both speak of the same answer, or one of a group that the other is in, and say different things."""
        same = self.id == other.id or self.id.startswith(f"{other.id}.") or other.id.startswith(f"{self.id}.")
        return same and self.new != other.new


def differences(old: str, new: str, file: str) -> tuple[Difference, ...]:
    """All answers in which two texts differ, in the order of the second. Raises UserError for a text that can't be read."""
    if old == new:
        return ()
    try:
        return tuple(_between(placed(old, file), placed(new, file), ()))
    except WrittenError as wrong:
        raise UserError("\n".join(map(str, wrong.mistakes))) from None


def _between(old: Mapping[str, Any], new: Mapping[str, Any], above: tuple[str, ...]) -> Iterator[Difference]:
    for word in [*new, *(word for word in old if word not in new)]:
        was, now, steps = old.get(word), new.get(word), (*above, word)
        if isinstance(was, Mapping) and isinstance(now, Mapping):
            yield from _between(was, now, steps)
        elif _plain(was) != _plain(now):
            forth, back = dict(_setting(was, now, steps)), dict(_setting(now, was, steps))
            yield Difference(".".join(steps), words(was), words(now), forth, back)


def _setting(was: Any, now: Any, steps: tuple[str, ...]) -> Iterator[tuple[str, str | None]]:
    """The edits that put an answer, or all answers of a group, in the place of what was there."""
    if isinstance(now, Mapping):
        if was is not None:
            yield ".".join(steps), None
        for word, below in now.items():
            yield from _setting(None, below, (*steps, word))
    else:
        yield ".".join(steps), None if now is None else words(now)


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {word: _plain(below) for word, below in value.items()}
    return [_plain(one) for one in value] if isinstance(value, list) else value


def words(value: Any) -> str:
    """What is written at a place, in one line; empty where nothing is."""
    if value is None:
        return ""
    if isinstance(value, Mapping):
        return ", ".join(f"{word} {words(below)}" for word, below in value.items())
    return ", ".join(map(words, value)) if isinstance(value, list) else str(value)
