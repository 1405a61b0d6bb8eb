"""Other numbers in a car, with what hangs on them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.cars.car import AXLES, Car
from conewise.cars.estimate import ESTIMATES, Estimate
from conewise.cars.typical import numbers
from conewise.quantities import Origin, Sourced

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from conewise.cars.estimate import Values

# Given values that move in proportion to what their estimate does when something else of the car is edited.
_TYRE = ("load_capacity", "reference_load", "friction", "friction_longitudinal", "cornering_coefficient")
_PROPORTIONAL = {
    f"{axle}.{part}"
    for axle in AXLES
    for part in (*(f"tyre.{name}" for name in (*_TYRE, "spring_rate", "rolling_radius")), "wheel.mass", "wheel.inertia")
} | {"body.yaw_inertia", "body.roll_inertia"}
_ON_THE_AXLE = tuple(e for e in ESTIMATES if e.name in _PROPORTIONAL and not e.name.startswith("body."))
_ON_THE_BODY = tuple(e for e in ESTIMATES if e.name in _PROPORTIONAL and e.name.startswith("body."))


def with_numbers(car: Car, edits: Mapping[str, float]) -> Car:
    """A copy with other numbers in SI by their dotted names, and with what hangs on them.

    A heavier wheel adds to the car's and the axle's mass; another offset moves the track width by twice the difference;
    a wider tyre has another radius, load, stiffness and mass; another mass has another inertia. A number that somebody
    gave moves in proportion to what its estimate does.
    """
    before = numbers(car)
    new = car.with_values({name: told(car, name, value) for name, value in edits.items()})
    hanging = _hanging(new, before, numbers(new), edits)
    return new.with_values({name: told(new, name, value) for name, value in hanging.items()}) if hanging else new


def told(car: Car, name: str, value: float) -> Sourced:
    """A number in place of the one that the car has, as good as that one."""
    old = car.values.get(name)
    origin = Origin.SPEC_SHEET if old is None or old.origin is Origin.ESTIMATED else old.origin
    return Sourced(value=value, uncertainty=old.uncertainty if old else 0.0, origin=origin)


def _hanging(car: Car, before: Values, after: Values, edits: Collection[str]) -> dict[str, float]:
    """Numbers that nobody edited and that move all the same."""
    full = dict(after)
    found = _in_proportion(_ON_THE_AXLE, car, (before, full), edits)
    found |= _masses(car, before, full, edits)
    full |= found
    for axle in AXLES:
        moved = full[f"{axle}.wheel.offset"] - before[f"{axle}.wheel.offset"]
        if moved and f"{axle}.track" not in edits:
            found[f"{axle}.track"] = full[f"{axle}.track"] = full[f"{axle}.track"] - 2 * moved
    return found | _in_proportion(_ON_THE_BODY, car, (before, full), edits)


def _in_proportion(
    rules: tuple[Estimate, ...], car: Car, values: tuple[Values, Values], edits: Collection[str]
) -> dict[str, float]:
    """Given values moved as their rules say; `values` are those before and, brought up to date, those after."""
    before, full = values
    found: dict[str, float] = {}
    for estimate in rules:
        name = estimate.name
        if name in edits:
            continue
        if car.values[name].origin is Origin.ESTIMATED:
            full[name] = estimate.rule(full)
        elif (ratio := estimate.rule(full) / estimate.rule(before)) != 1.0:
            found[name] = full[name] = full[name] * ratio
    return found


def _masses(car: Car, before: Values, full: Values, edits: Collection[str]) -> dict[str, float]:
    """What heavier or lighter wheels do to the car's and to given unsprung masses."""
    found: dict[str, float] = {}
    added = [2 * (full[f"{axle}.wheel.mass"] - before[f"{axle}.wheel.mass"]) for axle in AXLES]
    if any(added) and "mass.total" not in edits:
        found["mass.total"] = full["mass.total"] + sum(added)
        if "mass.front_share" not in edits:
            front = full["mass.total"] * full["mass.front_share"] + added[0]
            found["mass.front_share"] = front / found["mass.total"]
    for axle, mass in zip(AXLES, added, strict=True):
        name = f"{axle}.unsprung_mass"
        if mass and name not in edits:
            if car.values[name].origin is Origin.ESTIMATED:
                full[name] = full[name] + mass
            else:
                found[name] = full[name] + mass
    return found
