"""Bounds that no proposed setting crosses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.vehicle.bounds import TURN_SPEED, brake_reserve, least_understeer_gradient, worst_brake_reserve
from conewise.vehicle.build import model_parameters
from conewise.vehicle.handling import bicycle_understeer_gradient
from conewise.vehicle.lock_order import engine_drag_share, peak_deceleration, rear_first_from
from tests.cars import DEMO_NAMES, demo_car

P = model_parameters(demo_car("marigold"))


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_a_reserve_of_zero_is_where_the_rear_begins_to_lock_first(name):
    p = model_parameters(demo_car(name))
    share = float(p.brake_front_share) - brake_reserve(p)
    assert not np.isfinite(rear_first_from(replace(p, brake_front_share=share + 1e-6)))
    assert np.isfinite(rear_first_from(replace(p, brake_front_share=share - 1e-3)))


def test_neither_pace_nor_a_wet_road_widens_the_reserve():
    calm = replace(P, friction_share=0.8, surface=0.6)
    assert brake_reserve(calm) == pytest.approx(brake_reserve(P), rel=1e-12)


@pytest.mark.parametrize("name", DEMO_NAMES)
@pytest.mark.parametrize("cold", [1.0, 0.85])
def test_a_reserve_of_zero_at_the_first_stop_is_where_the_forces_of_both_axles_say_so(name, cold):
    # force balance by hand: brakes bring z - d, the engine d at the driven wheels; both axles over their loads
    p = model_parameters(demo_car(name))
    share = float(p.brake_front_share) - worst_brake_reserve(p, cold=cold)
    left = share * cold / (share * cold + 1.0 - share)
    drag = engine_drag_share(p, 2)
    psi, chi = p.cg_to_front / p.wheelbase, p.cg_height / p.wheelbase
    z = np.linspace(0.6, 1.0, 41) * peak_deceleration(p)
    front = left * (z - drag) + p.front_drive_share * drag
    on_equal = (z - front) / (psi - chi * z) - front / (1.0 - psi + chi * z)
    assert on_equal.max() <= 1e-9
    colder = replace(p, brake_front_share=left - 1e-3)
    assert worst_brake_reserve(colder, cold=1.0) < 0.0


def test_cold_front_pads_and_a_driven_rear_axle_ask_for_more_front_and_cold_rear_pads_do_not():
    assert worst_brake_reserve(P, cold=0.8) < worst_brake_reserve(P, cold=1.0) < brake_reserve(P)
    assert worst_brake_reserve(P, cold=1.2) == worst_brake_reserve(P, cold=1.0)
    driven = replace(P, front_drive_share=1.0)
    assert worst_brake_reserve(driven, cold=1.0) > worst_brake_reserve(P, cold=1.0)
    assert worst_brake_reserve(P, cold=1.0, surface=0.3) <= worst_brake_reserve(P, cold=1.0)


def test_the_least_gradient_is_not_above_the_one_near_straight_ahead():
    # the bicycle's gradient has no toe, roll or camber; a tenth of a degree per g of difference is usual
    straight = bicycle_understeer_gradient(P)
    assert least_understeer_gradient(P) < straight + np.deg2rad(0.35) / 9.81


def test_a_stiff_rear_bar_turns_the_car_round_before_its_limit():
    stiff = replace(P, roll_stiffness_rear=4 * P.roll_stiffness_rear, roll_stiffness_front=0.3 * P.roll_stiffness_front)
    assert least_understeer_gradient(stiff) < 0.0 < least_understeer_gradient(P)


def test_pace_does_not_count():
    assert least_understeer_gradient(replace(P, friction_share=0.8)) == pytest.approx(least_understeer_gradient(P))
    assert pytest.approx(60 / 3.6) == TURN_SPEED
