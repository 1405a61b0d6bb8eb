"""The answer for a whole day, and how it is said."""

from __future__ import annotations

from datetime import date

from conewise.event.cars import CarChange
from conewise.event.day import Entry, Registration
from conewise.event.runs import Run
from conewise.readiness.judge import judge_day
from tests.days import CLUB, car, checks, event, event_day, helmet, moment, person


def judged(**facts):
    return judge_day(event_day(**facts), CLUB)


def test_a_ready_day_says_who_decides():
    found = judged()
    assert found.ready
    assert found.sentence == "Nothing open on your list; the event's inspection decides."


def test_a_reported_leak_takes_ready_back_at_once():
    leak = CarChange(id="c1", car="pepper", kind="leak", happened_at=moment(12))
    found = judged(changes=(leak,))
    assert not found.ready
    assert not found.cars[0].ready
    assert found.drivers[0].ready
    assert "not ready" in found.sentence


def test_runs_before_the_inspection_are_said_first():
    run = Run(id="r1", event="spring", person="ana", car="pepper", order=1, raw_time=62.3)
    found = judged(runs=(run,), checks=checks(car(), but={"seat"}))
    assert [item.code for item in found.cars[0].open_items] == ["run-before-inspection", "inspection-seat"]
    assert judged(runs=(run,)).ready
    not_started = run.changed(outcome="dns", raw_time=None)
    assert (
        judged(runs=(not_started,), checks=checks(car(), but={"seat"})).cars[0].open_items[0].code == "inspection-seat"
    )


def test_nobody_entered_is_said_and_not_called_ready_for_anything():
    found = judged(event=event(entries=()))
    assert found.sentence == "Nobody is entered yet."
    assert not found.ready


def test_one_helmet_on_two_heads_in_a_heat_is_a_warning():
    entries = (
        Entry(person="ana", car="pepper", helmet="red", number="1", class_code="S", heat="A"),
        Entry(person="bo", car="pepper", helmet="red", number="2", class_code="S", heat="A"),
    )
    people = (person(), person("bo"))
    (found,) = judged(event=event(entries=entries), people=people).helmets
    assert [(item.code, item.blocks) for item in found.open_items] == [("helmet-shared", False)]
    apart = (entries[0], entries[1].changed(heat="B"))
    assert judged(event=event(entries=apart), people=people).helmets[0].open_items == ()


def test_an_open_car_asks_its_driver_s_helmet_for_eyes():
    open_car = car(body="open", roll_protection="hoop")
    found = judged(cars=(open_car,), checks=checks(open_car))
    assert [item.code for item in found.helmets[0].open_items] == ["helmet-eyes"]
    assert judged(cars=(open_car,), checks=checks(open_car), helmets=(helmet(goggles=True),)).ready


def test_who_refers_to_nobody_is_said():
    entries = (Entry(person="ghost", car="ghost", helmet="ghost"),)
    found = judged(event=event(entries=entries))
    assert [one.open_items[0].code for one in (*found.drivers, *found.cars, *found.helmets)] == [
        "driver-unknown", "car-unknown", "helmet-unknown",
    ]  # fmt: skip


def test_dates_of_registration_that_contradict_each_other():
    backwards = Registration(opens=date(2026, 5, 1), closes=date(2026, 4, 1))
    assert [item.code for item in judged(event=event(registration=backwards)).day] == ["registration-dates"]


def test_an_event_on_a_leap_day():
    leap = date(2028, 2, 29)
    day = event_day(event=event(day=leap), checks=checks(car(), at=moment(8, day=leap)))
    assert judge_day(day, CLUB).ready
