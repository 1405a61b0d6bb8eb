"""Gearing: speed and wheel torque in every gear, and where the next gear pulls harder."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from conewise.vehicle.build import model_parameters, n_gears
from conewise.vehicle.derived import DerivedValue, shift_speeds, speed_at_limiter
from conewise.vehicle.drivetrain import full_torque
from conewise.vehicle.sheet import PartSheet, SheetTable

if TYPE_CHECKING:
    from conewise.cars.car import Car
    from conewise.quantities import Dimension
    from conewise.vehicle.parameters import ModelParameters, Numeric

THOUSAND_RPM = 1000.0 * np.pi / 30.0  # [rad/s]


def road_speed(engine_speed: Numeric, p: ModelParameters, *, gear: int) -> Numeric:
    """Speed in a gear, counted from 1, at an engine speed, clutch closed and without slip. [m/s]"""
    return engine_speed / p.gear_ratios[gear - 1] * p.driven_radius


def wheel_torque(engine_speed: Numeric, p: ModelParameters, *, gear: int) -> Numeric:
    """Torque of the driven wheels together at full throttle, T i eta. [N m]"""
    return full_torque(engine_speed, p) * p.gear_ratios[gear - 1] * p.driveline_efficiency


def gearing_sheet(car: Car) -> PartSheet:
    """Speeds, wheel torque and shift points of every gear, limiter and final drive as they are."""
    p, count = model_parameters(car), n_gears(car)
    speeds = np.linspace(max(p.engine_speed_low, 1.0), p.engine_speed_limit, 400)
    shifts = (*shift_speeds(p, count), np.nan)
    rows = []
    for gear in range(1, count + 1):
        shift = shifts[gear - 1]
        after = np.nan if gear == count else shift * p.gear_ratios[gear] / p.gear_ratios[gear - 1]
        rows.append(
            (
                f"gear {gear}",
                (
                    float(road_speed(THOUSAND_RPM, p, gear=gear)),
                    speed_at_limiter(p, gear),
                    float(np.max(wheel_torque(speeds, p, gear=gear))),
                    shift,
                    float(road_speed(shift, p, gear=gear)),
                    float(after),
                ),
            )
        )
    columns: tuple[tuple[str, Dimension], ...] = (
        ("at 1000 rpm", "speed"),
        ("at the limiter", "speed"),
        ("wheel torque", "torque"),
        ("shift up at", "angular-rate"),
        ("that is", "speed"),
        ("and lands at", "angular-rate"),
    )
    final = car.value("transmission.final_drive")
    values = (
        DerivedValue("limiter", "engine speed", "angular-rate", p.engine_speed_limit),
        DerivedValue("final_drive", "engine over wheel speed in direct gear", "ratio", final),
        DerivedValue("driven_radius", "rolling radius of the driven wheels", "length", float(p.driven_radius)),
    )
    notes = (
        "Shift where the next gear turns the wheels harder, or at the limiter; what a shift costs, the solver weighs.",
        "A final drive x % shorter, or tyres x % smaller across, lower every speed and raise every wheel force by x %.",
    )
    table = SheetTable(title="Gears at full throttle", columns=columns, rows=tuple(rows))
    return PartSheet(part="gearing", values=values, table=table, notes=notes)
