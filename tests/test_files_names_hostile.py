"""Hostile text in every field of the files of names, lookups and time: it stays text, read back by the real programs."""

from dataclasses import replace
from ipaddress import IPv4Address
from pathlib import Path

import dns.name
import dns.zone
import pytest
from hypothesis import given
from hypothesis import strategies as st
from names_files import files, judged, put, run
from offices import changed, example, millrace, planned

from hostile import EVERYTHING, HOSTILE
from hostile_briefs import everywhere, quoted, spread
from scantling.figures import FIREWALL, NameRecord, NameZone, Server
from scantling.outputs.files import clocks, lookups, name_server
from scantling.outputs.files.name_zones import PLAIN, domain_name, file_of, remark, safe, zone_text

ZONE = NameZone(
    "client", "client.example", reverse=False, serial=2026112501, primary="ns.client.example", contact="hostmaster.client.example",
    times=(3600, 600, 1814400, 3600), ttl=3600,
    records=(NameRecord("client.example", "NS", "ns.client.example."), NameRecord("ns.client.example", "A", "192.0.2.1")),
)  # fmt: skip
OWNED = "  hostile-{place}: {{domain: {place}.client.example, kind: certificate, registrar: {words}, owner: {words}, leads_to: {words}}}\n"


def labels(words: str) -> tuple[bytes, ...]:
    """A text as labels of a name: what stands between dots, as octets."""
    return tuple(one.encode("utf-8", "replace") for one in words.split("."))


AS_NAMES = [words for words in EVERYTHING if all(0 < len(one) <= 63 for one in labels(words))]
"""Those that can be a name at all: no empty label, none of more than 63 octets (RFC 1035 section 2.3.4)."""


@pytest.mark.parametrize("words", AS_NAMES)
def test_a_hostile_owner_is_one_name(words: str) -> None:
    """The very octets are read by dnspython."""
    records = (*ZONE.records, NameRecord(f"{words}.client.example", "CNAME", "ns.client.example."))
    text = zone_text(replace(ZONE, records=records), ())
    wanted = dns.name.Name([*labels(words), b"client", b"example", b""])
    zone = dns.zone.from_text(text, relativize=False)
    assert [one.to_text() for one in zone.find_rdataset(wanted, "CNAME")] == ["ns.client.example."]
    assert len(list(zone.iterate_rdatas())) == 4


def test_a_zone_of_hostile_names_and_texts_is_taken(tmp_path: Path) -> None:
    """All of them in one zone, by both checkers (which complain of letters in names of hosts unless told not to)."""
    names = tuple(
        NameRecord(f"{words}.n{place}.client.example", "TXT", words) for place, words in enumerate(AS_NAMES)
    )
    texts = tuple(NameRecord(f"t{place}.client.example", "TXT", words) for place, words in enumerate(EVERYTHING))
    targets = tuple(
        NameRecord(f"p{place}.client.example", "PTR", f"{words}.")
        for place, words in enumerate(AS_NAMES)
        if " " not in words
    )
    path = tmp_path / "client.example.zone"
    path.write_text(zone_text(replace(ZONE, records=(*ZONE.records, *names, *texts, *targets)), ()), "ascii")
    assert run("nsd-checkzone", "client.example", str(path)).returncode == 0
    assert run("named-checkzone", "-k", "ignore", "client.example", str(path)).returncode == 0
    assert targets


@pytest.mark.parametrize("words", EVERYTHING)
def test_a_hostile_text_record_holds_the_very_octets(words: str) -> None:
    text = zone_text(replace(ZONE, records=(*ZONE.records, NameRecord("client.example", "TXT", words))), ())
    zone = dns.zone.from_text(text, relativize=False)
    (found,) = zone.find_rdataset("client.example.", "TXT")
    assert b"".join(found.strings) == words.encode("utf-8", "replace")


@given(st.text(max_size=700))
def test_any_text_record_holds_the_very_octets(words: str) -> None:
    text = zone_text(replace(ZONE, records=(*ZONE.records, NameRecord("client.example", "TXT", words))), ())
    (found,) = dns.zone.from_text(text, relativize=False).find_rdataset("client.example.", "TXT")
    assert b"".join(found.strings) == words.encode("utf-8", "replace")


@given(st.lists(st.text(min_size=1, max_size=15).filter(lambda one: "." not in one), min_size=1, max_size=3))
def test_any_name_is_read_back_label_by_label(parts: list[str]) -> None:
    wanted = dns.name.Name([*(one.encode("utf-8", "replace") for one in parts), b""])
    assert dns.name.from_text(domain_name(".".join(parts)), idna_codec=dns.name.IDNA_2003) == wanted


def test_hostile_words_in_the_head_of_every_file_are_remarks(tmp_path: Path) -> None:
    """The office's name stands there; every program takes the file, and nothing but remarks was added."""
    says = tuple(remark(words) for words in EVERYTHING)
    server = Server("names", "names", "files", "servers", (IPv4Address("192.0.2.1"),), ("192.0.2.2",))
    clock = Server("time", "time", FIREWALL, FIREWALL, (IPv4Address("192.0.2.1"),), ("ntp.client.example",))
    texts = {
        "client.example.zone": (zone_text(ZONE, says), zone_text(ZONE, ()), ("named-checkzone", "client.example")),
        "nsd.conf": (name_server.settings(server, [ZONE], says), name_server.settings(server, [ZONE], ()), ("nsd-checkconf",)),
        "chrony.conf": (clocks.giving(clock, (), (), says), clocks.giving(clock, (), (), ()), ("chronyd", "-p", "-f")),
    }  # fmt: skip
    for name, (text, plain, command) in texts.items():
        assert text.splitlines()[len(says) :] == plain.splitlines()
        assert all(line[0] in "#;" for line in text.splitlines()[: len(says)])
        path = tmp_path / name
        path.write_text(text, "ascii")
        assert run(*command, str(path)).returncode == 0


@pytest.mark.parametrize("words", EVERYTHING)
def test_what_is_no_name_can_add_no_setting(words: str) -> None:
    """Names and addresses in settings: letters, digits and a few marks, so no quotation mark and no line can be ended."""
    server = Server("lookups", "lookups", words, words, (), (words,))
    zone = replace(ZONE, origin=words, primary=words)
    for text in (name_server.settings(server, [zone], ()), clocks.giving(server, (), (), ())):
        plain = Server("lookups", "lookups", "x", "x", (), ("x",))
        same = (name_server.settings(plain, [replace(ZONE, origin="x")], ()), clocks.giving(plain, (), (), ()))
        assert len(text.splitlines()) in {len(one.splitlines()) for one in same}
    assert set(safe(words)) <= (PLAIN | set(".:_")) - {"*"}
    assert "/" not in file_of(zone)
    assert lookups.holed(zone, (), 53)[1].count('"') == 2


def test_all_hostile_strings_in_one_office(tmp_path: Path) -> None:
    """Each in some field of the brief; every file is taken."""
    plan = planned(spread(millrace()))
    assert judged(put(files(plan), tmp_path)) == []


@pytest.mark.parametrize("words", [HOSTILE[place] for place in (0, 25, 27, 28, 29, 44, 47)])
def test_one_hostile_string_in_every_field_of_an_office(words: str, tmp_path: Path) -> None:
    assert judged(put(files(planned(everywhere(millrace(), words))), tmp_path)) == []


def test_hostile_owners_registrars_and_services_of_outside_names(tmp_path: Path) -> None:
    more = "".join(OWNED.format(place=place, words=quoted(words)) for place, words in enumerate(HOSTILE))
    plan = planned(changed(millrace(), "domains:\n", f"domains:\n{more}"))
    assert "D-19" in {told.finding.code for told in plan.findings}
    assert judged(put(files(plan), tmp_path)) == []
    assert set(files(plan)) == set(files(example("millrace")))
