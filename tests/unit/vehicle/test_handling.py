"""How the car answers the wheel: signs, limits and words."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.vehicle.handling import (
    LimitBalance,
    constant_radius_test,
    lateral_limit,
    limit_balance,
    understeer_gradient,
)
from conewise.vehicle.steady_state import NoTrimError
from tests.model_cars import rear_drive

CAR = rear_drive()
STIFF_FRONT = replace(CAR, roll_stiffness_front=1.4 * CAR.roll_stiffness_front)
STIFF_REAR = replace(CAR, roll_stiffness_rear=1.4 * CAR.roll_stiffness_rear)


@pytest.mark.parametrize("across", [3.0, 6.0])
def test_a_stiffer_front_bar_understeers_and_a_stiffer_rear_bar_does_not(across):
    base = understeer_gradient(CAR, across=across)
    assert understeer_gradient(STIFF_FRONT, across=across) > base
    assert understeer_gradient(STIFF_REAR, across=across) < base


def test_bars_move_the_balance_at_the_limit():
    base = limit_balance(CAR, 20.0)
    front, rear = limit_balance(STIFF_FRONT, 20.0), limit_balance(STIFF_REAR, 20.0)
    assert front.difference > base.difference > rear.difference
    assert front.words.startswith("understeer")
    assert rear.words.startswith("oversteer")
    assert front.across == pytest.approx(float(lateral_limit(STIFF_FRONT, 20.0)[0]))


def test_an_even_car_is_said_to_be_balanced():
    even = LimitBalance(speed=20.0, across=9.0, slip_use_front=1.0, slip_use_rear=0.97)
    assert even.words.startswith("balanced")


def test_more_weight_in_front_understeers_more():
    nose_heavy = replace(CAR, cg_to_front=0.95)
    assert understeer_gradient(nose_heavy) > understeer_gradient(CAR)


@pytest.fixture(scope="module")
def circles():
    return constant_radius_test(CAR, radius=40.0)


def test_the_constant_radius_test_runs_to_the_limit(circles):
    assert np.diff(circles.across).max() <= 0.5 + 1e-12
    assert circles.across[-1] == circles.limit
    assert circles.speed == pytest.approx(np.sqrt(40.0 * circles.across))
    assert circles.limit == pytest.approx(float(lateral_limit(CAR, circles.speed[-1])[0]), rel=1e-3)


def test_friction_use_and_roll_rise_with_lateral_acceleration(circles):
    assert np.all(np.diff(circles.roll) > 0.0)
    assert np.all(np.diff(circles.use_front[:-1]) > 0.0)
    assert np.all(np.diff(circles.use_rear[:-1]) > 0.0)
    assert max(circles.use_front[-1], circles.use_rear[-1]) == pytest.approx(1.0, abs=0.05)


def test_slow_circles_steer_by_ackermann(circles):
    # wheelbase over radius
    assert circles.road_wheel_angle[0] == pytest.approx(CAR.wheelbase / 40.0, rel=0.03)


def test_the_gradient_of_the_test_is_the_understeer_gradient(circles):
    at = int(np.argmin(np.abs(circles.across - 3.0)))
    assert circles.understeer_gradient[at] == pytest.approx(
        understeer_gradient(CAR, radius=40.0, across=3.0), rel=0.03
    )  # steps of 0.5 m/s2


def test_refuses_a_slope_beyond_the_limit():
    with pytest.raises(NoTrimError):
        understeer_gradient(CAR, across=12.0)
