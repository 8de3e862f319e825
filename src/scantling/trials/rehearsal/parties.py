"""Fills the firewall's sets of parties whose addresses move, with the generated script, as the firewall itself will do."""

from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.session import SETS, Living


def filled(living: Living) -> None:
    """Run the script, which asks the office's own resolver. Raises RehearsalError."""
    if SETS in living.files:
        told = living.run(["sh", "/etc/office-firewall/fill-sets.sh"])
        if told.returncode:
            said = (told.stderr or told.stdout).decode("utf-8", "replace").strip()
            raise RehearsalError(f"fill-sets.sh failed on the firewall: {said or told.returncode}")
