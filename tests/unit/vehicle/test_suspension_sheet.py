"""The suspension sheet: its numbers are those of the formulas, its words are sober."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.cars.car import DamperPoint
from conewise.quantities import Origin, Sourced
from conewise.vehicle.derived import derived_values
from conewise.vehicle.suspension_sheet import suspension_sheet
from tests.cars import DEMO_NAMES, demo_car


def values(sheet):
    return {v.name: v.value for v in sheet.values}


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_the_sheet_agrees_with_the_derived_values(name):
    car = demo_car(name)
    found, derived = values(suspension_sheet(car)), {d.name: d.value for d in derived_values(car)}
    for axle in ("front", "rear"):
        for key in ("wheel_rate", "ride_frequency"):
            assert found[f"{axle}.{key}"] == pytest.approx(derived[f"{axle}.{key}"], rel=1e-12)
        bar, springs = (derived[f"{axle}.{part}_roll_stiffness"] for part in ("bar", "spring"))
        assert found[f"{axle}.bar_share"] == pytest.approx(bar / (bar + springs), rel=1e-12)
    assert found["roll"] == pytest.approx(0.9 * derived["roll_gradient"], rel=1e-12)
    assert found["frequency_ratio"] == pytest.approx(found["rear.ride_frequency"] / found["front.ride_frequency"])


def test_static_camber_for_the_best_moves_the_outer_wheel_there():
    car = demo_car("marigold")
    wanted = values(suspension_sheet(car))["front.camber_for_best"]
    moved = car.with_values({"front.camber": replace(car.values["front.camber"], value=wanted)})
    found = values(suspension_sheet(moved))
    assert found["front.outer_inclination"] == pytest.approx(found["front.best_inclination"], rel=1e-9)


def test_damping_ratios_over_speed():
    car = demo_car("marigold")
    curve = (DamperPoint(speed=0.05, bump=200.0, rebound=400.0), DamperPoint(speed=0.25, bump=500.0, rebound=1500.0))
    damped = replace(car.values["front.damping"], value=6000.0)  # what the slow point says
    rows = suspension_sheet(car.changed(front=car.front.changed(damper_curve=curve, damping=damped))).table.rows
    assert [name for name, _ in rows] == ["front, 50 mm/s", "front, 250 mm/s", "rear, low speed, mean"]
    ratios = np.array([row for _, row in rows])
    assert ratios[0, 1] == pytest.approx(2 * ratios[0, 0], rel=1e-12)
    assert ratios[1] == pytest.approx([ratios[0, 0] / 2, ratios[0, 0] * 1.5], rel=1e-12)
    derived = {d.name: d.value for d in derived_values(car)}
    mean = 6000.0 / car.value("front.damping") * derived["front.damping_ratio"]
    assert ratios[0].mean() == pytest.approx(mean, rel=1e-12)
    assert ratios[2] == pytest.approx([derived["rear.damping_ratio"]] * 2, rel=1e-12)


def test_a_curve_that_the_damping_left_behind_is_not_told():
    car = demo_car("marigold")
    curve = (DamperPoint(speed=0.05, bump=200.0, rebound=400.0),)
    softer = car.changed(front=car.front.changed(damper_curve=curve)).with_values(
        {"front.damping": Sourced(value=3000.0, uncertainty=300.0, origin=Origin.MEASURED)}
    )
    assert suspension_sheet(softer).table.rows[0][0] == "front, low speed, mean"


def test_odd_frequencies_are_noticed():
    car = demo_car("marigold")
    stiff = car.with_values({"rear.spring_rate": replace(car.values["rear.spring_rate"], value=250e3)})
    assert [f.code for f in suspension_sheet(stiff).findings] == ["frequency-ratio"]
    assert suspension_sheet(car).findings == ()
