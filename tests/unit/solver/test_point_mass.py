"""The point mass: what it refuses, what it says, and the laws that it keeps."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.errors import ConvergenceError, InputError
from conewise.solver.corridor_problem import CorridorPath, CorridorSegment
from conewise.solver.point_mass import (
    PointMassInputError,
    PointMassProblem,
    PointMassStuckError,
    solve_point_mass,
)
from conewise.solver.point_mass_course import point_mass_solution
from tests.courses import club_course

BEND = CorridorPath.of_width(((25.0, 0.0), (15.0, 0.08), (10.0, 0.0), (18.0, -0.06), (20.0, 0.0)), 2.5)
PROBLEM = PointMassProblem(corridor=BEND, friction=1.0)


@pytest.mark.parametrize(
    ("edits", "field"),
    [
        ({"friction": 0.0}, "friction"),
        ({"friction": np.nan}, "friction"),
        ({"gravity": -9.8}, "gravity"),
        ({"mass": 0.0}, "mass"),
        ({"power": 1e5}, "mass"),
        ({"drag_area": 1.0}, "mass"),
        ({"drag_area": -1.0, "mass": 1e3}, "drag_area"),
        ({"start_speed": -1.0}, "start_speed"),
        ({"is_coasting": True}, "start_speed"),
    ],
)
def test_refuses_numbers_that_make_no_sense(edits, field):
    with pytest.raises(PointMassInputError) as caught:
        solve_point_mass(replace(PROBLEM, **edits))
    assert caught.value.where == field
    assert isinstance(caught.value, InputError)


def test_raises_where_it_cannot_get_through():
    # sideways by 20 m within 0.4 m
    jump = CorridorPath(
        segments=(
            CorridorSegment(length=5.0, n_min=-0.5, n_max=0.5),
            CorridorSegment(length=0.4),
            CorridorSegment(length=5.0, n_min=19.5, n_max=20.5),
        )
    )
    with pytest.raises(PointMassStuckError, match="did not get through") as caught:
        solve_point_mass(PointMassProblem(corridor=jump, friction=1.0, start_speed=20.0), step=0.2)
    assert caught.value.where.startswith("station")
    assert isinstance(caught.value, ConvergenceError)


@pytest.fixture(scope="module")
def run():
    return solve_point_mass(PROBLEM)


def test_keeps_to_friction_and_corridor(run):
    assert np.hypot(run.ax, run.ay).max() <= 9.80665 * (1.0 + 1e-7)
    assert np.abs(run.lateral_offset).max() <= 2.5 + 1e-6
    assert run.ay == pytest.approx(run.path_curvature * run.speed**2)


def test_the_plan_agrees_with_the_states(run):
    chord = np.arctan2(np.diff(run.y), np.diff(run.x))
    assert chord == pytest.approx((run.heading[1:] + run.heading[:-1]) / 2.0, abs=5e-3)
    middle = (run.speed[1:] + run.speed[:-1]) / 2.0
    assert np.hypot(np.diff(run.x), np.diff(run.y)) / middle == pytest.approx(np.diff(run.elapsed), rel=2e-3, abs=1e-4)


def test_a_mirrored_corridor_takes_as_long(run):
    mirrored = CorridorPath(segments=tuple(replace(s, curvature=-s.curvature) for s in BEND.segments))
    other = solve_point_mass(replace(PROBLEM, corridor=mirrored))
    assert other.time == pytest.approx(run.time, rel=1e-7)
    assert other.lateral_offset == pytest.approx(-run.lateral_offset, abs=1e-3)


def test_time_scales_with_the_root_of_friction(run):
    other = solve_point_mass(replace(PROBLEM, friction=0.5))
    assert other.time == pytest.approx(run.time * np.sqrt(2.0), rel=1e-7)


def test_time_scales_with_the_root_of_size(run):
    twice = tuple(
        CorridorSegment(length=2 * s.length, curvature=s.curvature / 2, n_min=2 * s.n_min, n_max=2 * s.n_max)
        for s in BEND.segments
    )
    other = solve_point_mass(replace(PROBLEM, corridor=CorridorPath(segments=twice)), step=1.0)
    assert other.time == pytest.approx(run.time * np.sqrt(2.0), rel=1e-6)


def test_less_is_never_faster(run):
    narrow = CorridorPath(segments=tuple(replace(s, n_min=-2.0, n_max=2.0) for s in BEND.segments))
    for worse in ({"friction": 0.97}, {"mass": 1000.0, "power": 90e3}, {"corridor": narrow}, {"start_offset": 0.0}):
        assert solve_point_mass(replace(PROBLEM, **worse)).time >= run.time - 1e-7


def test_mass_counts_only_against_power():
    def time(mass):
        return solve_point_mass(replace(PROBLEM, mass=mass, power=80e3)).time

    assert time(900.0) < time(1000.0) < time(1100.0)


def test_time_converges_at_second_order():
    times = [solve_point_mass(PROBLEM, step=step).time for step in (2.0, 1.0, 0.5, 0.1)]
    errors = np.abs(np.array(times[:3]) - times[3])
    assert errors[2] / times[3] < 2e-4
    assert errors[0] / errors[2] > 8.0  # 16 in the limit; limits graze between nodes


def test_the_price_of_a_limit_is_what_a_re_solve_says(run):
    def time(narrower):
        limits = {"n_min": -2.5 + narrower, "n_max": 2.5 - narrower}
        corridor = CorridorPath(segments=tuple(replace(s, **limits) for s in BEND.segments))
        return solve_point_mass(replace(PROBLEM, corridor=corridor)).time

    assert np.abs(run.bound_price).sum() == pytest.approx((time(0.01) - time(-0.01)) / 0.02, rel=1e-3)


@pytest.fixture(scope="module")
def geometry():
    return lay_out(club_course(0))


@pytest.fixture(scope="module")
def solution(geometry):
    return point_mass_solution(geometry, friction=1.1, mass=1300.0, power=120e3, margin=0.1)


def test_a_course_is_solved_and_checked(solution, geometry):
    assert solution.level == "point-mass"
    assert solution.is_checked, solution.checks
    assert {check.name for check in solution.checks} == {"no fold", "friction", "clearance"}
    assert solution.time == solution.elapsed[-1]
    assert solution.distance == pytest.approx(geometry.path.length, rel=0.05)
    assert np.all(solution.gear == 0)


def test_the_features_share_out_the_time(solution, geometry):
    assert [f.id for f in solution.features] == [span.id for span in geometry.spans]
    assert sum(f.time for f in solution.features) == pytest.approx(solution.time, abs=1e-9)
    for feature in solution.features:
        assert feature.start <= feature.slowest_station <= feature.end


def test_prices_of_cones_match_re_solves(solution, geometry):
    def time(margin):
        return point_mass_solution(geometry, friction=1.1, mass=1300.0, power=120e3, margin=margin).time

    total = sum(cone.price for cone in solution.cones)
    assert total > 0.5
    assert min(cone.price for cone in solution.cones) >= 0.0
    assert total == pytest.approx((time(0.11) - time(0.09)) / 0.02, rel=5e-3)  # the active set may change


def test_cones_are_cleared_by_what_was_asked(solution):
    dearest = max(solution.cones, key=lambda cone: cone.price)
    assert dearest.clearance == pytest.approx(0.1, abs=0.02)
    assert min(cone.clearance for cone in solution.cones) > 0.1 - 0.03


def test_a_slower_surface_is_slower_everywhere_without_power(geometry):
    fast = point_mass_solution(geometry, friction=1.0)
    slow = point_mass_solution(geometry, friction=0.5)
    assert slow.time == pytest.approx(fast.time * np.sqrt(2.0), rel=1e-5)
