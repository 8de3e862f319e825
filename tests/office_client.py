"""Asks a drawing office as a tab does, without a browser and without a socket; what comes back is read by the real parser."""

import asyncio
from collections.abc import Coroutine, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from shutil import copytree
from typing import Any

import httpx2 as httpx

from scantling.web.app import office
from scantling.web.desk import Desk
from scantling.web.tracing_room import room_of

EXAMPLES = Path(__file__).parent.parent / "examples"
TOKEN = "t"  # noqa: S105 - any will do, nobody else listens
TAB = {"HX-Request": "true"}


@dataclass
class Element:
    """An element of a page: its attributes, and all text in it."""

    tag: str
    attributes: Mapping[str, str]
    text: str = ""
    within: "Element | None" = None


class Read(HTMLParser):
    """All elements of a page in their order."""

    EMPTY = frozenset({"input", "meta", "link", "br", "col", "hr", "img"})

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[Element] = []
        self._open: list[Element] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element begins."""
        made = Element(tag, {name: value or "" for name, value in attrs}, "", self._open[-1] if self._open else None)
        self.elements.append(made)
        if tag not in self.EMPTY:
            self._open.append(made)

    def handle_endtag(self, tag: str) -> None:
        """An element ends, and those in it that were left open."""
        while self._open and self._open.pop().tag != tag:
            pass

    def handle_data(self, data: str) -> None:
        """Text, which belongs to every element that is open."""
        for element in self._open:
            element.text += data

    def of(self, tag: str, **attributes: str) -> list[Element]:
        """Elements of a tag with these attributes; `_` in a name stands for a stroke, `class_` for class."""
        wanted = {name.rstrip("_").replace("_", "-"): value for name, value in attributes.items()}
        return [
            one for one in self.elements
            if one.tag == tag and all(one.attributes.get(name) == value for name, value in wanted.items())
        ]  # fmt: skip

    @property
    def text(self) -> str:
        """All text."""
        return "".join(one.text for one in self.elements if one.within is None)


def answered(asked: Coroutine[Any, Any, httpx.Response]) -> httpx.Response:
    """The answer, waited for in a thread of its own: where a browser was driven before, this thread has a running loop."""
    with ThreadPoolExecutor(1) as aside:
        return aside.submit(asyncio.run, asked).result()


@dataclass
class Tab:
    """A tab on an office that is served in this process."""

    desk: Desk
    sheet: str = "tracings"
    address: str = field(default=f"http://127.0.0.1:80/{TOKEN}/")

    def __post_init__(self) -> None:
        self.app = office(self.desk, TOKEN, 80)

    def get(self, path: str, *, page: bool = False, had: str = "{}") -> httpx.Response:
        """What the office answers; `had` are the stamps of what the tab shows."""
        return answered(self._asked("GET", path, {}, page=page, had=had))

    def post(self, path: str, *, page: bool = False, **told: str) -> httpx.Response:
        """What it answers to a form."""
        return answered(self._asked("POST", path, told, page=page))

    async def _asked(
        self, verb: str, path: str, told: Mapping[str, str], *, page: bool, had: str = "{}"
    ) -> httpx.Response:
        headers = (
            {"Host": "127.0.0.1:80"} if page else {"Host": "127.0.0.1:80", "X-Sheet": self.sheet, "X-Had": had, **TAB}
        )
        transport = httpx.ASGITransport(self.app, raise_app_exceptions=True)
        async with httpx.AsyncClient(transport=transport, headers=headers) as client:
            return await client.request(verb, self.address + path, data=dict(told) or None)


@contextmanager
def served(folder: Path, scenario: str = "millrace") -> Iterator[Tab]:
    """A tab on a copy of an example office."""
    copytree(EXAMPLES / scenario, folder, dirs_exist_ok=True)
    desk = Desk(folder)
    try:
        desk.look_again()
        yield Tab(desk)
    finally:
        desk.close()
        room_of(desk).close()
