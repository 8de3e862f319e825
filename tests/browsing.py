"""The drawing office in a real browser: a folder with an office in it, the server as a person starts it, one Chromium for all tests."""

import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest

if TYPE_CHECKING:  # the driver is heavy, and most tests need no browser
    from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES = ROOT / "examples"
CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
QUIET = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
]  # fmt: skip
ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+/[\w-]+/")


@contextmanager
def served(folder: Path) -> Iterator[tuple[str, "subprocess.Popen[str]"]]:
    """The address of a folder's drawing office, and its process."""
    words = [sys.executable, "-m", "scantling", "open", str(folder), "--no-browser"]
    process = subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True
    )
    try:
        yield address_of(process), process
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        if process.stdout is not None:
            process.stdout.close()


def address_of(process: "subprocess.Popen[str]") -> str:
    """The address that an office prints when it is open."""
    assert process.stdout is not None
    told = []
    for line in process.stdout:
        told.append(line)
        if found := ADDRESS.search(line):
            return found[0]
    pytest.fail("the drawing office did not open:\n" + "".join(told))


def first_planned(address: str) -> None:
    """Wait until an office's first plan is there, however busy the machine is: pages that come before it are tried elsewhere."""
    there = HTTPConnection(urlsplit(address).netloc, timeout=60)
    there.request("GET", f"{urlsplit(address).path}sheet/text")
    while "The first plan is being made" in there.getresponse().read().decode():
        there.request("GET", f"{urlsplit(address).path}sheet/text")
    there.close()


@dataclass
class Office:
    """A tab on a drawing office, with everything that went wrong or went out."""

    folder: Path
    address: str
    page: "Page"
    context: "BrowserContext"
    process: "subprocess.Popen[str]"
    console: list[str] = field(default_factory=list)
    strangers: list[str] = field(default_factory=list)

    def go(self, sheet: str) -> "Page":
        """Show a sheet, and wait until nothing more follows."""
        self.page.goto(f"{self.address}sheet/{sheet}")
        self.settled()
        return self.page

    def settled(self) -> None:
        """Wait until the plan is whole: search, second solver and proof are done."""
        self.until("!document.querySelector('#state-line .waiting')")

    def until(self, condition: str, within: float = 60.0) -> None:
        """Wait until a condition of the page holds; the driver's own way evaluates text in the page, which its policy refuses."""
        end = time.monotonic() + within
        while not self._holds(condition):
            assert time.monotonic() < end, f"still not: {condition}\n{self.page.inner_text('body')[:2000]}"
            time.sleep(0.02)

    def _holds(self, condition: str) -> bool:
        from playwright.sync_api import Error  # noqa: PLC0415 - heavy, and most tests need no browser

        try:
            return bool(self.page.evaluate(condition))
        except Error as gone:
            if "context was destroyed" not in str(gone):
                raise
            return False  # another page is on its way

    @property
    def brief(self) -> Path:
        """The brief on disk."""
        return self.folder / "brief.yaml"

    def tab(self) -> "Page":
        """Another tab on the same office."""
        page = self.context.new_page()
        self.watch(page)
        return page

    def watch(self, page: "Page") -> None:
        """Note what the console says, and what is asked of another host."""
        page.on("console", self._said)
        page.on("pageerror", lambda wrong: self.console.append(str(wrong)))
        page.on("request", self._asked)

    def _said(self, message: "ConsoleMessage") -> None:
        self.console.append(f"{message.type}: {message.text}")

    def _asked(self, request: "Request") -> None:
        if urlsplit(request.url).netloc != urlsplit(self.address).netloc and not request.url.startswith(
            ("data:", "blob:")
        ):
            self.strangers.append(request.url)


@dataclass
class Running:
    """The one browser of this process, and how many folders of tests use it: its driver can't be started twice at a time."""

    users: int = 0
    ending: ExitStack = field(default_factory=ExitStack)
    browser: "Browser | None" = None

    def taken(self) -> "Browser":
        """The browser, started by who comes first."""
        if self.browser is None:
            from playwright.sync_api import sync_playwright  # noqa: PLC0415 - heavy, and most tests need no browser

            driver = self.ending.enter_context(sync_playwright())
            self.browser = driver.chromium.launch(executable_path=CHROMIUM, args=QUIET)
            self.ending.callback(self.browser.close)
        self.users += 1
        return self.browser

    def given_back(self) -> None:
        """Ended by who goes last."""
        self.users -= 1
        if not self.users:
            self.ending.close()
            self.browser = None


RUNNING = Running()


@pytest.fixture(scope="session")
def chromium() -> Iterator["Browser"]:
    """One browser for the whole run."""
    yield RUNNING.taken()
    RUNNING.given_back()


Opens = Callable[..., Office]


@pytest.fixture
def opens(chromium: "Browser", tmp_path: Path) -> Iterator[Opens]:
    """Opens the drawing office of a scenario (None: an empty folder), or of a folder that the test made."""
    with ExitStack() as ending:

        def opened(scenario: str | Path | None = "millrace", width: int = 1440, look: str = "day") -> Office:
            folder = scenario if isinstance(scenario, Path) else tmp_path / (scenario or "empty")
            if not isinstance(scenario, Path):
                folder.mkdir()
                for path in sorted((EXAMPLES / scenario).iterdir()) if scenario else ():
                    shutil.copy(path, folder / path.name)
            address, process = ending.enter_context(served(folder))
            first_planned(address)
            context = chromium.new_context(viewport={"width": width, "height": 900})
            ending.callback(context.close)
            context.add_cookies([{"name": "look", "value": look, "url": address}])
            office = Office(folder, address, context.new_page(), context, process)
            office.watch(office.page)
            return office

        yield opened


@pytest.fixture
def office(opens: Opens) -> Iterator[Office]:
    """The drawing office of the Millrace, whose console must stay empty and which asks nobody else for anything."""
    opened = opens("millrace")
    opened.go("N-1")
    yield opened
    assert opened.console == []
    assert opened.strangers == []
