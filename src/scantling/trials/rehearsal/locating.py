"""Says from signs alone where a fault is: a table of rules, read from the top; whatever explains most stands first."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from scantling.trials.rehearsal.signs import Seen, What

AND = " and "


@dataclass(frozen=True, slots=True)
class Rule:
    """One line of the table. All that it asks for must hold."""

    component: str
    """Where the fault is. {where}: the place of the signs; {names}, {addresses}, {line}: who does that in the plan."""
    here: tuple[What, ...] = ()
    """Signs that are seen at one and the same place."""
    not_here: tuple[What, ...] = ()
    """Signs that are not seen at that place."""
    everywhere: tuple[What, ...] = ()
    """Signs that are seen wherever they were looked for."""
    nowhere: tuple[What, ...] = ()
    """Signs that are seen nowhere."""
    because: str = ""


RULES = (
    # Two devices quarrel, or one is plugged in at a wrong place: everything else may follow from it.
    Rule("address of {where}", (What.TWICE,), because="two hardware addresses answer for one address"),
    Rule("address of {where}", (What.OTHER,), because="another device answers in its stead"),
    Rule("socket of {where}", (What.ELSEWHERE,), because="it hears the address server of another zone"),
    Rule("second address server in {where}", (What.FOREIGN,), because="an offer came from nobody of the plan"),
    # A whole zone is silent: its cable to the firewall, before anything that lives in it.
    Rule("cable of zone {where}", (What.ZONE_LOST,), because="nothing from there reaches the firewall"),
    # The firewall: it passes nothing on, too much, too little, or under a wrong address.
    Rule("forwarding on the firewall", (What.NOTHING_PASSED, What.STILL), because="its rules don't even count what comes"),
    Rule("rules on the firewall", (What.LET_THROUGH,), because="something passes that nobody wants"),
    Rule("translation of sources on the firewall", (What.UNMASKED,), because="the office's own addresses are seen outside"),
    Rule(
        "port translation on the firewall", (What.UNPUBLISHED,), everywhere=(What.TAKEN_ITSELF,),
        because="what is published ends at the firewall itself",
    ),
    Rule("sets of parties on the firewall", everywhere=(What.EMPTY,), because="nobody is in them"),
    # A line: everything that goes out is lost beyond the firewall.
    Rule("line {where}", (What.LINE_DEAD,), because="it is let out, and nothing comes back"),
    # One station: not on its link at all, or there but going out by a wrong way.
    Rule("cable of {where}", (What.ABSENT,), because="it is not on its link"),
    Rule("gateway set on {where}", (What.LOST,), (What.ABSENT,), because="it is on its link, yet what it sends goes astray"),
    Rule("gateway set on {where}", (What.AFAR,), (What.ABSENT,), because="it answers its neighbour, and nobody farther away"),
    Rule("rules on the firewall", (What.NOTHING_PASSED,), because="the rules keep everything out"),
    Rule("rules on the firewall", (What.SWALLOWED,), because="something is kept out that is meant to pass"),
    Rule("rules on the firewall", (What.UNPUBLISHED,), because="what is published is kept out"),
    # Servers, each after those that it depends on.
    Rule("name server on {where}", (What.NO_ZONES,), because="asked straight, it has no answer"),
    Rule("office names on {where}", (What.WRONG_ZONES,), because="asked straight, it tells something else than planned"),
    Rule("lookups on {where}", (What.NO_LOOKUPS,), because="it does not even know itself"),
    Rule("names outside", everywhere=(What.NO_OUTSIDE,), because="lines are well, and no resolver has an answer from outside"),
    Rule("lookups on {where}", (What.NO_OUTSIDE,), because="others have answers from outside"),
    Rule("lookups on {where}", (What.WRONG_INSIDE,), because="the name server itself tells what is planned"),
    Rule("lookups on {where}", (What.NO_INSIDE,), because="the name server itself has answers"),
    Rule("clocks outside", everywhere=(What.WRONG_TIME_OUTSIDE,), because="asked straight, they tell a wrong time"),
    Rule("clocks outside", everywhere=(What.NO_TIME_OUTSIDE,), because="asked straight, they say nothing"),
    Rule("clock on {where}", (What.NO_TIME,), because="it tells nobody the time"),
    Rule("clock on {where}", (What.WRONG_TIME,), because="it tells a wrong time"),
    # Addresses: who renews straight does not need the relay.
    Rule(
        "address server on {addresses}", everywhere=(What.NO_OFFER, What.NO_NEWCOMER, What.UNRENEWED),
        because="no offers, and asked straight it is silent, too",
    ),
    Rule(
        "relay on the firewall", everywhere=(What.NO_OFFER, What.NO_NEWCOMER), nowhere=(What.UNRENEWED,),
        because="no offers, yet asked straight the server renews",
    ),
    Rule("address pool of {where}", (What.NO_NEWCOMER,), (What.NO_OFFER,), because="known devices are served, newcomers are not"),
    Rule("settings of the address server on {addresses}", (What.WRONG_TOLD,), because="it sends devices astray"),
    Rule(
        "address server for IPv6 on {addresses}", everywhere=(What.NO_OFFER6,), nowhere=(What.NO_OFFER,),
        because="only IPv6 is not served",
    ),
    Rule("announcements of the firewall", everywhere=(What.NO_NEWS,), because="no zone hears any"),
    Rule("provider on line {where}", (What.NOT_LENT,), because="everything else on the line works"),
    # What is left: it is reached, and nobody is at home.
    Rule("service on {where}", (What.CLOSED,), because="it is there, and refuses"),
    Rule("gateway set on {where}", (What.DEAD,), because="it is on its link, and its answers go astray"),
)  # fmt: skip
"""From the top: the first line that fits says where the fault is."""


def located(seen: Seen, holders: Mapping[str, str]) -> str:
    """Where the fault is, by the first rule that fits; several places joined by "and"; empty where none fits.

    `holders`: who does what in the plan, as the rules name it.
    """
    for rule in RULES:
        components = dict.fromkeys(rule.component.format(where=where, **holders) for where in places(rule, seen))
        if components:
            return AND.join(components)
    return ""


def places(rule: Rule, seen: Seen) -> Iterator[str]:
    """Where a rule fits: every place, or one without a name where the rule asks for none."""
    if not all(seen.everywhere(what) for what in rule.everywhere) or any(seen.at(what) for what in rule.nowhere):
        return
    if not rule.here:
        yield ""
        return
    common = frozenset.intersection(*(seen.at(what) for what in rule.here))
    yield from sorted(common - frozenset().union(*(seen.at(what) for what in rule.not_here)))
