"""Serves one folder's drawing office on the loopback address, and watches the files that others may change."""

import asyncio
import contextlib
import gc
import secrets
import socket
from collections.abc import Callable
from pathlib import Path

import uvicorn
from starlette.concurrency import run_in_threadpool

from scantling import UserError
from scantling.web import rooms
from scantling.web.app import office
from scantling.web.beforehand import load_sheet, load_trades
from scantling.web.desk import Desk
from scantling.web.worker import Worker

LOOPBACK = "127.0.0.1"
TOKEN_BYTES = 18
LOOKS_AGAIN = 0.4


def serve(
    folder: Path, port: int, firm: Path | None, ready: Callable[[str], None], worker: Worker | None = None
) -> None:
    """Serve until the person ends it. `ready` is told the address. Raises UserError when the port can't be had.

    `worker` is one that has begun with the same folder already.
    """
    token = secrets.token_urlsafe(TOKEN_BYTES)
    listener = listening(port)
    own = listener.getsockname()[1]
    desk = Desk(folder, firm, worker)
    desk.worker.warm()
    load_trades()
    config = uvicorn.Config(
        office(desk, token, own), log_level="warning", access_log=False, lifespan="off", server_header=False,
        timeout_graceful_shutdown=1, timeout_keep_alive=30, loop="asyncio", http="h11", ws="none",
    )  # fmt: skip
    server = uvicorn.Server(config)
    try:
        asyncio.run(_served(server, listener, desk, lambda: ready(f"http://{LOOPBACK}:{own}/{token}/")))
    finally:
        rooms.close(desk)
        desk.close()
        listener.close()


def listening(port: int) -> socket.socket:
    """A socket that only this machine can reach. Raises UserError."""
    # Named as TCP, so that the loop sends small answers at once: else each waits 40 ms for an acknowledgement (RFC 896, RFC 1122 4.2.3.2).
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((LOOPBACK, port))
    except OSError as wrong:
        listener.close()
        raise UserError(
            f"can't open the drawing office at port {port}: {wrong.strerror}; take another with --port, or 0 for any"
        ) from None
    return listener


async def _served(server: uvicorn.Server, listener: socket.socket, desk: Desk, ready: Callable[[], None]) -> None:
    await asyncio.to_thread(desk.look_again, leaves=True)
    watching = asyncio.create_task(_watched(desk))
    serving = asyncio.create_task(server.serve([listener]))
    closing = asyncio.create_task(_closed_on_exit(server, desk))
    while not server.started and not serving.done():  # noqa: ASYNC110 - the server tells it by a flag only
        await asyncio.sleep(0.005)
    if server.started:
        ready()
    await run_in_threadpool(load_sheet)
    await asyncio.to_thread(desk.wait)
    gc.freeze()  # modules and catalogue stay to the end: what looks for rubbish need not look through them at every edit
    gc.enable()
    await serving
    for task in (watching, closing):
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task


async def _watched(desk: Desk) -> None:
    """Look at the files again and again: an editor or version control may change them."""
    while True:
        await asyncio.sleep(LOOKS_AGAIN)
        await asyncio.to_thread(desk.look_again, leaves=True)


async def _closed_on_exit(server: uvicorn.Server, desk: Desk) -> None:
    """Streams of events never end by themselves: end them when the server is asked to stop."""
    while not server.should_exit:  # noqa: ASYNC110 - as above
        await asyncio.sleep(0.05)
    desk.leave()
