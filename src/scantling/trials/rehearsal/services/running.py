"""What all adapters do alike: find a program, lay its files into a machine's tree, run parsers, start and end it."""

import hashlib
import re
import subprocess
from collections.abc import Mapping, Sequence

from scantling.outputs.files import Written
from scantling.trials.rehearsal.attending import Attendant, Counter
from scantling.trials.rehearsal.results import Checked, Played
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.services.adapter import Job, Placed, Running
from scantling.trials.rehearsal.trees import Tree

MANNERS = 2.0
"""Seconds in which a program may end in good order."""
KEPT_TO_ITSELF = 0o750
"""Some programs use no folder of theirs that everybody may read."""
MARK = "--- "
EACH = """n=0
for file in "$@"; do
    { said=$({ COMMAND; } 2>&1); printf '%.3000s\\n--- %s %s\\n' "$said" "$?" "$file"; } &
    n=$((n + 1)); [ $((n % 8)) -ne 0 ] || wait
done
wait
"""
"""One shell for all files, some at a time: starting a program from here costs more than reading a file does."""
STAMP = re.compile(r"^(\[?\d{4}-\d\d-\d\d[T ][\d:.]+Z?\]?\s+)?([\w-]+\[\d+\]:\s+)?")
"""What some say first: when, and as which process; the same mistake must be told in the same words."""
DOUBTS = ("warning", "ignor")
"""What parsers say of things that they take but don't like."""


def lay(job: Job, tree: Tree) -> None:
    """Put all files and folders of a server into its machine's tree."""
    for one in job.folders:
        tree.folder(one, KEPT_TO_ITSELF)
    for file in (*job.files, *job.beside, *job.beyond):
        place = tree.place(file.goes)
        if not (place.is_file() and place.read_bytes() == file.content):  # somebody may be reading it this moment
            tree.put(file.goes, file.content)


def digest(content: bytes) -> str:
    """SHA-256, hexadecimal (FIPS 180-4)."""
    return hashlib.sha256(content).hexdigest()


def digests(files: Mapping[str, Written]) -> dict[str, str]:
    """The same of files, by path."""
    return {path: digest(file.content) for path, file in files.items()}


def checked(files: Sequence[Placed], commands: Mapping[str, str], tree: Tree, room: Room) -> list[Checked]:
    """What each parser says of each file. `commands`: by parser, a line for the shell in which "$file" is the path.

    A parser that isn't installed is left out of what is told; with none at all nothing was checked.
    """
    here = {parser: line for parser, line in commands.items() if tree.has(parser)}
    says: dict[str, list[str]] = {one.goes: [] for one in files}
    for parser, line in here.items():
        for goes, words in _said([one.goes for one in files], line, tree, room).items():
            says[goes] += [f"{parser}: {words}"] if words else []
    return [
        Checked(one.path, digest(one.content), " and ".join(here), "; ".join(says[one.goes])) for one in files
    ]  # fmt: skip


def _said(paths: Sequence[str], line: str, tree: Tree, room: Room) -> dict[str, str]:
    """Of each file, what a parser said against it."""
    told = tree.ran(room, ["sh", "-c", EACH.replace("COMMAND", line), "check", *paths])
    against: dict[str, str] = {}
    words: list[str] = []
    for said in told.stdout.decode("utf-8", "replace").splitlines():
        if said.startswith(MARK):
            code, _, path = said.removeprefix(MARK).partition(" ")
            doubts = words if code != "0" else [one for one in words if any(word in one.lower() for word in DOUBTS)]
            against[path] = " ".join(doubts) or ("" if code == "0" else f"refused ({code})")
            words = []
        elif said.strip():
            words.append(STAMP.sub("", said.strip()))
    missing = [path for path in paths if path not in against]
    if missing:
        raise RehearsalError(
            f"the parser of {missing[0]} couldn't be run: {told.stderr.decode('utf-8', 'replace').strip()}"
        )
    return against


def begun(job: Job, tree: Tree, room: Room, words: Sequence[str]) -> Running:
    """Lay the files and start the program with some words. Raises RehearsalError."""
    lay(job, tree)
    log = f"/var/log/{job.program}.log"
    process = tree.started(room, [job.program, *words], log)
    return Running(
        job,
        tree,
        room,
        Played(job.service, job.machine, job.program, real=True, why=job.why, files=job.paths),
        process,
        log,
    )


def alive(running: Running) -> None:
    """Raises RehearsalError with the program's last lines when it has ended."""
    if running.ended:
        process = running.process
        assert process is not None
        raise RehearsalError(
            f"{running.job.program} on {running.job.machine} ended with {process.returncode}; its last lines: "
            f"{running.said() or 'none'}\nit was started from {running.job.paths[0]}"
        )


def ended(running: Running) -> None:
    """End it: politely, then at once."""
    if running.attendant is not None:
        running.attendant.end()
        running.attendant = None
    process = running.process
    if process is None:
        return
    process.terminate()
    try:
        process.wait(MANNERS)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def instead(job: Job, tree: Tree, room: Room, why: str, counters: Sequence[Counter] = ()) -> Running:
    """A stand-in: nobody, or a small server of our own at the counters. Raises RehearsalError."""
    lay(job, tree)
    words = f"{job.program} isn't installed: {why}"
    standing = Attendant(room, f"what stands in for {job.program} on {job.machine}", counters) if counters else None
    return Running(
        job,
        tree,
        room,
        Played(job.service, job.machine, "", real=False, why=words, files=job.paths),
        attendant=standing,
    )
