"""The balance of the car: laws that every trim keeps, and where it ends."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.errors import InfeasibleError
from conewise.vehicle.motion import roll_arm
from conewise.vehicle.steady_state import NoTrimError, pulling_gear, reached, steady_roll, trim
from tests.model_cars import rear_drive

CAR = rear_drive()
SPEEDS = np.array([9.0, 15.0, 22.0, 30.0])


@pytest.fixture(scope="module")
def turned():
    return trim(CAR, SPEEDS, along=np.array([0.0, 1.0, -4.0, 0.5]), across=np.array([6.0, 5.0, -4.0, 7.0]))


def test_forces_and_moments_are_in_balance(turned):
    for rest in (turned.motion.residual_x, turned.motion.residual_y, turned.motion.yaw_acceleration):
        assert rest == pytest.approx(0.0, abs=1e-5)
    assert turned.motion.roll_acceleration == pytest.approx(0.0, abs=1e-9)


def test_the_wheels_carry_the_weight(turned):
    assert turned.wheel_loads.shape == (4, 4)
    assert turned.wheel_loads.sum(axis=1) == pytest.approx(CAR.mass * CAR.gravity, rel=1e-12)


def test_lateral_transfer_balances_the_roll_moment(turned):
    # moment balance about the ground: sum of transfer times track = m a_y h + m_s g d phi
    transfer = np.diff(turned.wheel_loads, axis=1)[:, [0, 2]] / 2.0
    moment = transfer[:, 0] * CAR.track_front + transfer[:, 1] * CAR.track_rear
    arm, _, _ = roll_arm(CAR)
    specific = turned.along * np.sin(turned.sideslip) + turned.across * np.cos(turned.sideslip)
    expected = CAR.mass * specific * CAR.cg_height + CAR.sprung_mass * CAR.gravity * arm * turned.roll
    assert moment == pytest.approx(expected, rel=2e-3)  # the rounded limit of a lifting wheel takes 0.1%


def test_the_roll_angle_follows_from_the_springs():
    arm, _, _ = roll_arm(CAR)
    stiffness = CAR.roll_stiffness_front + CAR.roll_stiffness_rear
    roll = float(steady_roll(np.array(5.0), CAR))
    assert stiffness * roll == pytest.approx(CAR.sprung_mass * arm * (5.0 + CAR.gravity * roll), rel=1e-12)


def test_left_and_right_mirror():
    left, right = trim(CAR, 15.0, across=6.0), trim(CAR, 15.0, across=-6.0)
    assert right.road_wheel_angle == pytest.approx(-left.road_wheel_angle, abs=1e-9)
    assert right.sideslip == pytest.approx(-left.sideslip, abs=1e-9)
    assert right.command == pytest.approx(left.command, abs=1e-8)
    assert right.wheel_loads[0] == pytest.approx(left.wheel_loads[0][[1, 0, 3, 2]], rel=1e-8)


def test_a_straight_at_constant_speed_needs_no_steer():
    straight = trim(CAR, 20.0)
    assert straight.road_wheel_angle == pytest.approx(0.0, abs=1e-9)
    resistance = 0.5 * CAR.air_density * CAR.drag_area * 400.0 + CAR.rolling_resistance * CAR.mass * CAR.gravity
    drive = float(sum(np.asarray(force) for force in straight.motion.longitudinal).squeeze())
    assert drive + CAR.rolling_resistance * CAR.mass * CAR.gravity == pytest.approx(resistance, rel=1e-6)
    assert 0.0 < straight.command[0] < 1.0


def test_yaw_rate_is_that_of_the_path(turned):
    assert turned.yaw_rate == pytest.approx(turned.across / turned.speed)


def test_refuses_what_the_tyres_cannot_hold():
    with pytest.raises(NoTrimError, match="cannot hold") as caught:
        trim(CAR, np.array([15.0, 15.0]), across=np.array([5.0, 14.0]))
    assert "14.00 m/s²" in caught.value.message
    assert isinstance(caught.value, InfeasibleError)


def test_a_search_ends_just_where_no_balance_exists():
    target = np.array([np.zeros(4), np.full(4, 25.0)])
    reach = reached(CAR, SPEEDS, target=target)
    assert np.all((reach.share > 0.2) & (reach.share < 0.6))
    trim(CAR, SPEEDS, across=0.999 * reach.share * 25.0)
    beyond = reached(CAR, SPEEDS, target=np.array([np.zeros(4), reach.share * 25.0 * 1.02]))
    assert np.all(beyond.share < 1.0)


def test_more_grip_reaches_further():
    target = np.array([np.zeros(4), np.full(4, 25.0)])
    base = reached(CAR, SPEEDS, target=target).share
    grippier = reached(replace(CAR, surface=1.05), SPEEDS, target=target).share
    assert np.all(grippier > base * 1.03)


def test_the_steering_lock_ends_a_turn():
    short = replace(CAR, road_wheel_limit=0.1)
    slow = np.array([6.0])
    target = np.array([[0.0], [6.0]])  # 6 m radius
    assert reached(CAR, slow, target=target).share[0] == 1.0
    assert reached(short, slow, target=target).share[0] < 0.6


def test_the_gear_that_pulls_hardest():
    gears = pulling_gear(np.array([3.0, 12.0, 20.0, 30.0, 200.0]), CAR)
    assert gears[0] == 1
    assert np.all(np.diff(gears) >= 0)
    assert gears[-1] == 8  # beyond every limiter
    turning = 12.0 / CAR.rolling_radius_rear * CAR.gear_ratios[gears[1] - 1]
    assert turning <= CAR.engine_speed_limit
