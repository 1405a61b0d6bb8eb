"""The four-wheel model: what holds for any state, whatever the optimiser does with it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from conewise.solver.node import NODE_DATA, SCALE, VARIABLES, node_functions
from conewise.vehicle.motion import CarState, motion, roll_arm, slip_angles, tyres, wheel_loads
from conewise.vehicle.parameters import N_GEARS
from conewise.vehicle.steady_state import trim
from conewise.vehicle.tyre_force import ELLIPSE_SOFTENING, load_factor
from tests.cars import DEMO_NAMES, SETS, demo_car, parameter_set
from tests.model_cars import rear_drive, textbook
from tests.solved import build

WINGED = rear_drive(lift_area_front=0.4, lift_area_rear=0.7, camber_front=-0.03, toe_front=0.002, toe_rear=-0.003)
CARS = (WINGED, *(build.model_parameters(demo_car(name)) for name in DEMO_NAMES), *(parameter_set(n) for n in SETS))


def numbers(low, high):
    return st.floats(low, high, allow_nan=False)


STATES = st.builds(
    CarState,
    v_x=numbers(2.0, 45.0),
    v_y=numbers(-5.0, 5.0),
    yaw_rate=numbers(-1.8, 1.8),
    roll=numbers(-0.12, 0.12),
    roll_rate=numbers(-1.5, 1.5),
    road_wheel_angle=numbers(-0.6, 0.6),
    command=numbers(-1.0, 1.0),
)
ACCELERATIONS = numbers(-14.0, 14.0)
GEARS = st.integers(1, 5)
ANY_CAR = st.sampled_from(CARS)


def weights(gear, drive=1.0):
    return [float(i + 1 == gear) for i in range(N_GEARS)] + [drive]


def mirrored(state):
    return replace(
        state,
        v_y=-state.v_y,
        yaw_rate=-state.yaw_rate,
        roll=-state.roll,
        roll_rate=-state.roll_rate,
        road_wheel_angle=-state.road_wheel_angle,
    )


@given(STATES, ACCELERATIONS, ACCELERATIONS, ANY_CAR)
def test_wheel_loads_sum_to_weight_and_downforce(state, a_x, a_y, p):
    # 14 m/s2 and a rolling body lift wheels of every one of these cars
    lift = 0.5 * p.air_density * state.v_x**2 * (p.lift_area_front + p.lift_area_rear)
    assert sum(wheel_loads(a_x, a_y, state, p)) == pytest.approx(p.mass * p.gravity + lift, rel=1e-9)


@given(numbers(-14.0, 14.0), ANY_CAR)
def test_a_wheel_in_the_air_carries_nothing(a_y, p):
    state = CarState(v_x=15.0, v_y=0.0, yaw_rate=0.0, roll=0.0, roll_rate=0.0, road_wheel_angle=0.0, command=0.0)
    rolling = replace(state, roll=float(np.sign(a_y)) * 0.1)
    loads = wheel_loads(0.0, a_y, rolling, p)
    assert min(loads) > -1.0  # N; a load below zero would pull at the ground
    free = replace(p, roll_stiffness_front=4.0 * p.roll_stiffness_front)
    stiff = wheel_loads(0.0, a_y, rolling, free)
    assert max(stiff[:2]) <= sum(loads[:2]) + 1.0  # a lateral transfer cannot exceed the axle's load


@given(STATES, ACCELERATIONS, ACCELERATIONS, GEARS, ANY_CAR)
def test_a_mirrored_state_moves_like_a_mirror(state, a_x, a_y, gear, p):
    here = motion(state, a_x, a_y, gear=weights(gear), p=p)
    there = motion(mirrored(state), a_x, -a_y, gear=weights(gear), p=p)
    near = {"rel": 1e-9, "abs": 1e-9}
    assert there.residual_x == pytest.approx(here.residual_x, **near)
    assert there.residual_y == pytest.approx(-here.residual_y, **near)
    assert there.yaw_acceleration == pytest.approx(-here.yaw_acceleration, **near)
    assert there.roll_acceleration == pytest.approx(-here.roll_acceleration, **near)
    for name, sign in (("wheel_loads", 1.0), ("longitudinal", 1.0), ("lateral", -1.0)):
        left_right = np.array(getattr(here, name))[[1, 0, 3, 2]]
        assert np.array(getattr(there, name)) == pytest.approx(sign * left_right, rel=1e-9, abs=1e-6)
    assert there.use_front == pytest.approx(here.use_front, **near)
    assert there.slip_use_rear == pytest.approx(-here.slip_use_rear, **near)


@given(STATES, ACCELERATIONS, ACCELERATIONS, GEARS, ANY_CAR)
def test_no_tyre_gives_more_than_its_friction(state, a_x, a_y, gear, p):
    m = motion(state, a_x, a_y, gear=weights(gear), p=p)
    front, rear = tyres(p)
    for i, tyre in enumerate((front, front, rear, rear)):
        load = m.wheel_loads[i]
        most = float(load_factor(load, tyre)) * tyre.grip * load  # at the best inclination
        lateral = m.lateral[i] / max(tyre.friction_lateral * most, 1.0)
        assert abs(lateral) <= 1.0 + 1e-9
        use = m.longitudinal_use[i]
        if abs(use) <= 1.0:
            assert use**2 + lateral**2 <= 1.0 + ELLIPSE_SOFTENING / 2.0 + 1e-9


@given(STATES, ACCELERATIONS, ACCELERATIONS, ANY_CAR)
def test_the_lateral_force_points_against_the_sliding(state, a_x, a_y, p):
    m = motion(state, a_x, a_y, gear=weights(2), p=p)
    for slip, force, load in zip(slip_angles(state, p), m.lateral, m.wheel_loads, strict=True):
        if load > 0.0:
            assert force * slip >= 0.0


@pytest.mark.parametrize("a_y", [0.5, 2.0, 4.0, 7.0])
@pytest.mark.parametrize("p", CARS[:4], ids=["winged", *DEMO_NAMES])
def test_a_steady_turn_transfers_the_moment_of_the_whole_car(p, a_y):
    # Moment balance about the road: m a_y h + m_s g d phi, with d from the roll axis to the sprung mass (closed form).
    balance = trim(p, 14.0, across=a_y)
    body_y = float(balance.across[0] * np.cos(balance.sideslip[0]) + balance.along[0] * np.sin(balance.sideslip[0]))
    arm, _, _ = roll_arm(p)
    loads = balance.wheel_loads[0]
    moment = (loads[1] - loads[0]) / 2.0 * p.track_front + (loads[3] - loads[2]) / 2.0 * p.track_rear
    wanted = p.mass * body_y * p.cg_height + p.sprung_mass * p.gravity * arm * float(balance.roll[0])
    assert moment == pytest.approx(wanted, rel=1.5e-3)  # the second bound of the front axle takes a little off


def test_the_transfer_leaves_the_axle_that_is_lifted_first():
    p = replace(textbook(), roll_stiffness_front=20e3, roll_stiffness_rear=60e3)  # a stiff rear axle lifts its wheel
    state = CarState(v_x=15.0, v_y=0.0, yaw_rate=0.0, roll=0.0, roll_rate=0.0, road_wheel_angle=0.0, command=0.0)
    light, heavy = (wheel_loads(0.0, a_y, replace(state, roll=0.008 * a_y), p) for a_y in (4.0, 11.0))
    assert heavy[2] < 60.0 < light[2]
    share = [(x[1] - x[0]) / (x[1] - x[0] + x[3] - x[2]) for x in (light, heavy)]
    assert share[1] > share[0]


@given(STATES, ACCELERATIONS, ACCELERATIONS, GEARS, ANY_CAR)
def test_symbols_and_numbers_evaluate_alike(state, a_x, a_y, gear, p):
    z = {name: getattr(state, name, 0.0) for name in VARIABLES} | {"specific_x": a_x, "specific_y": a_y}
    d = dict.fromkeys(NODE_DATA, 0.0) | {"drive": 1.0, "friction": 1.0, f"gear_{gear}": 1.0}
    scaled = np.array([z[name] for name in VARIABLES]) / SCALE
    report = np.asarray(node_functions().motion(scaled, [d[name] for name in NODE_DATA], p.vector())).ravel()
    m = motion(state, a_x, a_y, gear=weights(gear), p=p)
    plain = [*m.wheel_loads, m.use_front, m.use_rear, *m.longitudinal_use, m.engine_use, *m.lateral]
    assert report == pytest.approx(np.array(plain, dtype=float), rel=1e-9, abs=1e-7)


def test_arrays_are_states_side_by_side():
    speeds = np.array([8.0, 16.0, 30.0])
    state = CarState(v_x=speeds, v_y=0.3, yaw_rate=0.5, roll=0.02, roll_rate=0.0, road_wheel_angle=0.1, command=0.4)
    together = motion(state, 1.0, 5.0, gear=weights(2), p=WINGED)
    for k, v in enumerate(speeds):
        alone = motion(replace(state, v_x=v), 1.0, 5.0, gear=weights(2), p=WINGED)
        assert together.yaw_acceleration[k] == pytest.approx(alone.yaw_acceleration, rel=1e-12)
        assert together.residual_x[k] == pytest.approx(alone.residual_x, rel=1e-12)


def test_a_shift_leaves_no_drive():
    state = CarState(v_x=15.0, v_y=0.0, yaw_rate=0.0, roll=0.0, roll_rate=0.0, road_wheel_angle=0.0, command=1.0)
    p = replace(textbook(), wheel_inertia_front=0.0, wheel_inertia_rear=0.0)
    pulled = motion(state, 0.0, 0.0, gear=weights(2), p=p)
    shifted = motion(state, 0.0, 0.0, gear=weights(2, drive=0.0), p=p)
    assert sum(pulled.longitudinal) > 1000.0
    assert sum(shifted.longitudinal) == pytest.approx(-2e-3 * p.brake_force_limit, abs=60.0)  # the pedals' rounding


def test_wheel_and_engine_inertia_take_their_share():
    # I a / r2 per wheel, I ratio2 a / r2 of the engine (closed form, checks of rotating mass)
    state = CarState(v_x=15.0, v_y=0.0, yaw_rate=0.0, roll=0.0, roll_rate=0.0, road_wheel_angle=0.0, command=1.0)
    p = textbook()
    slow, fast = (sum(motion(state, a, 0.0, gear=weights(2), p=p).longitudinal) for a in (0.0, 2.0))
    turning = (
        p.wheel_inertia_front / p.rolling_radius_front**2
        + p.wheel_inertia_rear / p.rolling_radius_rear**2
        + p.engine_inertia * p.gear_ratios[1] ** 2 / p.rolling_radius_rear**2
    )
    assert slow - fast == pytest.approx(2.0 * turning, rel=1e-3)  # the brake is let go to 0.2%


def test_on_the_overrun_the_wheels_bear_the_loss_of_the_driveline_too():
    # power runs from the wheels to the engine: F r = T ratio / efficiency; on drive F r = T ratio efficiency (energy)
    still = CarState(v_x=15.0, v_y=0.0, yaw_rate=0.0, roll=0.0, roll_rate=0.0, road_wheel_angle=0.0, command=-0.2)
    p = textbook(engine_drag=30.0, driveline_efficiency=0.85, abs_share=0.0)

    def drive(state, p):
        forces = [sum(motion(state, 0.0, 0.0, gear=weights(2, drive=d), p=p).longitudinal) for d in (1.0, 0.0)]
        return forces[0] - forces[1]

    lossless = replace(p, driveline_efficiency=1.0)
    assert drive(still, lossless) == pytest.approx(-30.0 * p.gear_ratios[1] / p.rolling_radius_rear, rel=1e-3)
    assert drive(still, p) == pytest.approx(drive(still, lossless) / 0.85, rel=1e-3)  # the throttle closes to 0.1%
    full = replace(still, command=1.0)
    assert drive(full, p) == pytest.approx(drive(full, lossless) * 0.85, rel=1e-3)


def test_wheels_slow_a_car_that_rolls_downhill():
    """Body and wheels roll together: a = g sin / (1 + J / m r2) (Halliday and Resnick, rolling down an incline)."""
    nothing = dict.fromkeys(("drag_area", "rolling_resistance", "brake_force_limit", "toe_front", "toe_rear"), 0.0)
    p = rear_drive(wheel_inertia_front=20.0, **nothing)
    state = CarState(v_x=15.0, v_y=0.0, yaw_rate=0.0, roll=0.0, roll_rate=0.0, road_wheel_angle=0.0, command=0.0)
    ground = p.gravity * np.sin(0.05)

    def residual(specific):
        return motion(state, specific, 0.0, gear=weights(1, drive=0.0), p=p, ground_x=ground).residual_x

    at_rest, at_one = residual(0.0), residual(1.0)
    gained = ground + at_rest / (at_rest - at_one)  # the residual is linear in the acceleration here
    turning = p.wheel_inertia_front / p.rolling_radius_front**2 + p.wheel_inertia_rear / p.rolling_radius_rear**2
    # the softened caps of the differentials push with a newton a wheel at no throttle
    assert gained == pytest.approx(ground / (1.0 + turning / p.mass), abs=0.004)
    assert gained < 0.97 * ground
