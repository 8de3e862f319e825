"""The sandbox in all its ways: what is told when one is shut, nothing on the host touched, nothing left when it ends."""

import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from ordinary_user import IS_ROOT, NOBODY, OPEN, as_ordinary, by_way, processes, quiet

from scantling.trials.rehearsal import reaper, sandbox, ways
from scantling.trials.rehearsal.calls import DEEP, NEW_MOUNTS, PRIVATE, mount, unshare
from scantling.trials.rehearsal.rooms import here
from scantling.trials.rehearsal.sandbox import Inside, RehearsalError, SandboxError, run
from scantling.trials.rehearsal.trees import tree


def listed(folder: str) -> list[str]:
    """The names in a folder."""
    return sorted(one.name for one in Path(folder).iterdir())


def seen_inside(inside: Inside) -> dict[str, Any]:
    """What there is to see."""
    (inside.files / "note").write_text("kept in memory", "utf-8")
    return {
        "way": inside.way.name,
        "user": os.geteuid(),
        "files": str(inside.files),
        "working": str(Path.cwd()),
        "network": str(Path("/proc/self/ns/net").readlink()),
        "mounts": str(Path("/proc/self/ns/mnt").readlink()),
        "interfaces": listed("/proc/sys/net/ipv4/conf"),
        "processes": sorted(processes()),
        "parent": os.getppid(),
        "memory": Path("/proc/self/mountinfo").read_text("utf-8").splitlines()[-1].partition(" - ")[2].split()[0],
        "map": Path("/proc/self/uid_map").read_text("utf-8").split(),
    }


# ------------------------------------------------------------------------------------------------------------ ways in


@pytest.mark.parametrize("name", OPEN)
def test_inside_one_is_root_alone_in_a_network_of_its_own(name: str) -> None:
    seen = by_way(name, seen_inside)
    assert seen["way"] == name
    assert seen["user"] == 0
    assert seen["files"] == seen["working"]
    assert seen["memory"] == "tmpfs"
    assert seen["network"] != str(Path("/proc/self/ns/net").readlink())
    assert seen["mounts"] != str(Path("/proc/self/ns/mnt").readlink())
    assert seen["interfaces"] == ["all", "default", "lo"]
    assert seen["processes"] == [1, 2]
    assert seen["parent"] == 1
    assert not Path(seen["files"], "note").exists()


def test_one_id_and_range_differ_by_the_ids_that_exist() -> None:
    one = by_way(ways.ONE, seen_inside)
    assert one["map"] == ["0", str(NOBODY if IS_ROOT else os.geteuid()), "1"]
    if IS_ROOT:
        assert by_way(ways.RANGE, seen_inside)["map"][2] == "65536"


def test_events_come_in_order_and_before_the_result() -> None:
    def work(inside: Inside) -> int:
        for number in range(1000):
            inside.tell({"number": number})
        return 1000

    def told() -> tuple[list[Any], int]:
        heard: list[Any] = []
        return heard, run(work, heard.append)

    heard, result = as_ordinary(told)
    assert [one["number"] for one in heard] == list(range(1000))
    assert result == 1000


# ------------------------------------------------------------------------------------------------- the host stays as it is


@pytest.fixture
def anybodys() -> Iterator[Path]:
    """A folder that any user reaches, unlike those of the test's own."""
    with TemporaryDirectory() as name:
        Path(name).chmod(0o777)
        yield Path(name)


@pytest.mark.parametrize("name", OPEN)
def test_nothing_can_be_written_on_the_host(name: str, anybodys: Path) -> None:
    mine = anybodys / "mine"
    mine.write_text("as it was", "utf-8")
    mine.chmod(0o666)
    before = Path("/proc/self/mountinfo").read_text("utf-8")
    interfaces, forwards = listed("/sys/class/net"), Path("/proc/sys/net/ipv4/ip_forward").read_text("utf-8")

    def work(_inside: Inside) -> str:
        Path("/proc/sys/net/ipv4/ip_forward").write_text("1", "utf-8")
        try:
            mine.write_text("changed", "utf-8")
        except OSError as wrong:
            return wrong.strerror or ""
        return "written"

    assert by_way(name, work) == "Read-only file system"
    assert mine.read_text("utf-8") == "as it was"
    assert Path("/proc/self/mountinfo").read_text("utf-8") == before
    assert listed("/sys/class/net") == interfaces
    assert Path("/proc/sys/net/ipv4/ip_forward").read_text("utf-8") == forwards


def test_an_older_kernel_makes_mounts_read_only_one_by_one() -> None:
    def mounts() -> str:
        unshare(NEW_MOUNTS)
        mount("none", "/", "", DEEP | PRIVATE)
        reaper.read_only_one_by_one()
        return Path("/proc/self/mountinfo").read_text("utf-8")

    def work(_inside: Inside) -> str:
        return mounts()

    told = by_way(ways.ONE, work)
    assert {line.split()[5].split(",")[0] for line in told.splitlines()} == {"ro"}
    assert reaper.plain(r"/a\040b\134c") == "/a b\\c"


def test_programs_of_root_have_no_right_over_the_machine() -> None:
    if not IS_ROOT:
        assert ways.way(ways.ROOT).reason == "root: this user is not root"
        return

    def work(inside: Inside) -> str:
        made = tree(inside.files, "files")
        done = made.ran(
            here("home"), ["sh", "-c", "grep CapEff /proc/self/status; date -s 2001-01-01; mount -t tmpfs x /tmp"]
        )
        return (done.stdout + done.stderr).decode()

    told = by_way(ways.ROOT, work)
    rights = int(told.split("CapEff:")[1].split()[0], 16)
    # capabilities(7): CAP_SYS_TIME 25, CAP_SYS_ADMIN 21, CAP_SYS_MODULE 16, CAP_MKNOD 27, CAP_SYS_BOOT 22
    assert not any(rights >> number & 1 for number in (16, 21, 22, 25, 27))
    assert "cannot set date" in told
    assert "permission denied" in told.lower()
    assert time.time() > 1_700_000_000


# ---------------------------------------------------------------------------------------------------------------- errors


class OddError(RehearsalError):
    """One that can't be packed."""

    def __init__(self, first: str, second: str) -> None:
        super().__init__(f"{first} and {second}")


def failing(wrong: BaseException) -> str:
    """What the driver hears of an error inside."""

    def work(_inside: Inside) -> None:
        raise wrong

    def heard() -> str:
        try:
            run(work, quiet)
        except RehearsalError as told:
            return f"{type(told).__name__}: {told}"
        return "nothing"

    return as_ordinary(heard)


def test_errors_travel_out_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(sandbox.DEBUG, raising=False)
    assert failing(RehearsalError("line 3: mend it")) == "RehearsalError: line 3: mend it"
    assert failing(OddError("this", "that")) == "RehearsalError: this and that"
    stumbled = failing(ValueError("seven"))
    assert stumbled.startswith("SandboxError: the rehearsal stumbled over a mistake of its own (ValueError: seven)")
    assert "\n" not in stumbled
    refused = failing(OSError(28, "cable p1: No space left on device"))
    assert (
        refused
        == "SandboxError: the rehearsal broke off, for the kernel refused a step: cable p1: No space left on device"
    )
    assert "SystemExit" in failing(SystemExit(0))
    monkeypatch.setenv(sandbox.DEBUG, "1")
    assert "Traceback" in failing(ValueError("seven"))


def test_a_result_that_cannot_be_handed_out_is_told() -> None:
    def heard() -> str:
        try:
            run(lambda _inside: lambda: 0, quiet)
        except SandboxError as told:
            return str(told)
        return "nothing"

    assert "pickle" in as_ordinary(heard)


@pytest.mark.parametrize(("who", "how"), [("work", "by signal 9, Killed"), ("exit", "with 3")])
def test_an_office_that_dies_tells_its_last_words(who: str, how: str) -> None:
    def work(_inside: Inside) -> None:
        os.write(2, b"no memory left\n")
        if who == "exit":
            os._exit(3)
        os.kill(os.getpid(), signal.SIGKILL)

    def heard() -> str:
        try:
            run(work, quiet)
        except SandboxError as told:
            return str(told)
        return "nothing"

    assert as_ordinary(heard) == f"the office ended before its work was done ({how}); its last words: no memory left"
