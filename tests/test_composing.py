"""The brief's text read by two roads, this room's and ruamel's own composer; and that no slip brings a crash."""

from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from brief_samples import WHOLE, read
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, ScalarNode

from scantling.figures.composing import composed
from scantling.brief.loading import BriefError
from scantling.figures.placed import Node, Text

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*/brief.yaml"))


def readable(text: str) -> bool:
    """Whether ruamel can read back what it writes: it leaves these two marks unquoted at the beginning of a word."""
    return not text.startswith((":", "?")) and text != "<<"


NAMES = st.text("abcdefghij-0123456789 ,:#[]{}&*!|>'\"%@`ö€", min_size=1, max_size=12).filter(readable)
TREES = st.recursive(
    st.text(st.characters(exclude_categories=("Cc", "Cs", "Co", "Cn", "Zl", "Zp")), max_size=30).filter(readable),
    lambda inside: st.lists(inside, max_size=4) | st.dictionaries(NAMES, inside, max_size=4),
    max_leaves=20,
)


@given(st.dictionaries(NAMES, TREES, min_size=1, max_size=5))
def test_what_ruamel_writes_is_read_as_its_own_composer_reads_it(tree: dict[str, Any]) -> None:
    stream = StringIO()
    YAML(pure=True, typ="safe").dump(tree, stream)
    text = stream.getvalue()
    theirs = YAML(pure=True).compose(StringIO(text))
    ours, mistakes = composed(text, "b")
    assert mistakes == []
    _same_places(theirs, ours)
    assert ours == tree


def test_places_are_those_of_ruamels_own_composer() -> None:
    for path in EXAMPLES:
        text = path.read_text(encoding="utf-8")
        tree, _ = composed(text, "b")
        _same_places(YAML(pure=True).compose(StringIO(text)), tree)


def _same_places(theirs: Any, ours: Any) -> None:
    at = (theirs.start_mark.line + 1, theirs.start_mark.column + 1)
    if isinstance(theirs, ScalarNode):
        assert isinstance(ours, Text)
        assert str(ours) == theirs.value
        assert (ours.line, ours.column) == at or theirs.value == ""  # nothing is placed at the word before it
    elif isinstance(theirs, MappingNode):
        assert isinstance(ours, Node)
        assert ours.at == at
        assert len(ours) == len(theirs.value)
        for key, value in theirs.value:
            assert ours.keys_at[key.value] == (key.start_mark.line + 1, key.start_mark.column + 1)
            _same_places(value, ours[key.value])
    else:
        assert len(ours) == len(theirs.value)
        for value, made in zip(theirs.value, ours, strict=True):
            _same_places(value, made)


@given(st.text(max_size=200))
def test_no_text_brings_anything_but_a_brief_error(text: str) -> None:
    with pytest.raises(BriefError):
        read(text)


@given(
    st.integers(0, len(WHOLE) - 1),
    st.text("\n\t :,{}[]#&*!|>'\"%@`-?<=a1\ufeff\u2028", max_size=3),
    st.integers(0, 3),
)
def test_no_slip_in_a_brief_brings_anything_but_a_brief_error(at: int, put: str, drop: int) -> None:
    try:
        read(WHOLE[:at] + put + WHOLE[at + drop :])
    except BriefError as wrong:
        assert all(mistake.line >= 1 and mistake.column >= 1 and mistake.says for mistake in wrong.mistakes)  # noqa: PT017
