"""Has all files read by their own programs in a process beside the rehearsal, which goes on meanwhile and comes first."""

from collections.abc import Callable, Sequence

from scantling.trials.rehearsal.beside import Beside
from scantling.trials.rehearsal.results import Checked
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.services import checked
from scantling.trials.rehearsal.services.adapter import Job
from scantling.trials.rehearsal.services.running import lay
from scantling.trials.rehearsal.trees import Tree


class Checking:
    """The reading of all files, begun. Every file lies in its place before anything else goes on."""

    def __init__(self, many: Sequence[Job], tree_of: Callable[[str], Tree], room_of: Callable[[str], Room]) -> None:
        for job in many:
            lay(job, tree_of(job.machine))
        self._beside = Beside("the files' parsers", lambda: checked(many, tree_of, room_of), polite=True)

    def result(self) -> list[Checked]:
        """What the parsers say, once they all have. Raises RehearsalError."""
        return self._beside.result()
