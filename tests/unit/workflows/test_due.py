"""What is due before, during and after an event."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from conewise.event.rules import load_event_rules
from conewise.workflows.due import MOST_ROWS, due
from conewise.workflows.events import LoadedDay
from tests.books import example_day

MORNING = datetime(2026, 5, 1, 7, 0)  # noqa: DTZ001  # the clock of the event


def found(day=None, *, now=MORNING, driver=""):
    loaded = LoadedDay(day=day or example_day(), rules=load_event_rules("club"))
    return {one.kind: one for one in due(loaded, now=now, driver=driver)}


def test_on_the_morning_of_the_event_open_items_come_first():
    kinds = list(found())
    assert kinds[0] == "open"
    assert {"next", "runs", "debrief", "results"} <= set(kinds)


def test_open_items_say_whose_and_why():
    one = found()["open"]
    assert one.facts["n"] == sum(row.n_items for row in one.rows)
    assert len(one.rows) <= MOST_ROWS
    assert "Ben Tarn" in {row.name for row in one.rows}
    assert all(row.item and row.reason for row in one.rows)


def test_a_driver_sees_what_concerns_that_driver():
    assert "Ben Tarn" not in {row.name for row in found(driver="ada")["open"].rows}
    assert found(driver="ben")["runs"].facts == {"n": 2, "planned": 4}
    assert found()["runs"].facts == {"n": 2, "planned": 8}


def test_the_clock_names_what_comes_next():
    assert found()["next"].facts == {"what": "arrive and unload", "at": found()["next"].facts["at"]}
    assert "next" not in found(now=MORNING - timedelta(days=1))
    assert "next" not in found(now=MORNING.replace(hour=23))


def test_before_the_first_run_the_course_is_learned():
    day = example_day()
    bare = day.changed(runs=(), ride_alongs=())
    assert "course" in found(bare)
    with_course = bare.changed(event=day.event.changed(course_file="back-lot"))
    assert found(with_course)["walk"].facts == {"course": "back-lot"}
    assert "walk" not in found(day)


def test_after_the_event_only_what_runs_leave_is_due():
    assert list(found(now=MORNING + timedelta(days=3))) == ["debrief", "results"]


def test_a_run_with_a_focus_waits_for_nothing():
    day = example_day()
    first, *rest = day.runs
    assert "debrief" not in found(day.changed(runs=(first.changed(focus="slow in"), *rest)))


@pytest.mark.parametrize(
    ("set_ups", "is_due"), [(("soft", "stiff"), True), (("soft", "soft"), False), (("", "a"), False)]
)
def test_two_set_ups_of_one_driver_ask_for_a_proof(set_ups, is_due):
    day = example_day()
    run = day.runs[0]
    runs = tuple(run.changed(id=f"run-{k}", order=k, set_up=set_up) for k, set_up in enumerate(set_ups, start=1))
    assert ("proof" in found(day.changed(runs=runs, ride_alongs=()))) is is_due


def test_an_event_without_entries_says_so_first():
    day = example_day()
    bare = day.changed(event=day.event.changed(entries=()), runs=(), ride_alongs=(), checks=(), loans=(), packed=())
    assert next(iter(found(bare))) == "entries"
