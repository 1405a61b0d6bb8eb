"""Gearing: speeds by the workshop formula, torque by the chain, shifts where the next gear pulls harder."""

import numpy as np
import pytest

from conewise.cars.edit import with_numbers
from conewise.quantities import in_unit
from conewise.vehicle.build import model_parameters
from conewise.vehicle.drivetrain import full_torque
from conewise.vehicle.gearing import gearing_sheet, road_speed, wheel_torque
from tests.cars import DEMO_NAMES, demo_car
from tests.model_cars import rear_drive


def test_the_workshop_formula():
    # page "Gearing Formula": mph = rpm x tyre diameter (in) / (ratio x 336); 336 is 336.13 rounded
    p = rear_drive()
    inches = 2 * p.driven_radius / 0.0254
    for gear in (1, 3):
        wanted = 5000 * inches / (p.gear_ratios[gear - 1] * 336)
        found = in_unit(road_speed(5000 * np.pi / 30, p, gear=gear), "speed", "mph")
        assert found == pytest.approx(wanted, rel=5e-4)


def test_wheel_torque_is_the_chain():
    p = rear_drive()
    assert wheel_torque(400.0, p, gear=2) == pytest.approx(full_torque(400.0, p) * 7.8 * 0.9, rel=1e-12)


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_rows_of_the_sheet(name):
    car = demo_car(name)
    p, sheet = model_parameters(car), gearing_sheet(car)
    rows = np.array([row for _, row in sheet.table.rows])
    assert len(rows) == len(car.transmission.gears)
    assert rows[:, 1] == pytest.approx(rows[:, 0] * p.engine_speed_limit / (1000 * np.pi / 30), rel=1e-12)
    assert np.all(np.diff(rows[:, 2]) < 0)  # taller gears turn the wheels less
    assert np.isnan(rows[-1, 3:]).all()
    landed = rows[:-1, 5]
    assert landed == pytest.approx(
        rows[:-1, 3] * np.array(p.gear_ratios[1 : len(rows)]) / p.gear_ratios[: len(rows) - 1]
    )


def test_a_shorter_final_drive_and_smaller_tyres_do_the_same():
    car = demo_car("marigold")
    shorter = with_numbers(car, {"transmission.final_drive": 1.05 * car.value("transmission.final_drive")})
    smaller = with_numbers(car, {"rear.tyre.rolling_radius": car.value("rear.tyre.rolling_radius") / 1.05})
    before, one, other = (np.array([r for _, r in gearing_sheet(c).table.rows])[:, 1] for c in (car, shorter, smaller))
    assert one == pytest.approx(before / 1.05, rel=1e-12)
    assert other == pytest.approx(one, rel=1e-9)
