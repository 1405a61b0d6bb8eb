"""The parameters of the car model: one flat set of SI numbers, each of which can be differentiated.

A `cars.Car` is what a person fills in; `vehicle.build` turns it into these. The solver makes the same class
of symbols, so physics reads `p.mass` whether it is a float, an array or a symbol.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Numeric = Any  # float, Array or CasADi expression

N_GEARS = 8
N_TORQUE = 10


def _unit(unit: str, meaning: str, size: int = 1) -> Any:
    return field(metadata={"unit": unit, "meaning": meaning, "size": size})


@dataclass(frozen=True, kw_only=True)
class ModelParameters:
    """Everything that the car model knows. ISO 8855 axes; lengths from the centre of gravity."""

    # masses and geometry
    mass: Numeric = _unit("kg", "car with driver, fuel and equipment")
    cg_to_front: Numeric = _unit("m", "centre of gravity behind the front axle")
    wheelbase: Numeric = _unit("m", "front axle to rear axle")
    cg_height: Numeric = _unit("m", "centre of gravity above the road")
    yaw_inertia: Numeric = _unit("kg m2", "whole car about the vertical axis")
    roll_inertia: Numeric = _unit("kg m2", "sprung mass about its own longitudinal axis")
    unsprung_mass_front: Numeric = _unit("kg", "both front wheels with what moves with them")
    unsprung_mass_rear: Numeric = _unit("kg", "both rear wheels with what moves with them")
    track_front: Numeric = _unit("m", "contact patch to contact patch")
    track_rear: Numeric = _unit("m", "contact patch to contact patch")
    roll_centre_front: Numeric = _unit("m", "height of the front roll centre")
    roll_centre_rear: Numeric = _unit("m", "height of the rear roll centre")
    # roll
    roll_stiffness_front: Numeric = _unit("N m/rad", "springs and bar of the front axle, body to road")
    roll_stiffness_rear: Numeric = _unit("N m/rad", "springs and bar of the rear axle, body to road")
    roll_damping_front: Numeric = _unit("N m s/rad", "dampers of the front axle")
    roll_damping_rear: Numeric = _unit("N m s/rad", "dampers of the rear axle")
    # tyres, per axle
    friction_lateral_front: Numeric = _unit("-", "peak lateral friction at the reference load")
    friction_lateral_rear: Numeric = _unit("-", "peak lateral friction at the reference load")
    friction_longitudinal_front: Numeric = _unit("-", "peak longitudinal friction at the reference load")
    friction_longitudinal_rear: Numeric = _unit("-", "peak longitudinal friction at the reference load")
    load_sensitivity_front: Numeric = _unit("-", "relative loss of friction per relative rise of load")
    load_sensitivity_rear: Numeric = _unit("-", "relative loss of friction per relative rise of load")
    reference_load_front: Numeric = _unit("N", "load of one tyre at which friction is stated")
    reference_load_rear: Numeric = _unit("N", "load of one tyre at which friction is stated")
    stiffness_peak_front: Numeric = _unit("1/rad", "greatest cornering stiffness over the reference load")
    stiffness_peak_rear: Numeric = _unit("1/rad", "greatest cornering stiffness over the reference load")
    stiffness_load_front: Numeric = _unit("-", "load of the greatest cornering stiffness over the reference load")
    stiffness_load_rear: Numeric = _unit("-", "load of the greatest cornering stiffness over the reference load")
    shape_front: Numeric = _unit("-", "Magic Formula C of the lateral force")
    shape_rear: Numeric = _unit("-", "Magic Formula C of the lateral force")
    curvature_front: Numeric = _unit("-", "Magic Formula E of the lateral force")
    curvature_rear: Numeric = _unit("-", "Magic Formula E of the lateral force")
    slip_stiffness_front: Numeric = _unit("-", "longitudinal slip stiffness over the wheel load")
    slip_stiffness_rear: Numeric = _unit("-", "longitudinal slip stiffness over the wheel load")
    best_inclination_front: Numeric = _unit("rad", "inclination into the turn at which friction is greatest")
    best_inclination_rear: Numeric = _unit("rad", "inclination into the turn at which friction is greatest")
    inclination_loss_front: Numeric = _unit("1/rad2", "relative loss of friction per squared inclination error")
    inclination_loss_rear: Numeric = _unit("1/rad2", "relative loss of friction per squared inclination error")
    rolling_radius_front: Numeric = _unit("m", "effective rolling radius")
    rolling_radius_rear: Numeric = _unit("m", "effective rolling radius")
    rolling_resistance: Numeric = _unit("-", "resistance over wheel load")
    # alignment
    camber_front: Numeric = _unit("rad", "static camber, negative with the top inwards")
    camber_rear: Numeric = _unit("rad", "static camber, negative with the top inwards")
    camber_gain_front: Numeric = _unit("-", "share of the roll angle that the suspension takes off the inclination")
    camber_gain_rear: Numeric = _unit("-", "share of the roll angle that the suspension takes off the inclination")
    toe_front: Numeric = _unit("rad", "toe-in of each front wheel")
    toe_rear: Numeric = _unit("rad", "toe-in of each rear wheel")
    # drive
    front_drive_share: Numeric = _unit("-", "share of the drive force on the front axle")
    torque: tuple[Numeric, ...] = _unit("N m", "cubic B-spline coefficients of full-throttle torque", N_TORQUE)
    engine_speed_low: Numeric = _unit("rad/s", "engine speed of the first torque knot")
    engine_speed_limit: Numeric = _unit("rad/s", "limiter, engine speed of the last torque knot")
    engine_drag: Numeric = _unit("N m", "torque that the engine takes at closed throttle")
    clutch_speed: Numeric = _unit("rad/s", "lowest engine speed, held by a slipping clutch or converter")
    gear_ratios: tuple[Numeric, ...] = _unit("-", "engine over wheel speed in each gear, final drive included", N_GEARS)
    driveline_efficiency: Numeric = _unit(
        "-", "wheel torque over engine torque times ratio; the inverse on the overrun"
    )
    engine_inertia: Numeric = _unit("kg m2", "engine and clutch")
    wheel_inertia_front: Numeric = _unit("kg m2", "both front wheels with tyres and discs")
    wheel_inertia_rear: Numeric = _unit("kg m2", "both rear wheels with tyres and discs")
    differential_preload_front: Numeric = _unit("N m", "locking torque without load")
    differential_preload_rear: Numeric = _unit("N m", "locking torque without load")
    differential_drive_front: Numeric = _unit("-", "locking torque over axle torque on drive, (b - 1)/(b + 1)")
    differential_drive_rear: Numeric = _unit("-", "locking torque over axle torque on drive, (b - 1)/(b + 1)")
    differential_coast_front: Numeric = _unit("-", "locking torque over axle torque on the brakes")
    differential_coast_rear: Numeric = _unit("-", "locking torque over axle torque on the brakes")
    # brakes, steering, body, air
    brake_force_limit: Numeric = _unit("N", "brake force at full pedal, all wheels together")
    brake_front_share: Numeric = _unit("-", "share of the brake force on the front axle")
    abs_share: Numeric = _unit("-", "1 with anti-lock brakes, 0 without")
    road_wheel_limit: Numeric = _unit("rad", "greatest road wheel angle")
    road_wheel_rate: Numeric = _unit("rad/s", "greatest road wheel rate of the driver's hands")
    pedal_rate: Numeric = _unit("1/s", "greatest rate of the longitudinal command, full pedal per second")
    body_length: Numeric = _unit("m", "overall length")
    body_width: Numeric = _unit("m", "overall width at the height of a cone")
    front_overhang: Numeric = _unit("m", "front axle to the front of the body")
    drag_area: Numeric = _unit("m2", "drag coefficient times frontal area")
    lift_area_front: Numeric = _unit("m2", "downforce coefficient times area on the front axle")
    lift_area_rear: Numeric = _unit("m2", "downforce coefficient times area on the rear axle")
    air_density: Numeric = _unit("kg/m3", "air density")
    gravity: Numeric = _unit("m/s2", "standard gravity")
    # driver, surface, limits
    friction_share: Numeric = _unit("-", "share of the friction that the driver uses (pace)")
    surface: Numeric = _unit("-", "friction factor of the surface")
    slip_limit: Numeric = _unit("-", "greatest axle slip angle over the slip angle of the peak")
    launch_share: Numeric = _unit("-", "share of the possible force that the driver gets at the launch")
    staging: Numeric = _unit("m", "front of the car to the start beam")
    start_friction: Numeric = _unit("-", "friction factor of the ground at the launch, beside the surface's")
    start_pull: Numeric = _unit("m/s2", "gravity along the way at the launch, downhill positive")

    @classmethod
    def size(cls) -> int:
        """How many numbers the set holds."""
        return sum(f.metadata["size"] for f in fields(cls))

    @classmethod
    def names(cls) -> tuple[str, ...]:
        """One name a number, in the order of `vector`; members of a tuple are numbered from 1."""
        return tuple(
            f.name if f.metadata["size"] == 1 else f"{f.name}_{i + 1}"
            for f in fields(cls)
            for i in range(f.metadata["size"])
        )

    @classmethod
    def units(cls) -> tuple[str, ...]:
        """Unit of each number, in the order of `vector`."""
        return tuple(f.metadata["unit"] for f in fields(cls) for _ in range(f.metadata["size"]))

    @classmethod
    def from_vector(cls, vector: Any) -> ModelParameters:
        """The set from a sequence of numbers or a column of symbols in the order of `names`."""
        values: dict[str, Any] = {}
        start = 0
        for f in fields(cls):
            size = f.metadata["size"]
            values[f.name] = vector[start] if size == 1 else tuple(vector[start + i] for i in range(size))
            start += size
        return cls(**values)

    def vector(self) -> Array:
        """All numbers in the order of `names`, shape (size,)."""
        flat: list[float] = []
        for f in fields(self):
            value = getattr(self, f.name)
            flat.extend(value if f.metadata["size"] > 1 else (value,))
        return np.array(flat, dtype=float)

    @property
    def cg_to_rear(self) -> Numeric:
        """Centre of gravity ahead of the rear axle. [m]"""
        return self.wheelbase - self.cg_to_front

    @property
    def driven_radius(self) -> Numeric:
        """Mean rolling radius of the driven wheels, by the torque split. [m]"""
        share = self.front_drive_share
        return share * self.rolling_radius_front + (1.0 - share) * self.rolling_radius_rear

    @property
    def sprung_mass(self) -> Numeric:
        """Mass that rolls. [kg]"""
        return self.mass - self.unsprung_mass_front - self.unsprung_mass_rear

    @property
    def front_reach(self) -> Numeric:
        """Centre of gravity to the front of the body. [m]"""
        return self.cg_to_front + self.front_overhang

    @property
    def body_middle(self) -> Numeric:
        """Middle of the body ahead of the centre of gravity. [m]"""
        return self.front_reach - self.body_length / 2
