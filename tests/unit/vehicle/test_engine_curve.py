"""Torque curves as spline coefficients."""

import numpy as np
import pytest

from conewise.vehicle import engine_curve
from conewise.vehicle.drivetrain import full_torque
from tests.model_cars import rear_drive

LOW, LIMIT = 100.0, 700.0


def through(torque):
    coefficients = engine_curve.spline_coefficients(torque)
    return rear_drive(torque=tuple(coefficients), engine_speed_low=LOW, engine_speed_limit=LIMIT)


@pytest.mark.parametrize("degree", [0, 1, 2, 3])
def test_a_polynomial_of_third_degree_is_kept_exactly(degree):
    # cubic B-splines contain every cubic polynomial (Curry and Schoenberg 1966)
    speeds = engine_curve.sample_speeds(LOW, LIMIT)
    torque = ((speeds - 300.0) / 200.0) ** degree * 50.0 + 100.0
    between = np.linspace(LOW, LIMIT, 37)
    wanted = ((between - 300.0) / 200.0) ** degree * 50.0 + 100.0
    assert full_torque(between, through(torque)) == pytest.approx(wanted, rel=1e-9)


POINTS, TORQUES = np.array([200.0, 400.0, 500.0, 600.0]), np.array([100.0, 150.0, 155.0, 130.0])


def test_the_curve_goes_through_its_points():
    assert engine_curve.through_points(POINTS, POINTS, TORQUES) == pytest.approx(TORQUES, rel=1e-12)


def test_a_parabola_is_kept_and_continued_straight():
    # three-point slopes are exact for a parabola, and so are Hermite pieces with them
    def parabola(w):
        return 150.0 - (w - 450.0) ** 2 / 1000.0

    speeds = np.linspace(200.0, 600.0, 41)
    found = engine_curve.through_points(speeds, POINTS, parabola(POINTS))
    assert found == pytest.approx(parabola(speeds), rel=1e-12)
    beyond = engine_curve.through_points(np.array([100.0, 700.0, 9000.0]), POINTS, parabola(POINTS))
    assert beyond == pytest.approx([parabola(200.0) - 100 * 0.5, parabola(600.0) - 100 * 0.3, 0.0], rel=1e-12)


def test_the_curve_has_no_kinks():
    at_points = np.array([200.0, 400.0, 500.0, 600.0])
    h = 1e-4
    left, here, right = (engine_curve.through_points(at_points + d, POINTS, TORQUES) for d in (-h, 0.0, h))
    assert (right - here) / h == pytest.approx((here - left) / h, abs=1e-4)


def test_power_is_level_where_it_is_greatest():
    speeds = np.linspace(LOW, LIMIT, 20001)
    torque = engine_curve.combustion(speeds, power=100e3, power_speed=620.0, torque=190.0, torque_speed=420.0)
    power = torque * speeds
    assert power.max() == pytest.approx(100e3, rel=2e-3)
    assert speeds[power.argmax()] == pytest.approx(620.0, rel=0.02)
    assert torque.max() == pytest.approx(190.0, rel=2e-3)
    assert speeds[torque.argmax()] == pytest.approx(420.0, rel=1e-3)


def test_a_motor_has_constant_torque_then_constant_power():
    speeds = np.array([0.0, 50.0, 1000.0, 1600.0])
    found = engine_curve.electric(speeds, power=150e3, torque=300.0)
    assert found == pytest.approx([300.0, 300.0, 150.0, 93.75], rel=0.01)
