"""A debrief goes to the run that it is of: a new version, with what every later page asks of it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from conewise.errors import ConewiseError
from conewise.event.cars import EventCar
from conewise.event.day import Event
from conewise.event.runs import Run
from conewise.store.days import keep_day
from conewise.store.logs import StoredLog
from conewise.store.texts import CarText, CourseText
from conewise.workflows import debrief_book
from conewise.workflows.book_place import BookPlace
from conewise.workflows.mentoring import answer_page, answer_season, every_event, season_record
from conewise.workflows.named import BookLog
from tests.books import CAR, COURSE, Clock, example_day, opened
from tests.debriefs import made_up_debrief


@pytest.fixture
def answer():
    return made_up_debrief()


@pytest.fixture
def place(tmp_path, answer):
    """A book with an event at which Ben drove four runs; the second has the time of the debrief."""
    day = example_day()
    own, raw = day.runs[0], answer.told.time
    times = (raw + 2.0, raw + 0.07, raw + 1.0, raw + 0.9)
    runs = tuple(
        own.changed(id=f"ben-{n}", person="ben", order=n, raw_time=time, outcome="timed", is_void=False, passenger="",
                    losses=(), focus="look ahead" if n == 3 else "", log="", written=f"{time:.3f}")
        for n, time in enumerate(times, start=1)
    )  # fmt: skip
    event = day.event.changed(course_file="yard")
    cars = tuple(car.changed(car_file="pepper") if car.id == "pepper" else car for car in day.cars)
    place = BookPlace(book=tmp_path / "book", now=Clock())
    with opened(place.book) as book:
        book.add(CourseText(id="yard", text=COURSE))
        book.add(CarText(id="pepper", text=CAR))
        keep_day(book, day.changed(event=event, cars=cars, runs=runs, ride_alongs=()))
    return place


@pytest.fixture
def log(place):
    return BookLog(
        name="ben-evening",
        record=StoredLog(id="ben-evening", name="e.csv", event="lot-1", person="ben"),
        folder=place.folder,
    )


def test_the_run_with_the_time_gets_the_losses_and_the_focus(place, log, answer):
    done = debrief_book.keep_debrief(place, answer, log=log, by="ada")
    assert (done.run.id, done.version) == ("ben-2", 2)
    with place.opened() as book:
        first, second = book.history(Run, "ben-2")
    assert first.record.losses == ()
    assert second.reason.startswith("debrief of ")
    kept = second.record
    assert sum(loss.seconds for loss in kept.losses) == pytest.approx(answer.gap, abs=1e-3)  # rounded to 0.1 ms each
    assert sum(loss.best for loss in kept.losses) == pytest.approx(answer.breakdown.best, abs=1e-3)
    assert {loss.kind for loss in kept.losses} <= {"launch", "slalom", "sweeper", "hairpin", "straight"}
    assert kept.focus == "gate-1: Pass this cone closer."
    assert (kept.log, kept.raw_time) == ("ben-evening", first.record.raw_time)


def test_the_same_debrief_again_is_no_new_version(place, log, answer):
    debrief_book.keep_debrief(place, answer, log=log)
    assert debrief_book.keep_debrief(place, answer, log=log).version == 2


def test_a_focus_that_somebody_noted_stays(place, answer):
    assert debrief_book.keep_debrief(place, answer, run_id="ben-3").run.focus == "look ahead"


def test_two_runs_of_that_time_are_asked_about(place, log, answer):
    slower = answer.told.time + 0.95
    other = replace(answer, told=replace(answer.told, time=slower))
    with pytest.raises(debrief_book.WhichRunError, match="two runs are within") as caught:
        debrief_book.keep_debrief(place, other, log=log)
    assert "ben-3" in caught.value.hint
    assert "ben-4" in caught.value.hint
    with pytest.raises(debrief_book.WhichRunError, match="no run is within"):
        debrief_book.keep_debrief(place, replace(answer, told=replace(answer.told, time=90.0)), log=log)


def test_what_cannot_be_kept_is_said_before_the_work(place, log, tmp_path):
    debrief_book.refuse_unkeepable(place, log, run_id="")
    debrief_book.refuse_unkeepable(place, tmp_path / "e.csv", run_id="ben-1")
    with pytest.raises(debrief_book.WhichRunError, match="Nobody said"):
        debrief_book.refuse_unkeepable(place, tmp_path / "e.csv", run_id="")
    with pytest.raises(ConewiseError, match="no run 'ben-9'"):
        debrief_book.refuse_unkeepable(place, log, run_id="ben-9")


def test_a_recording_of_the_book_leads_to_course_and_car(place, log, tmp_path):
    assert debrief_book.course_of_log(place, log).name == "yard"
    assert debrief_book.car_of_log(place, log).name == "pepper"  # of Ben's entry
    with pytest.raises(debrief_book.NothingKnownError, match="--course is missing"):
        debrief_book.course_of_log(place, tmp_path / "e.csv")
    with pytest.raises(debrief_book.NothingKnownError, match="--car is missing"):
        debrief_book.car_of_log(place, None)
    with place.opened() as book:
        event, car = book.one(Event, "lot-1"), book.one(EventCar, "pepper")
        book.change(event.record.changed(course_file=""), version=event.version)
        book.change(car.record.changed(car_file=""), version=car.version)
    with pytest.raises(debrief_book.NothingKnownError, match="names no course"):
        debrief_book.course_of_log(place, log)
    with pytest.raises(debrief_book.NothingKnownError, match="has no car file"):
        debrief_book.car_of_log(place, log)


def test_pages_and_season_speak_of_what_was_kept(place, log, answer):
    assert season_record(answer_season(every_event(place), "ben"))["kinds"] == []
    debrief_book.keep_debrief(place, answer, log=log)
    days = every_event(place)
    kinds = answer_season(days, "ben")
    assert sum(kind.loss for kind in kinds) == pytest.approx(answer.gap, abs=1e-3)
    assert kinds[0].loss == max(kind.loss for kind in kinds)
    assert answer_season(days, "ada") == ()
    page = answer_page(days, "ben")
    assert set(page.progress) == {kind.kind for kind in kinds}


def test_a_book_without_events(tmp_path):
    place = BookPlace(book=tmp_path / "book", now=Clock())
    opened(place.book).close()
    with pytest.raises(ConewiseError, match="no event yet"):
        every_event(place)


def apart(answered):
    return [finding.message for finding in answered.findings if finding.code == "written-time-differs"]


def test_a_written_time_far_from_the_measured_one_is_told_with_both(place, log, answer):
    raw = answer.told.time
    told = debrief_book.with_written_time(place, answer, log=log, run_id="ben-1")
    [said] = apart(told)
    assert f"The recording has {raw:.2f} s" in said
    assert f"written down with {raw + 2.0:.2f} s, 2.00 s more" in said
    assert "Check whether it is the same run" in said
    assert apart(debrief_book.with_written_time(place, answer, log=log, run_id="ben-2")) == []
    assert apart(debrief_book.with_written_time(place, answer, log=log)) == []  # the second run has that time


def test_without_a_run_of_that_time_the_nearest_is_told(place, log, answer):
    slower = replace(answer, told=replace(answer.told, time=answer.told.time + 3.5))
    [said] = apart(debrief_book.with_written_time(place, slower, log=log))
    assert "run 1 of " in said
    assert "1.50 s less" in said
    stranger = replace(log, record=log.record.changed(person=""))
    assert apart(debrief_book.with_written_time(place, slower, log=stranger)) == []
