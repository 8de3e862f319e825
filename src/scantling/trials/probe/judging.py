"""The one judge of probes: what was meant, held against what the socket saw and what the firewall's recorder noted."""

from collections.abc import Iterable

from scantling.trials.probe.probing import Expected, Heard, Judgement, Probe, Seen, Verdict


def judge(probe: Probe, seen: Seen) -> Judgement:
    """What a probe shows.

    | socket | came in | left | of what is allowed | of what is kept out |
    |---|---|---|---|---|
    | answer, as meant | yes | yes | as meant | let through |
    | answer by another, or at another port | yes | | another machine answers | let through |
    | answer to a wrong source | yes | | arrives under a wrong address | let through |
    | refused | yes | no | rejected | as meant |
    | refused | yes | yes | nobody listens (as meant where nobody is expected to) | let through |
    | silence | yes | no | dropped | as meant |
    | silence | yes | yes | nobody answers (as meant where nobody is expected to) | let through |
    | anything | no | no | never came to the firewall | the same, and if it is answered it went around the firewall |
    """
    verdict = _allowed(probe, seen) if probe.expected is Expected.ALLOWED else _kept_out(seen)
    return Judgement(probe, seen, verdict)


def judged(probes: Iterable[Probe], seen: Iterable[Seen]) -> list[Judgement]:
    """All of them, in the order of the probes. Raises KeyError for a probe of which nothing was seen."""
    found = {one.probe: one for one in seen}
    return [judge(one, found[one.id]) for one in probes]


def _kept_out(seen: Seen) -> Verdict:
    if not seen.entered:
        return Verdict.NEVER_CAME
    return Verdict.LET_THROUGH if seen.left or seen.heard is Heard.ANSWER else Verdict.AS_MEANT


def _allowed(probe: Probe, seen: Seen) -> Verdict:
    if seen.heard is Heard.ANSWER:
        return _answered(probe, seen)
    if not seen.entered:
        return Verdict.NEVER_CAME
    if not seen.left:
        return Verdict.REJECTED if seen.heard is Heard.REFUSED else Verdict.DROPPED
    if not probe.answers:
        return Verdict.AS_MEANT
    return Verdict.CLOSED if seen.heard is Heard.REFUSED else Verdict.DEAD


def _answered(probe: Probe, seen: Seen) -> Verdict:
    """An answer counts when the right one gives it, at the right port, to the right source, by way of the firewall."""
    port = probe.arrives[1] if probe.arrives else probe.port
    if probe.answers and (seen.answerer, seen.answered_at) != (probe.answers, port):
        return Verdict.WRONG_HOST
    if not seen.entered:
        return Verdict.NEVER_CAME
    if seen.seen_as and seen.seen_as != str(probe.seen_as or probe.source_address):
        return Verdict.WRONG_SOURCE
    return Verdict.AS_MEANT
