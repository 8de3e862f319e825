"""The purity check sees what import contracts can't: each impure word is planted once."""

from pathlib import Path

import pytest

from purity import complaints, impurities

PLANTED = [
    "open('x')",
    "f = open",
    "print(1)",
    "input()",
    "breakpoint()",
    "__import__('os')",
    "from datetime import datetime\ndatetime.now()",
    "from datetime import datetime\nclock = datetime.now",
    "from datetime import datetime as moment\nclock = moment.utcnow",
    "from datetime import date\ndate.today()",
    "import datetime\nclock = datetime.datetime.now",
    "import datetime\nclock = datetime.date.today",
    "from datetime import datetime\ngetattr(datetime, 'now')()",
    "from operator import attrgetter\nattrgetter('now')(x)",
    "import time",
    "from time import monotonic",
    "import random",
    "from random import choice",
    "import numpy\nnumpy.random.default_rng()",
    "import numpy as np\nnp.random.seed(1)",
    "from numpy import random",
    "import numpy.random",
    "from numpy.random import default_rng",
    "import os",
    "from os import environ",
    "import os.path",
    "import sys\nsys.argv",
    "from sys import stdin",
    "import secrets",
    "import uuid",
    "import pathlib",
    "import subprocess",
    "def f(path): return path.read_text()",
    "def f(path): path.write_bytes(b'')",
    "def f(path): return path.open()",
]
PURE = [
    "from datetime import date\ndate(2026, 1, 2)",
    "from datetime import date, timedelta\ndate(2026, 1, 2) + timedelta(days=1)",
    "device.now",  # a figure of today
    "import ast, inspect, importlib, pkgutil",
    "class C:\n    def open_hours(self): ...",
    "getattr(row, 'price')",
    "import numpy\nnumpy.cumsum(x)",
]
VALUES = [
    "figure.value",
    "Level.MIRROR.value",
    "getattr(figure, 'value')",
    "attrgetter('how.value')(figure)",
    "match x:\n    case Figure(value=v): ...",
]


@pytest.mark.parametrize("text", PLANTED)
def test_planted_impurities_are_found_at_their_line(text: str) -> None:
    told = list(impurities("m.py", "\n" + text))
    assert told
    assert {line.split(":")[1] for line in told} <= {str(n) for n in range(2, 3 + text.count("\n"))}


@pytest.mark.parametrize("text", PURE)
def test_what_is_pure_passes(text: str) -> None:
    assert not list(impurities("m.py", text, trade=True))


@pytest.mark.parametrize("text", VALUES)
def test_a_trade_never_reads_a_value(text: str) -> None:
    assert any("reads .value" in said for said in impurities("m.py", text, trade=True))
    assert not list(impurities("m.py", text))


def test_only_the_rooms_that_compute_are_held_to_it(tmp_path: Path) -> None:
    for room in ("figures", "handbook", "disciplines", "plan", "outputs", "brief"):
        (tmp_path / "src/scantling" / room).mkdir(parents=True)
        (tmp_path / "src/scantling" / room / "m.py").write_text("x = open('y').value\n")
    told = complaints(tmp_path)
    assert len(told) == 5
    assert [said.split("/")[2] for said in told if "reads .value" in said] == ["disciplines"]
