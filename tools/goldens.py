"""Headline figures, findings, identity and drawings of the example offices: what moved, and with --write the new ones.

tools/goldens.py                  what moved since the goldens were written; 1 if anything did
tools/goldens.py --write          the same, and write the new goldens
tools/goldens.py --sheet FILE     a page with every drawing that moved, before and after
"""

import base64
import html
import json
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

from ruamel.yaml import YAML

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "src")]

from scantling import api  # noqa: E402 - the path comes first
from scantling.figures.numbers import in_currency, plain  # noqa: E402 - as above
from scantling.outputs.drawings.drawn import drawings  # noqa: E402 - as above
from scantling.plan.make import Plan  # noqa: E402 - as above
from scantling.plan.telling import identity  # noqa: E402 - as above

FOLDER = ROOT / "tests/goldens"
SCENARIOS = {  # as tests/offices.py has them
    "millrace": ROOT / "examples/millrace/brief.yaml",
    "fold": ROOT / "examples/fold-and-fell/brief.yaml",
    "brackwater": ROOT / "examples/brackwater/brief.yaml",
}
IDENTITY, NOTHING = "identity of the plan", "nothing"
PAGE = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>Drawings before and after</title>
<style>body{{font:14px sans-serif;margin:1em}}td{{width:50%;border:1px solid #999}}img{{width:100%}}</style>
<h1>Drawings before and after</h1>
{rows}
</html>
"""


def headlines(scenario: str) -> list[str]:
    """Ids of a scenario's headline figures."""
    listed = YAML(typ="safe").load((FOLDER / "headlines.yaml").read_text("utf-8"))
    return [*listed["every"], *listed[scenario]]


def told(plan: Plan, ids: list[str]) -> dict[str, str]:
    """Each headline figure as text, the findings by their place, and the identity. Raises KeyError for no such id."""
    made = {id_: _value(plan, id_) for id_ in ids}
    for place, finding in enumerate(plan.findings, 1):
        made[f"finding {place}"] = f"{finding.weight} {finding.finding.code}: {finding.says}"
    return made | {IDENTITY: identity(plan)}


def _value(plan: Plan, id_: str) -> str:
    figure = plan.figures[id_]
    value = plain(figure.value)
    said = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, sort_keys=True)
    return in_currency(f"{said} {figure.unit.symbol}".rstrip(), plan.currency)


def kept(scenario: str) -> dict[str, str]:
    """What was written last; empty where nothing was."""
    path = FOLDER / f"{scenario}.json"
    read: dict[str, str] = json.loads(path.read_text("utf-8")) if path.is_file() else {}
    return read


def kept_drawings(scenario: str) -> dict[str, str]:
    """The drawings written last, by sheet."""
    return {path.stem: path.read_text("utf-8") for path in sorted((FOLDER / scenario).glob("*.svg"))}


def moved(before: Mapping[str, str], after: Mapping[str, str]) -> Iterator[str]:
    """A line for everything that is not as it was: what, before → after."""
    for name in dict.fromkeys([*after, *before]):
        was, is_ = before.get(name, NOTHING), after.get(name, NOTHING)
        if was != is_:
            yield f"{name}: {was} → {is_}"


def moved_drawings(before: Mapping[str, str], after: Mapping[str, str]) -> list[str]:
    """Sheets that are not as they were."""
    return [sheet for sheet in sorted({*before, *after}) if before.get(sheet) != after.get(sheet)]


def contact_sheet(pairs: Mapping[str, tuple[str, str]]) -> str:
    """A page with drawings side by side, before and after, by name; it needs no other file."""
    rows = "\n".join(
        f"<h2>{html.escape(name)}</h2><table><tr><td>{_image(was)}</td><td>{_image(is_)}</td></tr></table>"
        for name, (was, is_) in pairs.items()
    )
    return PAGE.format(rows=rows or "<p>No drawing moved.</p>")


def _image(svg: str) -> str:
    if not svg:
        return "none"
    return f'<img alt="" src="data:image/svg+xml;base64,{base64.b64encode(svg.encode()).decode()}">'


def write(scenario: str, values: Mapping[str, str], sheets: Mapping[str, str]) -> None:
    """The new goldens of a scenario; drawings that are no more are taken away."""
    folder = FOLDER / scenario
    folder.mkdir(parents=True, exist_ok=True)
    _put(FOLDER / f"{scenario}.json", json.dumps(values, ensure_ascii=False, indent=1) + "\n")
    for path in folder.glob("*.svg"):
        if path.stem not in sheets:
            path.unlink()
    for name, svg in sheets.items():
        _put(folder / f"{name}.svg", svg)


def _put(path: Path, content: str) -> None:
    part = path.with_name(path.name + ".part")
    part.write_text(content, "utf-8")
    part.replace(path)


def main(words: list[str]) -> int:
    """Print what moved; 1 if anything did and it was not written, 2 for words that mean nothing."""
    sheet = Path(words[1]) if len(words) == 2 and words[0] == "--sheet" else None  # noqa: PLR2004 - the word and its file
    if words not in ([], ["--write"]) and sheet is None:
        print(__doc__)
        return 2
    lines: list[str] = []
    pairs: dict[str, tuple[str, str]] = {}
    for scenario, path in SCENARIOS.items():
        plan = api.plan(path)
        values, before = told(plan, headlines(scenario)), kept(scenario)
        new, old = drawings(plan), kept_drawings(scenario)
        lines += [f"{scenario}  {line}" for line in moved(before, values)]
        changed = moved_drawings(old, new)
        lines += [f"{scenario}  drawing {name} moved" for name in changed]
        pairs |= {f"{scenario} {name}": (old.get(name, ""), new.get(name, "")) for name in changed}
        if words == ["--write"]:
            write(scenario, values, new)
    if sheet is not None:
        _put(sheet, contact_sheet(pairs))
    print("\n".join(lines) or "nothing moved")
    return 1 if lines and words != ["--write"] else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
