"""From the car that a person describes to the numbers of the model.

The mapping is a smooth function of every field, so that the worth of a field follows from the worth of the model's
numbers by its derivative.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.cars.car import AXLES, Car, DifferentialKind, TransmissionKind, field
from conewise.cars.edit import with_numbers
from conewise.cars.estimate import front_share, total_mass
from conewise.cars.typical import has_brake_parts, numbers
from conewise.quantities import AIR_DENSITY, GRAVITY
from conewise.smooth import minimum
from conewise.vehicle import brakes, engine_curve, suspension
from conewise.vehicle.parameters import N_GEARS, ModelParameters

if TYPE_CHECKING:
    from conewise.cars.driver import Driver
    from conewise.cars.estimate import Values

Array = NDArray[np.float64]

LOCKED_PRELOAD = 3000.0  # locking torque of a locked axle: more than two tyres can turn against [N m]
CLUTCH_FACE_FRICTION = 0.11  # oiled faces of a clutch pack; common practice, no source
FACE_OVER_RAMP_RADIUS = 1.2  # middle of the faces over the radius of the ramps; common practice, no source
SLIP_LIMIT = 1.0  # of the peak's slip angle; beyond it an axle slides and no driver holds the line (decision 16)
STAGING = 0.3  # front of the car to the start beam unless the course says [m]; common practice
BEST_HANDS = np.deg2rad(600.0)  # hand-wheel rate of the best possible run [rad/s]
BEST_PEDAL = 0.25  # pedal from nothing to full in the best possible run [s]
BEST_LAUNCH = 0.95  # share of the launch force in the best possible run


@dataclass(frozen=True, slots=True, kw_only=True)
class FileParameter:
    """A number of the car file that a person can change. Value and step in SI, `unit` is what it is shown in."""

    name: str
    dimension: str
    unit: str
    value: float
    reference_step: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Gearbox:
    """What the solver needs to know about the gears beside the model's numbers."""

    kind: TransmissionKind
    n_gears: int
    shift_time: float  # without drive [s]


def model_parameters(
    car: Car, *, driver: Driver | None = None, surface: float = 1.0, pace: float | None = None
) -> ModelParameters:
    """The numbers of the model for a car and a driver.

    Parameters
    ----------
    car : Car
        Completed with typical values.
    driver : Driver or None
        None stands for the best possible run: all of the friction, 600 deg/s at the hand-wheel, 0.25 s at the pedal.
    surface : float, default 1
        Friction factor of the surface.
    pace : float or None
        Share of the friction, in place of the driver's.

    Returns
    -------
    ModelParameters
    """
    v = numbers(driven(car, driver))
    return ModelParameters(
        **_body(v),
        **_axle(car, v, "front"),
        **_axle(car, v, "rear"),
        **_drive(car, v),
        **_brakes(car, v),
        **_driver(v, driver, pace),
        surface=surface,
        slip_limit=SLIP_LIMIT,
        staging=STAGING,
        start_friction=1.0,
        start_pull=0.0,
        air_density=AIR_DENSITY,
        gravity=GRAVITY,
    )


def driven(car: Car, driver: Driver | None) -> Car:
    """The car with the driver's own mass, where it is known."""
    if driver is None or driver.mass is None:
        return car
    return with_numbers(car, {"mass.driver": driver.mass.value})


def gearbox(car: Car) -> Gearbox:
    """Kind of transmission, number of gears and shift time."""
    kind = car.transmission.kind
    assert kind is not None
    return Gearbox(kind=kind, n_gears=len(car.transmission.gears), shift_time=car.value("transmission.shift_time"))


def file_parameters(car: Car) -> tuple[FileParameter, ...]:
    """Every number of the car file that a person can change, given or typical; see `outside_model` for the others."""
    left_out = outside_model(car)
    return tuple(p for p in _all_parameters(car) if p.name not in left_out)


def _all_parameters(car: Car) -> tuple[FileParameter, ...]:
    return tuple(
        FileParameter(
            name=name,
            dimension=(facts := field(name)).dimension,
            unit=facts.shown,
            value=value.value,
            reference_step=facts.reference_step(value.value) or facts.share,
        )
        for name, value in car.values.items()
    )


def with_parameter(car: Car, name: str, value: float) -> Car:
    """A copy of a car with another number, and with what hangs on it: a wheel's offset moves the track width."""
    return with_numbers(car, {name: value})


def jacobian(car: Car, *, driver: Driver | None = None) -> Array:
    """Derivative of the model's numbers by those of the file, shape (ModelParameters.size(), n_file_parameters).

    Notes
    -----
    Central differences of a hundredth of the reference step, in the order of `file_parameters`. Surface and pace are
    numbers of the model of their own, and change none of these derivatives. Made once a car and driver; not to be
    written into.
    """
    return _jacobian(driven(car, driver), None if driver is None else driver.model_copy(update={"mass": None}))


@lru_cache(maxsize=16)
def _jacobian(car: Car, driver: Driver | None) -> Array:
    columns = np.array([_column(car, p, {"driver": driver}) for p in file_parameters(car)], dtype=float).T
    columns.flags.writeable = False
    return columns


def outside_model(car: Car) -> dict[str, str]:
    """Numbers of the file that no number of the model depends on, each with the reason."""
    return dict(_outside(car))


@lru_cache(maxsize=16)
def _outside(car: Car) -> tuple[tuple[str, str], ...]:
    reasons = [
        (p.name, field(p.name).outside or ("" if _is_told(car, p) else _reason(p.name))) for p in _all_parameters(car)
    ]
    return tuple((name, reason) for name, reason in reasons if reason)


def _is_told(car: Car, p: FileParameter) -> bool:
    """Whether the model answers to a number; one driven axle is a fact about the car, not a share to move."""
    one_axle = p.name == "transmission.front_share" and car.drive != "all"
    return not one_axle and bool(_column(car, p, {}).any())


def _reason(name: str) -> str:
    if name == "transmission.front_share":
        return "only one axle is driven"
    if ".differential." in name:
        return "only a limited-slip differential of a driven axle has it"
    if name.startswith(("brakes.", "front.brake.", "rear.brake.")):
        return "balance and force of the brakes are given directly"
    return "what follows from it is given directly"


def _column(car: Car, p: FileParameter, given: dict[str, Any]) -> Array:
    """Derivative of the model's numbers by one of the file; one-sided where zero is the least value."""
    h = p.reference_step / 100
    low = p.value - h if field(p.name).is_possible(p.value - h) else p.value
    above = model_parameters(with_numbers(car, {p.name: p.value + h}), **given).vector()
    below = model_parameters(with_numbers(car, {p.name: low}), **given).vector()
    return (above - below) / (p.value + h - low)


def _body(v: Values) -> dict[str, Any]:
    return {
        "mass": total_mass(v),
        "cg_to_front": (1 - front_share(v)) * v["body.wheelbase"],
        "wheelbase": v["body.wheelbase"],
        "cg_height": v["body.cg_height"],
        "yaw_inertia": v["body.yaw_inertia"],
        "roll_inertia": v["body.roll_inertia"],
        "body_length": v["body.length"],
        "body_width": v["body.width"],
        "front_overhang": v["body.front_overhang"],
        "drag_area": v["body.drag_area"],
        "lift_area_front": v["body.lift_area_front"],
        "lift_area_rear": v["body.lift_area_rear"],
        "rolling_resistance": v["body.rolling_resistance"],
    }


def _axle(car: Car, v: Values, axle: str) -> dict[str, Any]:
    part = {
        "unsprung_mass": v[f"{axle}.unsprung_mass"],
        "track": track(v, axle),
        "roll_centre": v[f"{axle}.roll_centre"],
        "camber": v[f"{axle}.camber"],
        "camber_gain": v[f"{axle}.camber_gain"],
        "toe": v[f"{axle}.toe"],
        "wheel_inertia": 2 * v[f"{axle}.wheel.inertia"],
        **_roll(v, axle),
        **_tyre(v, f"{axle}.tyre"),
        **_differential(car, v, axle),
    }
    return {f"{name}_{axle}": value for name, value in part.items()}


def track(v: Values, axle: str) -> float:
    """Track width with spacers. [m]"""
    return v[f"{axle}.track"] + 2 * v[f"{axle}.spacer"]


def bar_stiffness(v: Values, axle: str) -> float:
    """Roll stiffness of the bar at the wheels, given or from its shape; never below zero. [N m/rad]"""
    if f"{axle}.bar_stiffness" in v:
        return v[f"{axle}.bar_stiffness"]
    diameter = v[f"{axle}.bar_diameter"]
    bore = min(v[f"{axle}.bar_bore"], diameter)  # the bore of a bar that was taken off is left in many a file
    torsion = suspension.bar_torsional_stiffness(diameter, v[f"{axle}.bar_length"], bore)
    return float(
        suspension.bar_roll_stiffness(
            torsion, arm=v[f"{axle}.bar_arm"], motion_ratio=v[f"{axle}.bar_motion_ratio"], track=track(v, axle)
        )
    )


def _roll(v: Values, axle: str) -> dict[str, float]:
    width = track(v, axle)
    springs = suspension.axle_roll_stiffness(
        suspension.wheel_rate(v[f"{axle}.spring_rate"], v[f"{axle}.motion_ratio"]), width
    )
    dampers = suspension.axle_roll_stiffness(
        suspension.wheel_rate(v[f"{axle}.damping"], v[f"{axle}.damper_motion_ratio"]), width
    )
    tyres = suspension.axle_roll_stiffness(v[f"{axle}.tyre.spring_rate"], width)
    stiffness, share = suspension.body_to_road(springs + bar_stiffness(v, axle), tyres)
    return {"roll_stiffness": stiffness, "roll_damping": dampers * share**2}


def _tyre(v: Values, tyre: str) -> dict[str, float]:
    c2 = v[f"{tyre}.stiffness_load"]
    coefficient, friction, shape = (v[f"{tyre}.{name}"] for name in ("cornering_coefficient", "friction", "shape"))
    return {
        "friction_lateral": friction,
        "friction_longitudinal": v[f"{tyre}.friction_longitudinal"],
        "load_sensitivity": v[f"{tyre}.load_sensitivity"],
        "reference_load": v[f"{tyre}.reference_load"],
        "stiffness_peak": coefficient * (1 + c2**2) / (2 * c2),  # sin(2 atan(1 / c2)) = 2 c2 / (1 + c2^2)
        "stiffness_load": c2,
        "shape": shape,
        "curvature": magic_formula_curvature(shape, v[f"{tyre}.peak_slip_angle"] * coefficient / (shape * friction)),
        "slip_stiffness": v[f"{tyre}.slip_stiffness"],
        "best_inclination": v[f"{tyre}.best_inclination"],
        "inclination_loss": v[f"{tyre}.inclination_loss"],
        "rolling_radius": v[f"{tyre}.rolling_radius"],
    }


def magic_formula_curvature(shape: float, peak: float) -> float:
    """Magic Formula E with which the force peaks at the normalised slip B x = `peak`.

    Notes
    -----
    At the peak C atan((1 - E) x + E atan x) = pi / 2, so E = (tan(pi / (2 C)) - x) / (atan x - x).
    """
    return float((np.tan(np.pi / (2 * shape)) - peak) / (np.arctan(peak) - peak))


def _differential(car: Car, v: Values, axle: str) -> dict[str, float]:
    part = f"{axle}.differential"
    kind = getattr(car, axle).differential.kind
    is_driven = car.drive in {axle, "all"}
    preload, drive, coast = 0.0, 0.0, 0.0
    if kind is DifferentialKind.LOCKED and is_driven:
        preload = LOCKED_PRELOAD
    elif kind is DifferentialKind.LIMITED_SLIP and is_driven:
        preload = v.get(f"{part}.preload", 0.0)
        drive, coast = (_locking_share(v, part, way) for way in ("drive", "coast"))
    return {"differential_preload": preload, "differential_drive": drive, "differential_coast": coast}


def _locking_share(v: Values, part: str, way: str) -> float:
    """Locking torque over axle torque: (b - 1) / (b + 1) of the bias ratio, or from ramp angle and faces."""
    bias, ramp = v.get(f"{part}.bias_{way}"), v.get(f"{part}.ramp_{way}")
    if bias is not None:
        return (bias - 1) / (bias + 1)
    if ramp is None:
        return 0.0
    pressed = v[f"{part}.friction_faces"] * CLUTCH_FACE_FRICTION * FACE_OVER_RAMP_RADIUS
    return float(minimum(pressed / np.tan(ramp), 0.95, 0.05))


def _drive(car: Car, v: Values) -> dict[str, Any]:
    low, limit = v["engine.low_speed"], v["engine.limit"]
    torque = v["engine.torque_scale"] * engine_curve.spline_coefficients(_torque(car, v, low, limit))
    ratios = [v[f"transmission.gears.{i + 1}"] * v["transmission.final_drive"] for i in range(n_gears(car))]
    return {
        "front_drive_share": v["transmission.front_share"],
        "torque": tuple(torque.tolist()),
        "engine_speed_low": low,
        "engine_speed_limit": limit,
        "clutch_speed": v["engine.clutch_speed"],
        "engine_drag": v["engine.drag"],
        "engine_inertia": v["engine.inertia"],
        "gear_ratios": tuple((ratios + ratios[-1:] * N_GEARS)[:N_GEARS]),
        "driveline_efficiency": v["transmission.efficiency"],
    }


def n_gears(car: Car) -> int:
    """Number of gears."""
    return len(car.transmission.gears)


def _torque(car: Car, v: Values, low: float, limit: float) -> Array:
    speeds = engine_curve.sample_speeds(low, limit)
    curve = car.engine.torque_curve
    if curve:
        torques = [v[f"engine.torque_curve.{i + 1}"] for i in range(len(curve))]
        return engine_curve.through_points(speeds, np.array([p.speed for p in curve]), np.array(torques))
    if car.transmission.kind is TransmissionKind.SINGLE_SPEED:
        return engine_curve.electric(speeds, power=v["engine.peak_power"], torque=v["engine.peak_torque"])
    return engine_curve.combustion(
        speeds,
        power=v["engine.peak_power"],
        power_speed=v["engine.peak_power_speed"],
        torque=v["engine.peak_torque"],
        torque_speed=v["engine.peak_torque_speed"],
    )


def _brakes(car: Car, v: Values) -> dict[str, Any]:
    share, limit = v.get("brakes.front_share"), v.get("brakes.force_limit")
    if has_brake_parts(car):
        front, rear = (brake_force(v, axle) for axle in AXLES)
        share = front / (front + rear) if share is None else share
        limit = front + rear if limit is None else limit
    assert share is not None
    assert limit is not None
    return {
        "brake_front_share": share,
        "brake_force_limit": limit,
        "abs_share": 1.0 if car.brakes.abs else 0.0,
    }


def brake_force(v: Values, axle: str) -> float:
    """Brake force of an axle at full pedal from its parts. [N]"""
    pressure = brakes.line_pressure(
        v["brakes.pedal_force"],
        pedal_ratio=v["brakes.pedal_ratio"],
        boost=v["brakes.boost"],
        bore=v["brakes.master_bore"],
    )
    part = f"{axle}.brake"
    torque = brakes.disc_torque(
        pressure,
        piston_area=v[f"{part}.pistons"] * np.pi * v[f"{part}.piston_diameter"] ** 2 / 4,
        friction=v[f"{part}.pad_friction"],
        radius=v[f"{part}.effective_radius"],
    )
    return float(brakes.axle_brake_force(torque, v[f"{axle}.tyre.rolling_radius"]))


def _driver(v: Values, driver: Driver | None, pace: float | None) -> dict[str, Any]:
    hands, pedal, launch, share = BEST_HANDS, BEST_PEDAL, BEST_LAUNCH, 1.0
    if driver is not None:
        told = (driver.handwheel_rate, driver.pedal_time, driver.launch_share, driver.friction_share)
        hands, pedal, launch, share = (value.value for value in told if value is not None)
    return {
        "road_wheel_limit": np.pi * v["steering.lock_to_lock"] / v["steering.ratio"],
        "road_wheel_rate": hands / v["steering.ratio"],
        "pedal_rate": 1.0 / pedal,
        "launch_share": launch,
        "friction_share": share if pace is None else pace,
    }
