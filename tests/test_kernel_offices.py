"""The offices' own files in the kernel: packets at the edges of every rule of every office are decided as they are read."""

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

import kernel
from conftest import Scale
from kernel_judging import Probe, differences, meant, probe
from offices import BRIEFS, example
from referees.filtering import Moment
from rule_packets import packets_of, standing
from rule_samples import office as sample
from scantling.figures.traffic import FIREWALL, RuleSet
from scantling.outputs.files.packet_filter import rules_text

NOON_ON_MONDAY = Moment(0, 12 * 60)


def office(name: str) -> RuleSet:
    return standing(sample() if name == "sample" else example(name).records(RuleSet)[0])


def probes(rules: RuleSet, *, own: bool) -> list[Probe]:
    return [
        probe(packet, sent_to=before) for packet, before in packets_of(rules) if own == (packet.origin == FIREWALL)
    ]


def differs(lab: kernel.Lab, rules: RuleSet, sent: list[Probe], text: str = "") -> str:
    return differences(lab, rules, lambda _: sent, text)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["sample", *BRIEFS])
def test_an_office_filters_as_it_is_read(name: str) -> None:
    rules = office(name)
    deciding: set[str] = set()
    with kernel.Lab(rules.legs) as lab:
        for own in (False, True):
            sent = probes(rules, own=own)
            assert differs(lab, rules, sent) == ""
            deciding |= {slug for _, slug in meant(rules, sent, NOON_ON_MONDAY).decided}
    assert len(deciding) > 0.8 * len(rules.rules)


WIDER = (
    (r"counter accept", "counter drop"),
    (r"counter drop", "counter accept"),
    (r"dport (\d+) ", lambda found: f"dport {found[1]}-{int(found[1]) + 1} "),
    (r"-(\d+) }", lambda found: f"-{int(found[1]) + 1} }}"),
    (r"daddr (\d+\.\d+\.\d+\.\d+) ", r"daddr \1/31 "),
    (r"daddr ([0-9a-f:]+) ", r"daddr \1/127 "),
    (r"icmp type 8", "icmp type 8-9"),
)
"""Each a single change of one line: a verdict turned round, a port or an address too many."""
UNSEEN = ("Replies", "the firewall itself", "r-021", "r-999")
"""Lines about replies and strays, which the random lists try, and the last, which says what the chain says too."""


CHANGES_NOTHING = ("133, 135-137", "type 8-9", "dport 8443-8444", "10.20.20.8/31")
"""Such a message belongs to something or is a stray, and strays are dropped above; nothing else is translated."""


def planted(text: str) -> Iterator[tuple[str, str]]:
    """The file with one line changed, and that line."""
    lines = text.split("\n")
    for place, line in enumerate(lines):
        if " comment " not in line or "set" in line.split()[0] or any(word in line for word in UNSEEN):
            continue
        for old, new in WIDER:
            changed = re.sub(old, new, line, count=1)
            if changed != line and not any(words in changed for words in CHANGES_NOTHING):
                yield "\n".join([*lines[:place], changed, *lines[place + 1 :]]), changed


@pytest.mark.slow
def test_every_planted_mistake_in_a_line_is_seen(scale: Scale) -> None:
    known = standing(sample())
    rules = replace(known, rules=tuple(replace(rule, window=None) for rule in known.rules))  # at any hour
    sent = {own: probes(rules, own=own) for own in (True, False)}
    mistakes = list(planted(rules_text(rules, [])))[:: scale(short=4, full=1)]
    assert len(mistakes) > scale(short=10, full=45)
    with kernel.Lab(rules.legs) as lab:
        for text, line in mistakes:
            assert any(differs(lab, rules, some, text) for some in sent.values()), line
