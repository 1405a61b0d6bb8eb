"""Typical values by kind of car: they fill what nobody gave, and say so.

The numbers stand in reference/typical/*.toml; what follows from other values of the same car is in `estimate`.
"""

from __future__ import annotations

import math
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, cast

from conewise.cars.car import AXLES, Car, DifferentialKind, TransmissionKind
from conewise.cars.estimate import ESTIMATED, ESTIMATES, Values, estimated, front_share, measuring_rim, total_mass
from conewise.cars.sections import sections
from conewise.cars.toml_file import Table
from conewise.quantities import GRAVITY, Origin, Sourced

if TYPE_CHECKING:
    from collections.abc import Iterable

    from conewise.cars.car import Axle, Differential, Drive

_BAR_SHAPE = ("bar_diameter", "bar_bore", "bar_length", "bar_arm", "bar_motion_ratio")
_CURVE_PEAKS = ("engine.peak_power", "engine.peak_power_speed", "engine.peak_torque", "engine.peak_torque_speed")
_BRAKE_DECELERATION = 1.1  # at which the usual brake balance is the ideal one [g]


def _text(name: str) -> str:
    return (resources.files("conewise") / "reference" / "typical" / f"{name}.toml").read_text(encoding="utf-8")


@lru_cache
def kinds() -> tuple[str, ...]:
    """Names of the kinds of car."""
    folder = resources.files("conewise") / "reference" / "typical"
    names = sorted(entry.name.removesuffix(".toml") for entry in folder.iterdir() if entry.name.endswith(".toml"))
    return tuple(name for name in names if name != "common")


@lru_cache
def _table(name: str) -> Table:
    return Table.of_text(_text(name), file=f"reference/typical/{name}.toml")


def title_of(kind: str) -> str:
    """A kind in words."""
    return str(_table(kind).values["title"])


def drive_of(kind: str) -> Drive:
    """The usual driven axle of a kind."""
    return cast("Drive", _table(kind).values["drive"])


@lru_cache
def typical_car(kind: str) -> Car:
    """The constants of a kind, common ones included, without what follows from them."""

    def of(name: str) -> Car:
        table = Table(
            {k: v for k, v in _table(name).values.items() if k not in {"title", "drive", "estimate"}},
            _table(name).file,
            _table(name).lines,
        )
        parts = sections(table, origin=Origin.TYPICAL)
        table.finish()
        return Car(name=name, kind=kind, drive=drive_of(kind), **parts)

    return _merged(of(kind), of("common"))


@lru_cache
def rules_of(kind: str) -> dict[str, float]:
    """Coefficients of the estimates for a kind, as `estimate.` names."""
    both = _table("common").values["estimate"] | _table(kind).values.get("estimate", {})
    return {f"estimate.{name}": float(value) for name, value in both.items()}


def numbers(car: Car) -> Values:
    """All values of a car as plain numbers, estimates renewed from what they follow from.

    What is marked as estimated is worked out again, so that it moves with what it follows from; the rest stays.
    """
    values = car.values
    known = {name for name, v in values.items() if v.origin is not Origin.ESTIMATED}
    plain = {name: v.value for name, v in values.items()} | rules_of(car.kind)
    return estimated(plain, known=known | set(_unused(car)))


def completed(car: Car) -> Car:
    """A copy in which every value that the model needs is there; what was filled in is marked typical.

    Parameters
    ----------
    car : Car
        As somebody gave it.

    Returns
    -------
    Car
    """
    car = _with_rims(_merged(_with_other_axle(car), _fitting(car)))
    full = numbers(car)
    spreads = {e.name: e.spread for e in ESTIMATES}
    return car.with_values(
        {
            name: Sourced(value=full[name], uncertainty=spreads[name] * abs(full[name]), origin=Origin.ESTIMATED)
            for name in ESTIMATED & full.keys()
            if name not in car.values
        }
        | {name: value for name, value in hardware(car, full).items() if name not in car.values}
    )


def _fitting(car: Car) -> Car:
    """The typical car of the kind; with motor and gear of an electric one where the gearbox says so."""
    typical = typical_car(car.kind)
    single = TransmissionKind.SINGLE_SPEED
    if car.transmission.kind is not single or typical.transmission.kind is single:
        return typical
    electric = typical_car("electric")
    return typical.changed(engine=electric.engine, transmission=electric.transmission)


def _typical(value: float, uncertainty: float) -> Sourced:
    return Sourced(value=value, uncertainty=uncertainty, origin=Origin.TYPICAL)


def _unused(car: Car) -> Iterable[str]:
    """Values that the car has no use for."""
    if car.engine.torque_curve:
        return _CURVE_PEAKS
    if car.transmission.kind is TransmissionKind.SINGLE_SPEED:
        return ("engine.peak_power_speed", "engine.peak_torque_speed")
    return ()


def _with_other_axle(car: Car) -> Car:
    """The tyres and wheels of one axle on the other where only one was told."""
    told = [axle for axle in AXLES if f"{axle}.tyre.section_width" in car.values]
    if len(told) != 1:
        return car
    other = AXLES[1 - AXLES.index(told[0])]
    given, empty = getattr(car, told[0]).tyre, getattr(car, other)
    texts = {key: getattr(empty.tyre, key) or getattr(given, key) for key in ("date_code", "speed_symbol")}
    return car.changed(**{other: empty.changed(tyre=empty.tyre.changed(**texts))}).with_values(
        {
            name.replace(told[0], other, 1): value
            for name, value in car.values.items()
            if name.startswith((f"{told[0]}.tyre.", f"{told[0]}.wheel."))
            and name.replace(told[0], other, 1) not in car.values
        }
    )


def _merged(car: Car, typical: Car) -> Car:
    """The car with the typical car's values where it has none of its own."""
    transmission = car.transmission.changed(
        kind=car.transmission.kind or typical.transmission.kind,
        gears=car.transmission.gears or typical.transmission.gears,
    )
    brakes = car.brakes.changed(abs=typical.brakes.abs if car.brakes.abs is None else car.brakes.abs)
    front, rear = (_with_differential(getattr(car, axle), getattr(typical, axle)) for axle in AXLES)
    merged = car.changed(transmission=transmission, brakes=brakes, front=front, rear=rear)
    unwanted = set(merged.values) | _contradicted(merged)
    numbered = ("transmission.gears.", "engine.torque_curve.")
    return merged.with_values(
        {k: v for k, v in typical.values.items() if k not in unwanted and not k.startswith(numbered)}
        | _drive_share(merged, typical)
    )


def _with_differential(axle: Axle, typical: Axle) -> Axle:
    kind = axle.differential.kind or typical.differential.kind or DifferentialKind.OPEN
    return axle.changed(differential=axle.differential.changed(kind=kind))


def _with_rims(car: Car) -> Car:
    """Wheels of the width on which the tyre is measured, where nobody gave it; another tyre leaves them as they are."""
    return car.with_values(
        {
            f"{axle}.wheel.width": _typical(
                measuring_rim(car.value(f"{axle}.tyre.section_width"), car.value(f"{axle}.tyre.aspect")), 0.0127
            )
            for axle in AXLES
            if f"{axle}.wheel.width" not in car.values
        }
    )


def _contradicted(car: Car) -> set[str]:
    """Typical values that would contradict what was given."""
    names = set(_unused(car))
    for axle in AXLES:
        if f"{axle}.bar_stiffness" in car.values:
            names |= {f"{axle}.{part}" for part in _BAR_SHAPE}
    return names


def _drive_share(car: Car, typical: Car) -> dict[str, Sourced | None]:
    """Torque split: all of it where one axle is driven; else as given, or as usual for the kind."""
    if car.drive != "all":
        return {"transmission.front_share": _typical(1.0 if car.drive == "front" else 0.0, 0.0)}
    usual = typical.transmission.front_share if typical.drive == "all" else None
    return {"transmission.front_share": car.transmission.front_share or usual or _typical(0.45, 0.08)}


def hardware(car: Car, full: Values) -> dict[str, Sourced | None]:
    """Parts that a car of this mass usually has. They are bolted on: a later change of mass leaves them as they are."""
    found: dict[str, Sourced | None] = {}
    for axle in AXLES:
        found |= _springs(axle, full) | _locking(axle, getattr(car, axle).differential)
    return found | _brakes(car, full)


def _springs(axle: str, v: Values) -> dict[str, Sourced]:
    """Spring for the usual ride frequency, damper for the usual damping ratio."""
    share = front_share(v) if axle == "front" else 1 - front_share(v)
    corner = (total_mass(v) * share - v[f"{axle}.unsprung_mass"]) / 2
    usual = (2 * math.pi * v[f"estimate.ride_frequency_{axle}"]) ** 2 * corner / v[f"{axle}.motion_ratio"] ** 2
    spring = v.get(f"{axle}.spring_rate", usual)
    wheel_rate = spring * v[f"{axle}.motion_ratio"] ** 2
    at_wheel = 2 * v["estimate.damping_ratio"] * math.sqrt(wheel_rate * corner)
    damping = at_wheel / v[f"{axle}.damper_motion_ratio"] ** 2
    found = {f"{axle}.damping": _typical(damping, 0.3 * damping)}
    return found if f"{axle}.spring_rate" in v else found | {f"{axle}.spring_rate": _typical(usual, 0.15 * usual)}


def _locking(axle: str, differential: Differential) -> dict[str, Sourced]:
    if differential.kind is not DifferentialKind.LIMITED_SLIP:
        return {}
    name = f"{axle}.differential"
    found = {f"{name}.preload": _typical(60.0, 25.0)}
    if differential.ramp_drive is None:
        return found | {f"{name}.bias_drive": _typical(2.2, 0.4), f"{name}.bias_coast": _typical(1.7, 0.4)}
    faces = {f"{name}.friction_faces": _typical(4.0, 1.0)}
    return found | faces | {f"{name}.ramp_coast": _typical(math.radians(60), math.radians(15))}


def _brakes(car: Car, v: Values) -> dict[str, Sourced]:
    """Balance near the ideal at a hard stop, force somewhat above the grip; or what parts need to be worked out."""
    if has_brake_parts(car):
        parts = {f"{axle}.brake.pistons": _typical(1.0, 0.0) for axle in AXLES}
        parts |= {f"{axle}.brake.pad_friction": _typical(0.38, 0.05) for axle in AXLES}
        chain = {
            "pedal_force": (250.0, 50.0),
            "pedal_ratio": (4.0, 0.4),
            "boost": (4.5, 0.7),
            "master_bore": (0.0222, 0.001),
        }
        return parts | {f"brakes.{name}": _typical(*pair) for name, pair in chain.items()}
    share = front_share(v) + _BRAKE_DECELERATION * v["body.cg_height"] / v["body.wheelbase"]
    friction = (v["front.tyre.friction_longitudinal"] + v["rear.tyre.friction_longitudinal"]) / 2
    force = 1.3 * total_mass(v) * GRAVITY * friction
    return {"brakes.front_share": _typical(share, 0.03), "brakes.force_limit": _typical(force, 0.15 * force)}


def has_brake_parts(car: Car) -> bool:
    """Whether the brakes are described by their parts, on both axles."""
    needed = ("piston_diameter", "effective_radius")
    return all(getattr(getattr(car, axle).brake, part) is not None for axle in AXLES for part in needed)
