"""The invented season: the same for one seed, within what was solved, and with something open on its last day."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from conewise.demo.season import (
    CARS,
    EVENTS,
    N_RUNS,
    PEOPLE,
    RECORDED,
    RECORDING,
    SEED,
    SolvedPace,
    drawn_season,
    solved_paces,
)
from conewise.readiness.judge import judge_day
from tests.days import CLUB

KINDS = ("launch", "slalom", "sweeper", "hairpin")
SLOW, FAST = (SolvedPace(pace, dict.fromkeys(KINDS, time / 4)) for pace, time in ((0.6, 50.0), (1.0, 30.0)))
FLAT = {(car, course): (SLOW, FAST) for car, _ in CARS for *_, course in EVENTS}


def drawn(seed=SEED, solved=FLAT):
    return drawn_season(CLUB, rng=np.random.default_rng(seed), solved=solved)


def test_eight_drivers_five_cars_four_events():
    days = drawn()
    assert len(days) == 4
    assert all((len(day.people), len(day.cars), len(day.event.entries)) == (8, 5, 8) for day in days)
    assert [len(day.runs) for day in days] == [8 * N_RUNS] * 3 + [8 * (N_RUNS - 2)]


def test_one_seed_gives_one_season():
    assert drawn() == drawn()
    assert drawn(seed=1) != drawn()


def test_times_are_those_of_the_solved_runs_at_the_paces_drawn():
    """30 s at pace 1.0 and 50 s at 0.6: an expert of about 0.965 takes 31.75 s, a beginner of about 0.78 takes 41 s."""
    every = [run for seed in range(10) for day in drawn(seed) for run in day.runs]
    runs = [run for run in every if run.raw_time and run.order > 1 and not run.log]
    means = {
        level: np.mean([run.raw_time for run in runs if run.person in {p[0] for p in PEOPLE if p[2] == level}])
        for level in ("expert", "regular", "novice")
    }
    assert means["expert"] == pytest.approx(31.75, abs=0.7)  # first runs and the season move it
    assert means["novice"] == pytest.approx(41.0, abs=2.0)
    assert means["expert"] < means["regular"] < means["novice"]


def test_the_table_has_every_car_on_every_course_and_more_pace_is_faster():
    table = solved_paces()
    assert {(car, course) for car, _ in CARS for *_, course in EVENTS} <= set(table)
    for paces in table.values():
        ordered = sorted(paces, key=lambda one: one.pace)
        assert all(a.time > b.time for a, b in pairwise(ordered))


def test_the_last_day_has_something_open_and_the_others_have_not():
    *others, last = [judge_day(day, CLUB) for day in drawn()]
    assert all(day.ready for day in others)
    assert [car.id for car in last.cars if not car.ready] == ["pepper"]
    assert all(driver.ready for driver in last.drivers)


def test_what_debriefs_found_adds_up_to_the_run_and_shrinks_where_each_is_weak():
    first, *_, last = drawn()
    debriefed = [run for day in (first, last) for run in day.runs if run.losses]
    assert len(debriefed) >= 12
    for run in debriefed:
        assert sum(loss.best for loss in run.losses) == pytest.approx(30.0)
        assert sum(loss.best + loss.seconds for loss in run.losses) == pytest.approx(run.raw_time, abs=0.003)
    of_gus = [
        next(loss.seconds for run in day.runs if run.person == "gus" for loss in run.losses if loss.kind == "slalom")
        for day in drawn()[:3]
    ]
    assert of_gus[2] < of_gus[0]


def test_the_recorded_run_is_the_one_among_the_examples():
    event, person, order, time = RECORDED
    (run,) = [
        run for day in drawn() for run in day.runs if (run.event, run.person, run.order) == (event, person, order)
    ]
    assert (run.raw_time, run.log, run.losses) == (time, RECORDING, ())
