"""Changing single values in a written file: only they differ, comments stay, and the strict reader reads the result."""

import pytest
from hypothesis import given, strategies as st

from conftest import costly
from hostile import HOSTILE
from scantling.catalogue.edited import Wanted, with_values
from scantling.figures.composing import placed
from scantling.figures.placed import WrittenError

FLOW = "# top\ndisk:  # disks\n  a: {price: 1 EUR, priced_on: 2026-01-01}  # first\n  # between\n  b: {price: 2 EUR}\n\n# end\n"
BLOCK = "# top\ndisk:\n  a:  # first\n    price: 1 EUR  # one\n    priced_on: 2026-01-01\n\n  # between\n  b:\n    price: 2 EUR\n# end\n"
slugs = st.from_regex(r"[a-z][a-z0-9-]{0,8}", fullmatch=True)
words = st.one_of(st.sampled_from(HOSTILE), st.from_regex(r"[0-9]{1,4}\.[0-9]{2} EUR", fullmatch=True))
rows = st.dictionaries(slugs, words, min_size=1, max_size=4)
trees = st.dictionaries(slugs, st.dictionaries(slugs, rows, min_size=1, max_size=3), min_size=1, max_size=2)


def plain(text: str) -> dict[str, object]:
    """The tree without places."""

    def bare(node: object) -> object:
        return {key: bare(value) for key, value in node.items()} if isinstance(node, dict) else str(node)

    return {key: bare(value) for key, value in placed(text, "x.yaml").items()}


@pytest.mark.parametrize("text", [FLOW, BLOCK])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_one_value_changed_is_one_line_changed(text: str, newline: str) -> None:
    before = text.replace("\n", newline)
    after = with_values(before, "x.yaml", {"disk": {"a": {"price": "9.00 EUR"}}})
    assert after == before.replace("1 EUR", "9.00 EUR")


def test_keys_come_and_go_and_comments_stay() -> None:
    wanted: Wanted = {
        "disk": {"a": {"price": "9.00 EUR", "priced_on": None, "valid_until": "2026-02-02"}, "c": {"price": "3 EUR"}}
    }
    assert with_values(FLOW, "x.yaml", wanted) == (
        "# top\ndisk:  # disks\n  a: {price: 9.00 EUR, valid_until: 2026-02-02}  # first\n  # between\n  b: {price: 2 EUR}\n"
        "  c: {price: 3 EUR}\n\n# end\n"
    )
    assert with_values(BLOCK, "x.yaml", wanted) == (
        "# top\ndisk:\n  a:  # first\n    price: 9.00 EUR  # one\n    valid_until: 2026-02-02\n\n  # between\n  b:\n    price: 2 EUR\n"
        "  c: {price: 3 EUR}\n# end\n"
    )


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("", "a:\n  b: c\n"),
        ("# only words", "# only words\na:\n  b: c\n"),
        ("a:\n", "a:\n  b: c\n"),
        ("a: {}", "a: {b: c}"),
        ("a: {b: d}", "a: {b: c}"),
        ("x: y", "x: y\na:\n  b: c\n"),
        ("a:\n  x: y", "a:\n  x: y\n  b: c\n"),
        ("{x: y}", "{x: y, a: {b: c}}"),
        ("a:  # why\nz: 1\n", "a:  # why\n  b: c\nz: 1\n"),
    ],
)  # fmt: skip
def test_odd_beginnings_end_well(before: str, after: str) -> None:
    assert with_values(before, "x.yaml", {"a": {"b": "c"}}) == after


@costly
@given(trees, trees)
def test_whatever_is_laid_over_whatever_reads_back(
    first: dict[str, dict[str, dict[str, str]]], second: dict[str, dict[str, dict[str, str]]]
) -> None:
    text = with_values("# begun\n", "x.yaml", first)
    assert plain(text) == first
    after = with_values(text, "x.yaml", second)
    merged = {kind: {slug: dict(row) for slug, row in rows.items()} for kind, rows in first.items()}
    for kind, rows in second.items():
        for slug, row in rows.items():
            merged.setdefault(kind, {}).setdefault(slug, {}).update(row)
    assert plain(after) == merged
    touched = sum(len(rows) for rows in second.values()) + len(second)
    assert len(set(text.splitlines()) - set(after.splitlines())) <= touched
    assert with_values(after, "x.yaml", second) == after


@costly
@given(trees, st.data())
def test_what_is_taken_away_is_gone_and_nothing_else(
    tree: dict[str, dict[str, dict[str, str]]], data: st.DataObject
) -> None:
    kind = data.draw(st.sampled_from(sorted(tree)))
    slug = data.draw(st.sampled_from(sorted(tree[kind])))
    gone = data.draw(st.sets(st.sampled_from(sorted(tree[kind][slug]))))
    after = with_values(with_values("", "x.yaml", tree), "x.yaml", {kind: {slug: dict.fromkeys(gone)}})
    tree[kind][slug] = {key: value for key, value in tree[kind][slug].items() if key not in gone}
    assert plain(after) == tree


def test_what_cannot_be_changed_alone_is_refused() -> None:
    with pytest.raises(WrittenError, match=r"x\.yaml:1:1: a tab stands here"):
        with_values("\ta: b\n", "x.yaml", {"a": "c"})
    with pytest.raises(WrittenError, match="can't be changed line by line"):
        with_values("a:\n  b: c\n", "x.yaml", {"a": {"b": None}})
