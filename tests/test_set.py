"""Saving one answer: nobody's edit is lost, a killed save leaves a whole brief, and what is wrong is refused unwritten."""

import os
import signal
import stat
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from time import sleep
from typing import Any

import pytest

from hostile import HOSTILE, REFUSED
from offices import changed, fold, millrace
from saving import HEADS, LINE, answer, environment
from scantling import UserError, api
from scantling.outputs import rewriting
from scantling.outputs.writing import OutputError

SET = "from scantling import api; from pathlib import Path; import sys; "


@pytest.fixture
def brief(tmp_path: Path) -> Path:
    """A Millrace of one's own."""
    path = tmp_path / "brief.yaml"
    path.write_text(millrace(), encoding="utf-8")
    return path


def refusal(work: Callable[[], object]) -> str:
    """What a person is told, whole."""
    with pytest.raises(UserError) as told:
        work()
    return str(told.value)


def others(path: Path) -> list[str]:
    """Everything else that lies beside a file, hidden things too."""
    return sorted(one.name for one in path.parent.iterdir() if one != path)


def test_one_line_differs_and_is_told(brief: Path) -> None:
    done = api.set_value(brief, HEADS, "30")
    assert (done.old, done.new) == ("40", "30")
    assert done.line_before == done.line_after.replace("heads: 30", "heads: 40")
    assert millrace().splitlines()[done.line - 1] == done.line_before
    assert brief.read_text(encoding="utf-8") == millrace().replace("heads: 40", "heads: 30")
    assert others(brief) == []


def test_what_is_set_already_is_not_written_again(brief: Path) -> None:
    before = brief.stat()
    assert api.set_value(brief, HEADS, "40").nothing
    assert brief.stat().st_ino == before.st_ino


def test_looking_first_writes_nothing(brief: Path) -> None:
    told = api.edited(brief, HEADS, "30")
    assert told.text_after != told.text_before == brief.read_text(encoding="utf-8")
    assert told.seen == api.fingerprint(brief.read_bytes())


MISTAKES = [
    (HEADS, "many", f"brief.yaml:{LINE}:"),
    (HEADS, "-1", "too little"),
    ("services.files.down", "16", "the unit is missing"),
    ("services.files.profile", "fils", "did you mean files"),
    ("devices.cameras.zone", "no such/zone", "brief.yaml:"),
    ("office.name", "two\nlines", "a line break stands in this answer"),
    ("office.currency", "USD", "this office pays in USD"),
    ("offise.name", "x", "did you mean office.name?"),
    ("pins.host.cores.neded", "30", "did you mean host.cores.needed?"),
    ("pins.purchase.host", "towr-mid-8", "is not on offer"),
]


@pytest.mark.parametrize(("id_", "value", "says"), MISTAKES)
def test_a_mistake_is_refused_with_its_place_and_nothing_is_written(
    brief: Path, id_: str, value: str, says: str
) -> None:
    told = refusal(lambda: api.set_value(brief, id_, value, because="asked for" if "pins" in id_ else ""))
    assert says in told
    assert brief.read_text(encoding="utf-8") == millrace()
    assert others(brief) == []


@pytest.mark.parametrize("value", HOSTILE)
def test_hostile_words_are_kept_as_they_are(brief: Path, value: str) -> None:
    api.set_value(brief, "office.name", value)
    assert answer(brief, "office.name") == value


@pytest.mark.parametrize("value", [value for value in REFUSED if value.strip()])
def test_words_that_no_brief_holds_are_refused(brief: Path, value: str) -> None:
    assert "left as it is" in refusal(lambda: api.set_value(brief, "office.name", value))
    assert brief.read_text(encoding="utf-8") == millrace()


def test_a_pin_is_set_with_its_reason_and_taken_out_whole(brief: Path) -> None:
    api.set_value(brief, "pins.host.cores.needed", "30", because="the owner's wish: more")
    assert api.plan(brief).figures["host.cores.needed"].value == 30
    api.set_value(brief, "pins.host.cores.needed", "28")
    assert api.why(api.plan(brief), "host.cores.needed")[0].working.startswith(
        "pinned to 28 (the owner's wish: more;"
    )
    api.remove_value(brief, "pins.host.cores.needed")
    assert brief.read_text(encoding="utf-8") == millrace()


def test_a_pin_without_a_reason_is_refused(brief: Path) -> None:
    assert "a pin needs its reason" in refusal(lambda: api.set_value(brief, "pins.host.cores.needed", "30"))
    assert "only a pin" in refusal(lambda: api.set_value(brief, HEADS, "30", because="so"))


def test_mode_and_links_stay(tmp_path: Path) -> None:
    real = tmp_path / "real" / "brief.yaml"
    real.parent.mkdir()
    real.write_text(fold(), encoding="utf-8")
    real.chmod(0o640)
    link = tmp_path / "brief.yaml"
    link.symlink_to(real)
    api.set_value(link, "office.name", "Fell & Fold")
    assert link.is_symlink()
    assert stat.S_IMODE(real.stat().st_mode) == 0o640
    assert answer(real, "office.name") == "Fell & Fold"
    assert others(real) == []


@pytest.mark.parametrize("last", ["", "\n"])
def test_byte_order_mark_and_line_ends_stay(brief: Path, last: str) -> None:
    text = "\ufeff" + millrace().rstrip("\n").replace("\n", "\r\n") + last.replace("\n", "\r\n")
    brief.write_bytes(text.encode())
    api.set_value(brief, HEADS, "30")
    assert brief.read_bytes() == text.replace("heads: 40", "heads: 30").encode()


def test_an_answer_that_somebody_else_moved_is_not_overwritten(brief: Path) -> None:
    """The caller saw another file than lies there now: both versions stand, and the difference is told."""
    seen = api.edited(brief, HEADS, "30").seen
    theirs = changed(millrace(), "heads: 12", "heads: 14")
    brief.write_text(theirs, encoding="utf-8")
    told = refusal(lambda: api.set_value(brief, HEADS, "30", expected=seen))
    assert "was changed by somebody else meanwhile" in told
    assert "brief.mine-1.yaml" in told
    assert "+    volunteers: {name: Casual volunteers, heads: 30" in told
    assert brief.read_text(encoding="utf-8") == theirs
    assert others(brief) == ["brief.mine-1.yaml"]
    assert (brief.parent / "brief.mine-1.yaml").read_text(encoding="utf-8") == theirs.replace(
        "heads: 40", "heads: 30"
    )
    refusal(lambda: api.set_value(brief, HEADS, "31", expected=seen))
    assert others(brief) == ["brief.mine-1.yaml", "brief.mine-2.yaml"]
    api.set_value(brief, HEADS, "32", expected=api.fingerprint(brief.read_bytes()))
    assert answer(brief, HEADS) == "32"


def test_an_editor_that_saves_meanwhile_is_not_overwritten(brief: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program, which knows no lock, puts its file in place while ours is still being checked."""
    theirs = changed(millrace(), "heads: 12", "heads: 14")
    real = rewriting._beside

    def slow(final: Path, content: bytes) -> Path:
        other = final.with_name("other.yaml")
        other.write_text(theirs, encoding="utf-8")
        other.replace(final)
        return real(final, content)

    monkeypatch.setattr(rewriting, "_beside", slow)
    told = refusal(lambda: api.set_value(brief, HEADS, "30"))
    assert "somebody else" in told
    assert brief.read_text(encoding="utf-8") == theirs
    assert (brief.parent / "brief.mine-1.yaml").read_text(encoding="utf-8") == changed(
        millrace(), "heads: 40", "heads: 30"
    )


def test_what_is_written_into_the_old_file_at_the_last_moment_is_kept(
    brief: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An editor that writes in place, between our last look and our putting the new file there."""
    theirs = changed(millrace(), "heads: 12", "heads: 14")
    real = Path.replace

    def late(new: Path, final: Path) -> Path:
        final.write_text(theirs, encoding="utf-8")
        return real(new, final)

    monkeypatch.setattr(Path, "replace", late)
    told = refusal(lambda: api.set_value(brief, HEADS, "30"))
    assert "brief.theirs-1.yaml" in told
    assert answer(brief, HEADS) == "30"
    assert (brief.parent / "brief.theirs-1.yaml").read_text(encoding="utf-8") == theirs


WRITERS = (
    ("people.roles.programme.heads", range(1, 5)),
    ("people.roles.technical.heads", range(1, 5)),
    ("office.name", [f"Name {n}" for n in range(4)]),
    ("services.files.down", [f"{n} h" for n in range(1, 5)]),
)


def test_threads_that_write_at_once_lose_nothing(brief: Path) -> None:
    def write(id_: str, values: Any) -> None:
        for value in values:
            api.set_value(brief, id_, str(value))

    threads = [threading.Thread(target=write, args=writer) for writer in WRITERS]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert {id_: answer(brief, id_) for id_, _ in WRITERS} == {id_: str(values[-1]) for id_, values in WRITERS}
    assert others(brief) == []


def test_processes_that_write_at_once_lose_nothing(brief: Path) -> None:
    """Each adds a pin of its own; all are there in the end."""
    ids = ["people.roles.programme.heads", "people.roles.box-office.heads", "people.roles.technical.heads"]
    code = SET + "[api.set_value(Path(sys.argv[1]), sys.argv[2], str(n)) for n in range(20, 26)]"
    many = [subprocess.Popen([sys.executable, "-c", code, brief, id_], env=environment()) for id_ in ids]
    assert [one.wait() for one in many] == [0, 0, 0]
    assert [answer(brief, id_) for id_ in ids] == ["25", "25", "25"]
    assert others(brief) == []


def test_two_who_saw_the_same_file_both_keep_their_version(brief: Path) -> None:
    """With a fingerprint each may write only what it saw: one wins, each of the others is told and kept."""
    seen = api.fingerprint(brief.read_bytes())
    told: list[str] = []

    def write(value: str) -> None:
        try:
            api.set_value(brief, HEADS, value, expected=seen)
        except UserError as wrong:
            told.append(str(wrong))

    threads = [threading.Thread(target=write, args=(str(value),)) for value in (50, 51, 52, 53)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    kept = [brief, *(brief.parent / name for name in others(brief))]
    assert sorted(answer(path, HEADS) for path in kept) == ["50", "51", "52", "53"]
    assert len(told) == 3


@pytest.mark.slow
def test_a_save_that_is_killed_leaves_a_whole_brief(brief: Path, scale: Any) -> None:
    """SIGKILL at many moments: the file is one of the two versions, byte for byte, and the next save goes through."""
    code = SET + f"[api.set_value(Path(sys.argv[1]), '{HEADS}', str(40 + n % 2)) for n in range(1, 10**6)]"
    versions = {changed(millrace(), "heads: 40", f"heads: {n}") for n in (40, 41)}
    rounds = scale(short=6, full=24)
    for round_ in range(rounds):
        one = subprocess.Popen([sys.executable, "-c", code, brief], env=environment())
        sleep(0.6 + 0.8 * round_ / rounds)
        one.send_signal(signal.SIGKILL)
        one.wait()
        assert brief.read_text(encoding="utf-8") in versions
        for heads in (
            "41",
            "40",
        ):  # at least one of the two is a change, and its save tidies what the killed one left
            api.set_value(brief, HEADS, heads)
        assert brief.read_text(encoding="utf-8") == millrace()
        assert others(brief) == []


def test_a_lock_that_is_not_let_go_is_told(brief: Path) -> None:
    told = pytest.raises(OutputError, match="another program is changing")
    with rewriting.held(brief), told, rewriting.held(brief, patience=0.05):
        pass


def test_a_full_disk_leaves_the_brief(brief: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert "No space left on device; nothing was changed" in refusal(lambda: api.set_value(brief, HEADS, "30"))
    assert brief.read_text(encoding="utf-8") == millrace()
    assert others(brief) == []


@pytest.mark.parametrize("name", ["none.yaml", "."])
def test_what_is_no_file_is_told(tmp_path: Path, name: str) -> None:
    assert "no such file" in refusal(lambda: api.set_value(tmp_path / name, HEADS, "1")) or name == "."
    (tmp_path / "loop.yaml").symlink_to("loop.yaml")
    refusal(lambda: api.set_value(tmp_path / "loop.yaml", HEADS, "1"))
