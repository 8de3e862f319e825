"""The firewall's rules as a file that nftables loads: firewall/rules.nft."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from scantling.figures import text
from scantling.figures.traffic import (
    ANY_PROTOCOL, FIREWALL, OUTSIDE, FilterRule, Leg, Net, RuleSet, Translation, Verdict,
)  # fmt: skip
from scantling.handbook.set_aside import of_family
from scantling.outputs.files import FilesError, Written
from scantling.outputs.files.packet_filter_text import (
    IPV4, IPV6, address, head, host_name, hours, interface, quoted, ranges, slug, some, span,
)  # fmt: skip
from scantling.plan.make import Plan

PATH = "firewall/rules.nft"
FAMILIES = {IPV4: ("ip", "ipv4"), IPV6: ("ip6", "ipv6")}
MESSAGES = {"icmp": IPV4, "icmpv6": IPV6}
STATES = {"new": "ct state new", "established": "ct state established,related", "invalid": "ct state invalid"}
REFUSALS = {"tcp": "reject with tcp reset"}
CHAINS = (
    ("early", "type filter hook prerouting priority raw; policy accept;"),
    ("input", "type filter hook input priority filter; policy drop;"),
    ("forward", "type filter hook forward priority filter; policy drop;"),
    ("output", "type filter hook output priority filter; policy drop;"),
)
ITSELF = {"early": "iifname", "input": "iifname", "output": "oifname"}
LOGGED = 'limit rate 30/minute burst 60 packets log prefix "office {chain} drop: " level info'
HEAD = (
    "what the firewall lets pass (nftables)",
    "The first rule that matches decides; what none matches is dropped. The number before a comment is that of the",
    "rule sheets. Hours are those of the clock of the machine that loads the file; the kernel keeps them in UTC, so load",
    "again when the clocks change; it tells the weekday in UTC too.",
    "Replaces only the tables inet office and ip office-nat, in one step. Load it with load.sh, which finds the way back.",
)


def write(plan: Plan) -> Iterator[Written]:
    """The rules of the plan, if it has any."""
    for rules in plan.records(RuleSet):
        opening = head(text(plan.office.name), text(plan.office.as_of), HEAD)
        yield Written(
            path=PATH,
            content=rules_text(rules, opening).encode(),
            what="What the firewall lets pass, from where to where, in both families; everything else is dropped.",
            goes="On the firewall, in /etc/office-firewall.",
            load="sh load.sh, beside it; then sh load.sh confirm from a new connection within 60 seconds.",
            undo="sh load.sh undo brings back the rules that stood before.",
            checked_by="nft -c -f {file}",
        )


def rules_text(rules: RuleSet, opening: Sequence[str]) -> str:
    """The whole file: its head, the filter's table and that of the translations. Raises FilesError."""
    return "\n".join(
        [
            *(f"# {line}" for line in opening),
            "",
            "table inet office",
            "delete table inet office",
            "table inet office {",
            *_indented(_sets(rules)),
            *(line for name, hook in CHAINS for line in _indented(_chain(name, hook, rules))),
            "}",
            "",
            "table ip office-nat",
            "delete table ip office-nat",
            "table ip office-nat {",
            *_indented(_block("chain incoming", _translated(rules, "target"))),
            *_indented(_block("chain leaving", _translated(rules, "source"))),
            "}",
            "",
        ]
    )


def _indented(lines: Iterator[str]) -> Iterator[str]:
    return (f"\t{line}" for line in lines)


def _block(name: str, lines: Iterator[str]) -> Iterator[str]:
    yield f"{name} {{"
    yield from _indented(lines)
    yield "}"


def _sets(rules: RuleSet) -> Iterator[str]:
    """Whom rules name: the outside ports, and the parties, each in both families."""
    yield from _block("set outside", _ports_of_the_outside(rules))
    for party, networks, names in rules.sets:
        yield from (f"# party {slug(party, 'party')}: {host_name(name, party)}" for name in names)
        for family in FAMILIES:
            yield from _party(party, [address(network) for network in of_family(networks, family)], names, family)


def _ports_of_the_outside(rules: RuleSet) -> Iterator[str]:
    yield "type ifname"
    yield from _elements([f'"{name}"' for name in interfaces(rules.legs, OUTSIDE)])


def _elements(words: Sequence[str]) -> Iterator[str]:
    if words:
        yield f"elements = {{ {', '.join(words)} }}"


def _party(party: str, networks: Sequence[str], names: Sequence[str], family: int) -> Iterator[str]:
    def inside() -> Iterator[str]:
        yield f"type {FAMILIES[family][1]}_addr"
        yield "flags interval"
        if names:
            yield "auto-merge"
            yield "comment " + quoted("filled by fill-sets.sh: " + " ".join(host_name(name, party) for name in names))
        yield from _elements(networks)

    yield from _block(f"set {set_name(party, family)}", inside())


def set_name(party: str, family: int) -> str:
    """Name of the set that holds a party's addresses of one family."""
    return f"party-{slug(party, 'party')}-{family}"


def interfaces(legs: Sequence[Leg], zone: str) -> list[str]:
    """The firewall's ports into a zone or to the outside, in order. Raises FilesError for a zone without one."""
    found = sorted(interface(leg.interface) for leg in legs if leg.zone == zone)
    if not found and zone != OUTSIDE:
        raise FilesError(f"a rule speaks of {zone!r}, and the firewall has no port there")
    return found


def _chain(name: str, hook: str, rules: RuleSet) -> Iterator[str]:
    def inside() -> Iterator[str]:
        yield hook
        if name in ITSELF:
            yield f'{ITSELF[name]} "lo" counter accept comment "the firewall itself"'
        for rule in rules.rules:
            if name in chains_of(rule):
                yield from statements(rule, name, rules)

    return _block(f"chain {name}", inside())


def chains_of(rule: FilterRule) -> tuple[str, ...]:
    """Where a rule stands: before routing, on the way in, through or out; more than one if it says little. Raises FilesError."""
    if rule.early:
        return ("early",)
    if rule.zone_in == rule.zone_out == FIREWALL:
        raise FilesError(f"rule {rule.slug}: what the firewall says to itself is not filtered; name a zone, or any")
    if rule.zone_out == FIREWALL:
        return ("input",)
    if rule.zone_in == FIREWALL:
        return ("output",)
    through = ("forward",) if rule.zone_in else ("forward", "output")
    return through if rule.zone_out else ("input", *through)


def statements(rule: FilterRule, chain: str, rules: RuleSet) -> Iterator[str]:
    """The rule's lines in one chain: one, or one a family where its addresses ask for it. Raises FilesError."""
    if rule.early and (rule.zone_out or rule.state or rule.translated or rule.verdict is Verdict.ACCEPT):
        raise FilesError(f"rule {rule.slug}: before routing it can only drop, whatever the target zone or the state")
    if chain == "output" and not rule.targets and not rule.target_set:
        rule = replace(rule, targets=behind(rule.zone_out, rules.legs))
    ports = " ".join(_ports(rule, chain, rules.legs))
    for family in _families(rule):
        found = _addresses(rule, family)
        if found is None:
            continue
        words = [ports, *found, *_rest(rule, family)]
        match = " ".join(word for word in words if word)
        said = quoted(f"{slug(rule.slug, 'rule')} {rule.comment}")
        if rule.log:
            yield " ".join([match, LOGGED.format(chain=chain), "comment", quoted(f"{rule.slug} log")]).lstrip()
        yield " ".join([match, "counter", _verdict(rule), "comment", said]).lstrip()


def behind(zone: str, legs: Sequence[Leg]) -> tuple[Net, ...]:
    """The networks of a zone, which what the firewall sends there is meant for: calls to all on its link are another matter."""
    return tuple(network for leg in legs if leg.zone == zone for network in leg.networks)


def _ports(rule: FilterRule, chain: str, legs: Sequence[Leg]) -> Iterator[str]:
    if rule.zone_in and chain != "output":
        yield f"iifname {_side(legs, rule.zone_in)}"
    if rule.zone_out and chain in {"forward", "output"}:
        yield f"oifname {_side(legs, rule.zone_out)}"


def _side(legs: Sequence[Leg], zone: str) -> str:
    return "@outside" if zone == OUTSIDE else some([f'"{name}"' for name in interfaces(legs, zone)])


def _families(rule: FilterRule) -> tuple[int, ...]:
    """0 where one line serves both."""
    bound = MESSAGES.get(rule.protocol)
    if bound and rule.family not in {0, bound}:
        raise FilesError(f"rule {rule.slug}: {rule.protocol} belongs to IPv{bound}, not to IPv{rule.family}")
    if rule.family or bound:
        return (rule.family or bound or 0,)
    addressed = rule.sources or rule.not_sources or rule.targets or rule.target_set
    return (4, 6) if addressed else (0,)


def _addresses(rule: FilterRule, family: int) -> list[str] | None:
    """The matches of family, source and target; None where no packet of the family can match."""
    if not family:
        return []
    header, name = FAMILIES[family]
    found = []
    for field, sign, networks in (
        ("saddr", "", rule.sources), ("saddr", "!= ", rule.not_sources), ("daddr", "", rule.targets),
    ):  # fmt: skip
        words = [address(network) for network in of_family(networks, family)]
        if words:
            found.append(f"{header} {field} {sign}{some(words)}")
        elif networks and not sign:
            return None
    if rule.target_set:
        found.append(f"{header} daddr @{set_name(rule.target_set, family)}")
    says_family = rule.protocol in MESSAGES and ranges(rule.ports, rule.protocol)
    return found or ([] if says_family else [f"meta nfproto {name}"])


def _rest(rule: FilterRule, family: int) -> Iterator[str]:
    if rule.state:
        yield _state(rule, family)
    if rule.translated:
        yield "ct status dnat"
    yield carried(rule.protocol, rule.ports)
    if rule.window:
        yield hours(rule.window)


def _state(rule: FilterRule, family: int) -> str:
    """Neighbour discovery of IPv6 belongs to no connection: the kernel never calls it new, but untracked."""
    discovers = rule.state == "new" and family != IPV4 and rule.protocol in {"", ANY_PROTOCOL, "icmpv6"}
    return STATES[rule.state] + (",untracked" if discovers else "")


def carried(protocol: str, ports: Sequence[tuple[int, int]]) -> str:
    """The match of a protocol with its target ports or message types; empty for any."""
    if protocol in {"", ANY_PROTOCOL}:
        return ""
    asked = [span(one) for one in ranges(ports, protocol)]
    if not asked:
        return f"meta l4proto {slug(protocol, 'protocol')}"
    return f"{slug(protocol, 'protocol')} {'type' if protocol in MESSAGES else 'dport'} {some(asked)}"


def _verdict(rule: FilterRule) -> str:
    if rule.verdict is Verdict.REJECT:
        return REFUSALS.get(rule.protocol, "reject with icmpx admin-prohibited")
    return rule.verdict.value


def _translated(rules: RuleSet, kind: str) -> Iterator[str]:
    hook = ("prerouting", "dstnat") if kind == "target" else ("postrouting", "srcnat")
    yield f"type nat hook {hook[0]} priority {hook[1]}; policy accept;"
    for translation in rules.translations:
        if translation.kind == kind:
            yield from (_published(translation, rules) if kind == "target" else _masked(translation, rules))


def _masked(translation: Translation, rules: RuleSet) -> Iterator[str]:
    names = [f'"{name}"' for name in interfaces(rules.legs, translation.zone)]
    if names:
        yield f"oifname {some(names)} counter masquerade comment {quoted(translation.slug)}"


def _published(translation: Translation, rules: RuleSet) -> Iterator[str]:
    """One line a port that it comes in by: the address there is given, or whatever the provider lent."""
    if translation.carried is None or translation.to is None or translation.to.version != IPV4:
        raise FilesError(f"translation {translation.slug}: it needs a protocol and an IPv4 address to lead to")
    wanted = carried(translation.carried.protocol, [(translation.carried.first, translation.carried.last)])
    goes = f"{translation.to}:{translation.port}" if translation.port else str(translation.to)
    for leg in sorted((leg for leg in rules.legs if leg.zone == translation.zone), key=lambda leg: leg.interface):
        own = [str(host) for host in leg.own if host.version == IPV4]
        to = f"ip daddr {some(own)}" if own else "fib daddr . iif type local"
        words = [f'iifname "{interface(leg.interface)}"', to, wanted, f"counter dnat to {goes}"]
        yield " ".join([*(word for word in words if word), "comment", quoted(translation.slug)])
