"""The command new as a person and a script meet it: in processes of their own, on a pipe, on a terminal, from a file."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from hostile import HOSTILE
from new_runs import ENVIRONMENT, copied, new, planned_price, price
from interview_samples import BAKERY, DAY, ROUGH
from offices import millrace, planned
from scantling.api.interviewing import BRIEF, Meeting
from scantling.brief.answers import Asking
from scantling.brief.hearing import of_brief
from scantling.brief.meeting import Rough


@pytest.fixture(scope="module")
def bakery(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a whole interview, held on a pipe; with what was printed."""
    where = tmp_path_factory.mktemp("bakery")
    told = new("new", "o", "--on", DAY, typed=BAKERY, where=where)
    assert told.returncode == 0, told.stderr
    (where / "out").write_text(told.stdout, encoding="utf-8")
    (where / "err").write_text(told.stderr, encoding="utf-8")
    return where


def test_an_office_of_your_own_from_nothing_to_a_plan(bakery: Path) -> None:
    """Asked on a pipe, written, planned; the price said is the price of the plan, and what moved it was told."""
    out, err = ((bakery / name).read_text(encoding="utf-8") for name in ("out", "err"))
    assert "Traceback" not in err
    assert "Written: o/brief.yaml" in out
    assert re.search(r"rough price [\d,.]+ -> [\d,.]+ EUR", err)
    assert planned_price("o/brief.yaml", bakery) == price(out)


def test_stopping_and_going_on_writes_the_same_brief(bakery: Path, tmp_path: Path) -> None:
    """By stop, by the end of the pipe, at three places."""
    parts = (*BAKERY[:7], "stop"), BAKERY[7:20], (*BAKERY[20:41], "stop"), BAKERY[41:]
    told = [new("new", "o", "--on", DAY, typed=part, where=tmp_path) for part in parts]
    assert [one.returncode for one in told] == [1, 1, 1, 0]
    assert "To go on: scantling new o" in told[0].stderr
    for name in ("brief.yaml", "answers.yaml"):
        assert (tmp_path / "o" / name).read_bytes() == (bakery / "o" / name).read_bytes()


def test_answers_from_a_file_need_no_terminal_and_give_the_same_bytes(bakery: Path, tmp_path: Path) -> None:
    """The file that an interview kept is a script, on any day."""
    told = new("new", "two", "--answers", str(bakery / "o/answers.yaml"), where=tmp_path)
    assert (told.returncode, told.stderr) == (0, "")
    assert (tmp_path / "two/brief.yaml").read_bytes() == (bakery / "o/brief.yaml").read_bytes()


def test_five_mistakes_of_a_file_are_told_at_once_and_nothing_is_written(tmp_path: Path) -> None:
    script = (
        "office.name: Larkfield Seeds\noffice.country: Ireland\nofice.as_of: 2026-11-25\n"
        "people.roles: [Office]\npeople.roles.office.heads: four\ndata.sets: [Papers]\ndata.sets.papers.size: 400\n"
        "devices.pcs: {name: PCs, kind: pcc, count: 4}\n"
    )
    (tmp_path / "answers.yaml").write_text(script, encoding="utf-8")
    told = new("new", "office", "--answers", "answers.yaml", "--on", DAY, where=tmp_path)
    assert (told.returncode, told.stdout) == (2, "")
    for line, says in (
        ("2:17", "write one like IE"),
        ("3:1", "did you mean office.as_of?"),
        ("5:28", "is not a whole number"),
        ("7:24", "the unit is missing; write 400 TB"),
        ("8:32", "did you mean pc?"),
    ):
        assert re.search(rf"^answers.yaml:{line}: .*{re.escape(says)}", told.stderr, re.MULTILINE), (
            line,
            told.stderr,
        )
    assert not (tmp_path / "office").exists()


def test_a_missing_answer_is_told_with_its_question(tmp_path: Path) -> None:
    (tmp_path / "answers.yaml").write_text("office.name: Nobody\npeople.roles: [All]\n", encoding="utf-8")
    told = new("new", "office", "--answers", "answers.yaml", where=tmp_path)
    assert told.returncode == 2
    assert (
        "office.country: this answer is missing: In which country is the office (two letters)? Write it like IE"
        in told.stderr
    )
    assert "answers.yaml:2:16: people.roles.all.heads: this answer is missing" in told.stderr


def test_hostile_names_come_back_exactly(tmp_path: Path) -> None:
    """Each hostile string as the name of a role; read back from the brief by its own loader."""
    quoted = ["'" + name.replace("'", "''") + "'" for name in HOSTILE]
    roles = "".join(f"  r{place}: {name}\n" for place, name in enumerate(quoted))
    heads = "".join(f"people.roles.r{place}.heads: 1\n" for place, _ in enumerate(quoted))
    script = f"office.name: {quoted[0]}\noffice.country: IE\noffice.as_of: {DAY}\npeople.roles:\n{roles}{heads}"
    (tmp_path / "answers.yaml").write_text(script, encoding="utf-8")
    told = new("new", "office", "--answers", "answers.yaml", where=tmp_path)
    assert told.returncode == 0, told.stderr
    written = (tmp_path / "office/brief.yaml").read_text(encoding="utf-8")
    back = of_brief(Meeting(tmp_path, DAY).agenda, written, BRIEF)
    assert tuple(back.things["people.roles"].values()) == HOSTILE
    assert back.said["office.name"] == HOSTILE[0]
    assert planned(written).figures


def test_like_millrace_but_twelve_people_plans(tmp_path: Path) -> None:
    """Only what is personal is asked; what was scaled is told, and marked in the brief."""
    typed = ("Mill Lane Players", "IE", "", "Nuala Byrne", "", "4 h", "26000 EUR", "23 %")
    told = new("new", "lane", "--like", "millrace but 12 people", "--on", DAY, typed=typed, where=tmp_path)
    assert told.returncode == 0, told.stderr
    assert "devices.office-pcs.count: 14 -> 3" in told.stderr
    written = (tmp_path / "lane/brief.yaml").read_text(encoding="utf-8")
    assert "count: 3  # assumed, ask (scaled from 14)" in written
    assert "Aoife Brennan" not in written
    assert "Orla Quinn" not in written
    heads = [int(found) for found in re.findall(r"heads: (\d+)", written)]
    assert sum(heads) == 12
    assert planned_price("lane/brief.yaml", tmp_path) == price(told.stdout)


def test_a_file_of_answers_may_begin_with_a_similar_office(tmp_path: Path) -> None:
    """Without a number it is as large as there; what the file says comes first."""
    (tmp_path / "answers.yaml").write_text(
        "office.name: The Lantern Library\noffice.as_of: 2026-11-25\npremises.noise: 44 dB\n", encoding="utf-8"
    )
    told = new("new", "o", "--like", "millrace", "--answers", "answers.yaml", where=tmp_path)
    assert told.returncode == 0, told.stderr
    written = (tmp_path / "o/brief.yaml").read_text(encoding="utf-8")
    assert "  name: The Lantern Library\n" in written
    assert "  noise: 44 dB\n" in written
    assert "      heads: 40  # assumed, ask\n" in written
    assert "scaled from" not in written


def test_ten_answers_may_come_from_a_file(tmp_path: Path) -> None:
    lines = [f'rough.{name}: "{text}"\n' for name, text in zip(Rough.model_fields, ROUGH, strict=True)]
    (tmp_path / "answers.yaml").write_text("".join(lines), encoding="utf-8")
    told = new("new", "o", "--rough", "--answers", "answers.yaml", "--on", DAY, where=tmp_path)
    assert told.returncode == 0, told.stderr
    assert planned_price("o/brief.yaml", tmp_path) == price(told.stdout)
    assert "Between " in told.stdout


def test_a_rough_price_in_ten_answers_is_the_price_of_the_plan(tmp_path: Path) -> None:
    told = new("new", "rough", "--rough", "--on", DAY, typed=ROUGH, where=tmp_path)
    assert told.returncode == 0, told.stderr
    assert told.stderr.count("] >") == 10
    assert re.search(r"memory \d+ -> \d+ GiB", told.stderr)
    assert planned_price("rough/brief.yaml", tmp_path) == price(told.stdout)
    low, high = re.findall(r"Between ([\d,]+) EUR and ([\d,]+) EUR", told.stdout)[0]
    middle = float(price(told.stdout).removesuffix(" EUR").replace(",", ""))
    assert float(low.replace(",", "")) <= middle <= float(high.replace(",", ""))
    assert "assumed, ask" in (tmp_path / "rough/brief.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("people", "where"),
    [("2", "office"), ("2", "cupboard"), ("9", "office"), ("9", "room"), ("40", "room"), ("110", "room")],
)
def test_the_range_of_a_rough_price_holds_the_price(people: str, where: str, tmp_path: Path) -> None:
    """Favourable below, cautious above, at every size and place."""
    meeting = Meeting(tmp_path / "x", DAY)
    meeting.begin(Asking.ROUGH)
    for line in (
        people,
        f"{people} PCs",
        "20",
        "files, print, business application",
        "2 TB",
        "300 GB/year",
        "24 h",
        where,
        "100 Mbit/s",
        "IE",
    ):
        assert meeting.put(line).taken, line
    assert meeting.question() is None
    made = meeting.plan()
    ends = meeting.range(made)
    low, high = (float(end.split(" ")[0].replace(",", "")) for end in (ends.low, ends.high))
    assert low <= float(made.figures["money.total"].value) <= high
    assert low < high
    assert ends.unknowns


def test_a_price_of_what_comes_nearest_says_so(tmp_path: Path) -> None:
    """More data than any array holds: written, priced, and marked at both ends."""
    told = new("new", "o", "--rough", "--on", DAY, typed=(*ROUGH[:4], "9 PB", *ROUGH[5:]), where=tmp_path)
    assert told.returncode == 0, told.stderr
    assert "Provisional: nothing in the catalogue meets every need" in told.stdout
    assert "At the favourable and the cautious end nothing in the catalogue meets every need" in told.stdout
    assert "; nothing meets every need" in told.stderr


def test_a_brief_that_cannot_be_planned_is_written_and_the_reason_told(tmp_path: Path) -> None:
    """Here for what stands beside it: nothing that was said is lost."""
    (tmp_path / "o").mkdir()
    (tmp_path / "o/standing.yaml").write_text("nonsense: {}\n", encoding="utf-8")
    told = new("new", "o", "--rough", "--on", DAY, typed=ROUGH, where=tmp_path)
    assert told.returncode == 1
    assert "Written: o/brief.yaml\nNo price: standing.yaml:1:1" in told.stdout
    assert (tmp_path / "o/brief.yaml").is_file()


def test_after_ten_answers_the_whole_interview_writes_a_fuller_brief(tmp_path: Path) -> None:
    new("new", "rough", "--rough", "--on", DAY, typed=ROUGH, where=tmp_path)
    before = (tmp_path / "rough/brief.yaml").read_text(encoding="utf-8")
    told = new("new", "rough", "--all", "--on", DAY, typed=BAKERY, where=tmp_path)
    assert told.returncode == 0, told.stderr
    after = (tmp_path / "rough/brief.yaml").read_text(encoding="utf-8")
    assert after.count("assumed, ask (") < before.count("assumed, ask (")
    assert "name: Barley Row Bakery\n" in after


def test_a_brief_of_somebody_else_is_not_written_over(bakery: Path, tmp_path: Path) -> None:
    """Neither one written by hand, nor ours with a line changed; with --yes it is."""
    brief = copied(bakery, tmp_path)
    ours = brief.read_text(encoding="utf-8")
    for theirs in (millrace(), ours.replace("heads: 5", "heads: 6")):
        brief.write_text(theirs, encoding="utf-8")
        refused = new("new", "o", "--on", DAY, where=tmp_path)
        assert refused.returncode == 2
        assert "add --yes" in refused.stderr
        assert brief.read_text(encoding="utf-8") == theirs
    assert new("new", "o", "--on", DAY, "--yes", where=tmp_path).returncode == 0
    assert brief.read_text(encoding="utf-8") == ours


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--like", "milrace but 12 people"], "did you mean millrace?"),
        (["--like", "millrace", "--people", "0"], "from 1 to 1,000"),
        (["--like", "nowhere/brief.yaml but 3 people"], "no such file"),
        (["--people", "3"], "add --like"),
        (["--rough", "--all"], "choose one"),
        (["--like", "millrace", "--rough"], "choose one"),
        (["--on", "today"], "2026-11-25"),
        (["--answers", "none.yaml"], "no such file"),
        (["--paper", "A5"], "letter"),
    ],
)
def test_wishes_that_cannot_be_met_are_told(words: list[str], says: str, tmp_path: Path) -> None:
    told = new("new", "o", *words, where=tmp_path)
    assert (told.returncode, told.stdout) == (2, "")
    assert says in told.stderr
    assert "Traceback" not in told.stderr
    assert not (tmp_path / "o").exists()


def test_answers_that_were_spoilt_by_hand_are_told_and_kept(tmp_path: Path) -> None:
    (tmp_path / "o").mkdir()
    spoilt = "office.name: X\noffice.country: Nowhere\n"
    (tmp_path / "o/answers.yaml").write_text(spoilt, encoding="utf-8")
    told = new("new", "o", typed=BAKERY, where=tmp_path)
    assert told.returncode == 2
    assert "answers.yaml:2:17" in told.stderr
    assert (tmp_path / "o/answers.yaml").read_text(encoding="utf-8") == spoilt


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    told = new("new", "file/o", typed=BAKERY, where=tmp_path)
    assert told.returncode == 2
    assert "can't write in" in told.stderr


def test_bytes_that_are_no_text_are_told_as_an_answer(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "scantling", "new", "o", "--on", DAY]
    told = subprocess.run(
        command, input=b"\xff\xfe\nGood Name\n", capture_output=True, env=ENVIRONMENT, cwd=tmp_path, check=False
    )
    assert b"can't be printed" in told.stderr
    assert b"Traceback" not in told.stderr
    assert "Good Name" in (tmp_path / "o/answers.yaml").read_text(encoding="utf-8")
