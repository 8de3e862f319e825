"""A plan's files in two parts: what the office runs from, and what only people read."""

from dataclasses import replace

import pytest

from offices import BRIEFS, example
from scantling.outputs.files import FilesError, written
from scantling.trials.rehearsal import papers, services
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.session import FORWARDING, RULES, SETS


@pytest.mark.parametrize("name", sorted(BRIEFS))
def test_both_parts_are_all_files_byte_for_byte(name: str) -> None:
    """Nothing is lost, nothing is written twice, and each part has something."""
    plan = example(name)
    some, others = papers.run_from(plan), papers.papers(plan)
    assert some
    assert others
    assert papers.together(some, others) == {one.path: one for one in written(plan)}


def test_papers_are_of_writers_that_there_are() -> None:
    """A writer that is renamed would be waited for again."""
    assert papers.writers(papers.names()).keys() >= papers.FOR_PEOPLE


@pytest.mark.parametrize("name", sorted(BRIEFS))
def test_whatever_runs_reads_no_paper(name: str) -> None:
    """Every server's files, and the firewall's, are written before the office stands."""
    plan = example(name)
    some = papers.run_from(plan)
    jobs = services.jobs(designed(plan), plan, some.values())
    all_jobs = services.jobs(designed(plan), plan, written(plan))
    assert jobs == all_jobs
    assert {RULES, FORWARDING} <= some.keys()
    assert SETS not in papers.papers(plan)


def test_two_files_of_one_path_are_refused() -> None:
    """Neither part hides a file of the other."""
    some = papers.run_from(example("millrace"))
    one = replace(some[RULES], content=b"other")
    with pytest.raises(FilesError, match="two files are called"):
        papers.together(some, {RULES: one})
