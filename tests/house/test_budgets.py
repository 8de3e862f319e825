"""The budgets see what they should: each limit has a planted violation just over it and a neighbour just inside."""

from pathlib import Path

import pytest

from budgets import LIMITS, Measure, Raise, complaints, judge, measures, silences

OPENING = '"""Says what it is for."""\n'


def amounts(text: str, what: str) -> dict[str, int]:
    """One kind of measure by place."""
    return {m.where: m.amount for m in measures("m.py", text) if m.what == what}


def over(text: str) -> list[str]:
    """What is over its limit in a module of this text."""
    return list(judge(list(measures("m.py", text)), [], Path()))


@pytest.mark.parametrize(("lines", "told"), [(300, 0), (301, 1)])
def test_a_module_may_have_300_lines(lines: int, told: int) -> None:
    assert len(over("\n" * lines)) == told


@pytest.mark.parametrize(("lines", "told"), [(40, 0), (41, 1)])
def test_a_function_may_have_40_lines_of_code(lines: int, told: int) -> None:
    assert len(over("def f():\n" + "    x = 1\n" * (lines - 1))) == told


def test_docstrings_comments_and_blank_lines_are_no_code() -> None:
    text = (
        'def f():\n    """One.\n\n    Two.\n    """\n\n    # why\n    x = (\n        1  # here\n    )\n    return x\n'
    )
    assert amounts(text, "code lines") == {"m.py:f": 5}


def test_a_text_over_several_lines_is_code() -> None:
    assert amounts('def f():\n    return """a\n\nb"""\n', "code lines") == {"m.py:f": 4}


@pytest.mark.parametrize(("depth", "told"), [(3, 0), (4, 1)])
def test_blocks_may_stand_three_deep(depth: int, told: int) -> None:
    blocks = ["if a:", "for b in c:", "with d:", "while e:"][:depth]
    body = "".join(f"{'    ' * (level + 1)}{line}\n" for level, line in enumerate([*blocks, "pass"]))
    assert len(over(f"def f():\n{body}")) == told


def test_elif_stands_beside_its_if() -> None:
    text = "def f():\n    if a:\n        b()\n    elif c:\n        d()\n    elif e:\n        for g in h:\n            g()\n"
    assert amounts(text, "nesting") == {"m.py:f": 2}


def test_an_if_within_else_is_deeper_once_it_has_company() -> None:
    text = "def f():\n    if a:\n        pass\n    else:\n        if b:\n            pass\n        c()\n"
    assert amounts(text, "nesting") == {"m.py:f": 2}


@pytest.mark.parametrize("count", [6, 7])
def test_a_function_may_take_six_arguments(count: int) -> None:
    names = [f"a{i}" for i in range(count)]
    texts = [f"def f({', '.join(names)}): ...\n", f"class C:\n    def f(self, a, *, {', '.join(names[1:])}): ...\n"]
    assert [len(over(text)) for text in texts] == [count > LIMITS["arguments"]] * 2


def test_functions_within_functions_and_classes_are_measured_by_themselves() -> None:
    text = "class C:\n    async def f(self):\n        def g(a, b): ...\n"
    assert amounts(text, "arguments") == {"m.py:C.f": 0, "m.py:C.f.g": 2}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("x = 1\n", "m.py:1: opens without a sentence"),
        ('"""No end"""\n', "m.py:1: opens without a sentence"),
        (OPENING + "def f(): ...\n", "m.py:2: f has no docstring"),
        (OPENING + 'class C:\n    """Yes."""\n    def f(self): ...\n', "m.py:4: C.f has no docstring"),
        (OPENING + "class C: ...\n", "m.py:2: C has no docstring"),
    ],
)
def test_public_things_speak(text: str, told: str) -> None:
    assert [line.startswith(told) for line in silences("m.py", text)] == [True]


def test_private_things_may_be_silent() -> None:
    text = OPENING + "def _f(): ...\nclass _C:\n    def g(self): ...\n"
    assert not list(silences("m.py", text))
    assert not list(silences("tests/test_m.py", OPENING + "def test_f(): ...\n"))


def test_a_raise_needs_a_reason_a_place_and_a_need(tmp_path: Path) -> None:
    found = [Measure("m.py:f", 3, "code lines", 44), Measure("m.py:g", 9, "code lines", 12)]
    (tmp_path / "why.md").write_text("why")
    assert not list(judge(found, [Raise("m.py:f", "code lines", 44, "why.md")], tmp_path))
    assert "code lines 44, limit 43" in "".join(judge(found, [Raise("m.py:f", "code lines", 43, "why.md")], tmp_path))
    for wrong, said in [
        (Raise("m.py:f", "code lines", 44, "gone.md"), "names a page that is not there"),
        (Raise("m.py:g", "code lines", 50, "why.md"), "needs no raise any more"),
        (Raise("m.py:h", "code lines", 50, "why.md"), "nothing measured is called m.py:h"),
    ]:
        assert said in "".join(judge(found, [wrong], tmp_path))


def test_a_whole_tree_is_walked(tmp_path: Path) -> None:
    for room in ("src/scantling", "tools", "benchmarks", "tests/house", "decisions"):
        (tmp_path / room).mkdir(parents=True)
        if room != "decisions":
            (tmp_path / room / "m.py").write_text("x = 1\n")
    (tmp_path / "decisions/budgets.yaml").write_text("[]\n")
    assert len(complaints(tmp_path)) == 4
