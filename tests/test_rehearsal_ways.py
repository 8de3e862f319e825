"""Ways into the sandbox: a range of ids as the system lends it, why a way is shut in plain words, and what is bounded here."""

import ctypes
import os
import platform
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from ordinary_user import IS_ROOT, NOBODY, as_ordinary, become, by_way, in_child, quiet

from scantling.trials.rehearsal import limits as limits_of, refusals, ways
from scantling.trials.rehearsal.calls import (
    AGAIN, BIND, DEEP, NEW_MOUNTS, NO_DEVICES, NO_PROGRAMS, NO_SUID, PRIVATE, READ_ONLY, called, mount, unshare,
)  # fmt: skip
from scantling.trials.rehearsal.limits import BOUNDS, Limits, limits, room_for_neighbours
from scantling.trials.rehearsal.rooms import empty, here
from scantling.trials.rehearsal.sandbox import Inside, SandboxError, run
from scantling.trials.rehearsal.trees import tree


def map_of_ids(_inside: Inside) -> list[str]:
    """The ids that there are inside."""
    return Path("/proc/self/uid_map").read_text("utf-8").split()


def lent_range(register: Path) -> dict[str, Any]:
    """As an ordinary user with ids set aside, in mounts of one's own where /etc/subuid says so; the host's stays as it is."""
    unshare(NEW_MOUNTS)
    mount("none", "/", "", DEEP | PRIVATE)
    for _, where in ways.HELPERS:
        mount(str(register), where, "", BIND)
    become(NOBODY)

    def work(inside: Inside) -> dict[str, Any]:
        os.setgroups([1, 2])
        os.chown(inside.files / "tmp", 1000, 1000)
        return {"map": Path("/proc/self/uid_map").read_text("utf-8").split(), "groups": os.getgroups()}

    return run(work, quiet, ways.RANGE)


def test_a_range_of_ids_is_lent_by_the_programs_made_for_it(tmp_path: Path) -> None:
    if not IS_ROOT:  # who has a range is let in with it, who has none is told so
        own = ways.way(ways.RANGE)
        assert own.works or own.reason.startswith("a range of ids: ")
        assert not own.works or len(in_child(lambda: run(map_of_ids, quiet, ways.RANGE))) == 6
        return
    register = tmp_path / "subuid"
    register.write_text(f"somebody:500000:65536\n{NOBODY}:700000:65536\n", "utf-8")
    register.chmod(0o644)
    seen = in_child(lambda: lent_range(register))
    assert seen["map"] == ["0", str(NOBODY), "1", "1", "700000", "65535"]
    assert seen["groups"] == [1, 2]


# ------------------------------------------------------------------------------------------------------ why one is shut


def test_a_range_needs_its_programs_and_ids_set_aside(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ways, "HELPERS", (("no-such-helper", "/etc/subuid"),) * 2)
    assert "the program no-such-helper is not installed" in as_ordinary(lambda: ways.way(ways.RANGE)).reason
    monkeypatch.setattr(ways, "HELPERS", (("sh", "/etc/no-such-register"),) * 2)
    assert "/etc/no-such-register sets none aside for this user" in as_ordinary(lambda: ways.way(ways.RANGE)).reason


def test_registers_of_ids_are_read_as_their_manual_says(tmp_path: Path) -> None:
    # subuid(5): login name or number, first id, number of ids
    register = tmp_path / "subuid"
    register.write_text("# none\n4711:100000:0\nbroken\n4711:x:5\n471:7:7\n4711:200000:1000\n", "utf-8")
    assert ways.set_aside(register, 4711) == (200000, 1000)
    register.write_text("root:300000:100000\n", "utf-8")
    assert ways.set_aside(register, 0) == (300000, 65535)


def test_root_is_for_root() -> None:
    assert as_ordinary(lambda: ways.way(ways.ROOT)) == ways.Way(
        ways.ROOT, works=False, reason="root: this user is not root"
    )


def test_no_way_at_all_is_told_with_a_reason_for_each() -> None:
    def shut(_inside: Inside) -> str:
        Path("/proc/sys/user/max_user_namespaces").write_text("0", "utf-8")  # of this namespace alone
        become_somebody_without_rights()
        try:
            run(map_of_ids, quiet)
        except SandboxError as wrong:
            return str(wrong)
        return "a way in was found"

    said = as_ordinary(lambda: run(shut, quiet, ways.ONE))
    assert "ordinary user with one id: a user namespace of one's own: this machine allows no more of them" in said
    assert "user.max_user_namespaces is 0" in said
    assert "ordinary user with a range of ids: " in said


def become_somebody_without_rights() -> None:
    """Root of a namespace may have none; what it may do there is taken from it (capset(2))."""
    head, nothing = struct.pack("=Ii", 0x20080522, 0), bytes(24)
    called("capset", ctypes.c_char_p(head), ctypes.c_char_p(nothing))


def refuse_unshare() -> None:
    """Lay a filter of system calls on this process that refuses unshare(2), as containers do (seccomp(2))."""
    number = {"x86_64": 272, "aarch64": 97}[platform.machine()]
    steps = [(0x20, 0, 0, 0), (0x15, 0, 1, number), (0x06, 0, 0, 0x00050000 | 1), (0x06, 0, 0, 0x7FFF0000)]
    code = ctypes.create_string_buffer(b"".join(struct.pack("=HBBI", *one) for one in steps))
    program = struct.pack("=H6xQ", len(steps), ctypes.addressof(code))
    called("prctl", 38, ctypes.c_ulong(1), 0, 0, 0)
    called("prctl", 22, ctypes.c_ulong(2), ctypes.c_char_p(program), 0, 0)


def test_a_filter_of_system_calls_is_recognised() -> None:
    def filtered() -> ways.Way:
        refuse_unshare()
        return ways.way(ways.ONE)

    said = as_ordinary(filtered)
    assert not said.works
    assert "filter of system calls (seccomp)" in said.reason


@pytest.mark.parametrize(
    ("name", "value"),
    [("kernel/unprivileged_userns_clone", "0"), ("kernel/apparmor_restrict_unprivileged_userns", "1")],
)
def test_switches_of_distributions_are_named(
    name: str, value: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # this kernel has none of them: how they would look is from memory
    place = tmp_path / name
    place.parent.mkdir(parents=True)
    place.write_text(f"{value}\n", "utf-8")
    monkeypatch.setattr(refusals, "SETTINGS", tmp_path)
    said = refusals.reason("it", PermissionError(1, "Operation not permitted"), as_root=False)
    assert f"{name.replace('/', '.')} is {value}" in said
    assert name.replace("/", ".") not in refusals.reason("it", PermissionError(1, "no"), as_root=True)


def test_a_way_of_another_name_is_refused() -> None:
    with pytest.raises(SandboxError, match="there is no way in called tunnel; there are range, one-id, root"):
        run(map_of_ids, quiet, "tunnel")


def within(prepare: Callable[[], None], work: Callable[[Inside], Any]) -> Any:
    """What comes of work in a sandbox within a sandbox that was made narrow, as a container is."""

    def narrow(_inside: Inside) -> Any:
        prepare()
        try:
            return run(work, quiet, ways.ONE)
        except SandboxError as wrong:
            return str(wrong)

    return as_ordinary(lambda: run(narrow, quiet, ways.ONE))


def test_a_container_that_hides_parts_of_proc_is_no_hindrance() -> None:
    def hide() -> None:
        mount("none", "/proc/tty", "tmpfs", READ_ONLY)  # from here on the kernel gives no new /proc

    def work(inside: Inside) -> tuple[str, bytes, list[str]]:
        room = empty("room", here("home").descriptor)
        told = tree(inside.files, "one").ran(room, ["cat", "/proc/self/net/dev"]).stdout
        with room.entered():
            Path("/proc/sys/net/ipv4/ip_forward").write_text("1", "utf-8")
            forwards = Path("/proc/sys/net/ipv4/ip_forward").read_text("utf-8")
        return forwards, told, [one.name for one in Path("/proc/tty").iterdir()]

    forwards, told, hidden = within(hide, work)
    assert forwards == "1\n"
    assert [line.split(b":")[0].strip() for line in told.splitlines()[2:]] == [b"lo"]
    assert hidden == []


def test_a_container_with_shut_switches_is_told() -> None:
    def shut() -> None:
        mount("/proc/sys", "/proc/sys", "", BIND)
        mount("none", "/proc/sys", "", AGAIN | BIND | READ_ONLY | NO_SUID | NO_DEVICES | NO_PROGRAMS)

    said = within(shut, map_of_ids)
    assert "switches of the network (/proc/sys/net): they can only be read here, as in a container" in said


# ---------------------------------------------------------------------------------------------------------------- limits


def test_this_machine_has_what_an_office_is_built_from() -> None:
    def work(inside: Inside) -> Limits:
        return limits(here("home"), inside.neighbours)

    found = by_way(ways.ONE, work)
    assert found.lacking == ()
    assert 0 < found.neighbours <= min(int(refusals.setting(one) or 1024) for one in BOUNDS.values())
    assert found.against(10) == ()


def test_bounds_are_told_before_they_are_met() -> None:
    assert "5000 stations need 40600" in Limits(20000, 1024).against(5000)[0]
    assert (
        Limits(20000, 1024, ("bridges (Operation not supported)",))
        .against(1)[0]
        .endswith("(Operation not supported)")
    )
    assert not Limits(1, 1024).crowded(250, (4,))
    assert Limits(1, 1024).crowded(300, (4,))
    assert not Limits(1, 1024).crowded(120)
    assert Limits(1, 1024).crowded(140)


def test_neighbours_of_others_take_their_room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The kernel has one table a family for all namespaces (arp(7)); the family with less room decides."""
    for family, many in {4: 0x10, 6: 0x1A0}.items():
        (tmp_path / str(family)).write_text(f"entries  allocs\n{many:08x} 00000000\n{many:08x} 00000000\n", "ascii")
    monkeypatch.setattr(limits_of, "TABLES", {family: tmp_path / str(family) for family in (4, 6)})
    monkeypatch.setattr(limits_of, "setting", lambda _: "1024")
    assert room_for_neighbours() == 1024 - 0x1A0
    monkeypatch.setattr(limits_of, "setting", lambda _: "256")
    assert room_for_neighbours() == 1
    monkeypatch.setattr(limits_of, "setting", lambda _: "")
    assert room_for_neighbours() == 0
