"""One job at the bench: what it tells, how it ends, how it is stopped."""

from __future__ import annotations

import signal
import threading
import time
from datetime import UTC, datetime

import pytest
from pydantic import BaseModel

from conewise.errors import InfeasibleError, telling
from conewise.findings import Finding, Sentence, Value
from conewise.store.jobs import Asker, Jobs, JobState
from conewise.web import work as kinds
from conewise.web.worker import interrupted, work
from conewise.workflows.book_place import BookPlace


class Asked(BaseModel):
    """Nothing is asked but to count."""

    to: int = 3
    system: str = "metric"


@pytest.fixture
def at_the_bench(tmp_path, monkeypatch):
    """A function that does a job with a function, and returns the job as it is then."""
    place = BookPlace(book=tmp_path / "book", now=lambda: datetime.now(UTC))
    monkeypatch.setattr(kinds, "_KINDS", {})
    monkeypatch.setattr(kinds, "MODULES", ())

    before = signal.signal(signal.SIGINT, interrupted)

    with place.opened() as book:
        jobs = Jobs(book)

        def do(function, question=None, *, meanwhile=None):
            kinds.register(kinds.Kind(name="count", asks=Asked, work=function))
            jobs.submit("a", "count", {"question": question or {}}, asker=Asker())
            job = jobs.take()
            other = threading.Thread(target=meanwhile or (lambda: None), args=(jobs,) if meanwhile else ())
            other.start()
            work(jobs, job, place)
            other.join()
            return jobs.one("a")

        yield do
    signal.signal(signal.SIGINT, before)


def test_what_came_of_it_is_kept(at_the_bench):
    def count(asked, desk):
        return {"counted": list(range(asked.to)), "odd": float("nan")}

    job = at_the_bench(count, {"to": 2})
    assert (job.state, job.result) == (JobState.DONE, {"counted": [0, 1], "odd": None})


def test_an_error_is_kept_as_every_face_shows_it(at_the_bench):
    def impossible(asked, desk):
        raise InfeasibleError("No way leads through gate 7.", where="gate 7")

    job = at_the_bench(impossible)
    assert (job.state, job.error["where"]) == (JobState.FAILED, "gate 7")


@pytest.mark.parametrize(("system", "unit"), [("metric", "km"), ("us", "mi")])
def test_an_error_and_what_was_found_are_said_in_the_units_asked_for(at_the_bench, system, unit):
    def elsewhere(asked, desk):
        far = Value(12_300.0, "length", is_distance=True)
        with telling([Finding("warning", "position-break", Sentence("The way breaks by {}.", far))]):
            raise InfeasibleError(Sentence("It was made {} away.", far))

    error = at_the_bench(elsewhere, {"system": system}).error
    assert f" {unit} away." in error["message"]
    assert error["findings"][0]["message"].endswith(f" {unit}.")


def test_a_fault_is_said_and_kept_in_a_log(at_the_bench, logs_of_faults):
    def broken(asked, desk):
        return 1 / 0

    job = at_the_bench(broken)
    assert (job.state, job.error["code"]) == (JobState.FAILED, "fault")
    assert len(list(logs_of_faults.glob("*.log"))) == 1


def test_it_tells_how_far_it_is_and_what_came_so_far(at_the_bench):
    seen = []

    def slow(asked, desk):
        desk.tell(0.5, "half")
        desk.show({"so": "far"})
        time.sleep(1.5)
        return "all"

    def watch(jobs):
        time.sleep(0.8)
        seen.append(jobs.one("a"))

    assert at_the_bench(slow, meanwhile=watch).result == "all"
    assert (seen[0].progress, seen[0].message, seen[0].result) == (0.5, "half", {"so": "far"})
    assert seen[0].seen_at > seen[0].asked_at


def test_work_that_tells_nothing_is_interrupted_where_it_is_asked_to_stop(at_the_bench):
    def endless(asked, desk):
        while True:
            time.sleep(0.01)

    def stop(jobs):
        time.sleep(0.3)
        jobs.stop("a")

    began = time.monotonic()
    assert at_the_bench(endless, meanwhile=stop).state is JobState.STOPPED
    assert time.monotonic() - began < 20  # seconds; it takes one, on a busy machine more


def test_a_module_that_is_being_loaded_is_loaded_to_its_end_before_the_stop(at_the_bench, tmp_path, monkeypatch):
    """Half of a library that stays behind would spoil every later job of this process."""
    (tmp_path / "slow_to_load.py").write_text("import time\ntime.sleep(1.5)\nis_whole = True\n", encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    loaded = []

    def loading(asked, desk):
        import slow_to_load

        loaded.append(slow_to_load.is_whole)
        while True:
            time.sleep(0.01)

    def stop(jobs):
        time.sleep(0.3)
        jobs.stop("a")

    assert at_the_bench(loading, meanwhile=stop).state is JobState.STOPPED
    assert loaded == [True]


def test_the_share_of_steps_grows_and_stays_below_all():
    told = []
    desk = kinds.Desk(place=None, job="", tell=lambda share, words: told.append((share, words)), show=None)
    progress = desk.steps(3)
    for words in "abcdef":
        progress(words)
    shares = [share for share, _ in told]
    assert shares == sorted(shares)
    assert 0 < shares[0] < 0.5 < shares[2] < shares[-1] < 1
    assert [words for _, words in told] == list("abcdef")
