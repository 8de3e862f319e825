"""Those who answer may be behind on a busy machine: tries wait for them, in a small office in the kernel, as an ordinary user."""

from own_namespace import apart
from probe_lab import Lab, at
from scantling.trials.probe.ports import listeners
from scantling.trials.probe.probing import Expected, Kind, Probe, Verdict
from scantling.trials.rehearsal.prober import Manner

ASKED = ((Kind.TCP, 445), (Kind.UDP, 514))
FAMILIES = (4, 6)


def allowed(number: int, kind: Kind, port: int, family: int) -> Probe:
    """A try of the laptop on the file server, which is to answer."""
    source, target = at("laptop", family), at("files", family)
    return Probe(number, "laptop", source, kind, "files", target, port, Expected.ALLOWED, "files")


def test_those_who_are_behind_are_waited_for() -> None:
    """Whoever answers stands still, as on a machine without time for them; they go on when they are waited for, and are heard."""
    kinds = [(kind, port, family) for kind, port in ASKED for family in FAMILIES]
    probes = [allowed(number, *each) for number, each in enumerate(kinds)]

    def work() -> tuple[list[Verdict], list[Verdict]]:
        lab = Lab()
        lab.answering(listeners(probes))
        answering = lab.responders
        assert answering is not None

        def go_on() -> None:
            answering.go_on()
            answering.through()

        answering.pause()
        paused = lab.tried(probes, (), Manner(again=(), through=answering.through))
        behind = lab.tried(probes, (), Manner(again=(), through=go_on))
        return [one.verdict for one in paused], [one.verdict for one in behind]

    paused, behind = apart(work)
    assert set(paused) == {Verdict.DEAD}  # of those who are paused nothing is awaited
    assert set(behind) == {Verdict.AS_MEANT}
