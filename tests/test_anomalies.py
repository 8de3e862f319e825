"""Anomalies of two rules: the published list of twelve, and small lists judged by the words of the definition."""

from ipaddress import ip_network
from random import Random

import pytest
from box_lists import office, sites, small
from conftest import Scale
from referees.corners import corners, first_place
from referees.two_rules import anomalies as by_definition

from scantling.trials.proof.anomalies import Anomaly, Kind, anomalies, counted, never_deciding, pairs_of
from scantling.trials.proof.diagram import Box, Space, first_match

SPACE = Space([("protocol", 255), ("source", 2**32 - 1), ("target", 2**32 - 1), ("port", 65535)])
PUBLISHED = """
tcp 140.192.37.20/32 0.0.0.0/0        80  deny
tcp 140.192.37.0/24  0.0.0.0/0        80  accept
tcp 0.0.0.0/0        161.120.33.40/32 80  accept
tcp 140.192.37.0/24  161.120.33.40/32 80  deny
tcp 140.192.37.30/32 0.0.0.0/0        21  deny
tcp 140.192.37.0/24  0.0.0.0/0        21  accept
tcp 140.192.37.0/24  161.120.33.40/32 21  accept
tcp 0.0.0.0/0        0.0.0.0/0        any deny
udp 140.192.37.0/24  161.120.33.40/32 53  accept
udp 0.0.0.0/0        161.120.33.40/32 53  accept
udp 140.192.38.0/24  161.120.35.0/24  any accept
udp 0.0.0.0/0        0.0.0.0/0        any deny
"""
"""The example of Al-Shaer & Hamed, "Modeling and management of firewall policies" (IEEE eTNSM 1, 2004)."""


def _rule(line: str) -> tuple[Box, str]:
    protocol, source, target, port, verdict = line.split()
    number = {"tcp": 6, "udp": 17}[protocol]
    ends = [ip_network(one) for one in (source, target)]
    forms = [((int(one.network_address), int(one.broadcast_address)),) for one in ends]
    ports = ((0, 65535),) if port == "any" else ((int(port), int(port)),)
    return (((number, number),), forms[0], forms[1], ports), verdict


RULES = [_rule(line) for line in PUBLISHED.split("\n") if line]


def test_the_published_list() -> None:
    """Two shadowed, two correlated, nine generalised, three redundant; and by the whole list only two never decide."""
    assert counted(SPACE, RULES) == {
        Kind.SHADOWING: 2, Kind.CORRELATION: 2, Kind.GENERALISATION: 9, Kind.REDUNDANCY: 3,
    }  # fmt: skip
    told = {(one.kind.value, one.first + 1, one.second + 1) for one in anomalies(SPACE, RULES)}
    assert {pair for pair in told if pair[0] == "shadowing"} == {("shadowing", 2, 4), ("shadowing", 3, 4)}
    assert {pair for pair in told if pair[0] == "correlation"} == {("correlation", 1, 3), ("correlation", 5, 7)}
    assert Anomaly(Kind.REDUNDANCY, 5, 6, spare=6) in {*anomalies(SPACE, RULES)}
    assert [place + 1 for place in never_deciding(SPACE, RULES)] == [4, 7]


def test_the_published_list_at_every_corner() -> None:
    """Which rules never decide, by trying a point for all that no rule tells apart."""
    boxes = [box for box, _ in RULES]
    deciding = {first_place(boxes, point) for point, _ in corners(SPACE.lasts, boxes)}
    assert [place + 1 for place in range(12) if place not in deciding] == [4, 7]


def test_small_lists_by_the_definition(scale: Scale) -> None:
    random = Random(40)
    for _ in range(scale(short=150, full=4000)):
        listed = small(random, most_rules=8)
        space = Space(listed.dimensions)
        told = [*anomalies(space, listed.rules)]
        assert [(one.kind.value, one.first, one.second) for one in told] == sorted(
            by_definition(listed.rules), key=lambda one: one[1:]
        )
        assert counted(space, listed.rules) == {kind: sum(one.kind is kind for one in told) for kind in Kind}
        for one in told:
            assert (one.spare is None) == (one.kind is not Kind.REDUNDANCY)
            assert one.spare in {None, one.first, one.second}


def test_a_shadowed_or_spare_second_never_decides(scale: Scale) -> None:
    """What is told of two rules, seen in the diagram of the whole list: without the spare one nothing changes."""
    for listed in (office(scale(short=60, full=300), zones=6), sites(scale(short=100, full=500))):
        space = Space(listed.dimensions)
        hidden = {*never_deciding(space, listed.rules)}
        whole = first_match(space, listed.rules, "drop")
        for one in anomalies(space, listed.rules):
            if one.kind is Kind.SHADOWING or one.spare == one.second:
                assert one.second in hidden
            elif one.spare == one.first:
                rest = [rule for place, rule in enumerate(listed.rules) if place != one.first]
                assert first_match(space, rest, "drop") == whole


def test_pairs_of_long_lists(scale: Scale) -> None:
    """Every pair of a long list, plainly: whether they meet, and which holds which."""
    listed = sites(scale(short=60, full=300), bits=128)
    pairs = pairs_of(Space(listed.dimensions), listed.boxes)
    for x, one in enumerate(listed.boxes):
        for y, other in enumerate(listed.boxes):
            spans = [(a[0], b[0]) for a, b in zip(one, other, strict=True)]  # here each form is one interval
            assert (pairs.meets[x] >> y & 1) == all(a[0] <= b[1] and b[0] <= a[1] for a, b in spans)
            assert (pairs.holds[x] >> y & 1) == all(a[0] <= b[0] and b[1] <= a[1] for a, b in spans)
            assert (pairs.lies_in[x] >> y & 1) == (pairs.holds[y] >> x & 1)


def test_nothing_and_what_is_no_box() -> None:
    assert [*anomalies(SPACE, [])] == []
    assert never_deciding(SPACE, []) == ()
    with pytest.raises(ValueError, match="a box of 1 dimensions"):
        counted(SPACE, [((((0, 1),),), "accept")])
    with pytest.raises(ValueError, match="protocol"):
        counted(SPACE, [(SPACE.box(protocol=((0, 256),)), "accept")])
