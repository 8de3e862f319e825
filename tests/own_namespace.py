"""Runs a test's work in namespaces of its own, as an ordinary user, in a child that is forked and gone afterwards.

Who is nobody may be unable to read Python's own folder: whatever the work needs is imported beforehand.
"""

import os
import pickle
import signal
import traceback
from collections.abc import Callable
from typing import Any

from kernel_lab import leave
from scantling.trials.rehearsal.calls import DIES_WITH, prctl

SURROUNDINGS = {"PATH": "/usr/sbin:/sbin:/usr/bin:/bin", "LC_ALL": "C.UTF-8", "TZ": "UTC"}


def apart(work: Callable[[], Any]) -> Any:
    """What the work returns, done in a child that is root of its own user and network namespaces and nobody outside."""
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        os.close(reading)
        _do(work, writing)
    os.close(writing)
    with os.fdopen(reading, "rb") as told:
        said = told.read()
    os.waitpid(child, 0)
    if not said:
        raise AssertionError("the child died without a word")
    result, wrong = pickle.loads(said)  # noqa: S301 - from our own child
    if wrong:
        raise AssertionError(wrong)
    return result


def _do(work: Callable[[], Any], writing: int) -> None:
    """In the child: leave, work, tell, end; nothing of the parent's runs on."""
    said = (None, "the work ended otherwise")
    try:
        leave(as_nobody=True)
        prctl(DIES_WITH, signal.SIGKILL)
        os.environ.update(SURROUNDINGS)
        said = (work(), "")
    except BaseException:  # noqa: BLE001 - whatever it is, the parent raises it
        said = (None, traceback.format_exc())
    finally:
        with os.fdopen(writing, "wb") as out:
            out.write(pickle.dumps(said))
        os._exit(0)
