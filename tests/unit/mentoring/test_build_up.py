"""How runs build up: slow first for a beginner, and what a run without a time or with cones changes."""

from __future__ import annotations

import pytest

from conewise.event.rules import load_event_rules
from conewise.event.runs import Run
from conewise.mentoring.build_up import FeatureSpeed, PacePrediction, build_up, pace_of
from conewise.scoring.counting import counted

RULE = load_event_rules("club").penalty
TABLE = tuple(
    PacePrediction(pace=pace, time=time, speeds=(FeatureSpeed("hairpin", 10 * pace), FeatureSpeed("slalom", 20 * pace)))
    for pace, time in ((0.6, 70.0), (0.7, 60.0), (0.8, 55.0), (0.9, 52.0), (1.0, 50.0))
)


def ran(order, raw=None, **facts):
    facts = {"outcome": "dnf"} | facts if raw is None else facts
    run = Run.model_validate({"id": f"r{order}", "event": "e", "person": "p", "order": order, "raw_time": raw} | facts)
    return counted(run, RULE)


def paces(level="novice", n_runs=3, driven=(), predictions=TABLE):
    return [run.pace for run in build_up(level, n_runs, driven=driven, predictions=predictions).runs]


@pytest.mark.parametrize(
    ("level", "expected"),
    [("novice", [0.70, 0.75, 0.80]), ("regular", [0.80, 0.85, 0.90]), ("expert", [0.87, 0.92, 0.97])],
)
def test_the_first_run_is_the_slowest(level, expected):
    assert paces(level) == pytest.approx(expected)


def test_times_and_speeds_lie_between_the_predicted_ones():
    first, second, _ = build_up("novice", 3, predictions=TABLE).runs
    assert (first.time, second.time) == pytest.approx((60.0, 57.5))
    assert [(s.feature, s.speed) for s in second.speeds] == [
        ("hairpin", pytest.approx(7.5)),
        ("slalom", pytest.approx(15.0)),
    ]


def test_without_predictions_there_are_paces_alone():
    runs = build_up("novice", 2).runs
    assert [(run.pace, run.time, run.speeds) for run in runs] == [(0.7, None, ()), (0.8, None, ())]


def test_a_clean_run_allows_the_next_step():
    assert paces(driven=[ran(1, 60.0)]) == pytest.approx([0.75, 0.80])


def test_a_run_without_a_time_goes_a_step_back():
    plan = build_up("novice", 3, driven=[ran(1)], predictions=TABLE)
    assert [run.pace for run in plan.runs] == pytest.approx([0.65, 0.70])
    assert plan.runs[0].because == "no time"
    assert plan.reached_pace is None
    assert paces(driven=[ran(1), ran(2), ran(3)], n_runs=4) == pytest.approx([0.60])


def test_cones_keep_the_pace():
    plan = build_up("novice", 3, driven=[ran(1, 60.0, cones=2)], predictions=TABLE)
    assert plan.runs[0].pace == pytest.approx(0.70)
    assert plan.runs[0].because == "cones"
    one = build_up("novice", 3, driven=[ran(1, 60.0, cones=1)], predictions=TABLE)
    assert one.runs[0].pace == pytest.approx(0.70)
    assert one.runs[0].because == "one cone"  # and not that it was clean
    clean = build_up("novice", 3, driven=[ran(1, 60.0)], predictions=TABLE)
    assert clean.runs[0].pace > 0.70
    assert clean.runs[0].because == "clean"


def test_a_beginner_who_was_faster_than_planned_stays_there():
    plan = build_up("novice", 4, driven=[ran(1, 55.0)], predictions=TABLE)
    assert plan.reached_pace == pytest.approx(0.8)
    assert plan.runs[0].because == "too fast"
    assert max(run.pace for run in plan.runs) <= 0.8


def test_who_is_no_beginner_goes_on_from_the_pace_reached():
    assert paces("expert", 3, driven=[ran(1, 51.0)]) == pytest.approx([0.97, 0.97])


@pytest.mark.parametrize(("level", "top"), [("novice", 0.80), ("regular", 0.90), ("expert", 0.97)])
def test_after_a_slower_run_the_next_step_is_from_what_it_used(level, top):
    faster, slower = 53.2, 63.0  # paces of 0.86 and 0.67
    plan = build_up(level, 4, driven=[ran(1, faster, cones=1), ran(2, slower)], predictions=TABLE)
    step = 0.1 / 3
    assert plan.reached_pace == pytest.approx(0.67)
    assert [run.pace for run in plan.runs] == pytest.approx([0.67 + step, 0.67 + 2 * step], abs=1e-3)
    assert max(run.pace for run in plan.runs) < top


def test_cones_in_a_slow_run_keep_its_pace_not_that_of_the_plan():
    plan = build_up("regular", 4, driven=[ran(1, 63.0, cones=2)], predictions=TABLE)
    assert plan.runs[0].pace == pytest.approx(0.67)
    assert plan.runs[0].because == "cones"


@pytest.mark.parametrize("predictions", [(), TABLE])
def test_with_times_and_without_a_run_at_its_planned_pace_has_the_same_plan(predictions):
    driven = [ran(1, 55.0)]  # 0.80, as planned for a regular driver
    assert paces("regular", 3, driven=driven, predictions=predictions) == pytest.approx([0.85, 0.90])


def test_a_re_run_counts_for_nothing():
    void = ran(1, 60.0, is_void=True)
    assert paces(driven=[void]) == pytest.approx([0.70, 0.75, 0.80])


def test_no_pace_is_above_that_of_the_level():
    driven = [ran(order, 50.0) for order in range(1, 6)]
    assert all(pace <= 0.8 for pace in paces(driven=driven, n_runs=10))


def test_after_the_last_run_nothing_is_planned():
    assert paces(driven=[ran(1, 60.0), ran(2, 58.0), ran(3, 57.0), ran(4, 56.0)]) == []


def test_the_focus_of_a_debrief_goes_before_the_list():
    plan = build_up("novice", 3, driven=[ran(1, 60.0, focus="Brake earlier for the hairpin.")], predictions=TABLE)
    assert plan.runs[0].focus == "Brake earlier for the hairpin."


def test_a_pace_needs_two_predictions():
    assert pace_of(55.0, TABLE[:1]) is None
    assert pace_of(57.5, TABLE) == pytest.approx(0.75)
    assert pace_of(1000.0, TABLE) == 0.6
