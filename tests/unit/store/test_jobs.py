"""Long work: taken by one process only, seen by all, stopped when asked, never lost."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import pytest

from conewise.errors import InfeasibleError
from conewise.store.errors import NoSuchRecordError
from conewise.store.jobs import Jobs, JobState
from tests.books import opened


@pytest.fixture
def jobs(tmp_path):
    with opened(tmp_path / "book") as book:
        yield Jobs(book)


def test_a_job_from_asking_to_its_result(jobs):
    asked = {"course": "harbour-yard", "paces": [0.8, 0.9]}
    assert jobs.submit("a", "line", asked).state is JobState.WAITING
    assert jobs.submit("a", "line", asked).asked_at == jobs.one("a").asked_at  # asking twice is asking once
    taken = jobs.take("line")
    assert (taken.id, taken.state, taken.asked) == ("a", JobState.RUNNING, asked)
    assert jobs.report("a", 0.4, "second pace")
    assert (jobs.one("a").progress, jobs.one("a").message) == (0.4, "second pace")
    done = jobs.finish("a", {"time_s": 35.1})
    assert (done.state, done.result, done.progress, done.is_over) == (JobState.DONE, {"time_s": 35.1}, 1.0, True)
    assert jobs.take() is None
    assert not jobs.report("a", 0.5)


def test_the_one_that_has_waited_longest_goes_first_and_to_one_only(jobs):
    for name in "abc":
        jobs.submit(name, "debrief" if name == "a" else "line", {})
    assert [jobs.take("line").id, jobs.take("line").id, jobs.take("line")] == ["b", "c", None]
    assert jobs.take().id == "a"
    assert all(first.asked_at >= second.asked_at for first, second in pairwise(jobs.every()))


def test_what_went_wrong_is_kept_in_the_shape_of_errors(jobs):
    jobs.submit("a", "line", {})
    jobs.take()
    failed = jobs.fail("a", InfeasibleError("No way leads through gate 7.", where="gate 7"))
    assert failed.state is JobState.FAILED
    assert failed.error["code"] == "infeasible"
    assert failed.error["where"] == "gate 7"
    assert failed.error["hint"]


def test_a_job_hears_that_it_is_to_stop(jobs):
    for name in "ab":
        jobs.submit(name, "line", {})
    jobs.take()
    assert jobs.stop("a").state is JobState.STOPPING
    assert jobs.stop("b").state is JobState.STOPPED
    assert not jobs.report("a", 0.5)
    assert jobs.finish("a", None).state is JobState.STOPPED
    assert jobs.stop("a").state is JobState.STOPPED


def test_what_came_of_a_stopped_job_so_far_stays(jobs):
    for name, ended in (("a", jobs.stopped), ("b", lambda _id: jobs.give_up(silent_for=timedelta(0)))):
        jobs.submit(name, "advise", {})
        jobs.take()
        jobs.report(name, 0.5, "20 of 40 runs solved", so_far={"rows": [1, 2]})
        jobs.stop(name)
        ended(name)
        job = jobs.one(name)
        assert (job.state, job.result, job.progress) == (JobState.STOPPED, {"rows": [1, 2]}, 0.5)


def test_jobs_of_a_process_that_has_gone_are_taken_up_again(jobs):
    for name in "ab":
        jobs.submit(name, "line", {})
        jobs.take()
    jobs.stop("b")
    assert jobs.give_up(silent_for=timedelta(hours=1)) == 0
    assert jobs.give_up(silent_for=timedelta(0)) == 2
    assert (jobs.one("a").state, jobs.one("b").state) == (JobState.WAITING, JobState.STOPPED)
    assert jobs.take().id == "a"


def test_an_unknown_job_is_said(jobs):
    with pytest.raises(NoSuchRecordError):
        jobs.one("none")
    with pytest.raises(NoSuchRecordError):
        jobs.stop("none")


def test_what_came_so_far_is_seen_while_it_runs(jobs):
    jobs.submit("a", "line", {})
    jobs.take()
    assert jobs.report("a", 0.2, "first time", so_far={"time_s": 36.0})
    assert jobs.report("a", 0.4, "paces")
    assert jobs.one("a").result == {"time_s": 36.0}
    assert jobs.finish("a", {"time_s": 35.9}).result == {"time_s": 35.9}


def test_one_that_ended_without_a_result_may_be_asked_again(jobs):
    jobs.submit("a", "line", {})
    jobs.take()
    jobs.fail("a", InfeasibleError("No way leads through gate 7."))
    assert jobs.submit("a", "line", {}).state is JobState.FAILED
    again = jobs.submit("a", "line", {}, again=True)
    assert (again.state, again.error, again.progress) == (JobState.WAITING, None, 0.0)
    jobs.take()
    jobs.finish("a", 1)
    assert jobs.submit("a", "line", {}, again=True).state is JobState.DONE


def test_old_jobs_that_are_over_are_forgotten(jobs):
    for name in "ab":
        jobs.submit(name, "line", {})
    jobs.stop("a")
    assert jobs.forget(older_than=timedelta(hours=1)) == 0
    assert jobs.forget(older_than=timedelta(0)) == 1
    assert [job.id for job in jobs.every()] == ["b"]
