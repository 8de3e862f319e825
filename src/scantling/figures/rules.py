"""A formula that can be called on numbers, on figures, and on what is still to be chosen."""

import importlib
import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Any, Generic, ParamSpec, TypeVar, get_args, get_origin, get_type_hints

from scantling.figures.figure import Figure, Source
from scantling.figures.numbers import text
from scantling.figures.terms import Over, Term
from scantling.figures.units import RATIO, SAME, WORD, DimensionError, Unit, convert

P = ParamSpec("P")
R = TypeVar("R")
K = TypeVar("K")


@dataclass(frozen=True, slots=True)
class Parameter:
    """What one argument takes; `many` for a mapping of figures."""

    unit: Unit[Any]
    many: bool = False


def _unit_of(hint: Any) -> Unit[Any]:
    if get_origin(hint) is Annotated:
        return next((m for m in get_args(hint) if isinstance(m, Unit)), RATIO)
    return RATIO


def _parameter(hint: Any) -> Parameter:
    origin = get_origin(hint)
    many = isinstance(origin, type) and issubclass(origin, Mapping)
    return Parameter(_unit_of(get_args(hint)[1] if many else hint), many)


class Rule(Generic[P, R]):
    """A pure function with a source; its working is read from the code that runs, or said in one sentence."""

    def __init__(self, function: Callable[P, R], source: Source, says: str, rises: str, falls: str) -> None:
        self.function, self.source, self.says = function, source, says
        self.name, self.module = function.__name__, function.__module__
        self.direction = dict.fromkeys(rises.split(), 1) | dict.fromkeys(falls.split(), -1)
        self.__doc__ = function.__doc__

    @cached_property
    def _hints(self) -> dict[str, Any]:
        return get_type_hints(self.function, include_extras=True)

    @cached_property
    def label(self) -> str:
        """The first sentence of the docstring."""
        return (inspect.getdoc(self.function) or self.name).split("\n")[0].rstrip(".")

    @cached_property
    def unit(self) -> Unit[Any]:
        """Of the result."""
        return _unit_of(self._hints["return"])

    @cached_property
    def coefficients(self) -> dict[str, Any]:
        """Keyword-only parameters with a default: part of the formula, not inputs."""
        kinds = inspect.signature(self.function).parameters
        return {name: p.default for name, p in kinds.items() if p.kind is p.KEYWORD_ONLY}

    @cached_property
    def parameters(self) -> dict[str, Parameter]:
        """The inputs, by name, in order."""
        out = {"return", *self.coefficients}
        return {name: _parameter(hint) for name, hint in self._hints.items() if name not in out}

    @cached_property
    def _plan(self) -> tuple[str | None, tuple[tuple[str, Unit[Any]], ...], tuple[tuple[str, Unit[Any]], ...]]:
        """The first argument of any unit; single arguments; mapping arguments."""
        first = next((n for n, p in self.parameters.items() if p.unit is SAME), None)
        singles = tuple((n, p.unit) for n, p in self.parameters.items() if not p.many)
        return first, singles, tuple((n, p.unit) for n, p in self.parameters.items() if p.many)

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        """The same on plain numbers."""
        return self.function(*args, **kwargs)

    def of(self, **figures: Figure[Any] | Mapping[str, Figure[Any]]) -> Figure[R]:
        """The same on figures: value, unit, inputs, source and working.

        Raises TypeError for a missing or foreign argument, DimensionError naming rule and argument.
        """
        first, singles, groups = self._plan
        values: dict[str, Any] = {}
        name = ""
        try:
            shared: Any = _any_unit(figures[first]) if first else None
            for name, want in singles:
                figure: Any = figures[name]
                unit = shared if want is SAME else want
                values[name] = figure.value if figure.unit is unit else convert(figure.value, figure.unit, unit)
            for name, want in groups:
                group: Any = figures[name]
                unit = shared if want is SAME else want
                values[name] = {key: convert(f.value, f.unit, unit) for key, f in group.items()}
        except KeyError as missing:
            raise TypeError(f"{self.name} lacks {missing}") from None
        except DimensionError as wrong:
            raise DimensionError(f"{self.name}({name}): {wrong}") from None
        if len(figures) != len(values):
            raise TypeError(f"{self.name} does not take {', '.join(sorted(set(figures) - set(values)))}")
        function: Any = self.function
        return Figure(function(**values), shared if self.unit is SAME else self.unit, self, figures)

    def over(self, **terms: Term[Any] | Figure[Any]) -> Over[R]:
        """The same on what is still to be chosen: for demands and costs."""
        if terms.keys() != self.parameters.keys():
            raise TypeError(f"{self.name} takes {', '.join(self.parameters)}, got {', '.join(terms)}")
        return Over(self, terms)

    def unit_for(self, given: Mapping[str, Unit[Any]]) -> Unit[Any]:
        """The unit of the result when the arguments have these units."""
        first = self._plan[0]
        return given[first] if self.unit is SAME and first else self.unit

    def working(self, figure: Figure[Any]) -> str:
        """Letters, then numbers, then the result."""
        from scantling.figures.working import printed  # noqa: PLC0415 - only when a working is read

        return printed(self, figure)

    def __reduce__(self) -> tuple[Any, ...]:
        return _by_name, (self.module, self.name)


def _any_unit(given: Any) -> Unit[Any]:
    figure = given if isinstance(given, Figure) else next(iter(given.values()))
    unit: Unit[Any] = figure.unit
    return unit


def _by_name(module: str, name: str) -> Any:
    """A rule pickles by name, since its function is not what its module holds under that name."""
    return getattr(importlib.import_module(module), name)


def rule(source: Source, rises: str = "", falls: str = "") -> Callable[[Callable[P, R]], Rule[P, R]]:
    """A formula: one returned expression; the working is read from the code.

    `rises` and `falls` name the arguments with which the result never falls or never rises.
    """
    return lambda function: Rule(function, source, "", rises, falls)


def method(source: Source, says: str, rises: str = "", falls: str = "") -> Callable[[Callable[P, R]], Rule[P, R]]:
    """An algorithm: the working is the sentence; worked examples stand in its check file."""
    return lambda function: Rule(function, source, says, rises, falls)


class Table(Generic[K, R]):
    """A row looked up: array level -> parity disks."""

    direction: Mapping[str, int] = {}

    def __init__(self, source: Source, label: str, unit: Unit[R], rows: Mapping[K, R]) -> None:
        self.source, self.label, self.unit, self.rows = source, label, unit, rows
        self.parameters = {"key": Parameter(WORD)}

    def __call__(self, key: K) -> R:
        """The row's plain value."""
        return self.rows[key]

    function = __call__

    def of(self, key: Figure[K]) -> Figure[R]:
        """The row's value, explained."""
        return Figure(self.rows[key.value], self.unit, self, {"key": key})

    def over(self, key: Term[K] | Figure[K]) -> Over[R]:
        """The row of what is still to be chosen."""
        return Over(self, {"key": key})

    def unit_for(self, given: Mapping[str, Unit[Any]]) -> Unit[Any]:  # noqa: ARG002 - the same question as of a rule
        """The column's unit."""
        return self.unit

    def working(self, figure: Figure[Any]) -> str:
        """Which row, which value."""
        return f"{self.label}: {text(next(figure.parents()))} → {text(figure)} ({self.source.name})"
