"""What anti-lock brakes leave of a brake force, and the inertia of a wheel that has left the road."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from conewise.vehicle.motion import ABS_USE, LOOSE, CarState, _held, longitudinal_forces
from conewise.vehicle.parameters import N_GEARS
from tests.model_cars import rear_drive

CAPS = st.floats(0.0, 8000.0)
STILL = CarState(v_x=15.0, v_y=0.0, yaw_rate=0.0, roll=0.0, roll_rate=0.0, road_wheel_angle=0.0, command=0.0)
NEUTRAL = (*np.zeros(N_GEARS), 0.0)


@given(st.floats(0.0, 20000.0), CAPS)
def test_never_more_than_the_limit_nor_than_was_asked_for(wanted, cap):
    found = _held(wanted, cap)
    assert found <= wanted
    assert found <= ABS_USE * cap


@given(CAPS)
def test_more_asked_for_is_never_less(cap):
    assert np.all(np.diff(_held(np.linspace(0.0, 15000.0, 301), cap)) >= 0.0)


def test_far_below_the_limit_all_is_left_and_far_above_it_the_limit():
    assert _held(1000.0, 6000.0) == pytest.approx(1000.0, rel=0.02)
    assert _held(30000.0, 6000.0) == pytest.approx(ABS_USE * 6000.0, rel=0.02)
    assert _held(3000.0, 0.0) == pytest.approx(0.0, abs=1.0)  # a wheel in the air holds nothing


def turning(caps, gain=4.0, **edits):
    """What turning each wheel faster takes, nothing else being asked of the wheels. [N]"""
    car = rear_drive(wheel_inertia_front=1.6, wheel_inertia_rear=2.0, **edits)
    loads = (3000.0,) * 4
    pulled = [longitudinal_forces(STILL, a, caps, loads, gear=NEUTRAL, p=car)[0] for a in (0.0, gain)]
    return np.array(pulled[0], dtype=float) - np.array(pulled[1], dtype=float), car


def test_a_standing_wheel_takes_its_inertia():
    """I a / r^2 by hand for one wheel of a pair: the moment I a / r about the axle over the radius."""
    caps = (1e6,) * 4
    found, car = turning(caps)
    front = 1.6 / 2.0 * 4.0 / car.rolling_radius_front**2
    rear = 2.0 / 2.0 * 4.0 / car.rolling_radius_rear**2
    assert found == pytest.approx([front, front, rear, rear], rel=1e-6)


def test_a_lifted_wheel_takes_none_and_one_at_the_loose_limit_half():
    whole, _ = turning((1e6,) * 4)
    found, _ = turning((0.0, 1e6, LOOSE, 1e6))
    assert found[0] == 0.0
    assert found[2] == pytest.approx(whole[2] / 2.0)
    assert found[[1, 3]] == pytest.approx(whole[[1, 3]], rel=1e-6)


@given(st.lists(st.floats(0.0, 5000.0), min_size=2, max_size=2))
def test_the_lighter_a_wheel_stands_the_less_it_takes(caps):
    low, high = sorted(caps)
    (less, _), (more, _) = turning((low,) * 4), turning((high,) * 4)
    assert np.all(less <= more + 1e-12)
