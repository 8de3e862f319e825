"""Single changes of a whole list of rules, for the proof alone: the product's slips, and some that no single line of a file can have."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from scantling.figures import FilterRule, RuleSet
from scantling.trials.rehearsal.slips import SLIPS, Slip, astray

Planted = tuple[str, RuleSet]
WIDER: Mapping[str, Slip] = {
    "any protocol": lambda rule, _: replace(rule, ports=(), protocol="") if rule.protocol else None,
    "any source": lambda rule, _: replace(rule, sources=(), not_sources=()),
    "any target": lambda rule, _: replace(rule, targets=(), target_set=""),
    "both families": lambda rule, _: replace(rule, family=0),
    "from anywhere": lambda rule, _: replace(rule, zone_in=""),
    "to anywhere": lambda rule, _: replace(rule, zone_out=""),
    "not early": lambda rule, _: replace(rule, early=False),
    "any hour": lambda rule, _: replace(rule, window=None),
    "untranslated too": lambda rule, _: replace(rule, translated=False),
}


def planted(rules: RuleSet) -> Iterator[Planted]:
    """Every single change of every rule, each with its name."""
    zones = list(dict.fromkeys(leg.zone for leg in rules.legs))
    for place, rule in enumerate(rules.rules):
        for name, slip in {**SLIPS, **WIDER}.items():
            changed = slip(rule, zones)
            if changed is not None and changed != rule:
                yield f"{name}: {rule.slug}", _with(rules, place, (changed,))
        yield f"left out: {rule.slug}", _with(rules, place, ())
        if place + 1 < len(rules.rules):
            yield f"swapped: {rule.slug}", _with(rules, place, (rules.rules[place + 1], rule), 2)
    yield from _translations(rules)


def _with(rules: RuleSet, place: int, instead: tuple[FilterRule, ...], gone: int = 1) -> RuleSet:
    return replace(rules, rules=(*rules.rules[:place], *instead, *rules.rules[place + gone :]))


def _translations(rules: RuleSet) -> Iterator[Planted]:
    for place, one in enumerate(rules.translations):
        rest = (rules.translations[:place], rules.translations[place + 1 :])
        yield f"translation left out: {one.slug}", replace(rules, translations=(*rest[0], *rest[1]))
        for name, changed in astray(one):
            yield f"{name}: {one.slug}", replace(rules, translations=(*rest[0], changed, *rest[1]))
