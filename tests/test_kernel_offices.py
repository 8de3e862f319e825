"""The offices' own files in the kernel: packets at the edges of every rule of every office are decided as they are read."""

import pytest

import kernel
from kernel_judging import Probe, differences, meant, probe
from offices import BRIEFS, example
from referees.filtering import Moment
from rule_packets import before, packets_of, standing
from rule_samples import office as sample
from scantling.figures.traffic import FIREWALL, RuleSet

NOON_ON_MONDAY = Moment(0, 12 * 60)


def office(name: str) -> RuleSet:
    return standing(sample() if name == "sample" else example(name).records(RuleSet)[0])


def probes(rules: RuleSet, *, own: bool) -> list[Probe]:
    return [
        probe(packet, sent_to=before(packet, rules) if packet.translated else None)
        for packet in packets_of(rules)
        if own == (packet.origin == FIREWALL)
    ]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["sample", *BRIEFS])
def test_an_office_filters_as_it_is_read(name: str) -> None:
    rules = office(name)
    deciding: set[str] = set()
    with kernel.Lab(rules.legs) as lab:
        for own in (False, True):
            sent = probes(rules, own=own)
            assert differences(lab, rules, lambda _: sent) == ""  # noqa: B023 -- called before the next round
            deciding |= {slug for _, slug in meant(rules, sent, NOON_ON_MONDAY).decided}
    assert len(deciding) > 0.8 * len(rules.rules)
