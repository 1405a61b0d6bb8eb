"""What another pressure does to a tyre."""

from __future__ import annotations

import pytest

from conewise.cars.pressure import USUAL_EFFECT, PressureEffect, rate_factor, with_pressures
from conewise.cars.typical import numbers
from tests.cars import demo_car

CAR = demo_car("marigold")
NOW = CAR.value("front.tyre.pressure")


def test_the_same_pressure_changes_nothing():
    assert numbers(with_pressures(CAR, {"front": NOW}, {})) == pytest.approx(numbers(CAR), rel=1e-12)


def test_only_the_tyres_of_the_axle_move():
    before, after = numbers(CAR), numbers(with_pressures(CAR, {"front": 1.1 * NOW}, {}))
    moved = {name for name in before if after[name] != pytest.approx(before[name], rel=1e-12)}
    parts = ("pressure", "friction", "friction_longitudinal", "cornering_coefficient", "spring_rate")
    assert moved == {f"front.tyre.{part}" for part in parts}


def test_more_pressure_is_a_stiffer_tyre():
    # Rhyne 2005: the rate is 3.45 kgf/mm and a part in proportion to pressure, so less than in proportion in all
    assert 1.0 < rate_factor(CAR, "front", 1.2 * NOW) < 1.2
    air = [rate_factor(CAR, "front", factor * NOW) for factor in (1.0, 1.1, 1.2)]
    assert air[2] - air[1] == pytest.approx(air[1] - air[0], rel=1e-9)


def test_on_which_side_of_its_best_a_tyre_stands_is_not_known():
    spread = USUAL_EFFECT.slope_uncertainty
    assert USUAL_EFFECT.slope == 0.0
    # both signs within two standard deviations, for a published set of -0.17 too (from memory)
    assert spread > 0.17 / 2


def test_friction_has_a_best_pressure_and_never_vanishes():
    effect = PressureEffect(slope=0.1, loss=0.5)
    best = max((effect.friction_factor(d / 100), d) for d in range(-50, 51))
    assert best[1] == 10  # slope over twice the loss
    assert PressureEffect(slope=-5.0).friction_factor(1.0) == 0.5
