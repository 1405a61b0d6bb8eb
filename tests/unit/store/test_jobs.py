"""Long work: taken by one process only, seen by all, stopped when asked, never lost."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from itertools import pairwise
from threading import Barrier

import pytest

from conewise.errors import InfeasibleError
from conewise.store.errors import NoSuchRecordError
from conewise.store.jobs import Asker, Jobs, JobState
from tests.books import opened


@pytest.fixture
def jobs(tmp_path):
    with opened(tmp_path / "book") as book:
        yield Jobs(book)


def test_a_job_from_asking_to_its_result(jobs):
    asked = {"course": "harbour-yard", "paces": [0.8, 0.9]}
    assert jobs.submit("a", "line", asked, asker=Asker()).state is JobState.WAITING
    assert (
        jobs.submit("a", "line", asked, asker=Asker()).asked_at == jobs.one("a").asked_at
    )  # asking twice is asking once
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
        jobs.submit(name, "debrief" if name == "a" else "line", {}, asker=Asker())
    assert [jobs.take("line").id, jobs.take("line").id, jobs.take("line")] == ["b", "c", None]
    assert jobs.take().id == "a"
    assert all(first.asked_at >= second.asked_at for first, second in pairwise(jobs.every()))


def test_what_went_wrong_is_kept_in_the_shape_of_errors(jobs):
    jobs.submit("a", "line", {}, asker=Asker())
    jobs.take()
    failed = jobs.fail("a", InfeasibleError("No way leads through gate 7.", where="gate 7"))
    assert failed.state is JobState.FAILED
    assert failed.error["code"] == "infeasible"
    assert failed.error["where"] == "gate 7"
    assert failed.error["hint"]


def test_a_job_hears_that_it_is_to_stop(jobs):
    for name in "ab":
        jobs.submit(name, "line", {}, asker=Asker())
    jobs.take()
    assert jobs.stop("a").state is JobState.STOPPING
    assert jobs.stop("b").state is JobState.STOPPED
    assert not jobs.report("a", 0.5)
    assert jobs.finish("a", None).state is JobState.STOPPED
    assert jobs.stop("a").state is JobState.STOPPED


def test_what_came_of_a_stopped_job_so_far_stays(jobs):
    for name, ended in (("a", jobs.stopped), ("b", lambda _id: jobs.give_up(silent_for=timedelta(0)))):
        jobs.submit(name, "advise", {}, asker=Asker())
        jobs.take()
        jobs.report(name, 0.5, "20 of 40 runs solved", so_far={"rows": [1, 2]})
        jobs.stop(name)
        ended(name)
        job = jobs.one(name)
        assert (job.state, job.result, job.progress) == (JobState.STOPPED, {"rows": [1, 2]}, 0.5)


def test_jobs_of_a_process_that_has_gone_are_taken_up_again(jobs):
    for name in "ab":
        jobs.submit(name, "line", {}, asker=Asker())
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
    jobs.submit("a", "line", {}, asker=Asker())
    jobs.take()
    assert jobs.report("a", 0.2, "first time", so_far={"time_s": 36.0})
    assert jobs.report("a", 0.4, "paces")
    assert jobs.one("a").result == {"time_s": 36.0}
    assert jobs.finish("a", {"time_s": 35.9}).result == {"time_s": 35.9}


def test_one_that_ended_without_a_result_may_be_asked_again(jobs):
    jobs.submit("a", "line", {}, asker=Asker())
    jobs.take()
    jobs.fail("a", InfeasibleError("No way leads through gate 7."))
    assert jobs.submit("a", "line", {}, asker=Asker()).state is JobState.FAILED
    again = jobs.submit("a", "line", {}, asker=Asker(), again=True)
    assert (again.state, again.error, again.progress) == (JobState.WAITING, None, 0.0)
    jobs.take()
    jobs.finish("a", 1)
    assert jobs.submit("a", "line", {}, asker=Asker(), again=True).state is JobState.DONE


def test_old_jobs_that_are_over_are_forgotten(jobs):
    for name in "ab":
        jobs.submit(name, "line", {}, asker=Asker())
    jobs.stop("a")
    assert jobs.forget(older_than=timedelta(hours=1)) == 0
    assert jobs.forget(older_than=timedelta(0)) == 1
    assert [job.id for job in jobs.every()] == ["b"]


PHONE, OTHER = Asker(device="phone", slot="line-0"), Asker(device="other", slot="line-0")


@pytest.mark.parametrize("is_taken", [False, True])
def test_a_job_stops_when_the_last_who_waited_for_it_leaves(jobs, is_taken):
    jobs.submit("a", "line", {}, asker=Asker())
    jobs.submit("a", "line", {}, asker=PHONE)
    going_on = JobState.WAITING
    if is_taken:
        jobs.take()
        going_on = JobState.RUNNING
    assert jobs.leave("a", Asker(device="a stranger")).state is going_on
    assert jobs.leave("a", Asker(device=PHONE.device)).state is going_on
    assert jobs.leave("a", Asker(device=PHONE.device)).state is going_on
    assert jobs.leave("a", Asker()).state is (JobState.STOPPING if is_taken else JobState.STOPPED)


def test_another_question_in_a_slot_stops_only_what_nobody_else_waits_for(jobs):
    jobs.submit("a", "line", {}, asker=OTHER)
    jobs.submit("b", "line", {}, asker=Asker(device="phone", slot="elsewhere"))
    for name in "abcd":
        jobs.submit(name, "line", {}, asker=PHONE)
    states = {job.id: job.state for job in jobs.every()}
    assert states == dict.fromkeys("abd", JobState.WAITING) | {"c": JobState.STOPPED}


def test_two_quick_questions_of_one_slot_leave_one_of_them(tmp_path):
    def asked(name):
        with opened(tmp_path / "book") as book:
            together.wait()
            Jobs(book).submit(name, "line", {}, asker=PHONE)

    with opened(tmp_path / "book") as book, ThreadPoolExecutor(2) as threads:
        for k in range(5):
            together = Barrier(2)
            list(threads.map(asked, (f"a{k}", f"b{k}")))
            assert len(Jobs(book).unfinished()) == 1


def test_what_follows_is_for_those_who_wait_for_the_job_before(jobs):
    jobs.submit("a", "log-check", {}, asker=PHONE)
    jobs.submit("a", "log-check", {}, asker=OTHER)
    jobs.take()
    assert jobs.follow("b", "debrief", {}, after="a").state is JobState.WAITING
    jobs.finish("a", 1)
    assert jobs.leave("b", Asker()).state is JobState.WAITING  # the laptop never asked
    assert jobs.leave("b", Asker(device=PHONE.device)).state is JobState.WAITING
    assert jobs.leave("b", Asker(device=OTHER.device)).state is JobState.STOPPED


def test_nothing_follows_where_nobody_waits_any_more(jobs):
    jobs.submit("a", "log-check", {}, asker=PHONE)
    jobs.take()
    jobs.leave("a", Asker(device=PHONE.device))
    assert jobs.follow("b", "debrief", {}, after="a") is None
    assert [job.id for job in jobs.every()] == ["a"]


def test_stopping_for_all_leaves_nobody_waiting(jobs):
    jobs.submit("a", "line", {}, asker=PHONE)
    jobs.submit("a", "line", {}, asker=OTHER)
    jobs.take()
    assert jobs.stop("a").state is JobState.STOPPING
    assert jobs.stopped("a").state is JobState.STOPPED


@pytest.mark.parametrize("by", ["stopped", "give_up"])
def test_one_that_is_asked_for_again_while_it_stops_waits_anew(jobs, by):
    jobs.submit("a", "line", {}, asker=Asker())
    jobs.take()
    jobs.report("a", 0.5, "half", so_far=1)
    jobs.leave("a", Asker())
    assert jobs.submit("a", "line", {}, asker=PHONE, again=True).state is JobState.STOPPING
    assert not jobs.report("a", 0.6)  # who works on it has been told; it goes through the end
    if by == "stopped":
        jobs.stopped("a")
    else:
        jobs.give_up(silent_for=timedelta(0))
    found = jobs.one("a")
    assert (found.state, found.progress, found.message, found.result) == (JobState.WAITING, 0.0, "", None)
    assert jobs.take().id == "a"
    assert jobs.leave("a", Asker(device=PHONE.device)).state is JobState.STOPPING


def test_one_that_is_done_before_it_hears_is_done_for_who_asked_since(jobs):
    jobs.submit("a", "line", {}, asker=Asker())
    jobs.take()
    jobs.leave("a", Asker())
    jobs.submit("a", "line", {}, asker=PHONE, again=True)
    assert jobs.finish("a", 1).state is JobState.DONE


def test_who_waited_for_one_that_was_stopped_does_not_wait_for_it_when_it_is_asked_again(jobs):
    jobs.submit("a", "line", {}, asker=PHONE)
    jobs.take()
    jobs.fail("a", InfeasibleError("No way leads through gate 7."))
    jobs.submit("a", "line", {}, asker=Asker(), again=True)
    assert jobs.leave("a", Asker()).state is JobState.STOPPED
