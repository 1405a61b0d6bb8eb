"""Courses of standards and competition rules, solved by the point mass; see CITATION.md."""

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.solver.corridor_problem import course_corridor
from conewise.solver.point_mass import PointMassProblem, solve_point_mass
from conewise.solver.point_mass_course import point_mass_solution
from conewise.solver.speed_profile import FrictionCircle, speed_profile
from conewise.vehicle.handling import constant_radius_test
from tests.model_cars import rear_drive
from tests.published.iso.courses import (
    BASE,
    acceleration_event,
    double_lane_change,
    severe_lane_change,
    skidpad,
)

G = 9.80665
FOOT = 0.3048


def edges(course, low, high):
    """Limits of the lane between two places along x: base circles' inner tangents."""
    inside = [cone for cone in course.cones if low <= cone.x <= high]
    middle = np.mean([cone.y for cone in inside])
    right = max(cone.y for cone in inside if cone.y < middle) + BASE / 2.0
    left = min(cone.y for cone in inside if cone.y > middle) - BASE / 2.0
    return right, left


def test_severe_lane_change_has_the_standard_geometry():
    course = severe_lane_change(1.8)
    along = sorted({cone.x for cone in course.cones})
    assert along[-1] - along[0] == pytest.approx(61.0)
    lanes = [edges(course, low, high) for low, high in ((0.0, 12.0), (25.5, 36.5), (49.0, 61.0))]
    assert [left - right for right, left in lanes] == pytest.approx([2.23, 2.80, 3.00], abs=0.005)
    assert lanes[1][0] - lanes[0][1] == pytest.approx(1.0)


def test_double_lane_change_has_the_standard_geometry():
    course = double_lane_change(1.8)
    assert max(cone.x for cone in course.cones) == pytest.approx(15.0 + 30.0 + 25.0 + 25.0 + 15.0 + 15.0)
    lanes = [edges(course, low, high) for low, high in ((0.0, 15.0), (45.0, 70.0), (95.0, 125.0))]
    assert [left - right for right, left in lanes] == pytest.approx([2.23, 2.41, 2.59], abs=0.005)
    assert lanes[1][0] - lanes[0][0] == pytest.approx(3.5)


def test_the_fastest_coasting_entry_between_real_cones():
    # three arcs of 50.60 m radius, 22.28 m/s, where the limits end with their sections; here the last cone of a section
    # is round and holds the car off a little longer
    corridor = course_corridor(lay_out(severe_lane_change(1.8)), clearance=0.9, step=0.5)
    run = solve_point_mass(
        PointMassProblem(
            corridor=corridor,
            friction=1.0,
            gravity=9.81,
            start_speed=None,
            is_coasting=True,
            objective="entry-speed",
        )
    )
    assert run.speed[0] == pytest.approx(22.28, rel=0.01)
    assert run.speed[0] < 22.28


def test_lanes_give_a_wider_vehicle_more_room():
    def entry(width):
        corridor = course_corridor(lay_out(double_lane_change(width)), clearance=width / 2.0)
        return solve_point_mass(
            PointMassProblem(
                corridor=corridor, friction=0.9, start_speed=None, is_coasting=True, objective="entry-speed"
            )
        ).speed[0]

    # 0.1 w + 0.25, 0.2 w + 0.25 and 0.3 w + 0.25 are left beside the vehicle
    assert entry(2.0) > entry(1.6)


@pytest.mark.parametrize(
    ("staging", "time"),
    [(0.0, 3.911), (0.30, np.sqrt(2 * 75.3 / G) - np.sqrt(2 * 0.3 / G))],
    ids=["from the beam", "staged"],
)
def test_acceleration_event(staging, time):
    solution = point_mass_solution(lay_out(acceleration_event(staging)), friction=1.0)
    assert solution.time == pytest.approx(time, abs=5e-4)
    assert solution.is_checked
    if staging == 0.0:
        assert solution.speed[-1] == pytest.approx(38.35, abs=5e-3)


@pytest.mark.parametrize(("friction", "time"), [(1.0, 6.061), (1.2, 5.533), (1.5, 4.949)])
def test_skidpad_lap(friction, time):
    # 2 pi sqrt(r / a) on the middle of the path, 9.125 m
    station = np.linspace(0.0, 2.0 * np.pi * 9.125, 200)
    profile = speed_profile(station, np.full(200, 1.0 / 9.125), FrictionCircle(friction=friction))
    assert profile.time == pytest.approx(time, abs=1e-3)


def test_skidpad_formula():
    # Rules 2014, D6.8.1: 2.012 D / t^2 in g with D 17.10 m; t 5 s: 1.376 g
    station = np.linspace(0.0, np.pi * 17.10, 400)
    profile = speed_profile(station, np.full(400, 2.0 / 17.10), FrictionCircle(friction=1.376, gravity=9.81))
    assert profile.time == pytest.approx(5.0, rel=1e-3)


def test_the_skidpad_crosses_itself_and_is_driven_round():
    solution = point_mass_solution(lay_out(skidpad()), friction=1.0, half_width=0.6)
    assert solution.is_checked, solution.checks
    at_middle = np.flatnonzero(np.diff(np.sign(solution.y)) > 0)
    assert len(at_middle) == 3  # in, between the circles, out
    laps = np.diff(solution.elapsed[at_middle])
    inside = 7.625 + 0.6 + BASE / 2.0
    ideal = 2.0 * np.pi * np.sqrt(inside / G)
    assert laps == pytest.approx(ideal, rel=0.05)  # the laps are entered and left wide
    assert solution.x.max() > 7.625
    assert solution.x.min() < -7.625


@pytest.mark.parametrize(
    ("diameter", "share", "time", "mph"),
    [
        (200.0, 0.85, 12.015, 35.7),
        (200.0, 0.90, 11.676, 36.7),
        (200.0, 1.00, 11.077, 38.7),
        (300.0, 0.85, 14.715, None),
        (300.0, 0.90, 14.301, None),
        (300.0, 1.00, 13.567, None),
    ],
)
def test_magazine_skidpads(diameter, share, time, mph):
    radius = diameter * FOOT / 2.0
    station = np.linspace(0.0, 2.0 * np.pi * radius, 100)
    profile = speed_profile(station, np.full(100, 1.0 / radius), FrictionCircle(friction=share))
    assert profile.time == pytest.approx(time, abs=0.01)
    if mph is not None:
        assert profile.speed[0] / 0.44704 == pytest.approx(mph, abs=0.05)


def test_sine_slalom():
    # v = (L / pi) sqrt(a / A): cones 100 ft apart, 1.2 m to each side, 0.9 g: 26.31 m/s = 58.9 mph at the crests
    spacing, amplitude = 100.0 * FOOT, 1.2
    crest = amplitude * (np.pi / spacing) ** 2
    profile = speed_profile(np.array([0.0, 0.1]), np.full(2, crest), FrictionCircle(friction=0.9))
    assert profile.speed[0] == pytest.approx(26.31, abs=5e-3)


def test_the_constant_radius_test_keeps_to_the_standard():
    # ISO 4138: 100 m; 4 m/s2 there is 72.0 km/h; steps of at most 0.5 m/s2
    test = constant_radius_test(rear_drive())
    assert test.radius == 100.0
    assert np.diff(test.across).max() <= 0.5 + 1e-12
    at = int(np.argmin(np.abs(test.across - 4.0)))
    assert test.speed[at] * 3.6 == pytest.approx(72.0, abs=0.05)
