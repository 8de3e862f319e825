"""The drawing office of the Millrace: first page from start, the server's side of an edit, and from the key to the screen.

The reference is one whole plan of the same brief in the same run, search and all: what an edit would cost without a provisional plan.
Measured with the browser that the tests use; medians, since the machine is shared.
"""

import http.client
import json
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from time import perf_counter, sleep
from typing import TYPE_CHECKING
from urllib.parse import urlencode, urlsplit

sys.path.append(str(Path(__file__).parent.parent / "tests"))

from browsing import CHROMIUM, EXAMPLES, QUIET, served
from measuring import Row
from scantling import api

if TYPE_CHECKING:
    from playwright.sync_api import Page

ANSWER = "people.roles.programme.heads"
TURNS = 9
SHEETS = ("brief", "N-1", "host")
LANDED = """
() => new Promise((done) => {
  const field = document.querySelector("[data-answer='%s']");
  const place = document.querySelector("#changes");
  const before = performance.now();
  const seen = new MutationObserver(() => requestAnimationFrame(() => { seen.disconnect(); done(performance.now() - before); }));
  seen.observe(place.parentNode, { childList: true, subtree: true, characterData: true, attributes: true });
  field.value = "%s";
  field.dispatchEvent(new Event("input", { bubbles: true }));
  field.dispatchEvent(new Event("change", { bubbles: true }));
})
"""


def bench_office() -> Iterator[Row]:
    """First page, edits told by each sheet, and from the key to the screen."""
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept) / "millrace"
        shutil.copytree(EXAMPLES / "millrace", folder)
        whole = _clocked(lambda: api.planned(folder / "brief.yaml"))
        against = "a whole plan, search and all"
        yield Row(
            "first page from start, by the command",
            median(_first_page(folder) for _ in range(3)),
            against,
            whole,
            "under 0.6 s",
        )
        with served(folder) as (address, _):
            for sheet in SHEETS:
                seconds = median(_edits(address, sheet))
                yield Row(
                    f"server's side of an edit, sheet {sheet}", seconds, against, whole, "under 80 ms (beyond: 50)"
                )
            yield Row(
                "from the key to the screen, the brief",
                median(_in_the_browser(address)),
                against,
                whole,
                "under 150 ms (beyond: 100)",
            )


def _clocked(work: object) -> float:
    assert callable(work)
    times = []
    for _ in range(5):
        begun = perf_counter()
        work()
        times.append(perf_counter() - begun)
    return median(times)


def _first_page(folder: Path) -> float:
    begun = perf_counter()
    with served(folder) as (address, _):
        there = _connected(address)
        there.request("GET", f"{urlsplit(address).path}sheet/N-1")
        there.getresponse().read()
        seconds = perf_counter() - begun
        there.close()
    return seconds


def _connected(address: str) -> http.client.HTTPConnection:
    return http.client.HTTPConnection(urlsplit(address).netloc, timeout=60)


def _edits(address: str, sheet: str) -> list[float]:
    """Seconds from asking for an edit to the last byte of what is to be redrawn, as a tab on this sheet asks."""
    there, path = _connected(address), urlsplit(address).path
    times = []
    for turn in range(TURNS):
        page = _settled(there, f"{path}sheet/{sheet}")
        stamps = dict(re.findall(r'id="([^"]+)" data-stamp="([0-9a-f]+)"', page))
        headers = {
            "Content-Type": "application/x-www-form-urlencoded", "HX-Request": "true", "X-Sheet": sheet, "X-Had": json.dumps(stamps),
        }  # fmt: skip
        body = urlencode({"id": ANSWER, "value": str(13 + turn), "where": ""})
        begun = perf_counter()
        there.request("POST", f"{path}brief/save", body, headers)
        answer = there.getresponse().read()
        times.append(perf_counter() - begun)
        assert b"hx-partial" in answer
    there.close()
    return times


def _settled(there: http.client.HTTPConnection, sheet: str) -> str:
    """The page, when nothing of the edit before follows any more: nobody edits faster than that."""
    while True:
        there.request("GET", sheet)
        page = there.getresponse().read().decode()
        if 'class="waiting"' not in page:
            return page
        sleep(0.05)


def _in_the_browser(address: str) -> list[float]:
    """Seconds from a changed field to the next picture that shows what moved."""
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - heavy, and only this one needs it

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.goto(f"{address}sheet/brief")
        times = [_landed(page, 30 + turn) for turn in range(TURNS)]
        browser.close()
    return times


def _landed(page: "Page", heads: int) -> float:
    while page.evaluate("!!document.querySelector('#state-line .waiting')"):
        page.wait_for_timeout(30)
    return float(page.evaluate(LANDED % (ANSWER, heads))) / 1000
