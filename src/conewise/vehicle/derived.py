"""What follows from a car's numbers: rates, frequencies, balance, gearing, and what they say about safety."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from conewise.cars.car import AXLES, Car
from conewise.cars.estimate import front_share, total_mass
from conewise.cars.typical import numbers
from conewise.findings import Finding, Severity
from conewise.vehicle import brakes, suspension
from conewise.vehicle.build import bar_stiffness, model_parameters, track
from conewise.vehicle.drivetrain import full_torque
from conewise.vehicle.handling import bicycle_understeer_gradient
from conewise.vehicle.lock_order import peak_deceleration, rear_first_from
from conewise.vehicle.motion import roll_arm, tyres
from conewise.vehicle.tyre_force import load_factor

if TYPE_CHECKING:
    from conewise.cars.estimate import Values
    from conewise.quantities import Dimension
    from conewise.vehicle.parameters import ModelParameters

SAFE_STABILITY = 1.3  # least static stability factor without a word
STABILITY_OVER_FRICTION = 0.2  # least distance of the static stability factor from the tyres' peak friction


@dataclass(frozen=True, slots=True)
class DerivedValue:
    """One derived number in SI; `per` is a unit that it is stated per, such as "g"."""

    name: str
    meaning: str
    dimension: Dimension
    value: float
    per: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BrakeBalance:
    """Which axle locks first. Decelerations over gravity."""

    front_share: float
    critical: float  # both axles lock together; above it the rear locks first
    peak: float  # what the tyres could hold


def derived_values(car: Car) -> tuple[DerivedValue, ...]:
    """Derived values of a car, in the order in which they are shown.

    Parameters
    ----------
    car : Car
        Completed with typical values.

    Returns
    -------
    tuple of DerivedValue
    """
    v, p = numbers(car), model_parameters(car)
    return (*_whole(v, p), *(d for axle in AXLES for d in _axle(v, axle)), *_roll(p), *_handling(p), *_gearing(car, p))


def brake_balance(p: ModelParameters) -> BrakeBalance:
    """Static brake balance of the model's numbers."""
    psi, chi = p.cg_to_front / p.wheelbase, p.cg_height / p.wheelbase
    critical = brakes.critical_deceleration(1 - p.brake_front_share, psi=psi, chi=chi)
    return BrakeBalance(front_share=p.brake_front_share, critical=critical, peak=peak_deceleration(p))


def static_loads(p: ModelParameters) -> tuple[float, float]:
    """Load of one front and one rear wheel at rest. [N]"""
    weight = p.mass * p.gravity / p.wheelbase / 2
    return weight * p.cg_to_rear, weight * p.cg_to_front


def turning_radius(car: Car) -> float:
    """Radius of the rear axle's middle at full lock. [m]

    The steer angle whose tangent is wheelbase over radius: definition of the Ackermann angle, 49 CFR 571.126 S4.
    """
    steer = car.value("steering.lock_to_lock") * np.pi / car.value("steering.ratio")
    return float(car.value("body.wheelbase") / np.tan(steer))


def static_stability(p: ModelParameters) -> float:
    """Half the mean track width over the height of the centre of gravity.

    References
    ----------
    NHTSA, Trends in the Static Stability Factor of Passenger Cars, Light Trucks, and Vans, DOT HS 809 868, 2005.
    """
    return float((p.track_front + p.track_rear) / 4 / p.cg_height)


def speed_at_limiter(p: ModelParameters, gear: int) -> float:
    """Speed in a gear, counted from 1, at the limiter. [m/s]"""
    return float(p.engine_speed_limit / p.gear_ratios[gear - 1] * p.driven_radius)


def shift_speeds(p: ModelParameters, n_gears: int) -> tuple[float, ...]:
    """Engine speed where the next gear gives more wheel force, or the limiter; one fewer than gears. [rad/s]"""
    speeds = np.linspace(max(p.engine_speed_low, 1.0), p.engine_speed_limit, 400)
    answers: list[float] = []
    for lower, higher in zip(p.gear_ratios[: n_gears - 1], p.gear_ratios[1:n_gears], strict=True):
        gain = full_torque(speeds * higher / lower, p) * higher - full_torque(speeds, p) * lower
        reachable = speeds * higher / lower >= p.engine_speed_low
        better = np.flatnonzero((gain > 0.0) & reachable & (speeds > p.engine_speed_limit / 2))
        answers.append(float(speeds[better[0]]) if better.size else float(p.engine_speed_limit))
    return tuple(answers)


def safety_findings(car: Car) -> list[Finding]:
    """What the numbers say about rolling over and about the axle that locks first; estimates, not permissions."""
    p = model_parameters(car)
    found: list[Finding] = []
    friction = max(
        tyre.friction_lateral * load_factor(load, tyre) for tyre, load in zip(tyres(p), static_loads(p), strict=True)
    )
    stability = static_stability(p)
    if stability < max(SAFE_STABILITY, friction + STABILITY_OVER_FRICTION):
        words = (
            f"The static stability factor is {stability:.2f} and the tyres' peak friction {friction:.2f}. Below 1.3, "
            "or less than 0.2 above the friction, a car can roll over; officials and the rule book decide. An estimate."
        )
        found.append(Finding("warning", "roll-over", words, "body.cg_height"))
    found += rear_first_findings(p)
    return found + _overloaded(car, p)


def rear_first_findings(p: ModelParameters, *, how: str = "", where: str = "brakes.front_share") -> list[Finding]:
    """A stop where the rear axle would lock first before the dry peak; a warning with anti-lock brakes."""
    start = rear_first_from(p)
    if not np.isfinite(start):
        return []
    words = (
        f"From {start:.2f} g on the rear axle would lock first{how}, and the tyres hold about "
        f"{peak_deceleration(p):.2f} g. A car that locks its rear axle first spins; a qualified mechanic sets the "
        "balance. An estimate."
    )
    severity: Severity = "warning" if p.abs_share == 1.0 else "stop"
    return [Finding(severity, "rear-locks-first", words, where)]


def _overloaded(car: Car, p: ModelParameters) -> list[Finding]:
    found: list[Finding] = []
    for axle, load in zip(AXLES, static_loads(p), strict=True):
        capacity = car.value(f"{axle}.tyre.load_capacity")
        if load / p.gravity > capacity:
            words = (
                f"Each {axle} tyre carries {load / p.gravity:.0f} kg at rest and is made for {capacity:.0f} kg. "
                "The load index on the tyre decides."
            )
            found.append(Finding("stop", "tyre-overloaded", words, f"{axle}.tyre.size"))
    return found


def _whole(v: Values, p: ModelParameters) -> list[DerivedValue]:
    speeds = np.linspace(max(p.engine_speed_low, 1.0), p.engine_speed_limit, 400)
    power = float(np.max(full_torque(speeds, p) * speeds))
    return [
        DerivedValue("mass", "car with driver", "mass", total_mass(v)),
        DerivedValue("front_share", "front share, with driver", "ratio", front_share(v)),
        DerivedValue("peak_power", "greatest power of the curve", "power", power),
        DerivedValue("specific_power", "power over mass", "power", power / total_mass(v), per="kg"),
        DerivedValue(
            "static_stability",
            "half the track width over the height of the centre of gravity",
            "ratio",
            static_stability(p),
        ),
        DerivedValue(
            "turning_radius",
            "radius at full lock, centre of the rear axle, without slip",
            "length",
            float(p.wheelbase / np.tan(p.road_wheel_limit)),
        ),
    ]


def _axle(v: Values, axle: str) -> list[DerivedValue]:
    rate = suspension.wheel_rate(v[f"{axle}.spring_rate"], v[f"{axle}.motion_ratio"])
    share = front_share(v) if axle == "front" else 1 - front_share(v)
    corner = (total_mass(v) * share - v[f"{axle}.unsprung_mass"]) / 2
    ride = suspension.in_series(rate, v[f"{axle}.tyre.spring_rate"])
    damping = suspension.wheel_rate(v[f"{axle}.damping"], v[f"{axle}.damper_motion_ratio"])
    width = track(v, axle)
    stiffness = suspension.axle_roll_stiffness(rate, width)
    rows: list[tuple[str, str, Dimension, float]] = [
        ("wheel_rate", "spring at the wheel", "spring-rate", rate),
        ("ride_rate", "spring and tyre in series", "spring-rate", ride),
        ("damping_ratio", "of critical, in ride", "ratio", damping / suspension.critical_damping(rate, corner)),
        ("spring_roll_stiffness", "roll stiffness of the springs", "angular-stiffness", stiffness),
        ("bar_roll_stiffness", "roll stiffness of the bar", "angular-stiffness", bar_stiffness(v, axle)),
        ("rolling_radius", "effective rolling radius", "length", v[f"{axle}.tyre.rolling_radius"]),
    ]
    named = [DerivedValue(f"{axle}.{name}", words, dimension, float(value)) for name, words, dimension, value in rows]
    frequency = DerivedValue(
        f"{axle}.ride_frequency",
        "sprung mass on its springs",
        "frequency",
        float(suspension.natural_frequency(rate, corner)),
    )
    return [*named[:2], frequency, *named[2:]]


def _roll(p: ModelParameters) -> list[DerivedValue]:
    stiffness = p.roll_stiffness_front + p.roll_stiffness_rear
    arm = roll_arm(p)[0]
    leaning = p.sprung_mass * p.gravity * arm
    inertia = p.roll_inertia + p.sprung_mass * arm**2
    damping = (p.roll_damping_front + p.roll_damping_rear) / (2 * np.sqrt((stiffness - leaning) * inertia))
    return [
        DerivedValue("roll_stiffness", "body to road, both axles", "angular-stiffness", stiffness),
        DerivedValue(
            "roll_stiffness_distribution",
            "front share of it",
            "ratio",
            p.roll_stiffness_front / stiffness,
        ),
        DerivedValue(
            "roll_gradient",
            "steady roll",
            "angle",
            leaning / (stiffness - leaning),
            per="g",
        ),
        DerivedValue("roll_damping_ratio", "of critical, in roll", "ratio", float(damping)),
        DerivedValue(
            "load_transfer_distribution",
            "front share of the lateral load transfer",
            "ratio",
            load_transfer_distribution(p),
        ),
    ]


def load_transfer_distribution(p: ModelParameters) -> float:
    """Front share of the steady lateral load transfer, no wheel lifted. [-]"""
    arm, sprung_front, sprung_rear = roll_arm(p)
    roll = p.sprung_mass * arm / (p.roll_stiffness_front + p.roll_stiffness_rear - p.sprung_mass * p.gravity * arm)
    front = (
        p.roll_stiffness_front * roll
        + sprung_front * p.roll_centre_front
        + p.unsprung_mass_front * p.rolling_radius_front
    ) / p.track_front
    rear = (
        p.roll_stiffness_rear * roll + sprung_rear * p.roll_centre_rear + p.unsprung_mass_rear * p.rolling_radius_rear
    ) / p.track_rear
    return float(front / (front + rear))


def _handling(p: ModelParameters) -> list[DerivedValue]:
    balance = brake_balance(p)
    return [
        DerivedValue(
            "understeer_gradient",
            "near straight ahead, from load and cornering stiffness",
            "angle",
            bicycle_understeer_gradient(p) * p.gravity,
            per="g",
        ),
        DerivedValue(
            "brake_front_share",
            "front share of the brake force",
            "ratio",
            balance.front_share,
        ),
        DerivedValue(
            "critical_deceleration",
            "both axles lock together; above it the rear first, in g",
            "ratio",
            balance.critical,
        ),
    ]


def _gearing(car: Car, p: ModelParameters) -> list[DerivedValue]:
    return [
        DerivedValue(
            f"speed_in_gear_{gear}",
            f"speed in gear {gear} at the limiter",
            "speed",
            speed_at_limiter(p, gear),
        )
        for gear in range(1, len(car.transmission.gears) + 1)
    ]
