"""Single changes of a list of rules, as a tired hand makes them: left out, turned round, too wide, in the wrong order."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from ipaddress import ip_network

from scantling.figures import FilterRule, Net, RuleSet, Translation, Verdict

Planted = tuple[str, RuleSet]


def planted(rules: RuleSet) -> Iterator[Planted]:
    """Every single change of every rule, each with its name."""
    for place, rule in enumerate(rules.rules):
        for name, change in CHANGES.items():
            changed = change(rule)
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
        for name, changed in _wrong(one):
            yield f"{name}: {one.slug}", replace(rules, translations=(*rest[0], changed, *rest[1]))


def _wrong(one: Translation) -> Iterator[tuple[str, Translation]]:
    if one.to is not None and one.carried is not None:
        yield "led to the machine beside", replace(one, to=one.to + 1)
        yield "led to another port", replace(one, port=one.carried.first + 1)
        yield "led from another port", replace(one, carried=replace(one.carried, last=one.carried.last + 1))


def turned(rule: FilterRule) -> FilterRule:
    """Accept for drop, drop for accept."""
    return replace(rule, verdict=Verdict.DROP if rule.verdict is Verdict.ACCEPT else Verdict.ACCEPT)


def wider(networks: tuple[Net, ...]) -> tuple[Net, ...]:
    """The first network twice as large."""
    first = networks[0]
    return (first.supernet() if first.prefixlen else first, *networks[1:])


def beside(networks: tuple[Net, ...]) -> tuple[Net, ...]:
    """The next network instead of the last."""
    last = networks[-1]
    number = int(last.network_address) + last.num_addresses
    if number >= 1 << last.max_prefixlen:
        return networks
    return (
        *networks[:-1],
        ip_network((number, last.prefixlen)) if last.version == 4 else _next6(number, last.prefixlen),
    )


def _next6(number: int, length: int) -> Net:
    return ip_network((number.to_bytes(16, "big"), length))


def one_more(rule: FilterRule) -> FilterRule | None:
    """A run of ports that ends one too late."""
    if not rule.ports or rule.ports[-1][1] >= 255:
        first, last = rule.ports[-1] if rule.ports else (0, 65535)
        return replace(rule, ports=(*rule.ports[:-1], (first, last + 1))) if last < 65535 else None
    return replace(rule, ports=(*rule.ports[:-1], (rule.ports[-1][0], rule.ports[-1][1] + 1)))


CHANGES: dict[str, Callable[[FilterRule], FilterRule | None]] = {
    "turned round": turned,
    "source too wide": lambda rule: replace(rule, sources=wider(rule.sources)) if rule.sources else None,
    "target too wide": lambda rule: replace(rule, targets=wider(rule.targets)) if rule.targets else None,
    "target beside": lambda rule: replace(rule, targets=beside(rule.targets)) if rule.targets else None,
    "one port too many": one_more,
    "any port": lambda rule: replace(rule, ports=()) if rule.ports else None,
    "any protocol": lambda rule: replace(rule, ports=(), protocol="") if rule.protocol else None,
    "any source": lambda rule: replace(rule, sources=(), not_sources=()),
    "any target": lambda rule: replace(rule, targets=(), target_set=""),
    "any state": lambda rule: replace(rule, state=""),
    "both families": lambda rule: replace(rule, family=0),
    "from anywhere": lambda rule: replace(rule, zone_in=""),
    "to anywhere": lambda rule: replace(rule, zone_out=""),
    "not early": lambda rule: replace(rule, early=False),
    "any hour": lambda rule: replace(rule, window=None),
    "untranslated too": lambda rule: replace(rule, translated=False),
}
