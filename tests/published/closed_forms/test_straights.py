"""Straights: the double integrator, accelerating and braking, power, the launch."""

import numpy as np
import pytest

from conewise.solver.corridor_problem import CorridorPath
from conewise.solver.point_mass import PointMassProblem, solve_point_mass
from conewise.solver.point_mass_course import launch_speed
from conewise.solver.speed_profile import FrictionCircle, speed_profile


def on_a_straight(length, *, friction, gravity, n=2001, **ends):
    station = np.linspace(0.0, length, n)
    return speed_profile(station, np.zeros(n), FrictionCircle(friction=friction, gravity=gravity), **ends)


def test_double_integrator_from_rest_to_rest():
    # Bryson and Ho: T = 2 sqrt(d / a), d = 10 m, a = 2 m/s2
    profile = on_a_straight(10.0, friction=1.0, gravity=2.0, start_speed=0.0, end_speed=0.0)
    assert profile.time == pytest.approx(4.472136, rel=1e-6)
    assert profile.speed.max() == pytest.approx(np.sqrt(2.0 * 2.0 * 5.0), rel=1e-6)
    assert set(profile.limited_by) == {"grip", "brakes"}


def test_brakes_for_what_comes():
    # accelerate and brake at a = b: v_peak^2 = (2 a b d + b v1^2 + a v2^2) / (a + b)
    a, d, v1, v2 = 9.0, 80.0, 12.0, 10.0
    profile = on_a_straight(d, friction=1.0, gravity=a, n=8001, start_speed=v1, end_speed=v2)
    peak = np.sqrt((2.0 * a * a * d + a * v1**2 + a * v2**2) / (2.0 * a))
    assert profile.speed.max() == pytest.approx(peak, rel=1e-4)  # the peak lies between two stations
    assert profile.time == pytest.approx((2.0 * peak - v1 - v2) / a, rel=1e-6)


@pytest.mark.parametrize("engine", ["profile", "point mass"])
def test_power_limited_drive(engine):
    # 100 W/kg from 10 to 25 m/s: (v2^2 - v1^2) / 2p = 2.625 s over (v2^3 - v1^3) / 3p = 48.75 m
    if engine == "profile":
        station = np.linspace(0.0, 48.75, 801)
        run = speed_profile(
            station, np.zeros(801), FrictionCircle(friction=3.0, specific_power=100.0), start_speed=10.0
        )
    else:
        run = solve_point_mass(
            PointMassProblem(
                corridor=CorridorPath.of_width(((48.75, 0.0),), 1.0),
                friction=3.0,
                mass=1000.0,
                power=100e3,
                start_speed=10.0,
            ),
            step=0.25,
        )
    assert run.time == pytest.approx(2.625, rel=1e-5)
    assert run.speed[-1] == pytest.approx(25.0, rel=1e-5)


def test_terminal_speed_with_drag():
    # power equals drag: v^3 = 2 P / (rho A)
    terminal = np.cbrt(2.0 * 20e3 / (1.2 * 2.0))
    circle = FrictionCircle(friction=1.0, specific_power=200.0, drag=1.2 * 2.0 / (2.0 * 100.0))
    profile = speed_profile(np.linspace(0.0, 3000.0, 3001), np.zeros(3001), circle, start_speed=0.0)
    assert profile.speed[-1] == pytest.approx(terminal, rel=1e-6)
    run = solve_point_mass(
        PointMassProblem(
            corridor=CorridorPath.of_width(((100.0, 0.0),), 1.0),
            friction=1.0,
            mass=100.0,
            power=20e3,
            drag_area=2.0,
            air_density=1.2,
            start_speed=float(terminal),
        ),
        step=2.0,
    )
    assert run.speed == pytest.approx(terminal, rel=1e-6)


def test_acceleration_event_of_the_student_rules():
    # Formula SAE Rules 2026, D.9.1: 75 m, staged 0.30 m back; at 1 g from rest 3.911 s and 38.35 m/s from the beam on
    start = launch_speed(0.30, grip=9.80665)
    run = solve_point_mass(
        PointMassProblem(corridor=CorridorPath.of_width(((75.0, 0.0),), 2.45), friction=1.0, start_speed=0.0)
    )
    assert run.time == pytest.approx(3.911, abs=5e-4)
    assert run.speed[-1] == pytest.approx(38.35, abs=5e-3)
    staged = on_a_straight(75.0, friction=1.0, gravity=9.80665, start_speed=start)
    assert staged.time == pytest.approx(np.sqrt(2 * 75.3 / 9.80665) - np.sqrt(2 * 0.3 / 9.80665), rel=1e-6)


def test_launch_speed_joins_grip_and_power():
    assert launch_speed(0.3, grip=9.0) == pytest.approx(np.sqrt(5.4))
    # far beyond the hand-over the cube law rules: 3 p s
    assert launch_speed(48.75 + 1e-9, grip=1e4, specific_power=100.0) == pytest.approx(np.cbrt(3 * 4875.0), rel=1e-4)
    # the two pieces meet: p / a = 10 m/s is reached after 5 m at 10 m/s2
    assert launch_speed(5.0 - 1e-6, grip=10.0, specific_power=100.0) == pytest.approx(10.0, abs=1e-5)
    assert launch_speed(5.0 + 1e-6, grip=10.0, specific_power=100.0) == pytest.approx(10.0, abs=1e-5)
