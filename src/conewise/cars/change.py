"""Changes to a car: edits of its numbers, with what hangs on them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.cars.car import AXLES, Car
from conewise.cars.typical import numbers
from conewise.quantities import Origin, Sourced

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.cars.estimate import Values


def with_numbers(car: Car, edits: Mapping[str, float]) -> Car:
    """A copy with other numbers in SI by their dotted names, and with what hangs on them.

    A heavier wheel adds to the car's and the axle's mass, also where its weight follows from the tyre's size; another
    offset moves the track width by twice the difference.
    """
    before = numbers(car)
    new = car.with_values({name: _told(car, name, value) for name, value in edits.items()})
    if not any(".wheel." in name or ".tyre." in name for name in edits):
        return new
    hanging = _hanging(new, before, numbers(new), edits)
    return new.with_values({name: _told(new, name, value) for name, value in hanging.items()}) if hanging else new


def _told(car: Car, name: str, value: float) -> Sourced:
    old = car.values.get(name)
    return Sourced(value=value, uncertainty=old.uncertainty if old else 0.0, origin=Origin.SPEC_SHEET)


def _hanging(car: Car, before: Values, after: Values, edits: Mapping[str, float]) -> dict[str, float]:
    found: dict[str, float] = {}
    added = [2 * (after[f"{axle}.wheel.mass"] - before[f"{axle}.wheel.mass"]) for axle in AXLES]
    if any(added):
        total = after["mass.total"] + sum(added)
        found["mass.total"] = total
        found["mass.front_share"] = (after["mass.total"] * after["mass.front_share"] + added[0]) / total
    for axle, mass in zip(AXLES, added, strict=True):
        unsprung = car.values[f"{axle}.unsprung_mass"]
        if mass and unsprung.origin is not Origin.ESTIMATED:
            found[f"{axle}.unsprung_mass"] = unsprung.value + mass
        moved = after[f"{axle}.wheel.offset"] - before[f"{axle}.wheel.offset"]
        if moved:
            found[f"{axle}.track"] = after[f"{axle}.track"] - 2 * moved
    return {name: value for name, value in found.items() if name not in edits}
