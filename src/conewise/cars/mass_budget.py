"""Mass budget: what is taken out or put in where, and what it does to loads, centre of gravity and inertias."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.change import Change, MovedMass, changed_car
from conewise.cars.estimate import front_share, total_mass
from conewise.cars.typical import numbers
from conewise.quantities import Origin, Sourced

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.cars.car import Car

PASSENGER_LATERAL = 0.36  # middle of a seat from the car's middle [m]; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class MassState:
    """Mass of the car with its driver and where it stands."""

    mass: float  # [kg]
    front_share: float  # [-]
    lateral: float  # of the centre of gravity to the left, from where it was without the items [m]
    cg_height: float  # [m]
    yaw_inertia: float  # [kg m2]
    roll_inertia: float  # [kg m2]


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetRow:
    """One item, and the car after it and all items before it."""

    name: str
    mass: float  # put in; negative is taken out [kg]
    after: MassState


def mass_state(car: Car, *, lateral: float = 0.0) -> MassState:
    """Where the mass of a car stands."""
    v = numbers(car)
    return MassState(
        mass=total_mass(v),
        front_share=front_share(v),
        lateral=lateral,
        cg_height=v["body.cg_height"],
        yaw_inertia=v["body.yaw_inertia"],
        roll_inertia=v["body.roll_inertia"],
    )


def passenger(car: Car, mass: float) -> Change:
    """A passenger in the seat beside the driver, at the height of the centre of gravity."""
    side = {"left": -1.0, "right": 1.0, "centre": 0.0}[car.mass.driver_seat]
    seated = MovedMass(
        mass=Sourced(value=mass, uncertainty=0.05 * mass, origin=Origin.TYPICAL),
        position=car.value("mass.driver_position"),
        lateral=side * PASSENGER_LATERAL,
    )
    return Change(name="passenger", kind="mass", masses=(seated,))


def mass_budget(car: Car, changes: Sequence[Change]) -> tuple[BudgetRow, ...]:
    """The car after each change that moves mass, one after the other.

    Parameters
    ----------
    car : Car
        Completed with typical values.
    changes : sequence of Change
        Those that move no mass are left out.

    Returns
    -------
    tuple of BudgetRow

    Raises
    ------
    ImpossibleChangeError
        If more is taken out than can be.
    """
    rows: list[BudgetRow] = []
    moment = 0.0
    for change in changes:
        if not change.masses:
            continue
        car = changed_car(car, change)
        moment += sum(moved.mass.value * (moved.lateral or 0.0) for moved in change.masses)
        added = sum(moved.mass.value for moved in change.masses)
        after = mass_state(car, lateral=moment / total_mass(numbers(car)))
        rows.append(BudgetRow(name=change.name, mass=added, after=after))
    return tuple(rows)
