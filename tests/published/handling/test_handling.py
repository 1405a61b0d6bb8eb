"""Steady-state handling against textbook values; see CITATION.md."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.vehicle.drivetrain import launch_acceleration
from conewise.vehicle.handling import bicycle_understeer_gradient, understeer_gradient
from conewise.vehicle.motion import CarState, wheel_loads
from conewise.vehicle.steady_state import trim
from tests.model_cars import textbook, with_axle_stiffness

WEIGHT, WHEELBASE, FRONT = 20.105e3, 2.8, 0.535
WONG = with_axle_stiffness(
    38.92e3, 38.25e3, mass=WEIGHT / 9.81, wheelbase=WHEELBASE, cg_to_front=WHEELBASE * (1.0 - FRONT), gravity=9.81
)


def test_the_bicycle_model_has_the_textbook_coefficient():
    assert bicycle_understeer_gradient(WONG) * 9.81 == pytest.approx(0.0160, abs=5e-5)  # three digits


def test_the_four_wheel_model_tends_to_the_textbook_coefficient():
    # a wide and gentle circle, where the model is linear; 50 N of load softening is 1% of the stiffness
    assert understeer_gradient(WONG, radius=1000.0, across=0.2) * 9.81 == pytest.approx(0.0160, rel=0.01)


def test_characteristic_speed():
    # sqrt(g L / K): the speed at which the car needs twice the steer of Ackermann
    speed = 41.5
    assert np.sqrt(9.81 * WHEELBASE / 0.0160) == pytest.approx(speed, abs=0.1)
    radius = speed**2 / 0.5
    steer = float(trim(WONG, speed, across=0.5).road_wheel_angle[0])
    assert steer == pytest.approx(2.0 * WHEELBASE / radius, rel=0.02)  # drive and drag of the tyres at 149 km/h


def test_yaw_gain_of_the_bicycle_model():
    # r / delta = v / (L + K v^2)
    speed = np.array([10.0, 20.0, 30.0])
    turned = trim(WONG, speed, across=0.2)
    gradient = bicycle_understeer_gradient(WONG)
    expected = speed / (WHEELBASE + gradient * speed**2)
    assert turned.yaw_rate / turned.road_wheel_angle == pytest.approx(expected, rel=0.01)


def test_ackermann_angle_of_a_slow_turn():
    # 49 CFR 571.126, S4: the angle whose tangent is wheelbase over radius; L 2.6 m, R 30 m: 4.953 degrees
    car = textbook(wheelbase=2.6, cg_to_front=1.25)
    assert np.degrees(np.arctan(2.6 / 30.0)) == pytest.approx(4.953, abs=5e-4)
    turned = trim(car, 5.0, across=25.0 / 30.0)
    assert np.degrees(turned.road_wheel_angle[0]) == pytest.approx(4.953, rel=0.02)  # 30 m to the centre of gravity


def loads_at(p, along=0.0, across=0.0, roll=0.0):
    still = dict.fromkeys(CarState.__dataclass_fields__, 0.0)
    return np.array(wheel_loads(along, across, CarState(**(still | {"roll": roll, "v_x": 10.0})), p))


def test_static_axle_loads():
    # Jazar: 9876.7 and 7438.0 N with g = 9.81 m/s2
    car = textbook(mass=1765.0, cg_to_front=1.22, wheelbase=2.84, gravity=9.81)
    loads = loads_at(car)
    assert (loads[:2].sum(), loads[2:].sum()) == pytest.approx((9876.7, 7438.0), abs=0.1)


def test_longitudinal_transfer():
    # m a h / L: 1300 kg, 0.9 g, 0.50 m, 2.60 m: 2206.5 N
    car = textbook(mass=1300.0, cg_height=0.50, wheelbase=2.60, cg_to_front=1.30)
    moved = loads_at(car)[:2].sum() - loads_at(car, along=0.9 * 9.80665)[:2].sum()
    assert moved == pytest.approx(2206.5, abs=0.1)


def test_lateral_transfer_of_one_axle():
    # 750 kg at 1 g, 520 mm high, 1580 mm wide: 246.8 kg; here two such axles with a stiff, high roll axis
    car = textbook(
        mass=1500.0,
        cg_to_front=1.165,
        cg_height=0.52,
        track_front=1.58,
        track_rear=1.58,
        roll_centre_front=0.52,
        roll_centre_rear=0.52,
        rolling_radius_front=0.52,
        rolling_radius_rear=0.52,
    )
    loads = loads_at(car, across=9.80665)
    near = pytest.approx(246.8, rel=0.005)  # two thirds of what lifts a wheel: the bound there takes off 0.4%
    assert (loads[1] - loads[0]) / 2.0 / 9.80665 == near
    assert (loads[3] - loads[2]) / 2.0 / 9.80665 == near


@pytest.mark.parametrize(
    ("front_share", "expected"), [(0.0, 0.625), (1.0, 0.416667)], ids=["rear drive", "front drive"]
)
def test_traction_of_the_driven_axle(front_share, expected):
    # mu f / (1 -+ mu h / L), 50/50, h / L 0.2, mu 1: 0.625 g and 0.4167 g; engine and clutch far beyond it
    car = textbook(
        wheelbase=2.5,
        cg_to_front=1.25,
        cg_height=0.5,
        front_drive_share=front_share,
        friction_longitudinal_front=1.0,
        friction_longitudinal_rear=1.0,
        torque=tuple(2000.0 for _ in range(10)),
        launch_share=1.0,
    )
    assert float(launch_acceleration(car)) / 9.80665 == pytest.approx(
        expected, rel=0.01
    )  # smooth minimum with the engine


@pytest.mark.parametrize("end", ["front", "rear"])
def test_bars_turn_the_understeer_gradient_the_usual_way(end):
    # common practice, no source: a stiffer front bar understeers more, a stiffer rear bar less
    car = textbook(load_sensitivity_front=0.12, load_sensitivity_rear=0.12)
    stiffer = replace(car, **{f"roll_stiffness_{end}": 1.5 * getattr(car, f"roll_stiffness_{end}")})
    change = understeer_gradient(stiffer, across=5.0) - understeer_gradient(car, across=5.0)
    assert change > 0.0 if end == "front" else change < 0.0
