"""Ctrl-C that comes while the rehearsal forks is heard, whatever Python itself runs after a fork."""

import os
import signal
import time

from scantling.trials.rehearsal.calls import forked

PASSED_OVER, HEARD = 9, 7


def ended(fork_: object) -> int:
    """How a process ends that gets Ctrl-C from a hook in the middle of its fork: the very moment at which it is swallowed."""
    assert callable(fork_)
    child = os.fork()
    if child == 0:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        mine = os.getpid()

        def hook() -> None:
            os.kill(mine, signal.SIGINT)
            sum(range(1000))  # some steps, so that the signal is seen within

        os.register_at_fork(after_in_parent=hook)
        try:
            grandchild = fork_()
            if grandchild == 0:
                os._exit(0)
            time.sleep(0.05)
            os._exit(PASSED_OVER)
        except KeyboardInterrupt:
            os._exit(HEARD)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def test_an_interrupt_in_the_middle_of_a_fork_is_heard() -> None:
    """With the plain call it is swallowed by the hook, which shows that the moment is the one meant; with ours it is heard."""
    assert ended(os.fork) == PASSED_OVER
    assert ended(forked) == HEARD
