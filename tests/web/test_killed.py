"""The server killed at any moment of a save: the brief on disk is the old one or the new one, whole."""

import http.client
import random
import signal
import threading
import time
from pathlib import Path
from urllib.parse import urlencode, urlsplit

from browsing import EXAMPLES, served
from conftest import Scale
from scantling import api


def test_killed_at_any_moment_the_brief_is_whole(tmp_path: Path, scale: Scale) -> None:
    """An edit is sent, and the server killed with a signal that nobody can catch, at a random moment."""
    old = (EXAMPLES / "fold-and-fell" / "brief.yaml").read_bytes()
    chance, seen = random.Random(20261126), set()
    for turn in range(scale(short=4, full=20)):
        folder = tmp_path / str(turn)
        folder.mkdir()
        brief = folder / "brief.yaml"
        brief.write_bytes(old)
        with served(folder) as (address, process):
            sender = threading.Thread(target=_edit, args=[address])
            sender.start()
            time.sleep(chance.uniform(0.0, 0.12))
            process.send_signal(signal.SIGKILL)
            process.wait()
            sender.join()
        now = brief.read_bytes()
        seen.add(now == old)
        assert api.plan(brief).figures
        assert now == old or now == old.replace(b"horizon: 5 year", b"horizon: 4 year")
        strangers = {path.name for path in folder.iterdir()} - {"brief.yaml"}
        assert all(name.startswith(".") for name in strangers), strangers


def _edit(address: str) -> None:
    """One answer written as the page does it; the server may be gone at any moment."""
    place = urlsplit(address)
    there = http.client.HTTPConnection(place.netloc, timeout=10)
    headers = {"Content-Type": "application/x-www-form-urlencoded", "HX-Request": "true", "X-Sheet": "brief"}
    try:
        there.request(
            "POST",
            f"{place.path}brief/save",
            urlencode({"id": "office.horizon", "value": "4 year", "where": ""}),
            headers,
        )
        there.getresponse().read()
    except (OSError, http.client.HTTPException):
        pass  # that is what is being tried
    finally:
        there.close()
