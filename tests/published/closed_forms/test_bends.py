"""Bends: cornering speed, the full friction circle, clothoids, the widest arc."""

import numpy as np
import pytest
from scipy.special import fresnel

from conewise.solver.corridor_problem import CorridorPath, CorridorSegment
from conewise.solver.point_mass import PointMassProblem, solve_point_mass
from conewise.solver.speed_profile import FrictionCircle, speed_profile

G = 9.80665
LEMNISCATE = 2.6220575543  # arc length constant, tables


@pytest.mark.parametrize(
    ("friction", "radius", "speed"),
    [(1.0, 10.0, 9.90285), (1.1, 15.0, 12.72045), (1.0, 30.0, 17.15224), (0.6, 30.0, 13.28607)],
)
def test_cornering_speed(friction, radius, speed):
    # sqrt(mu g R)
    station = np.linspace(0.0, 50.0, 51)
    profile = speed_profile(station, np.full(51, -1.0 / radius), FrictionCircle(friction=friction))
    assert profile.speed == pytest.approx(speed, rel=1e-6)
    assert profile.lateral == pytest.approx(-friction * G, rel=1e-9)
    assert set(profile.limited_by) == {"grip"}


def test_cornering_speed_with_downforce():
    # m 280 kg, ClA 3 m2, mu 1.4, R 9.125 m, rho 1.225: sqrt(mu g R m / (m - mu rho ClA R / 2)) = 11.69376 m/s
    station = np.linspace(0.0, 20.0, 21)
    circle = FrictionCircle(friction=1.4, downforce=1.225 * 3.0 / (2.0 * 280.0))
    profile = speed_profile(station, np.full(21, 1.0 / 9.125), circle)
    assert profile.speed == pytest.approx(11.69376, rel=1e-6)


def test_a_light_bend_with_downforce_has_no_limit():
    profile = speed_profile(np.array([0.0, 1.0]), np.full(2, 1e-4), FrictionCircle(friction=1.0, downforce=1e-2))
    assert profile.speed[0] > 100.0


@pytest.mark.parametrize("radius", [5.0, 10.0, 20.0])
def test_a_u_turn_at_the_limit(radius):
    # pi sqrt(R / (mu g)): 2.24323, 3.17241, 4.48647 s
    station = np.linspace(0.0, np.pi * radius, 101)
    profile = speed_profile(station, np.full(101, 1.0 / radius), FrictionCircle(friction=1.0))
    assert profile.time == pytest.approx({5.0: 2.24323, 10.0: 3.17241, 20.0: 4.48647}[radius], abs=5e-6)


def test_accelerating_on_a_circle_with_the_whole_friction_circle():
    # v^2 = mu g R sin(2 s / R): at the limit after 45 degrees, in 1.311028777 sqrt(R / (mu g))
    assert abs(LEMNISCATE / 2.0 - 1.311028777) < 5e-10
    radius = 20.0
    station = np.linspace(0.0, np.pi * radius / 4.0, 801)
    profile = speed_profile(station, np.full(801, 1.0 / radius), FrictionCircle(friction=1.0), start_speed=0.0)
    exact = np.sqrt(G * radius * np.sin(2.0 * station / radius))
    assert profile.speed == pytest.approx(exact, abs=2e-4)  # second order, 800 steps
    assert profile.time == pytest.approx(1.872263, abs=2e-6)


def test_the_circle_converges_at_second_order():
    radius, exact = 20.0, LEMNISCATE / 2.0 * np.sqrt(20.0 / G)
    errors = []
    for n in (100, 200, 400):
        station = np.linspace(0.0, np.pi * radius / 4.0, n + 1)
        circle = FrictionCircle(friction=1.0)
        errors.append(speed_profile(station, np.full(n + 1, 1.0 / radius), circle, start_speed=0.0).time - exact)
    assert np.log2(errors[0] / errors[1]) == pytest.approx(2.0, abs=0.1)
    assert np.log2(errors[1] / errors[2]) == pytest.approx(2.0, abs=0.1)


def test_fresnel_integrals():
    # Abramowitz and Stegun, table 7.7: S(1) 0.43825 91474, C(1) 0.77989 34004
    assert fresnel(1.0) == pytest.approx((0.4382591474, 0.7798934004), abs=5e-11)


def test_braking_into_a_clothoid():
    # A 20 m, s 20 m: 14.00475 m/s where the curvature is 0.05 / m; du/ds = -2 sqrt((mu g)^2 - (u s / A^2)^2)
    station = np.linspace(0.0, 20.0, 1601)
    profile = speed_profile(station, station / 400.0, FrictionCircle(friction=1.0))
    assert profile.speed[-1] == pytest.approx(14.00475, abs=5e-6)
    assert profile.speed[0] == pytest.approx(21.391976, abs=5e-6)
    assert set(profile.limited_by[:-1]) == {"brakes"}


def test_a_chain_of_arcs_follows_a_clothoid():
    # A 20 m, s 20 m: x 19.50575376, y 3.27428095, heading 0.5 rad
    n = 1600
    middle = (np.arange(n) + 0.5) * 20.0 / n
    mesh = CorridorPath.of_width(tuple((20.0 / n, float(s / 400.0)) for s in middle), 1.0).mesh(1.0)
    assert mesh.x[-1] == pytest.approx(19.50575376, abs=2e-6)  # second order in the arc's length
    assert mesh.y[-1] == pytest.approx(3.27428095, abs=2e-6)
    assert mesh.heading[-1] == pytest.approx(0.5, abs=1e-12)


@pytest.mark.parametrize(
    ("inner", "width", "angle", "radius"),
    [(5.0, 4.0, 90.0, 18.656854), (10.0, 5.0, 60.0, 47.320508), (4.5, 6.0, 90.0, 24.985281)],
)
def test_coasting_takes_the_widest_arc(inner, width, angle, radius):
    # (r_i + w - r_i cos(th / 2)) / (1 - cos(th / 2)): the greatest entry speed is sqrt(mu g R)
    turn = np.radians(angle)
    middle = inner + width / 2.0
    corridor = CorridorPath.of_width(((30.0, 0.0), (middle * turn, 1.0 / middle), (30.0, 0.0)), width / 2.0)
    run = solve_point_mass(
        PointMassProblem(corridor=corridor, friction=1.0, start_speed=None, is_coasting=True, objective="entry-speed"),
        step=0.25,
    )
    assert run.speed[0] == pytest.approx(np.sqrt(G * radius), rel=1e-3)  # grazes its limits between nodes


def test_turning_back_in_open_space():
    # velocity reversed at 20 m/s with mu g: 2 V / (mu g) = 4.078865 s; on a path the way back needs a finish line, so
    # only the bound is tested: nothing that turns right round is faster
    corridor = CorridorPath(segments=(CorridorSegment(length=9.0 * np.pi, curvature=1.0 / 9.0, n_min=-3.0, n_max=3.0),))
    run = solve_point_mass(PointMassProblem(corridor=corridor, friction=1.0, start_speed=20.0), step=0.25)
    change = np.hypot(
        run.speed[-1] * np.cos(run.heading[-1]) - run.speed[0] * np.cos(run.heading[0]),
        run.speed[-1] * np.sin(run.heading[-1]) - run.speed[0] * np.sin(run.heading[0]),
    )
    assert run.time >= change / G - 1e-6
    assert run.time == pytest.approx(change / G, rel=0.15)


def test_a_lane_offset_by_sideways_force_alone():
    # bang-bang: 2 sqrt(d / a), 3.5 m at 0.8 g in 1.335853 s; at high speed the angles are small
    speed, sideways = 80.0, 0.8 * G
    assert 2.0 * np.sqrt(3.5 / sideways) == pytest.approx(1.335853, abs=1e-6)
    length = 2.0 * np.sqrt(3.5 / sideways) * speed
    lane = CorridorSegment(length=20.0, n_min=-1e-4, n_max=1e-4)
    other = CorridorSegment(length=20.0, n_min=3.5 - 1e-4, n_max=3.5 + 1e-4)
    corridor = CorridorPath(segments=(lane, CorridorSegment(length=length), other))
    run = solve_point_mass(
        PointMassProblem(corridor=corridor, friction=0.8, start_speed=None, is_coasting=True, objective="entry-speed"),
        step=0.5,
    )
    assert run.speed[0] == pytest.approx(speed, rel=0.02)  # angles of 5 degrees are not quite small
