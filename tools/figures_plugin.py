"""Lets mypy check `rule.of(...)` and `rule.over(...)` by argument name and Python type.

A rule keeps its function's parameters in a ParamSpec, but Python cannot say "the same, each in a Figure".
This plugin says it: `of` takes Figure[T] where the function takes T, `over` what its own signature allows there.
Coefficients (keyword-only parameters with a default) belong to the formula and can't be given. Dimensions are checked
when it runs.
"""

from collections.abc import Callable, Sequence

from mypy.nodes import ARG_NAMED, ARG_NAMED_OPT
from mypy.plugin import MethodSigContext, Plugin
from mypy.types import FunctionLike, Instance, Parameters, Type, UnionType, get_proper_type

RULE = "scantling.figures.rules.Rule"
MAPPING = "typing.Mapping"
MONEY = "decimal.Decimal"


def spread(context: MethodSigContext) -> FunctionLike:
    """Turn of(**Figure[Any]) into of(*, disks: Figure[int], size: Figure[float])."""
    plain = context.default_signature
    parameters = _parameters(context.type)
    if parameters is None:
        return plain
    wrappers = _wrappers(plain.arg_types[0])
    number = context.api.named_generic_type("builtins.float", [])
    inputs = [
        (name, kind)
        for name, kind, how in zip(parameters.arg_names, parameters.arg_types, parameters.arg_kinds, strict=True)
        if how is not ARG_NAMED_OPT
    ]
    return plain.copy_modified(
        arg_types=[_wrapped(kind, wrappers, number) for _, kind in inputs],
        arg_kinds=[ARG_NAMED] * len(inputs),
        arg_names=[name for name, _ in inputs],
    )


def _parameters(receiver: Type) -> Parameters | None:
    """The parameters of the rule's function; None for a rule of unknown shape."""
    rule = get_proper_type(receiver)
    if not isinstance(rule, Instance) or not rule.args:
        return None
    shape = get_proper_type(rule.args[0])
    return shape if isinstance(shape, Parameters) and not shape.is_ellipsis_args else None


def _wrappers(declared: Type) -> Sequence[Instance]:
    """What the method's own signature lets stand for an argument: Figure, Term, Mapping."""
    union = get_proper_type(declared)
    items = union.items if isinstance(union, UnionType) else [union]
    return [item for item in map(get_proper_type, items) if isinstance(item, Instance)]


def _wrapped(inner: Type, wrappers: Sequence[Instance], number: Instance) -> Type:
    """T becomes Figure[T], Mapping[K, T] becomes Mapping[K, Figure[T]]; plain numbers may enter money."""
    kind = get_proper_type(inner)
    mappings = [wrapper for wrapper in wrappers if wrapper.type.fullname == MAPPING]
    singles = [wrapper for wrapper in wrappers if wrapper.type.fullname != MAPPING]
    if mappings and isinstance(kind, Instance) and kind.type.fullname == MAPPING:
        key, value = kind.args
        return kind.copy_modified(args=[key, _wrapped(value, singles, number)])
    kinds = [inner, number] if isinstance(kind, Instance) and kind.type.fullname == MONEY else [inner]
    return UnionType.make_union([wrapper.copy_modified(args=[one]) for wrapper in singles for one in kinds])


class FiguresPlugin(Plugin):
    """Two hooks, of one kind."""

    def get_method_signature_hook(self, fullname: str) -> Callable[[MethodSigContext], FunctionLike] | None:
        """Answer for Rule.of and Rule.over."""
        return spread if fullname in {f"{RULE}.of", f"{RULE}.over"} else None


def plugin(version: str) -> type[Plugin]:
    """Where mypy comes in."""
    return FiguresPlugin
