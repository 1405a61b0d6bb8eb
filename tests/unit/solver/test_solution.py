"""A transient run as every face reads it."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.course.layout import Slope, StopArea
from conewise.course.stopping import STOP_SHARE, STREET, WET
from conewise.solver.line_results import stop_findings
from conewise.solver.sensitivity import cone_prices
from conewise.solver.solution import transient_solution
from tests.cars import DEMO_NAMES
from tests.solved import short_course, short_run, solved


@pytest.fixture(scope="module")
def run():
    return short_run()


@pytest.fixture(scope="module")
def solution(run):
    return transient_solution(run, car="invented")


def test_it_says_what_it_is(solution, run):
    assert (solution.level, solution.car, solution.fallback) == ("transient", "invented", None)
    assert solution.checks == run.checks
    assert solution.is_checked
    assert solution.warm is run


def test_the_clock_runs_from_beam_to_beam(solution, run):
    assert solution.elapsed[-1] == pytest.approx(solution.time, abs=1e-9)
    assert np.all(np.diff(solution.elapsed) > 0.0)
    assert solution.elapsed[0] == pytest.approx(solution.time - np.diff(solution.elapsed).sum())
    front = solution.station[-1] + run.problem.p.front_reach
    assert front == pytest.approx(run.problem.geometry.path.length)


def test_the_features_share_out_the_time(solution):
    assert sum(f.time for f in solution.features) == pytest.approx(solution.time, abs=1e-6)
    assert all(f.time > 0.0 for f in solution.features)


def test_distance_over_time_is_the_speed(solution):
    line = np.hypot(np.diff(solution.x), np.diff(solution.y))
    driven = np.sum(0.5 * (solution.speed[1:] + solution.speed[:-1]) * np.diff(solution.elapsed))
    assert driven == pytest.approx(line.sum(), rel=2e-3)


def test_the_wheels_carry_the_weight(solution, run):
    assert solution.wheel_loads.shape == (len(solution.station), 4)
    lift = 0.5 * run.problem.p.air_density * (run.problem.p.lift_area_front + run.problem.p.lift_area_rear)
    weight = run.problem.p.mass * run.problem.p.gravity + lift * solution.speed**2
    assert solution.wheel_loads.sum(axis=1) == pytest.approx(weight, rel=1e-3)


def test_friction_use_is_a_share(solution):
    for use in (solution.friction_use_front, solution.friction_use_rear):
        assert use.min() >= 0.0
        assert use.max() < 1.02
        assert use.max() > 0.9  # a fastest run uses the tyres


def test_the_accelerations_on_a_slope_are_true_ones():
    """Changes of the speed along the body, not what an accelerometer would feel: uphill it feels a pull more."""
    run = solved(short_course().model_copy(update={"slope": Slope(grade=0.05, direction=0.3)}), DEMO_NAMES[0])
    uphill = transient_solution(run)
    along = uphill.speed * np.cos(uphill.sideslip)
    gained = np.gradient(along, uphill.elapsed) - uphill.yaw_rate * uphill.speed * np.sin(uphill.sideslip)
    off = (uphill.ax - gained)[5:-5]
    assert abs(np.median(off)) < 0.03  # gravity along the slope is 0.49
    assert np.quantile(np.abs(off), 0.9) < 0.3


def test_the_accelerations_are_those_of_the_line(solution):
    # v2 kappa of the driven line against the accelerometer, away from where sideslip changes quickly
    heading = np.unwrap(np.arctan2(np.gradient(solution.y), np.gradient(solution.x)))
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(solution.x), np.diff(solution.y)))])
    across = solution.speed**2 * np.gradient(heading, arc)
    middle = slice(5, -5)
    assert np.median(np.abs(across - solution.ay)[middle]) < 0.5
    assert np.corrcoef(across[middle], solution.ay[middle])[0, 1] > 0.9


def test_cones_carry_their_price_and_clearance(solution, run):
    assert [c.id for c in solution.cones] == [c.id for c in run.problem.geometry.passes]
    assert np.array([c.price for c in solution.cones]) == pytest.approx(cone_prices(run.problem, run.point))
    assert min(c.clearance for c in solution.cones) > -0.01
    for cone in solution.cones:
        assert cone.price > -1e-4
        if cone.clearance > 0.3:
            assert cone.price < 1e-3  # a cone that is far costs nothing


def test_braking_after_the_finish_uses_half_of_the_deceleration(run):
    geometry, p, speed = run.problem.geometry, run.problem.p, 20.0
    assert min(p.friction_longitudinal_front, p.friction_longitudinal_rear) > STREET  # more does not count
    mu = STREET * p.surface * geometry.friction[-1]
    dry = speed**2 / (2.0 * STOP_SHARE * mu * p.gravity)  # v2 / 2a (closed form)

    def said(length, kind="box"):
        course = geometry.course.model_copy(update={"stop": StopArea(kind=kind, length=length)})
        return [f.code for f in stop_findings(replace(geometry, course=course), p, speed)]

    assert said(0.99 * dry) == ["stop-short"]
    assert said(1.01 * dry) == ["stop-short-wet"]
    assert said(1.01 * dry / WET) == []
    assert said(0.996 * dry / WET, "lane") == []  # to walking speed only
    course = geometry.course.model_copy(update={"stop": None})
    assert [f.code for f in stop_findings(replace(geometry, course=course), p, speed)] == ["stop-missing"]


def test_a_grippy_surface_makes_no_car_stop_sooner(run):
    """However the friction comes about, by tyre, surface or ground: no more than 1 g counts."""
    geometry, p, speed = run.problem.geometry, run.problem.p, 20.0
    dry = speed**2 / (2.0 * STOP_SHARE * STREET * p.gravity)
    course = geometry.course.model_copy(update={"stop": StopArea(kind="box", length=0.99 * dry)})
    for surface in (1.0, 1.2, 1.5):
        found = stop_findings(replace(geometry, course=course), replace(p, surface=surface), speed)
        assert [f.code for f in found] == ["stop-short"], surface


def test_a_stop_area_that_falls_away_is_too_short(run):
    """Downhill the available deceleration is less by g sin of the slope."""
    geometry, p, speed = run.problem.geometry, run.problem.p, 20.0
    mu = STREET * p.surface
    plain = speed**2 / (2.0 * STOP_SHARE * mu * p.gravity)
    course = geometry.course.model_copy(update={"stop": StopArea(kind="box", length=1.01 * plain)})
    end = geometry.path.at(np.array([geometry.path.length]))
    pull = 0.05 * p.gravity
    ahead = {"ground_x": float(pull * np.cos(end.heading[0])), "ground_y": float(pull * np.sin(end.heading[0]))}
    assert [f.code for f in stop_findings(replace(geometry, course=course), p, speed)] == ["stop-short-wet"]
    assert [f.code for f in stop_findings(replace(geometry, course=course, **ahead), p, speed)] == ["stop-short"]
    steep = {key: 30.0 * value for key, value in ahead.items()}
    (found,) = stop_findings(replace(geometry, course=course, **steep), p, speed)
    assert "cannot stop down this slope" in found.message


def test_weak_brakes_need_a_longer_stop(run):
    geometry, p, speed = run.problem.geometry, run.problem.p, 20.0
    weak = replace(p, brake_force_limit=0.3 * p.mass * p.gravity)
    needed = speed**2 / (2.0 * STOP_SHARE * 0.3 * p.gravity)
    for share, codes in ((0.99, ["stop-short"]), (1.01, [])):
        course = geometry.course.model_copy(update={"stop": StopArea(kind="box", length=share * needed)})
        assert [f.code for f in stop_findings(replace(geometry, course=course), weak, speed)] == codes


def test_a_run_that_is_solved_on_a_wet_lot_is_not_made_wetter(run):
    geometry, p, speed = run.problem.geometry, replace(run.problem.p, surface=WET), 20.0
    mu = STREET * WET * geometry.friction[-1]
    length = 1.01 * speed**2 / (2.0 * STOP_SHARE * mu * p.gravity)
    course = geometry.course.model_copy(update={"stop": StopArea(kind="box", length=length)})
    assert stop_findings(replace(geometry, course=course), p, speed) == []


def test_a_tall_narrow_car_is_said_to_tip(run):
    p = run.problem.p
    tall = run.problem.changed(p=replace(p, roll_centre_front=1.4, roll_centre_rear=1.4))
    found = transient_solution(replace(run, problem=tall)).findings
    assert "side-lifts" in {f.code for f in found}
    assert "side-lifts" not in {f.code for f in transient_solution(run).findings}
