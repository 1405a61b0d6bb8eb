"""Build-up, pages and overview from files; predicted runs are those of the solver."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from conewise.event.runs import Run
from conewise.mentoring.build_up import FeatureSpeed, PacePrediction
from conewise.workflows import mentoring
from conewise.workflows.events import LoadedDay
from conewise.workflows.mentoring import NotEnteredError, answer_overview, answer_page, answer_run_plan
from tests import days
from tests.cars import DEMO


def loaded(**facts):
    return LoadedDay(
        day=days.event_day(**facts),
        rules=days.CLUB,
        file=Path("x.toml"),
        runs_file=Path("x.runs.csv"),
    )


def run(order, raw):
    return Run(id=f"r{order}", event="spring", person="ana", car="pepper", order=order, raw_time=raw)


def test_the_plan_of_a_driver_without_predictions():
    answer = answer_run_plan(loaded(), "12", progress=None)
    assert (answer.name, answer.car, answer.is_predicted) == ("Ana", "Pepper", False)
    assert len(answer.plan.runs) == 4
    record = mentoring.run_plan_record(answer)
    assert [row["predicted_time_s"] for row in record["runs"]] == [None] * 4


def test_without_times_it_is_said_that_paces_step_on_from_planned_ones():
    assert not answer_run_plan(loaded(), "ana", progress=None).is_stepped
    driven = loaded(runs=(run(1, 75.0),))
    assert answer_run_plan(driven, "ana", progress=None).is_stepped
    known = tuple(PacePrediction(pace=p, time=60.0 / p) for p in (0.6, 0.8, 1.0))
    answer = answer_run_plan(driven, "ana", progress=None, predictions=known)
    assert not answer.is_stepped
    assert answer.plan.reached_pace == pytest.approx(0.8)


def test_what_was_solved_before_is_not_solved_again(monkeypatch):
    monkeypatch.setattr(mentoring, "predicted", None)
    known = tuple(PacePrediction(pace=p, time=60.0 / p) for p in (0.6, 0.8, 1.0))
    of = loaded(
        event=days.event(course_file="courses/harbour-yard.toml"), cars=(days.car(car_file="cars/pepper.toml"),)
    )
    answer = answer_run_plan(replace(of, file=DEMO.parent / "day.toml"), "ana", progress=print, predictions=known)
    assert answer.is_predicted


def test_predictions_are_asked_for_the_event_s_course_and_the_entry_s_car(monkeypatch):
    asked = []

    def predicted(course, car, *, progress):
        asked.append((course.name, car.name, progress))
        speeds = tuple(FeatureSpeed(f"f{k}", 10.0 + k) for k in range(6))
        return tuple(PacePrediction(pace=p, time=60.0 / p, speeds=speeds) for p in (0.6, 0.8, 1.0))

    monkeypatch.setattr(mentoring, "predicted", predicted)
    of = loaded(
        event=days.event(course_file="courses/harbour-yard.toml"), cars=(days.car(car_file="cars/pepper.toml"),),
        runs=(run(1, 75.0),),
    )  # fmt: skip
    answer = answer_run_plan(replace(of, file=DEMO.parent / "day.toml"), "ana", progress=print)
    assert asked == [("Harbour Yard, long slaloms", "Pepper", print)]
    assert answer.plan.reached_pace == pytest.approx(0.8)
    assert len(mentoring.run_plan_record(answer)["runs"][0]["key_speeds"]) == mentoring.N_KEY_SPEEDS


def test_who_is_not_entered_has_no_plan():
    with pytest.raises(NotEnteredError):
        answer_run_plan(loaded(people=(days.person(), days.person("bo"))), "bo", progress=None)


def test_pages_and_overview():
    of = loaded(runs=(run(1, 62.0), run(2, 60.0)))
    page = answer_page([of], "ana")
    assert page.days[0].learned == 2.0
    assert mentoring.page_record(page)["events"][0]["learned_s"] == 2.0
    assert [one.person for one in answer_overview([of])] == ["ana"]
    assert answer_overview([of], mentor="ana") == ()
