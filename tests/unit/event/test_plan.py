"""The plan of the day against a day worked by hand, and what does not fit."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest

from conewise.event.day import Entry, Schedule
from conewise.event.plan import ARRIVE, INSPECTION, LUNCH, MEETING, REGISTER, RUN, WALK, WORK, plan_day, walk_duration
from tests.days import event, event_day, moment, person

ENTRIES = (
    Entry(person="ana", car="pepper", heat="A", work_heat="B", work_station="3"),
    Entry(person="bo", car="pepper", heat="B", work_heat="A"),
)


def planned(schedule=None, **facts):
    facts = {"entries": ENTRIES} | facts
    day = event_day(event=event(**facts), people=(person(), person("bo")))
    return plan_day(day, schedule or Schedule(first_car=time(9, 30), course_length=720.0))


def codes(plan):
    return [finding.code for finding in plan.findings]


@pytest.mark.parametrize(("length", "minutes"), [(720.0, 35.0), (800.0, 5 + 2000 / 60), (600.0, 30.0)])
def test_a_walk_is_three_times_the_course_at_walking_speed_and_five_minutes(length, minutes):
    assert walk_duration(length) == timedelta(minutes=minutes)


def test_the_day_worked_backwards_by_hand():
    """First car 9:30, slack 10 min a step: meeting 9:05 to 9:20, walk of 720 m 8:20 to 8:55, inspection 7:40 to 8:10,
    registration 7:15 to 7:30, unloading 6:45 to 7:05.
    """
    steps = {step.name: (step.begin, step.end) for step in planned().steps if step.name != RUN}
    assert steps == {
        ARRIVE: (moment(6, 45), moment(7, 5)),
        REGISTER: (moment(7, 15), moment(7, 30)),
        INSPECTION: (moment(7, 40), moment(8, 10)),
        WALK: (moment(8, 20), moment(8, 55)),
        MEETING: (moment(9, 5), moment(9, 20)),
    }


def test_heats_follow_each_other():
    """One car a heat, four runs, a start every 45 s: three minutes, then ten of slack."""
    heats = [step for step in planned().steps if step.name == RUN]
    assert [(step.heat, step.begin, step.end) for step in heats] == [
        ("A", moment(9, 30), moment(9, 33)),
        ("B", moment(9, 43), moment(9, 46)),
    ]


def test_each_driver_has_the_own_heats_and_station():
    plan = planned()
    own = {one.person: [(step.name, step.heat, step.station) for step in one.steps[5:]] for one in plan.people}
    assert own == {"ana": [(RUN, "A", ""), (WORK, "B", "3")], "bo": [(WORK, "A", ""), (RUN, "B", "")]}


@pytest.mark.parametrize(
    ("facts", "place"),
    [
        ({"gates_open": time(7, 0)}, ARRIVE),
        ({"registration_opens": time(7, 30)}, REGISTER),
        ({"course_opens": time(8, 21)}, WALK),
    ],
)
def test_what_opens_too_late_is_a_warning(facts, place):
    plan = planned(Schedule(first_car=time(9, 30), course_length=720.0, **facts))
    assert [(finding.code, finding.where) for finding in plan.findings] == [("day-does-not-fit", place)]


def test_the_minutes_that_are_missing_are_said():
    plan = planned(Schedule(first_car=time(9, 30), course_length=720.0, course_opens=time(8, 45)))
    assert "25 min are missing" in plan.findings[0].message


def test_a_day_that_would_begin_the_day_before():
    assert "day-does-not-fit" in codes(planned(Schedule(first_car=time(1, 0))))


def test_a_long_day_without_lunch_is_said():
    long = Schedule(first_car=time(9, 0), runs=20, interval=600.0)
    assert "no-lunch-break" in codes(planned(long))
    lunch = planned(Schedule(first_car=time(9, 0), runs=20, interval=600.0, lunch_time=1800.0))
    assert "no-lunch-break" not in codes(lunch)
    names = [step.name for step in lunch.steps]
    assert names.index(LUNCH) == names.index(RUN) + 1


def test_heats_that_are_not_given_out_are_said():
    entries = (ENTRIES[0].changed(heat="C"), ENTRIES[1].changed(work_heat=""))
    assert codes(planned(entries=entries)) == ["no-heat", "no-work-heat"]


def test_a_leap_day_and_a_day_without_heats():
    plan = planned(day=date(2028, 2, 29), heats=())
    assert plan.begin.date() == date(2028, 2, 29)
    assert [step.heat for step in plan.steps if step.name == RUN] == [""]
    assert all(one.steps[-1].name == RUN for one in plan.people)


def test_two_walks_and_none():
    n_walks = [sum(s.name == WALK for s in planned(Schedule(first_car=time(12, 0), walks=n)).steps) for n in (0, 2)]
    assert n_walks == [0, 2]
