"""Derived values and what they say about safety."""

import numpy as np
import pytest

from conewise.quantities import Origin, Sourced
from conewise.vehicle.build import model_parameters
from conewise.vehicle.derived import (
    brake_balance,
    derived_values,
    load_transfer_distribution,
    safety_findings,
    shift_speeds,
    speed_at_limiter,
    static_loads,
    static_stability,
)
from conewise.vehicle.drivetrain import full_torque
from conewise.vehicle.lock_order import peak_deceleration
from tests.cars import DEMO_NAMES, demo_car
from tests.model_cars import rear_drive


def with_values(name, **edits):
    values = {
        key.replace("__", "."): Sourced(value=value, uncertainty=0.0, origin=Origin.MEASURED)
        for key, value in edits.items()
    }
    return demo_car(name).with_values(values)


def codes(car):
    return {f.code for f in safety_findings(car)}


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_the_demo_cars_have_no_safety_finding(name):
    assert safety_findings(demo_car(name)) == []


def test_derived_values_of_the_roadster():
    found = {d.name: d.value for d in derived_values(demo_car("marigold"))}
    assert found["mass"] == pytest.approx(1080.0)
    assert found["front.wheel_rate"] == pytest.approx(450 * 175.126835 * 0.66**2, rel=1e-8)
    assert found["peak_power"] == pytest.approx(138 * 7000 * np.pi / 30, rel=0.02)  # the curve's last point
    assert found["turning_radius"] == pytest.approx(2.30 / np.tan(2.6 * np.pi / 14.5), rel=1e-12)
    assert found["speed_in_gear_2"] == pytest.approx(7200 * np.pi / 30 / (1.89 * 4.30) * 0.97 * 0.586 / 2, rel=1e-9)
    assert 1.0 < found["front.ride_frequency"] < 2.5  # road cars to racers: "Tech Tip: Springs & Dampers"


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_shares_are_shares_and_names_are_unique(name):
    values = derived_values(demo_car(name))
    assert len({d.name for d in values}) == len(values)
    for d in values:
        assert np.isfinite(d.value)
        if d.name.endswith(("share", "distribution")):
            assert 0 < d.value < 1


def test_a_stiffer_front_bar_takes_more_load_transfer_at_the_front():
    less, more = (
        load_transfer_distribution(model_parameters(with_values("pepper", front__bar_diameter=d)))
        for d in (0.018, 0.026)
    )
    assert more > less + 0.05


def test_a_tall_car_may_roll_over():
    assert "roll-over" in codes(with_values("pepper", body__cg_height=0.60))
    grippy = with_values("pepper", front__tyre__friction=1.3, rear__tyre__friction=1.3)
    assert "roll-over" in codes(grippy)


def test_too_much_rear_brake_is_found():
    stop = [
        f
        for f in safety_findings(with_values("marigold", rear__brake__pad_friction=0.6))
        if f.code == "rear-locks-first"
    ]
    assert [f.severity for f in stop] == ["stop"]  # without anti-lock brakes
    warned = [
        f for f in safety_findings(with_values("pepper", brakes__front_share=0.7)) if f.code == "rear-locks-first"
    ]
    assert [f.severity for f in warned] == ["warning"]


def test_too_small_a_tyre_is_found():
    assert "tyre-overloaded" in codes(with_values("boulder", front__tyre__load_capacity=450.0))


def test_static_loads_carry_the_car():
    p = rear_drive()
    assert 2 * sum(static_loads(p)) == pytest.approx(p.mass * p.gravity, rel=1e-12)


def test_balance_and_peak_of_a_plain_car():
    p = rear_drive(load_sensitivity_front=0.0, load_sensitivity_rear=0.0)
    psi, chi = p.cg_to_front / p.wheelbase, p.cg_height / p.wheelbase
    assert brake_balance(p).critical == pytest.approx((psi - (1 - p.brake_front_share)) / chi, rel=1e-12)
    assert peak_deceleration(p) == pytest.approx(1.12, rel=2e-4)  # friction's floor is smooth
    assert static_stability(p) == pytest.approx((1.42 + 1.43) / 4 / 0.46, rel=1e-12)


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_a_shift_comes_where_the_next_gear_pulls_harder_or_at_the_limiter(name):
    car = demo_car(name)
    p = model_parameters(car)
    n_gears = len(car.transmission.gears)
    speeds = shift_speeds(p, n_gears)
    assert len(speeds) == n_gears - 1
    for i, speed in enumerate(speeds):
        lower, higher = p.gear_ratios[i], p.gear_ratios[i + 1]
        here, after = full_torque(speed, p) * lower, full_torque(speed * higher / lower, p) * higher
        assert speed == pytest.approx(p.engine_speed_limit) or after >= here * (1 - 1e-6)


def test_speed_at_the_limiter_falls_with_the_gear():
    p = model_parameters(demo_car("boulder"))
    speeds = [speed_at_limiter(p, gear) for gear in range(1, 7)]
    assert speeds == sorted(speeds)
