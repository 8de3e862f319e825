"""The firewall's rules as nftables reads them: accepted, loaded, and listed back by the kernel."""

from rule_samples import office

import kernel
from scantling.outputs.files.packet_filter import chains_of, rules_text


def test_the_kernel_takes_the_office() -> None:
    assert kernel.accepted(rules_text(office(), ["a head"])) == ""


def test_a_wrong_file_is_refused() -> None:
    assert "r-040" not in kernel.accepted(rules_text(office(), []))
    assert kernel.accepted(rules_text(office(), []).replace("tcp dport 445", "tcp dport 70000"))


def test_the_listing_has_each_rule_in_its_chains_in_order() -> None:
    objects = kernel.listing(rules_text(office(), []))
    for chain in ("early", "input", "forward", "output"):
        numbers = [rule["comment"].split()[0] for rule in kernel.rules_of(objects, chain) if decides(rule)]
        expected = [rule.slug for rule in office().rules if chain in chains_of(rule)]
        assert [number for number in numbers if number != "the"] == expected


def decides(rule: dict[str, list[dict[str, object]]]) -> bool:
    return any(verdict in part for part in rule["expr"] for verdict in ("accept", "drop", "reject"))
