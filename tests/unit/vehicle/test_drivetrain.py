"""Torque curve, clutch, differential and launch."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import BSpline

from conewise.vehicle.drivetrain import (
    SLIP_GROWTH,
    clutched_speed,
    cubic_b_spline,
    full_torque,
    launch_acceleration,
    split,
)
from conewise.vehicle.motion import CarState
from conewise.vehicle.parameters import N_TORQUE
from conewise.vehicle.tyre_force import LOAD_SOFTENING
from tests.model_cars import rear_drive, textbook

OPEN = rear_drive(
    **{f"differential_{n}_rear": 0.0 for n in ("preload", "drive", "coast")},
)
PACKS = (
    rear_drive(),
    rear_drive(differential_preload_rear=90.0, differential_drive_rear=0.45, differential_coast_rear=0.3),
    rear_drive(differential_preload_rear=3000.0, differential_drive_rear=0.9, differential_coast_rear=0.9),  # locked
)


def numbers(low, high):
    return st.floats(low, high, allow_nan=False)


def car(v_x, yaw_rate):
    return CarState(v_x=v_x, v_y=0.0, yaw_rate=yaw_rate, roll=0.0, roll_rate=0.0, road_wheel_angle=0.0, command=0.0)


def wheel_speeds(forces, state, caps, loads, p):
    """Speeds of the two wheels from their forces, with the slip law of the model's notes. [rad/s]"""
    arm = p.track_rear / 2.0 * state.yaw_rate
    answers = []
    for force, cap, load, v in zip(forces, caps, loads, (state.v_x - arm, state.v_x + arm), strict=True):
        use4 = (force / (cap + LOAD_SOFTENING)) ** 4
        slip = force / (p.slip_stiffness_rear * (load + LOAD_SOFTENING)) * (1.0 + SLIP_GROWTH * use4 / (1.0 + use4))
        answers.append(v * (1.0 + slip) / p.rolling_radius_rear)
    return answers


ANY = (
    numbers(-6000.0, 9000.0),
    numbers(4.0, 40.0),
    numbers(-1.5, 1.5),
    st.tuples(numbers(5.0, 6000.0), numbers(5.0, 6000.0)),
    numbers(0.5, 1.4),
)


@given(*ANY, st.sampled_from(PACKS))
def test_torque_goes_from_the_faster_to_the_slower_wheel(force, v_x, yaw_rate, loads, mu, p):
    state, caps = car(v_x, yaw_rate), tuple(mu * load for load in loads)
    left, right = split(force, state, caps, loads, "rear", p)
    free = wheel_speeds((force / 2.0, force / 2.0), state, caps, loads, p)
    assert left + right == pytest.approx(force, abs=1e-6)
    assert (left - right) * (free[1] - free[0]) >= 0.0
    assert abs(left - right) * p.rolling_radius_rear <= p.differential_preload_rear + 10.0 + max(
        p.differential_drive_rear, p.differential_coast_rear
    ) * abs(force * p.rolling_radius_rear)


@given(numbers(4.0, 40.0), numbers(-1.5, 1.5), st.sampled_from(PACKS))
def test_a_rolling_axle_resists_the_turn(v_x, yaw_rate, p):
    # without drive the outer wheel is the faster one: the device can only turn the car out of the bend
    loads = (2600.0, 2600.0)
    left, right = split(0.0, car(v_x, yaw_rate), loads, loads, "rear", p)
    assert (right - left) * p.track_rear / 2.0 * yaw_rate <= 0.0


@given(*ANY)
def test_an_open_differential_gives_equal_torques(force, v_x, yaw_rate, loads, mu):
    left, right = split(force, car(v_x, yaw_rate), tuple(mu * load for load in loads), loads, "rear", OPEN)
    assert left == right == force / 2.0


def test_a_locked_axle_turns_at_nearly_one_speed():
    # within the linear part of the slip; near a wheel's limit the explicit form moves more than makes speeds equal
    state, loads = car(12.0, 0.15), (2500.0, 2900.0)
    caps = tuple(1.1 * load for load in loads)
    differences = []
    for p in (OPEN, *PACKS):
        forces = split(600.0, state, caps, loads, "rear", p)
        speeds = wheel_speeds(forces, state, caps, loads, p)
        differences.append(abs(speeds[1] - speeds[0]))
    assert differences == sorted(differences, reverse=True)
    assert differences[-1] < 0.4 * differences[0]


def test_the_torque_curve_is_a_cubic_b_spline():
    # against the B-splines of SciPy (general reference library)
    p = textbook()
    step = (p.engine_speed_limit - p.engine_speed_low) / (N_TORQUE - 3)
    knots = p.engine_speed_low + step * np.arange(-3, N_TORQUE + 1)
    reference = BSpline(knots, np.array(p.torque), 3)
    speeds = np.linspace(p.engine_speed_low, p.engine_speed_limit, 50)
    assert full_torque(speeds, p) == pytest.approx(reference(speeds), rel=1e-12)
    assert cubic_b_spline(np.array([-2.0, 0.0, 1.0, 2.5])) == pytest.approx([0.0, 2.0 / 3.0, 1.0 / 6.0, 0.0])


def test_the_clutch_holds_the_engine_up():
    p = textbook()
    assert clutched_speed(0.0, p) == pytest.approx(p.clutch_speed, abs=1.0)
    assert clutched_speed(600.0, p) == pytest.approx(600.0, abs=1.0)
    turning = np.linspace(0.0, 700.0, 300)
    assert np.all(np.diff(clutched_speed(turning, p)) > 0.0)


@pytest.mark.parametrize(("share", "sign", "arm"), [(0.0, -1.0, "cg_to_front"), (1.0, 1.0, "cg_to_rear")])
def test_a_strong_car_launches_at_the_grip_of_its_driven_axle(share, sign, arm):
    # a = mu g f / (1 -+ mu h / L) (Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 2; equation from memory)
    p = textbook(front_drive_share=share, launch_share=1.0, torque=tuple(10.0 * t for t in textbook().torque))
    mu, h_l = p.friction_longitudinal_front, p.cg_height / p.wheelbase
    axle = getattr(p, arm) / p.wheelbase
    assert launch_acceleration(p) == pytest.approx(mu * p.gravity * axle / (1.0 + sign * mu * h_l), rel=0.02)


def test_a_weak_car_launches_at_its_torque():
    p = textbook(launch_share=1.0, torque=tuple(0.25 * t for t in textbook().torque))
    force = full_torque(p.clutch_speed, p) * p.gear_ratios[0] * p.driveline_efficiency / p.rolling_radius_rear
    wheels = (p.wheel_inertia_front + p.wheel_inertia_rear) / p.rolling_radius_rear**2
    assert launch_acceleration(p) == pytest.approx(force / (p.mass + wheels), rel=0.03)


def test_a_better_launch_needs_grip_and_skill():
    p = textbook()
    assert launch_acceleration(replace(p, surface=0.6)) < launch_acceleration(p)
    assert launch_acceleration(replace(p, launch_share=0.7)) < launch_acceleration(p)


def test_the_launch_feels_the_ground_at_the_start():
    """A patch takes its share of the grip; a slope adds g sin to what the tyres give (Newton's second law)."""
    strong = textbook(launch_share=1.0, torque=tuple(10.0 * t for t in textbook().torque))
    on_patch = launch_acceleration(replace(strong, start_friction=0.6))
    assert on_patch == launch_acceleration(replace(strong, surface=0.6 * strong.surface))
    assert launch_acceleration(replace(strong, start_pull=-0.2)) == pytest.approx(launch_acceleration(strong) - 0.2)
