"""What ./dev promises: no half-made environment looks whole, nothing of others is touched, every check runs."""

import importlib.util
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from workshop import checking, environment, packages, testing

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """A folder with two lock files and nothing else."""
    for lock in environment.LOCKS.values():
        (tmp_path / lock).write_text(f"# {lock}\n", "utf-8")
    return tmp_path


@pytest.fixture
def filled(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The tiers for which packages were fetched; no package is."""
    tiers: list[str] = []

    def fill(root: Path, tier: environment.Tier) -> None:
        tiers.append(tier)
        (root / ".venv/bin").mkdir()
        (root / ".venv/lib/python3/site-packages").mkdir(parents=True)
        (root / ".venv/bin/python").symlink_to(sys.executable)

    monkeypatch.setattr(environment, "fill", fill)
    return tiers


def test_an_environment_is_made_once_a_lock(repository: Path, filled: list[str]) -> None:
    """Again only when the lock changes."""
    environment.make(repository, "runtime")
    environment.make(repository, "runtime")
    assert filled == ["runtime"]
    (repository / "requirements.lock").write_text("# changed\n", "utf-8")
    environment.make(repository, "runtime")
    assert filled == ["runtime", "runtime"]


def test_a_developers_environment_serves_runs_too(repository: Path, filled: list[str]) -> None:
    """But not the other way; and it stays a developer's when its lock changes."""
    environment.make(repository, "runtime")
    environment.make(repository, "developer")
    environment.make(repository, "runtime")
    assert filled == ["runtime", "developer"]
    (repository / "requirements-dev.lock").write_text("# changed\n", "utf-8")
    environment.make(repository, "runtime")
    assert filled == ["runtime", "developer", "developer"]


def test_a_half_made_environment_is_made_again(
    repository: Path, filled: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever stops the making, the next command starts over."""

    def stop(root: Path) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr(environment, "settle", stop)
        with pytest.raises(KeyboardInterrupt):
            environment.make(repository, "runtime")
    assert (repository / ".venv").exists()
    assert not environment.fresh(repository, "runtime")
    environment.make(repository, "runtime")
    assert environment.fresh(repository, "runtime")
    assert len(filled) == 2


@pytest.mark.parametrize("text", ["", "[]", '{"tier": "runtime"}', '{"tier": ["runtime"]}', "\x00"])
def test_a_spoilt_marker_is_no_environment(repository: Path, filled: list[str], text: str) -> None:
    """It is made again, without a traceback."""
    environment.make(repository, "runtime")
    (repository / ".venv" / environment.MARKER).write_text(text, "utf-8")
    environment.make(repository, "runtime")
    assert filled == ["runtime", "runtime"]


def test_a_moved_folder_or_a_lost_python_is_no_environment(repository: Path, filled: list[str]) -> None:
    """Scripts in an environment name its folder, and the Python may be gone."""
    environment.make(repository, "runtime")
    moved = repository.with_name(repository.name + "-moved")
    shutil.copytree(repository, moved, symlinks=True)
    assert not environment.fresh(moved, "runtime")
    (repository / ".venv/bin/python").unlink()
    (repository / ".venv/bin/python").symlink_to(repository / "gone")
    assert not environment.fresh(repository, "runtime")
    assert filled == ["runtime"]


def test_an_environment_that_is_somebodys_stays(repository: Path, filled: list[str]) -> None:
    """./dev replaces only what it made."""
    (repository / ".venv").mkdir()
    (repository / ".venv/precious").write_text("mine", "utf-8")
    with pytest.raises(environment.EnvironmentMissingError, match="did not make"):
        environment.make(repository, "runtime")
    assert (repository / ".venv/precious").read_text("utf-8") == "mine"
    assert not filled


def test_nothing_old_is_left(repository: Path, filled: list[str]) -> None:
    """A package that the lock no longer holds is gone."""
    environment.make(repository, "runtime")
    (repository / ".venv/stray").write_text("old", "utf-8")
    (repository / "requirements.lock").write_text("# changed\n", "utf-8")
    environment.make(repository, "runtime")
    assert len(filled) == 2
    assert not (repository / ".venv/stray").exists()
    assert not (repository / ".venv.old").exists()


@pytest.fixture
def tried(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """The commands that would have filled an environment; those of uv fail."""
    commands: list[list[str]] = []

    def run(command: list[str], *, must: bool = True) -> bool:
        commands.append(command)
        if "venv" in command:
            Path(command[-1]).mkdir(exist_ok=True)
        return must

    monkeypatch.setattr(environment, "run", run)
    return commands


def test_pip_takes_over_when_uv_does_not_manage(
    repository: Path, tried: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both are held to the hashes of the lock."""
    monkeypatch.setattr(shutil, "which", lambda name: f"/bin/{name}")
    environment.clear(repository)
    environment.fill(repository, "runtime")
    installs = [command for command in tried if "install" in command]
    assert [command[0].rpartition("/")[2] for command in installs] == ["uv", "python"]
    lock = str(repository / "requirements.lock")
    assert all({"--require-hashes", "--no-deps", lock} <= set(command) for command in installs)


def test_a_python_without_venv_is_told_what_to_install(
    repository: Path, tried: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Debian splits it off."""
    monkeypatch.setattr(shutil, "which", lambda _: None)
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    with pytest.raises(environment.EnvironmentMissingError, match=r"apt-get install python3\.\d+-venv"):
        environment.fill(repository, "runtime")
    assert not tried


def test_the_path_file_leads_to_the_source(repository: Path, filled: list[str]) -> None:
    """Its line is relative to the folder that holds it."""
    environment.make(repository, "runtime")
    assert filled
    site = repository / ".venv/lib/python3/site-packages"
    line = (site / "scantling.pth").read_text("utf-8").strip()
    assert (site / line).resolve() == (repository / "src").resolve()


@pytest.mark.parametrize("home", ["", None])
def test_no_cache_without_a_home(monkeypatch: pytest.MonkeyPatch, home: str | None) -> None:
    """An empty HOME is none, or installers would write into the current folder."""
    if home is None:
        monkeypatch.delenv("HOME", raising=False)
    else:
        monkeypatch.setenv("HOME", home)
    monkeypatch.setenv("PYTHONPATH", "elsewhere")
    made = environment.surroundings()
    assert "HOME" not in made
    assert "PYTHONPATH" not in made
    assert made["PIP_NO_CACHE_DIR"] == made["UV_NO_CACHE"] == "1"


def test_all_steps_run_and_the_failing_one_is_shown(
    repository: Path, filled: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line each, the output of what fails, a code of 1."""
    steps = (("first", "-c print('quiet')"), ("second", "-c exit('loud')"), ("third", "-c pass"))
    monkeypatch.setattr(checking, "STEPS", steps)
    assert checking.check(repository) == 1
    told = capsys.readouterr().out
    assert filled == ["developer"]
    assert [line.split()[:2] for line in told.splitlines() if line.endswith(" s")] == [
        ["ok", "first"],
        ["FAIL", "second"],
        ["ok", "third"],
    ]
    assert "loud" in told
    assert "quiet" not in told
    assert told.splitlines()[-1] == "failed: second"
    assert checking.check(repository, ["third"]) == 0
    assert checking.check(repository, ["fourth"]) == 2


@pytest.mark.parametrize(("words", "scale", "left"), [(["--all"], "full", []), (["-k", "x"], "short", ["-k", "x"])])
def test_tier_reaches_the_tests(
    monkeypatch: pytest.MonkeyPatch, words: list[str], scale: str, left: list[str]
) -> None:
    """--all is ours; the rest is pytest's."""
    ran: list[tuple[list[str], dict[str, str]]] = []

    def python(root: Path, tier: str, command: list[str], extra: dict[str, str]) -> int:
        assert (root, tier) == (ROOT, "developer")
        ran.append((command, extra))
        return 0

    monkeypatch.setattr(environment, "python", python)
    monkeypatch.setattr(packages, "provide", lambda missing: not missing or True)
    assert testing.test(ROOT, words) == 0
    command, extra = ran[0]
    assert extra == {"SCANTLING_SCALE": scale}
    assert command[:2] == ["-m", "pytest"]
    assert command[2:] == (left or testing.SPREAD)


def test_in_ci_a_missing_program_fails_the_full_tier(monkeypatch: pytest.MonkeyPatch) -> None:
    """Before any test runs."""
    monkeypatch.setattr(packages, "provide", lambda missing: False)
    monkeypatch.setenv("CI", "1")
    monkeypatch.setattr(environment, "python", lambda *_: pytest.fail("tests ran"))
    assert testing.test(ROOT, ["--all"]) == 1


def test_an_older_python_is_told_so() -> None:
    """The script's first lines hold no word that only a newer Python knows."""
    first = (ROOT / "dev").read_text("utf-8").partition("ROOT =")[0]
    older = first.replace("sys.version_info < (3, 11)", "sys.version_info < (9, 0)")
    done = subprocess.run([sys.executable, "-c", older], check=False, capture_output=True, text=True)
    assert done.returncode == 1
    assert "needs Python 3.11 or newer; this is 3." in done.stderr


@pytest.mark.parametrize(("words", "code"), [([], 0), (["help"], 0), (["paint"], 2)])
def test_help_and_unknown_words(words: list[str], code: int) -> None:
    """Both name every command; an unknown one is an error."""
    done = subprocess.run([sys.executable, "dev", *words], cwd=ROOT, check=False, capture_output=True, text=True)
    assert done.returncode == code
    told = done.stderr if code else done.stdout
    assert all(f"./dev {command}" in told for command in ("run", "test", "check", "bench", "lock", "scantling"))


def test_a_marker_is_readable(repository: Path, filled: list[str]) -> None:
    """It says tier, lock, Python and folder."""
    environment.make(repository, "runtime")
    assert filled
    read = json.loads((repository / ".venv" / environment.MARKER).read_text("utf-8"))
    assert read.keys() == {"tier", "lock", "python", "root"}
