"""Which axle locks first: closed forms of textbooks, and what the demo cars do."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.vehicle import lock_order as module
from conewise.vehicle.build import model_parameters
from conewise.vehicle.lock_order import lock_deceleration, lock_order, peak_deceleration, rear_first_from
from tests.cars import DEMO_NAMES, demo_car
from tests.model_cars import rear_drive


def plain(phi, friction=1.0, **edits):
    """A car with psi 0.45 and chi 0.20, its tyres without load sensitivity."""
    numbers = {
        "wheelbase": 2.5,
        "cg_to_front": 0.45 * 2.5,
        "cg_height": 0.20 * 2.5,
        "brake_front_share": 1.0 - phi,
        "load_sensitivity_front": 0.0,
        "load_sensitivity_rear": 0.0,
        "friction_longitudinal_front": friction,
        "friction_longitudinal_rear": friction,
    }
    return rear_drive(**(numbers | edits))


def test_first_lock_of_the_textbook_car():
    # zf = (1 - psi) mu / ((1 - phi) - mu chi), zr = psi mu / (phi + mu chi); Limpert / Gillespie ch. 3 (from memory):
    # phi 0.30, mu 0.8: the front at 0.8148, the rear at 0.7826, so the rear first; mu 1.0: the rear at 0.900
    found = lock_deceleration(plain(0.30), surface=0.8)
    assert found == (pytest.approx(0.8148, abs=3e-4), pytest.approx(0.7826, abs=3e-4))  # friction's floor is smooth
    assert lock_deceleration(plain(0.30))[1] == pytest.approx(0.900, abs=3e-4)


def test_curve_order_of_the_textbook_car():
    # the axles lock together at zc = (psi - phi) / chi = 0.75: in order below it, not above
    p = plain(0.30, friction=1.2)
    assert not lock_order(p, np.array([0.15, 0.45, 0.74])).rear_first.any()
    assert lock_order(p, np.array([0.76, 0.80, 1.0])).rear_first.all()
    assert rear_first_from(p) == pytest.approx(0.75, abs=peak_deceleration(p) / 60)


def test_a_slippery_surface_alone_changes_nothing():
    dry, wet = plain(0.30, surface=1.0), plain(0.30, surface=0.5, friction_share=0.8)
    assert lock_order(dry, 0.6) == lock_order(wet, 0.6)
    assert rear_first_from(dry) == rear_first_from(wet)


def test_less_grip_behind_brings_the_rear_forward():
    even, weak = plain(0.24), plain(0.24, friction_longitudinal_rear=0.7)
    assert not np.isfinite(rear_first_from(even))
    # 0.76 * 0.7 (0.45 - 0.2 z) = 0.24 (0.55 + 0.2 z) at z 0.6956 (closed form); the grid is 0.015 wide
    assert rear_first_from(weak) == pytest.approx(0.6956, abs=0.016)
    assert module.least_front_share(weak) > module.least_front_share(even)


def test_better_tyres_behind_do_not_excuse_the_balance():
    # legislation compares the axles on equal tyres: a wet rear tyre is no better for being wide
    assert rear_first_from(plain(0.35, friction_longitudinal_rear=1.4)) == pytest.approx(0.50, abs=0.03)


@pytest.mark.parametrize("front_drive", [0.0, 0.4, 1.0])
def test_engine_braking_by_the_forces_of_both_axles(front_drive):
    p = plain(0.25, engine_drag=12.0, front_drive_share=front_drive)
    z = module.critical_with_engine(p, gear=2)
    weight = p.mass * p.gravity
    engine = 12.0 * p.gear_ratios[1] / p.driveline_efficiency / p.driven_radius
    front = 0.75 * (weight * z - engine) + front_drive * engine
    assert front / (0.55 + 0.2 * z) == pytest.approx((weight * z - front) / (0.45 - 0.2 * z), rel=1e-9)
    assert (z < 1.0) == (front_drive < 0.75)  # 1.0 g without it; on the rear it brings the order down
    assert module.critical_with_engine(plain(0.44, engine_drag=200.0)) == 0.0
    # phi 0.50 over psi 0.45: the rear first without the engine already, so with it too, and no deceleration is negative
    assert module.critical_with_engine(plain(0.50, engine_drag=1.0)) == 0.0


def test_a_rear_axle_in_the_air_locks_first():
    tall = plain(0.05, cg_height=1.2)
    order = lock_order(tall, 2.0)
    assert np.isfinite(order.adhesion_rear)
    assert order.rear_first


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_the_least_front_share_is_the_edge(name):
    p = model_parameters(demo_car(name))
    least = module.least_front_share(p)
    assert not np.isfinite(rear_first_from(replace(p, brake_front_share=least + 1e-6)))
    assert np.isfinite(rear_first_from(replace(p, brake_front_share=least - 1e-3)))
    assert p.brake_front_share > least
