"""Bounds that no proposed setting crosses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.vehicle.bounds import TURN_SPEED, brake_reserve, least_understeer_gradient
from conewise.vehicle.build import model_parameters
from conewise.vehicle.handling import bicycle_understeer_gradient
from conewise.vehicle.lock_order import rear_first_from
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
