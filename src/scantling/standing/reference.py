"""The page from which a newcomer writes down what stands: an example, then every section, question and default."""

from collections.abc import Mapping

from scantling.brief.loading import Default
from scantling.brief.reference import page
from scantling.standing import SECTIONS

EXAMPLE = """\
# What stands at Larkfield Seeds, an invented shop, after a survey on 2026-11-20.
kit:
  old-tower: {name: Ageing tower server, kind: host, do: retire, known: seen, since: 2017-03-01, place: store room}
  battery:   {name: Battery unit under the desk, kind: ups, article: unit-750, serves: ups, do: reuse, known: seen,
              since: 2025-05-12, warranty_until: 2028-05-12, serial: "BU-2218"}

bought:
  copies: {serves: near, article: box-18, on: 2026-02-03, price: 899.00 EUR, warranty_until: 2029-02-03}

issued:
  block: 10.44.0.0/16
  zones:
    staff: {number: 30, network: 10.44.30.0/24, gateway: 10.44.30.1}
  addresses:
    label-printer: {zone: staff, holder: label-printer, address: 10.44.30.20}
"""

HOW = f"""\
# Writing down what stands

What is there already is written in `standing.yaml`, beside the brief. It may be missing, and it may be empty. The plan keeps
what stands and only adds: an address that was issued never moves, and a part that is there costs nothing and is judged
like any other. `scantling keep` adds what a plan has issued and bought; a person writes the kit that a survey found.

```yaml
{EXAMPLE.strip()}
```

- *serves* says as which part of the purchase a thing serves: `host processor memory boot fast bulk switch ups cabinet near away`.
- *built* is how the plan calls the way parts are put together, such as an array with its level; `keep` writes it.
- A part that took another's place, such as a larger disk for a dead one, says so with *stands_for*.
- *retire* takes a thing out of the plan. What is only *guessed* is asked for before anything is ordered.
- Serial numbers and hardware addresses say who owns what: keep the file where only those see it who look after the office.
- Answers are written as in a brief ([Writing a brief](brief-reference.md)); all mistakes are told at once, each with its place.
"""


def standing_page(defaults: Mapping[str, Default]) -> str:
    """The whole page as Markdown."""
    return page(SECTIONS, defaults, {}, HOW)
