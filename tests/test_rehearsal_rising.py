"""Servers come up in waves beside other work: what is told of them on the way is held against their own tools."""

from typing import Any

from scantling.trials.rehearsal import services
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.services import chrony
from served_offices import Stood, files_of, plan_of, stood


def test_each_wave_needs_only_those_before_it() -> None:
    """And nobody is left out, or started twice."""
    plan = plan_of("millrace")
    many = services.jobs(designed(plan), plan, files_of("millrace"))
    waves = services.waves(many)
    assert sorted(map(id, many)) == sorted(id(job) for wave in waves for job in wave)
    started: set[str] = set()
    wanted = {job.program for job in many}
    for wave in waves:
        assert wave
        assert {one for job in wave for one in services.adapter_of(job).AFTER} & wanted <= started
        started |= {job.program for job in wave}
    assert [job.program for job in services.waves(many[:1])[0]] == [many[0].program]
    assert services.waves([]) == []


def test_whoever_takes_the_time_heeds_us_as_it_heeds_its_own_tool() -> None:
    """chronyc, which speaks with chronyd in its own words, is the judge: it answers both or neither."""

    def work(there: Stood) -> list[tuple[Any, ...]]:
        there.rise()
        found = []
        for one in there.running:
            if one.job.program == "chronyd" and one.process is not None:
                found.append((chrony.heeds(one), _judged(one)))
                one.process.kill()
                one.process.wait()
                found.append((chrony.heeds(one), _judged(one)))
        return found

    said = stood("fold", work)
    assert len(said) > 2
    assert said == [(True, True), (False, False)] * (len(said) // 2)


def _judged(one: Any) -> bool:
    told = one.tree.ran(one.room, ["chronyc", "-n", "-h", chrony.CONTROL, "activity"])
    return not told.returncode and "sources online" in told.stdout.decode()
