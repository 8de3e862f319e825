"""Names of machines and devices, and the directory's domain: each finding raised, kept names kept, labels legal and unique."""

from collections.abc import Mapping
from re import fullmatch

import pytest
from hypothesis import given
from hypothesis import strategies as st
from offices import changed, codes, example, fold, millrace, planned

from hostile import EVERYTHING
from scantling import UserError, api
from scantling.figures import Lasting, Name, Weight
from scantling.handbook.naming import Bearer, bearers, label_of, legal_name, stems, written_domain, written_name
from scantling.plan.make import Plan

HOST = r"[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?"
PATTERNS = {"machine": "{machine}", "device": "{device}-{number}", "gateway": "gateway-{zone}"}
UNNAMED = changed(
    fold(),
    "domains:\n  foldandfell: {domain: foldandfell.example, registrar: Fell Names, owner: Fold & Fell Surveyors, expires: 2027-06-01}\n",
    "",
)


def with_domain(domain: str) -> str:
    """Fold & Fell with a domain agreed."""
    return changed(fold(), "\nbackup:\n", f"\nnames:\n  domain: {domain}\n\nbackup:\n")


def standing(domain: str) -> Plan:
    """Fold & Fell where a domain stands."""
    return api.plan_text(fold(), stands=f"issued:\n  names:\n    domain: {{holder: directory, name: {domain}}}\n")


def domain_of(plan: Plan) -> str:
    """The directory's domain as the client is asked to confirm it."""
    return str(next(one.chosen.value for one in plan.records(Lasting) if one.slug == "directory-domain"))


def names(plan: Plan) -> Mapping[str, Name]:
    """By slug."""
    return {one.slug: one for one in plan.records(Name)}


RAISED = [
    ("D-1", UNNAMED), ("D-2", with_domain("office.local")), ("D-3", with_domain("fold.lan")), ("D-3", with_domain("fold.internal")),
    ("D-4", with_domain("fold.home.arpa")), ("D-5", with_domain("foldandfell.example")), ("D-6", fold()),
    ("D-8", changed(millrace(), "called: {box-office-pcs: box, ", "called: {")),
    ("D-9", changed(millrace(), "called: {", "called: {nobody: x, ")),
    ("D-9", changed(millrace(), "box-office-pcs: box", "laptops: printers")),
]  # fmt: skip


@pytest.mark.parametrize(("code", "brief"), RAISED, ids=[f"{code}-{place}" for place, (code, _) in enumerate(RAISED)])
def test_a_changed_brief_raises_it(code: str, brief: str) -> None:
    assert code in codes(planned(brief))


@pytest.mark.parametrize("code", ["D-1", "D-2", "D-3", "D-4", "D-5", "D-6", "D-7", "D-8", "D-9", "D-10"])
def test_without_the_change_it_is_not_raised(code: str) -> None:
    """Millrace as it is: looked at, and found well."""
    plan = planned(millrace())
    assert code not in codes(plan)
    assert code in {one.code for one in plan.checked}


def test_a_label_before_the_first_registered_domain() -> None:
    assert domain_of(planned(millrace())) == "ad.millrace.example"
    assert domain_of(planned(fold())) == "ad.foldandfell.example"


def test_a_stand_in_below_example_where_no_domain_is_known() -> None:
    """RFC 2606: example is never registered."""
    assert domain_of(planned(UNNAMED)) == "ad.fold-fell-surveyors.example"


@pytest.mark.parametrize(
    ("domain", "code"), [("brackwater.local", "D-2"), ("fold.lan", "D-3"), ("x.home.arpa", "D-4")]
)
def test_what_stands_is_kept_and_told_as_a_note(domain: str, code: str) -> None:
    """Never .local, but keep what stands."""
    plan = standing(domain)
    assert domain_of(plan) == domain
    (told,) = [one for one in plan.findings if one.finding.code == code]
    assert told.weight == Weight.NOTE.value
    fresh = planned(with_domain(domain))
    assert {one.weight for one in fresh.findings if one.finding.code == code} == {Weight.MEND.value}


def test_a_brief_that_asks_for_another_domain_than_stands() -> None:
    plan = api.plan_text(
        with_domain("new.foldandfell.example"),
        stands="issued:\n  names:\n    domain: {holder: directory, name: ad.foldandfell.example}\n",
    )
    assert domain_of(plan) == "ad.foldandfell.example"
    assert "D-10" in codes(plan)


def test_a_domain_that_no_server_takes_is_refused_at_its_line() -> None:
    for wrong in ("-x.example", "a..example", '"a b.example"', "a_b.example", "x" * 64 + ".example"):
        with pytest.raises(UserError, match=r"names\.domain"):
            planned(with_domain(wrong))


def test_a_pattern_without_a_number_is_refused() -> None:
    with pytest.raises(UserError, match=r"names\.device"):
        planned(changed(millrace(), "names:\n", 'names:\n  device: "{device}"\n'))


def test_names_follow_the_pattern_of_the_brief() -> None:
    plan = planned(
        changed(millrace(), "names:\n", 'names:\n  machine: "srv-{machine}"\n  device: "mac-{device}-{number}"\n')
    )
    assert names(plan)["files"].name == "srv-files.ad.millrace.example"
    assert names(plan)["office-pcs-01"].name == "mac-office-pcs-01.ad.millrace.example"


def test_every_machine_gateway_and_device_has_one_name() -> None:
    plan = example("millrace")
    every = [one.name for one in plan.records(Name)]
    assert len(every) == len(set(every))
    assert len([one for one in every if one.startswith("office-pcs-")]) == 14
    assert {"files", "firewall", "gateway-staff", "box-office-pcs-06", "cameras-09"} <= set(names(plan))
    assert names(plan)["box-office-pcs-06"].name == "box-06.ad.millrace.example"


def test_a_service_has_a_further_name_that_moves_with_it() -> None:
    given = names(example("millrace"))
    assert given["application"].aliases == ("tickets.ad.millrace.example",)
    assert given["files"].aliases == ("print.ad.millrace.example",)


def test_issued_names_are_kept_and_made_legal() -> None:
    """Brackwater's plotter was called Plotter_Foreman (RFC 952 knows no underscore)."""
    plan = example("brackwater")
    assert names(plan)["foreman"].name == "plotter-foreman.brackwater.local"
    assert names(plan)["foreman"].addresses
    assert "plotter-01" not in names(plan)
    assert "D-7" in codes(plan)


def test_two_names_of_one_machine_both_stay() -> None:
    """A survey found the old server's name and the one on its label: the first is its name, the other leads there."""
    plan = api.plan_text(
        fold(),
        stands="issued:\n  names:\n    old: {holder: files, name: server1}\n    label: {holder: files, name: FileServer}\n",
    )
    (files,) = [one for one in plan.records(Name) if one.holder == "files"]
    assert files.name == "server1.ad.foldandfell.example"
    assert files.aliases == ("fileserver.ad.foldandfell.example", "files.ad.foldandfell.example")


@pytest.mark.parametrize("text", [words for words in EVERYTHING if words.strip()])
def test_whatever_stands_as_a_domain_becomes_a_legal_one(text: str) -> None:
    """Short enough for a host's label before it (RFC 1035 section 2.3.4)."""
    assert legal_name(f"{'x' * 63}.{written_domain(text)}")


def test_a_domain_that_is_no_legal_name_is_told() -> None:
    plan = standing('"Fold_Fell.local"')
    assert domain_of(plan) == "fold-fell.local"
    assert {"D-2", "D-7"} <= codes(plan)


def test_a_machine_called_gateway_is_not_a_zones_gateway() -> None:
    """Brackwater's machine for remote access is called so."""
    given = names(example("brackwater"))
    assert given["gateway"].addresses
    assert not set(given["gateway"].addresses) & set(given["gateway-servers"].addresses)


def test_no_two_names_lead_to_one_address() -> None:
    for office in ("millrace", "brackwater", "fold"):
        every = [address for one in example(office).records(Name) for address in one.addresses]
        assert len(every) == len(set(every))


@pytest.mark.parametrize("text", EVERYTHING)
def test_any_text_becomes_a_legal_label(text: str) -> None:
    assert fullmatch(HOST, label_of(text))
    assert legal_name(written_name(text))


@given(st.text(max_size=80))
def test_any_text_at_all_becomes_a_legal_label(text: str) -> None:
    assert fullmatch(HOST, label_of(text))
    assert legal_name(written_name(text))


@given(st.text(alphabet="abcdefghijklmnopqrstuvwxyz0123456789-", min_size=1, max_size=63))
def test_a_legal_label_stays_as_it_is(text: str) -> None:
    assert label_of(text) == text or not fullmatch(r"(?!.*--)" + HOST, text)


SLUGS = st.from_regex(r"\A[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?\Z")
COUNTS = st.integers(1, 12)
OFFICES = st.fixed_dictionaries({
    "machines": st.dictionaries(st.sampled_from(["files", "directory", "filter", "firewall", "gateway"]), COUNTS),
    "devices": st.dictionaries(SLUGS, COUNTS, max_size=6),
    "zones": st.dictionaries(st.sampled_from(["staff", "servers", "guests"]), COUNTS),
})  # fmt: skip
ISSUED = st.dictionaries(
    SLUGS, st.tuples(st.text(min_size=1, max_size=20), st.sampled_from(["files", "printers", "gone"])), max_size=4
)


def borne(office: Mapping[str, Mapping[str, int]], issued: Mapping[str, tuple[str, str]]) -> dict[str, Bearer]:
    """The register of an office where these names were issued."""
    return bearers(
        PATTERNS, office["machines"], office["devices"], office["zones"], {},
        {f"{holder} {slug}": name for slug, (name, holder) in issued.items()},
    )  # fmt: skip


@given(OFFICES)
def test_labels_are_legal_and_unique(office: Mapping[str, Mapping[str, int]]) -> None:
    labels = [one.label for one in borne(office, {}).values()]
    assert len(labels) == len(set(labels))
    assert all(fullmatch(HOST, label) for label in labels)


@given(OFFICES, ISSUED)
def test_issued_names_never_move(
    office: Mapping[str, Mapping[str, int]], issued: Mapping[str, tuple[str, str]]
) -> None:
    """Every one that is still borne bears the legal form of its issued label, and no new one takes it."""
    given_ = borne(office, issued)
    kept = {slug for slug in given_ if slug in issued}
    for slug in kept:
        assert given_[slug].label == label_of(written_name(issued[slug][0]).split(".")[0])
    new = [one.label for slug, one in given_.items() if slug not in kept]
    assert len(new) == len(set(new))
    assert not set(new) & {given_[slug].label for slug in kept}


@given(OFFICES, SLUGS, COUNTS)
def test_one_more_device_renames_none_that_was_issued(
    office: Mapping[str, Mapping[str, int]], slug: str, many: int
) -> None:
    """Issue all names, then plan more of one kind: everyone keeps name and number."""
    before = borne(office, {})
    issued = {one: (bearer.label, bearer.holder) for one, bearer in before.items()}
    more = {**office, "devices": {**office["devices"], slug: office["devices"].get(slug, 0) + many}}
    after = borne(more, issued)
    assert {one: (after[one].label, after[one].number) for one in before} == {
        one: (bearer.label, bearer.number) for one, bearer in before.items()
    }


@given(OFFICES, COUNTS)
def test_more_of_a_kind_renames_nobody_even_before_names_are_issued(
    office: Mapping[str, Mapping[str, int]], many: int
) -> None:
    before = borne(office, {})
    more = {**office, "devices": {slug: had + many for slug, had in office["devices"].items()}}
    after = borne(more, {})
    assert all(after[slug].label == one.label for slug, one in before.items())


@given(st.dictionaries(SLUGS, st.text(min_size=1, max_size=12), max_size=6))
def test_short_names_are_never_shared(called: Mapping[str, str]) -> None:
    found = stems([*called, "printers", "laptops"], called)
    assert len(set(found.values())) == len(found)


def test_a_plan_keeps_what_the_plan_before_issued() -> None:
    """A year later there are more printers and a new kind comes first: old names and addresses stay."""
    was = names(planned(fold()))
    kept = "".join(f"    {one.slug}: {{holder: {one.holder}, name: {one.name}}}\n" for one in was.values())
    grown = changed(
        changed(fold(), "kind: printer, count: 2", "kind: printer, count: 4"), "devices:\n",
        "devices:\n  camera-on-the-roof: {kind: camera, count: 2, zone: staff}\n",
    )  # fmt: skip
    now = names(api.plan_text(grown, stands=f"issued:\n  names:\n{kept}"))
    assert {slug: now[slug].name for slug in was} == {slug: one.name for slug, one in was.items()}
    assert {"plotter-03", "plotter-04", "camera-on-the-roof-02"} <= set(now)
