"""The smallest briefs: one line of an office, and a service or two; nothing is invented for what is not asked."""

from offices import codes, planned

from scantling.outputs.publish import published

LINE = "office: {name: Nobody, country: IE, currency: EUR, as_of: 2026-11-25}\n"
PEOPLE = "people: {roles: {all: {name: All, heads: 5}}}\n"


def test_an_office_alone_plans_nothing_to_buy() -> None:
    """And its book is printed all the same."""
    made = planned(LINE)
    assert not made.purchase.chosen.options
    assert {"book.pdf", "book.html", "plan.json"} <= set(published(made))


def test_one_service_gets_a_server_and_a_backup() -> None:
    """The backup is always in the price."""
    made = planned(LINE + PEOPLE + "services: {files: {profile: files}}\n")
    assert {"host", "processor", "memory", "near", "away", "ups"} <= set(made.purchase.chosen.options)
    assert "M-7" in codes(made)
