"""Keeps strangers out: the token, the host, requests of other sites, bodies without end; and says what a page may do."""

import sys
from collections.abc import Sequence
from secrets import compare_digest
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from scantling import defect

MOST_BYTES = 4_000_000
"""No form of the office is larger; a brief may be one megabyte, and a form writes each odd letter as three."""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
"""Content Security Policy Level 3: nothing but our own files runs, shows or is asked for."""
ALWAYS: Sequence[tuple[str, str]] = (
    ("Content-Security-Policy", POLICY),
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("X-Frame-Options", "DENY"),
    ("Cache-Control", "no-store"),
)
SAFE = {"GET", "HEAD"}
OURS = {"same-origin", "none", ""}


class TooLongError(Exception):
    """A body that goes on past the limit."""


class Guard:
    """Stands before the office; what gets past it bears the token, is meant for this host and comes from its own pages."""

    def __init__(self, app: ASGIApp, token: str, port: int) -> None:
        self.app, self.token = app, token
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, pass on, or refuse with a sentence."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refused = self._refused(scope, headers)
        if refused is not None:
            await PlainTextResponse(refused[1] + "\n", refused[0], dict(ALWAYS))(scope, receive, send)
            return
        await self._passed({**scope, "root_path": f"/{self.token}"}, receive, send)

    def _refused(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        """Status and sentence, None where nothing is wrong."""
        if headers.get("host", "") not in self.hosts:
            return (
                421,
                "This drawing office answers on this machine only, under the address that `scantling open` printed.",
            )
        first = scope["path"].lstrip("/").split("/", 1)[0]
        if not compare_digest(first.encode(), self.token.encode()):
            return (
                403,
                "This address lacks the token of this drawing office. Use the whole address that `scantling open` printed.",
            )
        if headers.get("sec-fetch-site", "") not in OURS:
            return 403, "Another site asked for this; the drawing office answers its own pages only."
        origin = headers.get("origin")
        if (
            scope["method"] not in SAFE
            and origin is not None
            and origin not in {f"http://{host}" for host in self.hosts}
        ):
            return 403, "A form of another site was sent here; the drawing office takes its own forms only."
        if int(length) > MOST_BYTES if (length := headers.get("content-length", "0")).isdigit() else True:
            return 413, "That is more than a brief may be; nothing was changed."
        return None

    async def _passed(self, scope: Scope, receive: Receive, send: Send) -> None:
        begun, taken = False, 0

        async def counted() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > MOST_BYTES:
                raise TooLongError
            return message

        async def dressed(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                _dress(message)
            await send(message)

        try:
            await self.app(scope, counted, dressed)
            status, words = 0, ""
        except TooLongError:
            status, words = 413, "That is more than a brief may be; nothing was changed."
        except Exception as wrong:  # noqa: BLE001 - the last door: whatever it is, the person gets a sentence
            status, words = 500, defect(wrong)
            print(words, file=sys.stderr)  # noqa: T201 - to whoever opened the office, as every command tells it
        if status and not begun:
            await PlainTextResponse(words + "\n", status, dict(ALWAYS))(scope, receive, send)


def _dress(message: Any) -> None:
    """Say what the page may do, unless the answer says it more strictly itself."""
    headers = MutableHeaders(scope=message)
    for name, value in ALWAYS:
        if name not in headers:
            headers[name] = value
