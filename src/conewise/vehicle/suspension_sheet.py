"""Suspension and alignment of a car on one sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from conewise.cars.car import AXLES
from conewise.cars.damper import low_speed_damping
from conewise.cars.estimate import front_share, total_mass
from conewise.cars.toe import toe_distance
from conewise.cars.typical import numbers
from conewise.findings import Finding
from conewise.vehicle import alignment, suspension
from conewise.vehicle.build import bar_stiffness, model_parameters, track
from conewise.vehicle.derived import DerivedValue
from conewise.vehicle.motion import roll_arm
from conewise.vehicle.sheet import PartSheet, SheetTable

if TYPE_CHECKING:
    from conewise.cars.car import Car
    from conewise.cars.estimate import Values
    from conewise.quantities import Dimension
    from conewise.vehicle.parameters import ModelParameters

REFERENCE_ACCELERATION = 0.9  # at which inclinations are told [g]
REFERENCE_STEER = np.deg2rad(10.0)  # road wheel in a tight corner
FLAT_RIDE = (0.9, 1.5)  # rear over front ride frequency that cars have; common practice, no source


def suspension_sheet(car: Car) -> PartSheet:
    """Rates, frequencies, bars, roll, damping over speed, toe in distance, inclination at the limit."""
    v, p = numbers(car), model_parameters(car)
    roll = alignment.roll_gradient(p, arm=float(roll_arm(p)[0])) * REFERENCE_ACCELERATION * p.gravity
    frequencies = [_frequency(v, axle) for axle in AXLES]
    values = [
        DerivedValue("frequency_ratio", "rear over front ride frequency", "ratio", frequencies[1] / frequencies[0]),
        DerivedValue("roll", f"body roll at {REFERENCE_ACCELERATION} g", "angle", roll),
        *(value for axle in AXLES for value in _axle(v, p, axle, roll)),
        *_caster(car),
    ]
    notes = (
        "A strut brace is worth words, not seconds: docs/models/suspension.md says how little the body gives.",
        "Ride height moves the centre of gravity by the sprung share of it, and the roll centres by more (unknown).",
    )
    return PartSheet(
        part="suspension",
        values=tuple(values),
        table=_damping(car, v),
        notes=notes,
        findings=tuple(_findings(frequencies)),
    )


def _corner(v: Values, axle: str) -> float:
    share = front_share(v) if axle == "front" else 1 - front_share(v)
    return (total_mass(v) * share - v[f"{axle}.unsprung_mass"]) / 2


def _rate(v: Values, axle: str) -> float:
    return float(suspension.wheel_rate(v[f"{axle}.spring_rate"], v[f"{axle}.motion_ratio"]))


def _frequency(v: Values, axle: str) -> float:
    return float(suspension.natural_frequency(_rate(v, axle), _corner(v, axle)))


def _axle(v: Values, p: ModelParameters, axle: str, roll: float) -> list[DerivedValue]:
    camber, gain, best = (getattr(p, f"{name}_{axle}") for name in ("camber", "camber_gain", "best_inclination"))
    outer = alignment.outer_inclination(camber, gain, roll)
    springs = suspension.axle_roll_stiffness(_rate(v, axle), track(v, axle))
    bar = bar_stiffness(v, axle)
    toe = toe_distance(v[f"{axle}.toe"], v[f"{axle}.tyre.rim_diameter"])
    at = f"at {REFERENCE_ACCELERATION} g"
    rows: tuple[tuple[str, str, Dimension, float], ...] = (
        ("wheel_rate", "spring at the wheel", "spring-rate", _rate(v, axle)),
        ("ride_frequency", "sprung mass on its springs", "frequency", _frequency(v, axle)),
        ("bar_share", "share of the bar in the axle's roll stiffness", "ratio", bar / (springs + bar)),
        ("toe", "toe-in of each wheel over its rim diameter", "length", toe),
        ("outer_inclination", f"of the outer wheel to the road, into the turn, {at}", "angle", outer),
        ("best_inclination", "with the most friction", "angle", best),
        (
            "camber_for_best",
            f"static camber that would bring the outer wheel there {at}",
            "angle",
            alignment.best_static_camber(best, gain, roll),
        ),
    )
    return [DerivedValue(f"{axle}.{name}", words, dimension, float(value)) for name, words, dimension, value in rows]


def _caster(car: Car) -> list[DerivedValue]:
    if car.front.caster is None:
        return []
    words = "added into the turn by caster at 10 deg of steer (not in the time model)"
    added = alignment.caster_inclination(car.front.caster.value, REFERENCE_STEER)
    return [DerivedValue("front.caster_inclination", words, "angle", float(added))]


def _damping(car: Car, v: Values) -> SheetTable:
    """Damping ratios over damper speed where the curve is given and still the car's; else at low speed."""
    rows: list[tuple[str, tuple[float, ...]]] = []
    for axle in AXLES:
        critical = suspension.critical_damping(_rate(v, axle), _corner(v, axle))
        ratio = v[f"{axle}.damper_motion_ratio"]
        curve = getattr(car, axle).damper_curve
        is_own = curve and np.isclose(low_speed_damping(curve), v[f"{axle}.damping"])  # else damping was changed since
        points = [(p.speed, p.bump, p.rebound) for p in curve] if is_own else []
        if not points:
            mean = float(suspension.wheel_rate(v[f"{axle}.damping"], ratio) / critical)
            rows.append((f"{axle}, low speed, mean", (mean, mean)))
        for speed, bump, rebound in points:
            both = [float(suspension.wheel_rate(force / speed, ratio) / critical) for force in (bump, rebound)]
            rows.append((f"{axle}, {speed * 1e3:.0f} mm/s", (both[0], both[1])))
    columns: tuple[tuple[str, Dimension], ...] = (("bump", "ratio"), ("rebound", "ratio"))
    return SheetTable(title="Damping over critical, in ride", columns=columns, rows=tuple(rows))


def _findings(frequencies: list[float]) -> list[Finding]:
    ratio = frequencies[1] / frequencies[0]
    if FLAT_RIDE[0] <= ratio <= FLAT_RIDE[1]:
        return []
    words = (
        f"The rear rides at {frequencies[1]:.2f} Hz and the front at {frequencies[0]:.2f} Hz; cars have the rear "
        f"{FLAT_RIDE[0]:g} to {FLAT_RIDE[1]:g} times the front. Common practice; check rates and motion ratios."
    )
    return [Finding("note", "frequency-ratio", words, "rear.spring_rate")]
