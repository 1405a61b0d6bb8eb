"""Alignment: camber over travel, roll, steer and flex."""

import numpy as np
import pytest

from conewise.vehicle import alignment
from conewise.vehicle.motion import roll_arm, wheel_leans
from tests.model_cars import rear_drive


def test_camber_gain_from_camber_over_travel():
    # 0.02 deg/mm on 1.5 m: 0.349 rad/m x 0.75 m = 0.262 (closed form); upright in roll from 2 / t on
    assert alignment.camber_gain(np.deg2rad(0.02) / 1e-3, 1.5) == pytest.approx(0.2618, abs=5e-5)
    assert alignment.camber_gain(2 / 1.5, 1.5) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("steer", np.deg2rad([5.0, 15.0, 30.0]))
def test_caster_by_turning_a_wheel_about_its_axis(steer):
    """The axle of the wheel turned about an axis that leans back, by Rodrigues' formula."""
    caster = np.deg2rad(6.0)
    axis = np.array([-np.sin(caster), 0.0, np.cos(caster)])  # up and back
    axle = np.array([0.0, 1.0, 0.0])
    turned = axle * np.cos(steer) + np.cross(axis, axle) * np.sin(steer) + axis * (axis @ axle) * (1 - np.cos(steer))
    top = np.cross(turned, [0.0, 0.0, 1.0])  # forward of the wheel
    upright = np.cross(top, turned)  # up in the plane of the wheel
    lean = np.arctan2(upright @ np.cross([0.0, 0.0, 1.0], top / np.linalg.norm(top)), upright[2])
    assert alignment.caster_inclination(caster, steer) == pytest.approx(lean, rel=1e-9)  # to the left in a left turn


def test_outer_wheel_as_the_model_has_it():
    p = rear_drive()
    roll = 0.04  # left turn: the body leans to the right, the right wheel is the outer one
    leans = wheel_leans(roll, p)
    outer = alignment.outer_inclination(p.camber_front, p.camber_gain_front, roll)
    assert outer == pytest.approx(leans[1], rel=1e-12)
    camber = alignment.best_static_camber(p.best_inclination_front, p.camber_gain_front, roll)
    assert alignment.outer_inclination(camber, p.camber_gain_front, roll) == pytest.approx(p.best_inclination_front)


def test_roll_gradient_balances_the_moments():
    p = rear_drive()
    arm = float(roll_arm(p)[0])
    roll = alignment.roll_gradient(p, arm=arm) * 8.0
    stiffness = p.roll_stiffness_front + p.roll_stiffness_rear
    assert stiffness * roll == pytest.approx(p.sprung_mass * arm * (8.0 + p.gravity * roll), rel=1e-12)


def test_the_body_under_a_strut_gives_little():
    # 800 N on a strut top of 5 kN/mm, 0.55 m above the joint: 0.017 degrees (closed form; stiffness common practice)
    lost = alignment.flex_inclination(800.0, stiffness=5e6, height=0.55)
    assert np.rad2deg(lost) == pytest.approx(0.0167, abs=5e-5)
